"""Several tags under each other on one millimetre scale, each on its baseline, left edges in line. Pure."""

from __future__ import annotations

from collections.abc import Sequence

from catalogue.page.dimensions import circle, ground, line, ruler, words
from catalogue.page.drawing import Solid, layers, paint, svg
from catalogue.page.markup import Html

RINGED = ("gap", "loose part", "neck")
"""Kinds of weak spots that are ringed in a strip."""


def strips(solids: Sequence[tuple[str, Solid]], label: str) -> Html:
    """Named tags, the widest as wide as the sheet."""
    boxes = [s.bounds for _, s in solids]
    widest = max(b[2] - b[0] for b in boxes)
    up = max(max(b[3], 0.0) for b in boxes)
    down = max(max(-b[1], 0.0) for b in boxes)
    em = max(1.4, min(3.0, widest / 34))
    left, gap = 2.0 * em, 2.2 * em
    pitch = up + down + gap
    width, height = widest + left + 2 * em, pitch * len(solids) + 2.4 * em
    inside: list[Html] = [ground(width, height)]
    for mm in range(0, int(widest) + 1, 10):
        inside.append(line(left + mm, 0.4 * em, left + mm, height - 2.2 * em, "grid", 0.05 * em))
    for k, ((name, solid), box) in enumerate(zip(solids, boxes, strict=True)):
        base = k * pitch + gap + up - 0.4 * em
        inside.append(words(left, k * pitch + 1.3 * em, f"{k + 1}  {name}", em, "ink"))
        inside += layers(solid, left - box[0], base)
        for spot in solid.spots:
            if spot.kind in RINGED:
                radius = max(0.45 * em, spot.size_mm / 2 + 0.15 * em)
                inside.append(circle(left - box[0] + spot.x_mm, base - spot.y_mm, radius, "spot", 0.16 * em))
        inside.append(line(left - em, base, left + widest + em, base, "baseline", 0.06 * em))
    inside += ruler(left, height - 1.4 * em, widest, em)
    return svg(width, height, label, inside, "strips", paint(solids[0][1].colours))
