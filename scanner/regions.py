"""Outlines to valid planar regions under the non-zero rule, in font units."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import pyclipper
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

from scanner.reasons import FontError, Reason

GRID = 16
"""Steps to a font unit. The union is taken on this integer grid, before any division by the em: neighbours that
share a slanted edge then become one polygon (divided by 1000 first, only half of them do). A power of two, so the
way back is exact; fine enough for the fractional coordinates of variable instances."""

FINER = 64
"""Steps of the clipper to a step of the grid. Where two edges cross lies on no grid: rounded to a sixteenth of a unit
it would bend long edges; so a union keeps its area within 0.002 % (``tests/test_regions.py``)."""

QUAD_SEGS = 16
"""Segments a quarter circle in offsets; the sagitta is 0.12 % of the radius, 0.0012 mm on a 1 mm offset."""

SPECK = 4.0
"""Square font units below which a polygon or hole is an artefact of the outline, not a shape."""

NOTHING = MultiPolygon()
"""The region without ink; made once, as shapely reads it from text each time."""


def region_from_rings(rings: Iterable[NDArray[np.float64]]) -> MultiPolygon:
    """Union of closed contours under the non-zero rule.

    >>> square = np.array([(0, 0), (10, 0), (10, 10), (0, 10)], dtype=float)
    >>> region_from_rings([square, square + 5]).area
    175.0
    >>> region_from_rings([]).is_empty
    True
    """
    return regions_from_rings([tuple(rings)])[0]


def regions_from_rings(glyphs: Sequence[Sequence[NDArray[np.float64]]]) -> list[MultiPolygon]:
    """`region_from_rings` for many glyphs at once.

    Most glyphs need no union: where contours of one direction are shells, those of the other are holes in them, and
    GEOS finds the result valid, every winding number is 0 or ±1 and the contours are the region already. Only the
    others go through the clipper (one glyph in twelve at the mean of the demo fonts; 12 ms a face in place of 38 ms).
    """
    snapped = [[np.rint(np.asarray(ring) * GRID) for ring in rings if len(ring) >= 3] for rings in glyphs]
    regions = _nested(snapped)
    return [_union(paths) if region is None else region for paths, region in zip(snapped, regions, strict=True)]


def _nested(glyphs: list[list[NDArray[np.float64]]]) -> list[MultiPolygon | None]:
    """Regions of the glyphs whose contours are shells and holes as drawn; None where a union is needed."""
    out: list[MultiPolygon | None] = [None] * len(glyphs)
    flat = [ring for rings in glyphs for ring in rings]
    if not flat:
        return [NOTHING for _ in glyphs]
    sizes = np.array([len(r) for r in flat])
    points = np.concatenate(flat)
    starts = np.cumsum(sizes) - sizes
    following = np.arange(1, len(points) + 1)
    following[starts + sizes - 1] = starts
    cross = points[:, 0] * points[following, 1] - points[following, 0] * points[:, 1]
    area = np.add.reduceat(cross, starts) / 2
    rings = shapely.linearrings(points / GRID, indices=np.repeat(np.arange(len(flat)), sizes))
    areas, boxes = area.tolist(), shapely.bounds(rings).tolist()  # a glyph has few: plain numbers are faster here
    chosen: list[int] = []
    belongs: list[int] = []  # ring -> polygon
    glyph_of: list[int] = []  # polygon -> glyph
    at = 0
    for k, contours in enumerate(glyphs):
        mine = range(at, at + len(contours))
        at += len(contours)
        if not mine:
            out[k] = NOTHING
            continue
        if min(abs(areas[r]) for r in mine) <= SPECK * GRID * GRID:
            continue  # a speck, or a contour that crosses itself into two equal halves
        outward = max((areas[r] for r in mine), key=abs) > 0
        outer = [r for r in mine if (areas[r] > 0) == outward]
        members = {shell: [shell] for shell in outer}
        for hole in mine:
            if (areas[hole] > 0) != outward:
                around = outer if len(outer) == 1 else [r for r in outer if _boxed(boxes[hole], boxes[r])]
                if len(around) != 1:
                    break
                members[around[0]].append(hole)
        else:
            for rings_of_one in members.values():
                chosen += rings_of_one
                belongs += [len(glyph_of)] * len(rings_of_one)
                glyph_of.append(k)
    if glyph_of:
        polygons = shapely.polygons(rings[chosen], indices=np.array(belongs))
        numbers, index = np.unique(np.array(glyph_of), return_inverse=True)
        candidates = shapely.multipolygons(polygons, indices=index)
        valid = shapely.is_valid(candidates)
        for k, region in zip(numbers[valid], candidates[valid], strict=True):
            out[int(k)] = region
    return out


def _boxed(inner: list[float], outer: list[float]) -> bool:
    """Whether the outer box (left, low, right, high) holds the inner one."""
    return outer[0] <= inner[0] and outer[1] <= inner[1] and outer[2] >= inner[2] and outer[3] >= inner[3]


def _union(paths: list[NDArray[np.float64]]) -> MultiPolygon:
    """Union under the non-zero rule, of contours on the integer grid. Raises FontError where none can be formed."""
    clipper = pyclipper.Pyclipper()
    try:
        clipper.AddPaths([np.asarray(path * FINER, dtype=np.int64) for path in paths], pyclipper.PT_SUBJECT, True)
    except pyclipper.ClipperException:  # no contour has an area
        return NOTHING
    try:
        tree = clipper.Execute2(pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    except pyclipper.ClipperException as cause:
        raise FontError(Reason.OUTLINES) from cause
    polygons: list[BaseGeometry] = []
    stack: list[Any] = list(tree.Childs)
    while stack:
        outer = stack.pop()
        for hole in outer.Childs:
            stack.extend(hole.Childs)
        holes = [hole.Contour for hole in outer.Childs if len(hole.Contour) >= 3]
        polygons.append(Polygon(_units(outer.Contour), list(map(_units, holes))))
    # The clipper may hand back a ring that touches itself in a point, which is no valid polygon.
    polygons = [p if p.is_valid else shapely.make_valid(p) for p in polygons]
    kept: list[Polygon] = []
    for polygon in polygons:
        kept.extend(p for p in polygons_of(polygon) if p.area > SPECK)
    return MultiPolygon([_without_specks(p) for p in kept])


def _units(contour: Sequence[Sequence[int]]) -> NDArray[np.float64]:
    return np.asarray(contour, dtype=np.float64) / (GRID * FINER)


def polygons_of(geometry: BaseGeometry) -> list[Polygon]:
    """The polygons in any geometry; lines and points are left out."""
    if isinstance(geometry, Polygon):
        return [] if geometry.is_empty else [geometry]
    return [g for g in shapely.get_parts(geometry).tolist() if isinstance(g, Polygon)]


def as_array(regions: Sequence[BaseGeometry]) -> NDArray[np.object_]:
    """Geometries as an array of objects, for shapely's calls over many; numpy alone would take a multipolygon apart."""
    array = np.empty(len(regions), dtype=object)
    array[:] = list(regions)
    return array


def offset(region: BaseGeometry, distance: float, quad_segs: int = QUAD_SEGS, mitre: bool = False) -> BaseGeometry:
    """Offset with round corners or mitred ones, outward when positive; same units as the region."""
    if distance == 0:
        return region
    # GEOS divides by zero where edges meet in a point, and goes on; numpy would warn of it.
    with np.errstate(divide="ignore", invalid="ignore"):
        return shapely.buffer(region, distance, quad_segs=quad_segs, join_style="mitre" if mitre else "round")


def inscribed_diameter(polygon: BaseGeometry, tolerance: float) -> float:
    """Diameter of the largest disc inside, within ``tolerance``."""
    if polygon.is_empty:
        return 0.0
    line = shapely.maximum_inscribed_circle(polygon, tolerance=tolerance)
    return 2.0 * float(shapely.length(line))


def _without_specks(polygon: Polygon) -> Polygon:
    holes = [h for h in polygon.interiors if Polygon(h).area > SPECK]
    return polygon if len(holes) == len(polygon.interiors) else Polygon(polygon.exterior, holes)
