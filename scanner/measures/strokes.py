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

from scanner.alphabet import QUANTILES
from scanner.measures.painting import Rings, outline_of, painted

RIDGE = 0.6
"""Largest gradient of the distance field on a centre line; below cos 45°."""

PX_PER_EM = 160.0
"""Raster that locates centre lines; a hairline of 0.0125 em is two pixels."""

SAMPLES = 48
"""Centre-line points measured per letter and side, spread evenly over those found."""

_PAD = 4


@dataclass(frozen=True, slots=True)
class Widths:
    """Widths across the centre line of one region, in font units, and where each was taken, shape (n, 2)."""

    widths: NDArray[np.float64]
    places: NDArray[np.float64]
    length: float
    """Length of the centre line in the unit of the region: its area over the mean width (ridge pixels would count a
    stroke of an even number of pixels twice). The weight of a letter in a word's distribution."""

    def quantiles(self) -> NDArray[np.float64]:
        """Widths at ``QUANTILES``; NaN when nothing was found."""
        found: NDArray[np.float64] = quantiles_of([self])[0]
        return found


def quantiles_of(letters: Sequence[Widths]) -> NDArray[np.float64]:
    """Widths at ``QUANTILES`` of each letter, shape (letters, quantiles); NaN where nothing was found."""
    count = np.array([len(letter.widths) for letter in letters], dtype=np.intp)
    found = np.full((len(letters), len(QUANTILES)), np.nan)
    known = np.flatnonzero(count)
    if len(known):
        values = np.concatenate([letter.widths for letter in letters])
        values = values[np.lexsort((values, np.repeat(np.arange(len(letters)), count)))]
        # Linear interpolation as in np.quantile, which takes ten times as long for so few values.
        place = (np.cumsum(count) - count)[known, None] + np.asarray(QUANTILES) * (count[known, None] - 1)
        low = place.astype(np.intp)
        high = np.minimum(low + 1, np.cumsum(count)[known, None] - 1)
        found[known] = values[low] + (place - low) * (values[high] - values[low])
    return found


def weighted_quantiles(
    values: NDArray[np.float64], weights: NDArray[np.float64], wanted: Sequence[float]
) -> NDArray[np.float64]:
    """The least values at which the share of the weight reaches each wanted share."""
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    at = np.searchsorted(total, np.asarray(wanted) * total[-1])
    found: NDArray[np.float64] = values[order][np.minimum(at, len(values) - 1)]
    return found


Walls = tuple[NDArray[np.float64], NDArray[np.float64]]
"""Start points and run vectors of edges, each of shape (..., edges, 2)."""


def letter_widths(
    regions: Sequence[BaseGeometry], upem: float, channels: bool = True
) -> tuple[list[Widths], list[Widths]]:
    """Stroke widths of each region, and widths of the channels between its walls (slits, apertures) where asked for.

    All regions share one raster, so that one distance transform serves a whole face.
    """
    scale = PX_PER_EM / upem
    live = [k for k, r in enumerate(regions) if not r.is_empty]
    empty = Widths(np.empty(0), np.empty((0, 2)), 0.0)
    inside = [empty] * len(regions)
    between = [empty] * len(regions)
    if not live:
        return inside, between
    shapes = np.empty(len(live), dtype=object)
    shapes[:] = [regions[k] for k in live]
    bounds = shapely.bounds(shapes)
    sizes = np.ceil((bounds[:, 2:] - bounds[:, :2]) * scale).astype(int) + 2 * _PAD
    starts = np.concatenate([[0], np.cumsum(sizes[:, 0])])
    origins = np.column_stack([starts[:-1] + _PAD, np.full(len(live), _PAD)]) - bounds[:, :2] * scale
    size = (int(sizes[:, 1].max()), int(starts[-1]))
    # One call paints all letters, as they lie apart, and one call takes all their walls: 4 ms a face in place of 12.
    outline, home = outline_of(shapes)
    sheet = painted(size, outline, home, scale, origins)
    pixels, letter = _sampled(_ridge(sheet), starts)
    inner = np.ones(len(letter), dtype=np.bool_)
    area = shapely.area(shapes)
    hollow = np.zeros(len(live))
    if channels:
        # Centre lines of what the hull holds and the letter does not, measured to the letter's walls only.
        hulls = shapely.convex_hull(shapes)
        hollow = shapely.area(hulls) - area
        ridge = _ridge(1 - sheet) & painted(size, *outline_of(hulls), scale, origins).view(np.bool_)
        more, whose = _sampled(ridge, starts)
        order = np.argsort(np.concatenate([letter, whose]), kind="stable")
        pixels, letter = np.concatenate([pixels, more])[order], np.concatenate([letter, whose])[order]
        inner = order < len(inner)
    points = (pixels - origins[letter]) / scale
    start, run, owner = _edges(outline, home)
    ends = np.cumsum(np.bincount(letter, minlength=len(live)))
    cuts = np.searchsorted(owner, np.arange(len(live) + 1))
    width = _measured(points, ends, (start, run), cuts, step=1.5 / scale)
    shapely.prepare(shapes)
    held = (shapely.contains_xy(shapes[letter], points[:, 0], points[:, 1]) == inner) & (width > 0)
    for wanted, over, out in ((held & inner, area, inside), (held & ~inner, hollow, between)):
        count = np.bincount(letter[wanted], minlength=len(live))
        total = np.bincount(letter[wanted], width[wanted], minlength=len(live))
        length = over * count / np.where(count, total, 1.0)
        parts = np.cumsum(count)[:-1]
        for k, w, p, along in zip(
            live, np.split(width[wanted], parts), np.split(points[wanted], parts), length.tolist(), strict=True
        ):
            out[k] = Widths(w, p, along)
    return inside, between


_TOGETHER = 8
"""Letters measured in one array: enough to save calls, few enough to stay in the processor's cache."""


def _measured(
    points: NDArray[np.float64], ends: NDArray[np.intp], walls: Walls, cuts: NDArray[np.intp], step: float
) -> NDArray[np.float64]:
    """Widths at the points of all letters, each against its own walls; both lie one letter after the other.

    Letters with nearly as many edges share an array; where one has fewer, its last edge or point stands again, which
    changes nothing.
    """
    width = np.zeros(len(points))
    edges, count = np.diff(cuts), np.diff(ends, prepend=0)
    order = np.argsort(edges, kind="stable")
    for some in np.split(order, np.arange(_TOGETHER, len(order), _TOGETHER)):
        some = some[count[some] > 0]  # letters without a centre line are left out
        if not len(some):
            continue
        wall = cuts[some, None] + np.minimum(np.arange(edges[some].max()), edges[some, None] - 1)
        most = np.arange(count[some].max())
        place = (ends[some] - count[some])[:, None] + np.minimum(most, count[some, None] - 1)
        own = most < count[some, None]
        width[place[own]] = across(points[place], (walls[0][wall], walls[1][wall]), step)[own]
    return width


def _sampled(mask: NDArray[np.bool_], starts: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """At most ``SAMPLES`` pixels (column, row) of each letter, spread evenly, and the letter of each, in order."""
    row, column = np.divmod(np.flatnonzero(mask), mask.shape[1])
    letter = np.repeat(np.arange(len(starts) - 1), np.diff(starts))[column]
    order = np.argsort(letter, kind="stable")
    count = np.bincount(letter, minlength=len(starts) - 1)
    taken = np.minimum(count, SAMPLES)
    owner = np.repeat(np.arange(len(taken)), taken)
    place = np.arange(len(owner)) - (np.cumsum(taken) - taken)[owner]
    spread = np.where(count > SAMPLES, count - 1, SAMPLES - 1)[owner]
    chosen = order[(np.cumsum(count) - count)[owner] + place * spread // (SAMPLES - 1)]
    return np.column_stack([column[chosen], row[chosen]]), owner


def across(points: NDArray[np.float64], walls: Walls, step: float) -> NDArray[np.float64]:
    """Wall-to-wall widths (..., n) through points (..., n, 2) near the centre line, exact for parallel walls.

    From a point at distance d from its nearest wall, go ``step`` away from that wall, over the centre line, and take
    the distance d2 to the wall then nearest: the width is d + step + d2 however far the point lay from the centre
    line. 0 for a point on a wall.
    """
    near, d = nearest(points, walls)
    away = points - near
    length = np.maximum(d, 1e-9)[..., None]
    stride = np.minimum(step, 0.6 * d)
    _, d2 = nearest(points + away / length * stride[..., None], walls)
    return np.where(d > 0, d + stride + d2, 0.0)


def nearest(points: NDArray[np.float64], walls: Walls) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Nearest place on any wall for each point: places (..., n, 2) and distances (..., n)."""
    # x and y apart, in single precision and in place: a third of the time of arrays of pairs.
    sx, sy, rx, ry = (np.ascontiguousarray(w[..., None, :, k], dtype=np.float32) for w in walls for k in (0, 1))
    squared = np.maximum(rx * rx + ry * ry, np.float32(1e-12))
    x = points[..., 0, None].astype(np.float32) - sx
    y = points[..., 1, None].astype(np.float32) - sy
    t = x * rx
    t += y * ry
    t /= squared
    np.maximum(t, 0, out=t)
    np.minimum(t, 1, out=t)
    x -= t * rx
    y -= t * ry
    x *= x
    y *= y
    x += y
    k = np.argmin(x, axis=-1)[..., None]
    # The nearest edge is found; its distance is taken again in double precision.
    start, run = (np.take_along_axis(w, k, axis=-2) for w in walls)
    offset = points - start
    share = (offset * run).sum(axis=-1) / np.maximum((run * run).sum(axis=-1), 1e-12)
    near = start + np.clip(share, 0.0, 1.0)[..., None] * run
    gap = points - near
    return near, np.sqrt((gap * gap).sum(axis=-1))


def segments(region: BaseGeometry) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Start points and run vectors of every edge of a region, each of shape (n, 2)."""
    return _edges(*outline_of(np.array([region], dtype=object)))[:2]


def _edges(
    outline: Rings, owner: NDArray[np.intp]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.intp]]:
    """Start point, run and region of every edge."""
    coordinates, ring = outline
    same = ring[1:] == ring[:-1]
    return coordinates[:-1][same], (coordinates[1:] - coordinates[:-1])[same], owner[ring[:-1][same]]


_STRIP = 16
"""Rows taken at once, so that they stay in the processor's cache: half the time of the whole sheet at once."""


def _ridge(mask: NDArray[np.uint8]) -> NDArray[np.bool_]:
    field = cv2.distanceTransform(mask, cv2.DIST_L2, cv2.DIST_MASK_5)
    ridge = np.zeros(mask.shape, dtype=np.bool_)  # the outermost pixels are padding
    for top in range(1, len(mask) - 1, _STRIP):
        end = min(top + _STRIP, len(mask) - 1)
        steep = field[top:end, 2:] - field[top:end, :-2]
        cross = field[top + 1 : end + 1, 1:-1] - field[top - 1 : end - 1, 1:-1]
        steep *= steep
        cross *= cross
        steep += cross
        np.less(steep, (2 * RIDGE) ** 2, out=ridge[top:end, 1:-1])
    ridge &= mask.view(np.bool_)
    return ridge
