"""What may stand behind a name so that any face can be made: a plate of its rounded outline, or a bar. Pure; mm."""

from __future__ import annotations

from collections.abc import Sequence

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from scanner.lettering import LetteringError
from scanner.regions import offset, polygons_of

BACKINGS = ("plate", "bar")

PLATE_MM = (4.0, 8.0, 16.0)
"""How wide a gap or a bay a plate fills, half of it: as little as makes it one piece."""

BAR_FROM_EM, BAR_TO_EM = -0.02, 0.18
"""Lower and upper edge of a bar from the baseline; the offset of the base is added to both."""


def behind(kind: str, letters: Sequence[BaseGeometry], lines: int, em_mm: float) -> BaseGeometry:
    """What stands behind the letters, before any offset; empty for no backing. Raises LetteringError for a bar that
    several lines would need."""
    if not kind:
        return Polygon()
    return _plate(letters) if kind == "plate" else _bar(letters, lines, em_mm)


def _plate(letters: Sequence[BaseGeometry]) -> BaseGeometry:
    """The outline of all letters with gaps and bays filled, without holes; their hull where they lie far apart."""
    region = shapely.union_all(letters)
    for radius in PLATE_MM:
        closed = offset(offset(region, radius), -radius)
        pieces = [Polygon(p.exterior) for p in polygons_of(closed)]
        if len(pieces) == 1:
            return pieces[0]
    return shapely.convex_hull(region)


def _bar(letters: Sequence[BaseGeometry], lines: int, em_mm: float) -> BaseGeometry:
    if lines > 1:
        raise LetteringError("a bar stands behind one line only; take a plate, or write the name in one line")
    left, _, right, _ = shapely.total_bounds(list(letters))
    return shapely.box(left, BAR_FROM_EM * em_mm, right, BAR_TO_EM * em_mm)
