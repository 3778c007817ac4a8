"""The neck: the narrowest width through which a letter hangs on to the rest.

Neck of a base region B with one seed a letter part (the centre of the part's largest inscribed disc): twice the
largest inset e for which one component of B shrunk by e holds every seed. The order of the text plays no part.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.regions import offset, polygons_of

INSET_SEGS = 8
"""Segments a quarter circle in insets: half of the offsets' own, for an inset is only asked whether it holds together."""

ARC_SCALE = 1 + (1 - math.cos(math.pi / (4 * INSET_SEGS))) / 2
"""Chords lie inside their arc by up to twice this share; made even, the error of an inset is 0.24 % of its radius."""


def seeds_of(parts: Sequence[BaseGeometry], tolerance: float) -> NDArray[np.float64]:
    """Centres of the largest inscribed discs, shape (n, 2)."""
    lines = shapely.maximum_inscribed_circle(np.asarray(parts, dtype=object), tolerance=tolerance)
    return shapely.get_coordinates(shapely.get_point(lines, 0))


def neck(
    base: BaseGeometry, seeds: NDArray[np.float64], tolerance: float, least: float = 0.0
) -> tuple[float, tuple[float, float] | None]:
    """Width of the neck of ``base`` and the place where it parts; 0 and None when the seeds are not on one piece.

    Bisection over insets, to ``tolerance`` of the width, in the unit of the base. With one seed the neck is the
    diameter of the disc that fits there. ``least`` is a width already known to hold; the search starts there.
    """
    points = shapely.points(seeds)
    pieces = polygons_of(base)
    shapely.prepare(pieces)
    home = next((p for p in pieces if bool(shapely.contains(p, points).all())), None)
    if home is None:
        return 0.0, None
    high = float(shapely.distance(home.boundary, points).min())
    low = min(least / 2, high)
    if len(seeds) == 1:
        return 2 * high, None
    # Half the tolerance is spent on fewer vertices: each inset costs as much as the outline has points.
    home = shapely.simplify(home, tolerance / 8)
    apart: BaseGeometry | None = None
    while high - low > tolerance / 4:
        middle = (low + high) / 2
        shrunk = shapely.buffer(home, -middle * ARC_SCALE, quad_segs=INSET_SEGS)
        if _one_holds_all(shrunk, points):
            low = middle
        else:
            high, apart = middle, shrunk
    return low + high, _parting(apart, points)


def necks_at(
    region: BaseGeometry, seeds: NDArray[np.float64], offsets: Sequence[float], tolerance: float
) -> list[float]:
    """Necks of ``region`` after each outward offset, smallest offset first; same unit throughout."""
    widths: list[float] = []
    width, last = 0.0, 0.0
    for r in offsets:
        # A base that is wider by d all round carries a neck that is wider by 2 d at least.
        known = width + 2 * (r - last) - tolerance if width else 0.0
        width, last = neck(offset(region, r), seeds, tolerance, max(0.0, known))[0], r
        widths.append(width)
    return widths


def _one_holds_all(shrunk: BaseGeometry, points: NDArray[np.object_]) -> bool:
    boxes = shapely.bounds(points)
    low, high = boxes[:, :2].min(axis=0), boxes[:, 2:].max(axis=0)
    for piece in polygons_of(shrunk):
        left, bottom, right, top = piece.bounds  # most pieces are too small for all seeds
        if left <= low[0] and bottom <= low[1] and right >= high[0] and top >= high[1]:
            shapely.prepare(piece)
            if bool(shapely.covers(piece, points).all()):
                return True
    return False


def _parting(apart: BaseGeometry | None, points: NDArray[np.object_]) -> tuple[float, float] | None:
    """Midpoint of the shortest bridge between the pieces that hold seeds just after the neck gave way."""
    if apart is None:
        return None
    holders = [p for p in polygons_of(apart) if bool(shapely.covers(p, points).any())]
    if len(holders) < 2:
        return None
    array = np.asarray(holders, dtype=object)
    i, j = np.triu_indices(len(holders), 1)
    nearest = int(np.argmin(shapely.distance(array[i], array[j])))
    bridge = shapely.shortest_line(array[i][nearest], array[j][nearest])
    middle = shapely.get_coordinates(bridge).mean(axis=0)
    return float(middle[0]), float(middle[1])
