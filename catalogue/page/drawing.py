"""Drawings for the sheets: SVG in millimetres that takes its colours from the page, light or dark. Pure.

The layers are three steps of one hue from dark to light; weak spots are rings with numbers, told in words beside.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from catalogue.draw.picture import KINDS, path_data
from catalogue.judge.check import Check, WeakSpot
from catalogue.page.markup import Html, tag, text
from catalogue.wording import count_of

LAYERS = ("base", "middle", "top")
MOST_MARKS = 12
STRIP_REM = 12
"""Height that a strip takes at most, so that three stand on one screen."""
_GRAVEST = tuple(KINDS)


@dataclass(frozen=True, slots=True)
class Solid:
    """A tag to draw: named regions from the bottom to the top, in mm, y up."""

    layers: tuple[tuple[str, BaseGeometry], ...]
    spots: tuple[WeakSpot, ...] = ()

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top."""
        found = shapely.bounds(np.asarray([r for _, r in self.layers], dtype=object))
        low, high = np.nanmin(found[:, :2], axis=0), np.nanmax(found[:, 2:], axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def solid_of(check: Check) -> Solid:
    """The layers of a measured name with its weak spots."""
    return Solid(tuple(zip(LAYERS, check.regions, strict=False)), check.weak_spots)


def flat_outline(region: BaseGeometry, factor: float) -> tuple[str, tuple[int, int, int, int]]:
    """A region as one path on a whole-number grid ``factor`` times finer than its unit, y down, and its box.

    Holes run against their outlines, so that either fill rule leaves them open.

    >>> flat_outline(shapely.box(0, 0, 1, 2), 10)
    ('M10 0L10 -20L0 -20L0 0Z', (0, -20, 10, 0))
    """
    rings = shapely.get_rings(shapely.get_parts(shapely.orient_polygons(region)))
    drawn = [np.rint(shapely.get_coordinates(ring)[:-1] * (factor, -factor)).astype(int) for ring in rings]
    path = "".join("M" + "L".join(f"{x} {y}" for x, y in ring.tolist()) + "Z" for ring in drawn)
    every = np.concatenate(drawn) if drawn else np.zeros((1, 2), dtype=int)
    (x0, y0), (x1, y1) = every.min(axis=0).tolist(), every.max(axis=0).tolist()
    return path, (x0, y0, x1, y1)


def marked(spots: Sequence[WeakSpot]) -> list[WeakSpot]:
    """The gravest spots, at most ``MOST_MARKS``, in the order of their numbers: from left to right."""
    worst = sorted(spots, key=lambda s: (_GRAVEST.index(s.kind), -s.size_mm if s.kind == "gap" else s.size_mm))
    return sorted(worst[:MOST_MARKS], key=lambda s: s.x_mm)


def told(spots: Sequence[WeakSpot]) -> list[str]:
    """A sentence for each marked spot, in the order of the numbers."""
    lines = [f"{KINDS[s.kind]} ({s.size_mm:.2f} mm, {s.layer})" for s in marked(spots)]
    hidden = len(spots) - len(lines)
    return [*lines, f"and {count_of(hidden, 'lesser one')} without a number"] if hidden > 0 else lines


def sheet(solid: Solid, label: str, ring_hole: tuple[float, float] | None = None) -> Html:
    """The tag on ruled ground with its width and height dimensioned, a ruler below, weak spots numbered."""
    x0, y0, x1, y1 = solid.bounds
    em = max(1.5, min(3.2, (x1 - x0) / 26))
    left, right, head, foot = 4.2 * em, 2.2 * em, (3.6 if solid.spots else 1.8) * em, 5.6 * em
    width, height = x1 - x0 + left + right, y1 - y0 + head + foot
    inside: list[Html] = [_ground(width, height)]
    inside += _layers(solid, left - x0, head + y1)
    base = head + y1
    if y0 < 0 < y1:
        inside.append(_line(left - 0.6 * em, base, left + x1 - x0 + 0.6 * em, base, "baseline", 0.06 * em))
    if ring_hole is not None:
        inside.append(_cross(left - x0 + ring_hole[0], head + y1 - ring_hole[1], 0.7 * em))
    inside += _marks(solid.spots, left - x0, head + y1, 1.3 * em, em)
    bottom = head + y1 - y0
    inside += _dimension(left, bottom + 1.5 * em, x1 - x0, em, f"{x1 - x0:.1f} mm")
    inside += _upright(left - 1.4 * em, head, y1 - y0, em, f"{y1 - y0:.1f}")
    inside += _ruler(left, bottom + 4.2 * em, x1 - x0, em)
    return _svg(width, height, label, inside)


def strips(solids: Sequence[tuple[str, Solid]], label: str) -> Html:
    """Several tags under each other on one millimetre scale, each on its baseline, left edges in line."""
    boxes = [s.bounds for _, s in solids]
    widest = max(b[2] - b[0] for b in boxes)
    up = max(max(b[3], 0.0) for b in boxes)
    down = max(max(-b[1], 0.0) for b in boxes)
    em = max(1.6, min(3.0, widest / 30))
    left, gap = 2.0 * em, 3.2 * em
    pitch = up + down + gap
    width, height = widest + left + 2 * em, pitch * len(solids) + 3.4 * em
    inside: list[Html] = [_ground(width, height)]
    for mm in range(0, int(widest) + 1, 10):
        inside.append(_line(left + mm, 1.2 * em, left + mm, height - 2.6 * em, "grid", 0.05 * em))
    for k, ((name, solid), box) in enumerate(zip(solids, boxes, strict=True)):
        base = k * pitch + gap + up - 0.6 * em
        inside.append(_text(left, k * pitch + 1.7 * em, f"{k + 1}  {name}", em, "ink"))
        inside += _layers(solid, left - box[0], base)
        for spot in solid.spots:
            if spot.kind in ("gap", "loose part", "neck"):
                radius = max(0.45 * em, spot.size_mm / 2 + 0.15 * em)
                inside.append(_circle(left - box[0] + spot.x_mm, base - spot.y_mm, radius, "spot", 0.16 * em))
        inside.append(_line(left - em, base, left + widest + em, base, "baseline", 0.06 * em))
    inside += _ruler(left, height - 1.8 * em, widest, em)
    return _svg(width, height, label, inside, "drawing strips", f"max-height: {STRIP_REM * len(solids)}rem")


def _svg(
    width: float, height: float, label: str, inside: Sequence[Html], kind: str = "drawing", style: str = ""
) -> Html:
    return tag(
        "svg", tag("title", label), *inside, viewBox=f"0 0 {width:.2f} {height:.2f}", role="img", aria_label=label,
        class_=kind, data_width=f"{width:.1f}", preserveAspectRatio="xMinYMin meet" if style else "xMidYMid meet",
        style=style,
    )  # fmt: skip


def _ground(width: float, height: float) -> Html:
    return tag("rect", width=f"{width:.2f}", height=f"{height:.2f}", class_="ground")


def _layers(solid: Solid, dx: float, base: float) -> list[Html]:
    out = []
    for name, region in solid.layers:
        if region.is_empty:
            continue
        placed = shapely.transform(
            shapely.simplify(region, 0.01), lambda c: np.column_stack([c[:, 0] + dx, base - c[:, 1]])
        )
        out.append(tag("path", class_=name, fill_rule="evenodd", d=path_data(placed)))
    return out


def _marks(spots: Sequence[WeakSpot], dx: float, base: float, row: float, em: float) -> list[Html]:
    """A ring at each spot, its number in a row above, a leader between."""
    out: list[Html] = []
    kept = marked(spots)
    places: list[float] = []
    for spot in kept:
        places.append(max(spot.x_mm, places[-1] + 1.7 * em) if places else spot.x_mm)
    # Where a crowd was pushed to the right, pull the row back over the middle of its spots.
    drift = sum(p - s.x_mm for p, s in zip(places, kept, strict=True)) / max(1, len(kept))
    drift = min(drift, dx + min(places, default=0.0) - 0.9 * em)
    for number, (spot, place) in enumerate(zip(kept, places, strict=True), 1):
        x, y, flag = dx + spot.x_mm, base - spot.y_mm, dx + place - drift
        radius = max(0.45 * em, spot.size_mm / 2 + 0.15 * em)
        out.append(_line(flag, row, x, y - radius, "leader", 0.08 * em))
        out.append(_circle(x, y, radius, "spot", 0.16 * em))
        out.append(_circle(flag, row, 0.72 * em, "flag", 0.0))
        out.append(_text(flag, row + 0.33 * em, str(number), 0.95 * em, "number", "middle"))
    return out


def _dimension(x: float, y: float, length: float, em: float, words: str) -> list[Html]:
    return [
        _line(x, y, x + length, y, "measure", 0.07 * em),
        *(_line(x + e, y - 0.9 * em, x + e, y + 0.4 * em, "measure", 0.06 * em) for e in (0, length)),
        *(
            _line(x + e - 0.3 * em, y + 0.3 * em, x + e + 0.3 * em, y - 0.3 * em, "measure", 0.12 * em)
            for e in (0, length)
        ),
        _text(x + length / 2, y + 1.15 * em, words, em, "ink", "middle"),
    ]


def _upright(x: float, y: float, length: float, em: float, words: str) -> list[Html]:
    return [
        _line(x, y, x, y + length, "measure", 0.07 * em),
        *(_line(x - 0.4 * em, y + e, x + 0.9 * em, y + e, "measure", 0.06 * em) for e in (0, length)),
        *(
            _line(x - 0.3 * em, y + e + 0.3 * em, x + 0.3 * em, y + e - 0.3 * em, "measure", 0.12 * em)
            for e in (0, length)
        ),
        tag(
            "text", words, class_="ink", font_size=f"{em:.2f}", text_anchor="middle",
            transform=f"translate({x - 0.5 * em:.2f} {y + length / 2:.2f}) rotate(-90)",
        ),
    ]  # fmt: skip


def _ruler(x: float, y: float, length: float, em: float) -> list[Html]:
    out = [_line(x, y, x + int(length), y, "measure", 0.06 * em)]
    for mm in range(int(length) + 1):
        tall = 0.8 if mm % 10 == 0 else 0.55 if mm % 5 == 0 else 0.3
        out.append(_line(x + mm, y, x + mm, y - tall * em, "measure" if mm % 5 == 0 else "grid", 0.05 * em))
        if mm % 10 == 0:
            out.append(_text(x + mm, y + 0.95 * em, f"{mm} mm" if mm == 0 else str(mm), 0.75 * em, "ink", "middle"))
    return out


def _cross(x: float, y: float, size: float) -> Html:
    """Centre marks of a hole."""
    return Html(
        _line(x - size, y, x + size, y, "measure", size / 12) + _line(x, y - size, x, y + size, "measure", size / 12)
    )


def _line(x0: float, y0: float, x1: float, y1: float, kind: str, width: float) -> Html:
    return tag("line", x1=f"{x0:.2f}", y1=f"{y0:.2f}", x2=f"{x1:.2f}", y2=f"{y1:.2f}", class_=kind,
               stroke_width=f"{width:.3f}")  # fmt: skip


def _circle(x: float, y: float, radius: float, kind: str, width: float) -> Html:
    return tag("circle", cx=f"{x:.2f}", cy=f"{y:.2f}", r=f"{radius:.2f}", class_=kind, stroke_width=f"{width:.3f}")


def _text(x: float, y: float, words: str, size: float, kind: str, anchor: str = "start") -> Html:
    return tag(
        "text", text(words), x=f"{x:.2f}", y=f"{y:.2f}", font_size=f"{size:.2f}", class_=kind, text_anchor=anchor
    )
