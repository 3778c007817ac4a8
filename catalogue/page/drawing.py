"""Drawings for the sheets: SVG in millimetres, the tag in its own colours, lines in those of the page. Pure.

Weak spots are rings with numbers, explained in words next to the drawing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from catalogue.draw.picture import path_data
from catalogue.judge.check import Check
from catalogue.judge.weak_spots import KINDS, WeakSpot, gravest
from catalogue.page.dimensions import circle, cross, dimension, ground, line, ruler, upright, words
from catalogue.page.markup import Html, tag
from catalogue.page.place import Look
from catalogue.tag.colours import hex_of
from catalogue.wording import count_of

LAYERS = ("base", "middle", "top")
SMOOTH_MM = 0.01
"""How far a drawn outline may stray: a tenth of a pixel."""


@dataclass(frozen=True, slots=True)
class Solid:
    """A tag to draw: named regions from the bottom to the top, in mm, y up."""

    layers: tuple[tuple[str, BaseGeometry], ...]
    spots: tuple[WeakSpot, ...] = ()
    colours: tuple[str, str, str] = Look().colours

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Left, bottom, right, top."""
        found = shapely.bounds(np.asarray([r for _, r in self.layers], dtype=object))
        low, high = np.nanmin(found[:, :2], axis=0), np.nanmax(found[:, 2:], axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def solid_of(check: Check, look: Look) -> Solid:
    """The layers of a measured name with its weak spots."""
    return Solid(tuple(zip(LAYERS, check.regions, strict=False)), check.weak_spots, look.colours)


def paint(colours: tuple[str, str, str]) -> str:
    """The colours of a tag for CSS: ``sheet.css`` fills layers by them.

    >>> paint(("navy", "sky", "cream"))
    '--base:#274c77;--middle:#8ab4d8;--top:#f6efd9'
    """
    return ";".join(f"--{layer}:{hex_of(colour)}" for layer, colour in zip(LAYERS, colours, strict=True))


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


def spot_lines(spots: Sequence[WeakSpot]) -> list[str]:
    """A sentence for each marked spot, in the order of the numbers."""
    lines = [f"{KINDS[s.kind]} ({s.size_mm:.2f} mm, {s.layer})" for s in gravest(spots)]
    hidden = len(spots) - len(lines)
    return [*lines, f"and {count_of(hidden, 'lesser one')} without a number"] if hidden > 0 else lines


def sheet(solid: Solid, label: str, ring_hole: tuple[float, float] | None = None) -> Html:
    """The tag on ruled ground with its width and height dimensioned, a ruler below, weak spots numbered."""
    x0, y0, x1, y1 = solid.bounds
    em = max(1.5, min(3.2, (x1 - x0) / 26))
    left, right, head, foot = 4.2 * em, 2.2 * em, (3.6 if solid.spots else 1.8) * em, 5.6 * em
    width, height = x1 - x0 + left + right, y1 - y0 + head + foot
    inside: list[Html] = [ground(width, height)]
    inside += layers(solid, left - x0, head + y1)
    base = head + y1
    if y0 < 0 < y1:
        inside.append(line(left - 0.6 * em, base, left + x1 - x0 + 0.6 * em, base, "baseline", 0.06 * em))
    if ring_hole is not None:
        inside.append(cross(left - x0 + ring_hole[0], head + y1 - ring_hole[1], 0.7 * em))
    inside += _marks(solid.spots, left - x0, head + y1, 1.3 * em, em)
    bottom = head + y1 - y0
    inside += dimension(left, bottom + 1.5 * em, x1 - x0, em, f"{x1 - x0:.1f} mm")
    inside += upright(left - 1.4 * em, head, y1 - y0, em, f"{y1 - y0:.1f}")
    inside += ruler(left, bottom + 4.2 * em, x1 - x0, em)
    return svg(width, height, label, inside, style=paint(solid.colours))


def svg(width: float, height: float, label: str, inside: Sequence[Html], kind: str = "", style: str = "") -> Html:
    """A drawing of a width and height in mm, named by ``label``."""
    return tag(
        "svg", tag("title", label), *inside, viewBox=f"0 0 {width:.2f} {height:.2f}", role="img", aria_label=label,
        class_=f"drawing {kind}".strip(), data_width=f"{width:.1f}",
        preserveAspectRatio="xMinYMin meet" if kind else "xMidYMid meet", style=style,
    )  # fmt: skip


def layers(solid: Solid, dx: float, base: float) -> list[Html]:
    """The regions of a tag, moved right by ``dx``, their baseline at ``base``."""
    out = []
    for name, region in solid.layers:
        if region.is_empty:
            continue
        placed = shapely.transform(
            shapely.simplify(region, SMOOTH_MM), lambda c: np.column_stack([c[:, 0] + dx, base - c[:, 1]])
        )
        out.append(tag("path", class_=name, fill_rule="evenodd", d=path_data(placed)))
    return out


def _marks(spots: Sequence[WeakSpot], dx: float, base: float, row: float, em: float) -> list[Html]:
    """A ring at each spot, its number in a row above, a leader between."""
    out: list[Html] = []
    kept = gravest(spots)
    places: list[float] = []
    for spot in kept:
        places.append(max(spot.x_mm, places[-1] + 1.7 * em) if places else spot.x_mm)
    # Where a crowd was pushed to the right, pull the row back over the middle of its spots.
    drift = sum(p - s.x_mm for p, s in zip(places, kept, strict=True)) / max(1, len(kept))
    drift = min(drift, dx + min(places, default=0.0) - 0.9 * em)
    for number, (spot, place) in enumerate(zip(kept, places, strict=True), 1):
        x, y, flag = dx + spot.x_mm, base - spot.y_mm, dx + place - drift
        radius = max(0.45 * em, spot.size_mm / 2 + 0.15 * em)
        out.append(line(flag, row, x, y - radius, "leader", 0.08 * em))
        out.append(circle(x, y, radius, "spot", 0.16 * em))
        out.append(circle(flag, row, 0.72 * em, "flag", 0.0))
        out.append(words(flag, row + 0.33 * em, str(number), 0.95 * em, "number", "middle"))
    return out
