"""Stroke widths along the centre line.

A raster finds where the centre line runs, the outline itself gives the widths, so that the pixel size does not show
in the result. On a distance field D the gradient has length 1, except on the centre line, where two walls pull
against each other: walls that face each other cancel to 0, the two walls of a right-angled corner leave cos 45° =
0.71. Keeping only points below ``RIDGE`` therefore keeps strokes and drops the corner branches, which are the
outermost half stroke of each square ending.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

RIDGE = 0.6
"""Largest gradient of the distance field on a centre line; below cos 45°."""

PX_PER_EM = 160.0
"""Raster that locates centre lines; a hairline of 0.0125 em is two pixels."""

SAMPLES = 48
"""Centre-line points measured per letter and side, spread evenly over those found."""

QUANTILES = np.array([0.0, 0.05, 0.1, 0.2, 0.35, 0.5, 0.65, 0.8, 0.95])
"""Where the width distribution of a letter is kept; any width can be asked of it later."""

_PAD = 4


@dataclass(frozen=True, slots=True)
class Widths:
    """Widths across the centre line of one region, in font units, and where each was taken, shape (n, 2)."""

    widths: NDArray[np.float64]
    places: NDArray[np.float64]
    length: float
    """Length of the centre line, in font units, roughly (pixels of the ridge)."""

    def quantiles(self) -> NDArray[np.float64]:
        """Widths at ``QUANTILES``; NaN when nothing was found."""
        if len(self.widths) == 0:
            return np.full(len(QUANTILES), np.nan)
        return np.quantile(self.widths, QUANTILES)


def letter_widths(regions: Sequence[BaseGeometry], upem: float) -> tuple[list[Widths], list[Widths]]:
    """Stroke widths of each region, and widths of the channels between its walls (slits, apertures).

    All regions share one raster, so that one distance transform serves a whole face.
    """
    scale = PX_PER_EM / upem
    live = [k for k, r in enumerate(regions) if not r.is_empty]
    empty = Widths(np.empty(0), np.empty((0, 2)), 0.0)
    inside = [empty] * len(regions)
    channels = [empty] * len(regions)
    if not live:
        return inside, channels
    bounds = shapely.bounds(np.asarray(regions, dtype=object)[live])
    sizes = np.ceil((bounds[:, 2:] - bounds[:, :2]) * scale).astype(int) + 2 * _PAD
    height = int(sizes[:, 1].max())
    starts = np.concatenate([[0], np.cumsum(sizes[:, 0])])
    sheet = np.zeros((height, int(starts[-1])), dtype=np.uint8)
    origins = np.column_stack([starts[:-1] + _PAD, np.full(len(live), _PAD)]) - bounds[:, :2] * scale
    for k, origin in zip(live, origins, strict=True):
        paint(sheet, regions[k], scale, origin)
    solid = _ridge(sheet)
    hull = np.zeros_like(sheet)
    for k, origin in zip(live, origins, strict=True):
        paint(hull, shapely.convex_hull(regions[k]), scale, origin)
    # Channels: centre lines of what the hull holds and the letter does not, measured to the letter's walls only.
    open_ground = (sheet == 0).astype(np.uint8)
    void = _ridge(open_ground) & (hull > 0)
    for at, k in enumerate(live):
        a, b = int(starts[at]), int(starts[at + 1])
        walls = segments(regions[k])
        for mask, found, sign in ((solid, inside, 1), (void, channels, -1)):
            rows, columns = np.nonzero(mask[:, a:b])
            if len(rows) == 0:
                continue
            pick = np.unique(np.linspace(0, len(rows) - 1, SAMPLES).astype(int))
            points = (np.column_stack([columns[pick] + a, rows[pick]]) - origins[at]) / scale
            width, good = across(points, walls, step=1.5 / scale, region=regions[k], inside=sign > 0)
            found[k] = Widths(width[good], points[good], len(rows) / scale)
    return inside, channels


def across(
    points: NDArray[np.float64],
    walls: tuple[NDArray[np.float64], NDArray[np.float64]],
    step: float,
    region: BaseGeometry,
    inside: bool,
) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Wall-to-wall widths through points near the centre line, exact for parallel walls.

    From a point at distance d from its nearest wall, go ``step`` away from that wall, over the centre line, and take
    the distance d2 to the wall then nearest: the width is d + step + d2 however far the point lay from the centre
    line. Returns widths and which of them lie on the right side of the outline.
    """
    near, d = nearest(points, walls)
    away = points - near
    length = np.maximum(d, 1e-9)[:, None]
    stride = np.minimum(step, 0.6 * d)
    _, d2 = nearest(points + away / length * stride[:, None], walls)
    held = shapely.contains_xy(region, points[:, 0], points[:, 1])
    width = d + stride + d2
    return width, (held == inside) & (d > 0)


def nearest(
    points: NDArray[np.float64], walls: tuple[NDArray[np.float64], NDArray[np.float64]]
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Nearest place on any wall segment for each point: places (n, 2) and distances (n)."""
    start, run = walls
    squared = np.maximum((run * run).sum(axis=1), 1e-12)
    offset = points[:, None, :] - start[None]
    t = np.clip((offset * run[None]).sum(axis=2) / squared, 0.0, 1.0)
    gap = offset - t[..., None] * run[None]
    distance2 = (gap * gap).sum(axis=2)
    k = np.argmin(distance2, axis=1)
    at = np.arange(len(points))
    return start[k] + t[at, k][:, None] * run[k], np.sqrt(distance2[at, k])


def segments(region: BaseGeometry) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Start points and run vectors of every edge of a region, each of shape (n, 2)."""
    rings = shapely.get_rings(shapely.get_parts(region))
    coordinates, owner = shapely.get_coordinates(rings, return_index=True)
    same = owner[1:] == owner[:-1]
    return coordinates[:-1][same], (coordinates[1:] - coordinates[:-1])[same]


_SHIFT = 4


def paint(sheet: NDArray[np.uint8], region: BaseGeometry, scale: float, origin: NDArray[np.float64]) -> None:
    """Fill a region into a raster, row 0 at the bottom, pixel centres at whole numbers."""
    rings = shapely.get_rings(shapely.get_parts(region))
    contours = [
        np.rint((shapely.get_coordinates(r)[:-1] * scale + origin) * (1 << _SHIFT)).astype(np.int32) for r in rings
    ]
    if contours:
        cv2.fillPoly(sheet, contours, (1,), lineType=cv2.LINE_8, shift=_SHIFT)


def _ridge(mask: NDArray[np.uint8]) -> NDArray[np.bool_]:
    field = cv2.distanceTransform(mask, cv2.DIST_L2, cv2.DIST_MASK_5)
    gx = np.zeros_like(field)
    gy = np.zeros_like(field)
    gx[:, 1:-1] = field[:, 2:] - field[:, :-2]
    gy[1:-1] = field[2:] - field[:-2]
    ridge: NDArray[np.bool_] = (gx * gx + gy * gy < (2 * RIDGE) ** 2) & (mask > 0)
    return ridge
