"""Outlines to valid planar regions under the non-zero rule, in font units."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import numpy as np
import pyclipr
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

GRID = 16
"""Steps to a font unit. The union is taken on this integer grid, before any division by the em: neighbours that
share a slanted edge then become one polygon (divided by 1000 first, only half of them do). A power of two, so the
way back is exact; fine enough for the fractional coordinates of variable instances."""

QUAD_SEGS = 16
"""Segments a quarter circle in offsets; the sagitta is 0.12 % of the radius, 0.0012 mm on a 1 mm offset."""

SPECK = 4.0
"""Square font units below which a polygon or hole is an artefact of the outline, not a shape."""


def region_from_rings(rings: Iterable[NDArray[np.float64]]) -> MultiPolygon:
    """Union of closed contours under the non-zero rule.

    >>> square = np.array([(0, 0), (10, 0), (10, 10), (0, 10)], dtype=float)
    >>> region_from_rings([square, square + 5]).area
    175.0
    >>> region_from_rings([]).is_empty
    True
    """
    paths = [np.rint(np.asarray(ring) * GRID) for ring in rings]
    paths = [p for p in paths if len(p) >= 3]
    if not paths:
        return MultiPolygon()
    clipper = pyclipr.Clipper()
    clipper.scaleFactor = 1
    clipper.addPaths(paths, pyclipr.Subject, False)
    tree = clipper.execute2(pyclipr.Union, pyclipr.FillRule.NonZero)
    polygons: list[BaseGeometry] = []
    stack: list[Any] = list(tree.children)
    while stack:
        outer = stack.pop()
        holes = list(outer.children)
        for hole in holes:
            stack.extend(hole.children)
        polygon = Polygon(outer.polygon / GRID, [h.polygon / GRID for h in holes if len(h.polygon) >= 3])
        polygons.append(polygon)
    # Clipper may hand back a ring that touches itself in a point, which is no valid polygon.
    polygons = [p if p.is_valid else shapely.make_valid(p) for p in polygons]
    kept: list[Polygon] = []
    for polygon in polygons:
        kept.extend(p for p in polygons_of(polygon) if p.area > SPECK)
    return MultiPolygon([_without_specks(p) for p in kept])


def polygons_of(geometry: BaseGeometry) -> list[Polygon]:
    """The polygons in any geometry; lines and points are left out."""
    return [g for g in shapely.get_parts(geometry, return_index=False).tolist() if isinstance(g, Polygon)]


def offset(region: BaseGeometry, distance: float) -> BaseGeometry:
    """Round offset, outward when positive; same units as the region."""
    if distance == 0:
        return region
    return shapely.buffer(region, distance, quad_segs=QUAD_SEGS)


def inscribed_diameter(polygon: BaseGeometry, tolerance: float) -> float:
    """Diameter of the largest disc inside, within ``tolerance``."""
    if polygon.is_empty:
        return 0.0
    line = shapely.maximum_inscribed_circle(polygon, tolerance=tolerance)
    return 2.0 * float(shapely.length(line))


def _without_specks(polygon: Polygon) -> Polygon:
    holes = [h for h in polygon.interiors if Polygon(h).area > SPECK]
    return polygon if len(holes) == len(polygon.interiors) else Polygon(polygon.exterior, holes)
