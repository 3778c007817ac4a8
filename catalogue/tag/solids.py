"""Regions that solids can be made of: on a grid, without specks, nowhere touching themselves in a point. Pure; mm."""

from __future__ import annotations

from collections import Counter

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from scanner.regions import offset, polygons_of

GRID_MM = 0.001
SPECK_MM2 = 0.02
ERODE_MM = 0.006
"""What is taken off a region that touches itself in a point: valid in the plane, no solid in space."""

_MOST_ROUNDS = 4
"""Times a region is eroded until it is clean; over the demo faces one round is enough."""


def clean(region: BaseGeometry) -> MultiPolygon:
    """On the grid, without specks, and nowhere touching itself in a point."""
    for _ in range(_MOST_ROUNDS):
        snapped = shapely.set_precision(region, GRID_MM)
        region = MultiPolygon([_without_specks(p) for p in polygons_of(snapped) if p.area >= SPECK_MM2])
        if not _touches_itself(region):
            return region
        region = offset(region, -ERODE_MM, mitre=True)
    return region if isinstance(region, MultiPolygon) else MultiPolygon(polygons_of(region))


def noded(low: MultiPolygon, base: MultiPolygon) -> tuple[MultiPolygon, MultiPolygon]:
    """Both regions, the second inside the first, with equal points where they share an outline.

    Both are put together from the faces their lines cut the plane into; else their solids would not meet.
    """
    lines = shapely.union_all([low.boundary, base.boundary], grid_size=GRID_MM)
    faces = np.array(shapely.get_parts(shapely.polygonize([lines])).tolist(), dtype=object)
    inside = shapely.point_on_surface(faces)
    shapely.prepare(low)
    shapely.prepare(base)
    in_low = shapely.contains(low, inside)
    in_base = in_low & (shapely.contains(base, inside) | (shapely.area(faces) < SPECK_MM2))
    return _whole(faces[in_low]), _whole(faces[in_base])


def moved(region: MultiPolygon, x0: float, y0: float) -> MultiPolygon:
    """The region with (x0, y0) at the origin, on the grid."""
    there = translate(region, -x0, -y0)
    return shapely.transform(there, lambda c: np.round(c, 3) + 0.0)


def _whole(faces: NDArray[np.object_]) -> MultiPolygon:
    return MultiPolygon(polygons_of(shapely.coverage_union_all(faces)))


def _without_specks(polygon: Polygon) -> Polygon:
    return Polygon(polygon.exterior, [h for h in polygon.interiors if Polygon(h).area >= SPECK_MM2])


def _touches_itself(region: MultiPolygon) -> bool:
    counts: Counter[tuple[int, int]] = Counter()
    for polygon in region.geoms:
        for ring in (polygon.exterior, *polygon.interiors):
            points = np.rint(shapely.get_coordinates(ring)[:-1] / GRID_MM).astype(int)
            counts.update(map(tuple, points.tolist()))
    return any(n > 1 for n in counts.values())
