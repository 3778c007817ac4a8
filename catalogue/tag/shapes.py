"""Regions of a tag's layers: grown, lean, with holes filled that are too small to print. Pure; mm."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

import shapely
from shapely import Polygon
from shapely.errors import ShapelyError
from shapely.geometry.base import BaseGeometry

from scanner.lettering import LetteringError
from scanner.measures.counters import holes_of
from scanner.regions import inscribed_diameter, offset, polygons_of

LEAN_MM = 0.01
"""Outline points that stray less are dropped: under a step of common printers' axes (0.0125 mm, from memory). That
leaves a third of the points, and all that follows takes a third of the time."""

TOLERANCE_MM = 0.005
"""Of inscribed discs and necks; a fiftieth of the finest line."""


@contextmanager
def geometry_errors() -> Iterator[None]:
    """Turns the geometry library's own complaints, rare as they are, into a line with what to do."""
    try:
        yield
    except ShapelyError as cause:
        raise LetteringError(
            "the outlines of this name defeat the geometry library; choose another face or size"
        ) from cause


def filled(region: BaseGeometry, least_gap_mm: float) -> tuple[BaseGeometry, int]:
    """The region without holes too small to print open, and how many were filled.

    >>> from shapely.geometry import box
    >>> plate = box(0, 0, 10, 10).difference(box(1, 1, 1.3, 2)).difference(box(5, 5, 7, 7))
    >>> region, count = filled(plate, 0.5)
    >>> count, round(region.area, 6)
    (1, 96.0)
    """
    small = [h for h in holes_of(region) if offset(h, -least_gap_mm / 2, quad_segs=4).is_empty]
    return (shapely.union_all([region, *small]) if small else region), len(small)


def without_pinholes(
    top: BaseGeometry, letters: Sequence[BaseGeometry], least_gap_mm: float
) -> tuple[BaseGeometry, int]:
    """Fill the small holes between letters; a letter's own counters stay unless they are specks."""
    own = shapely.union_all([h for letter in letters for h in holes_of(letter)]) if letters else Polygon()
    small = []
    for hole in holes_of(top):
        width = inscribed_diameter(hole, TOLERANCE_MM)
        if width < least_gap_mm / 4 or (width < least_gap_mm and not own.intersects(hole)):
            small.append(hole)
    return (shapely.union_all([top, *small]) if small else top), len(small)


def lean(region: BaseGeometry) -> BaseGeometry:
    """The region without outline points that stray less than ``LEAN_MM``; its topology stays."""
    fast = shapely.simplify(region, LEAN_MM, preserve_topology=False)  # a tenth of the time of the careful one
    same = fast.is_valid and len(polygons_of(fast)) == len(polygons_of(region))
    return fast if same else shapely.simplify(region, LEAN_MM)


def grown(region: BaseGeometry, distance_mm: float) -> BaseGeometry:
    """The region offset outward, lean."""
    return lean(offset(region, distance_mm))
