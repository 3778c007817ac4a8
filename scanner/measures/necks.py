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

from scanner.measures.discs import inscribed_discs
from scanner.regions import offset, polygons_of

ARC_SEGS = 8
"""Segments a quarter circle here: half of the drawn offsets' own, as nothing of this is drawn."""

ARC_SHARE = (1 - math.cos(math.pi / (4 * ARC_SEGS))) / 2
"""Half of what chords lie inside their arc, as a share of the radius: 0.24 %, 0.0004 em."""

ARC_SCALE = 1 + ARC_SHARE
"""Insets this much larger are as often too far as not far enough."""


SEED_COARSE = 6.0
"""First search of a seed over the tolerance: the finer the search, the longer it takes."""


def seeds_of(parts: Sequence[BaseGeometry], tolerance: float) -> NDArray[np.float64]:
    """Centres of the largest inscribed discs, shape (n, 2).

    A disc that is nearly the largest serves as well: what counts is that the part hangs on to it.
    """
    return inscribed_discs(parts, tolerance, SEED_COARSE)[0]


def neck(base: BaseGeometry, seeds: NDArray[np.float64], tolerance: float) -> tuple[float, tuple[float, float] | None]:
    """Width of the neck of ``base`` and the place where it parts; 0 and None when the seeds are not on one piece.

    Search over insets, to ``tolerance`` of the width, in the unit of the base. With one seed the neck is the
    diameter of the disc that fits there.

    An inset that falls apart says more than that: straight bridges between its pieces bound the neck from below, so
    the next inset is tried just above that bound, and mostly ends the search.
    """
    points = shapely.points(seeds)
    pieces = polygons_of(base)
    shapely.prepare(pieces)
    home = next((p for p in pieces if bool(shapely.contains(p, points).all())), None)
    if home is None:
        return 0.0, None
    walls = home.boundary
    high = float(shapely.distance(walls, points).min())
    low = 0.0
    if len(seeds) == 1:
        return 2 * high, None
    # Half the tolerance is spent on fewer vertices: each inset costs as much as the outline has points.
    home = shapely.simplify(home, tolerance / 8)
    walls = home.boundary
    shapely.prepare(walls)
    apart: BaseGeometry | None = None
    place: tuple[float, float] | None = None
    # A wide base is often held by its seeds alone: tried after the first success, as near as the chords say.
    cap = high - max(0.49 * tolerance, 1.2 * ARC_SHARE * high)
    middle = low + 0.75 * (high - low)  # an inset too far says more than one not far enough
    step = high  # a bound is mostly near the truth: from it upwards in growing steps, else by halves
    while high - low > tolerance / 2:
        shrunk = offset(home, -middle * ARC_SCALE, quad_segs=ARC_SEGS)
        if _one_holds_all(shrunk, points):
            low = middle
            if low >= cap:
                break
            step *= 3
            if apart is None and middle < cap < high:
                middle = cap
                continue
        else:
            high, apart = middle, shrunk
            bridged, bridge = _bridged(shrunk, points, walls)
            place = bridge or place
            if bridged > low:
                low, step = min(bridged, high), 0.49 * tolerance
        middle = min(low + step, (low + high) / 2)
    return low + high, place or _parting(apart, points)


def _bridged(
    apart: BaseGeometry, points: NDArray[np.object_], walls: BaseGeometry
) -> tuple[float, tuple[float, float] | None]:
    """A lower bound of the inset that still connects all seeds, and the weakest place; 0 and None without a bound.

    The pieces are joined in a row by their shortest lines; no place on a line is closer to a wall than the bound.
    """
    pieces = polygons_of(apart)
    held = shapely.covers(np.array([*pieces, None], dtype=object)[:-1, None], points[None])
    holders = [p for p, seeds in zip(pieces, held, strict=True) if seeds.any()]
    if len(holders) < 2 or not held.any(axis=0).all():
        return 0.0, None  # or a seed lies in no piece any more
    holders.sort(key=lambda p: float(p.bounds[0] + p.bounds[2]))
    array = np.asarray(holders, dtype=object)
    lines = shapely.shortest_line(array[:-1], array[1:])
    width = shapely.distance(walls, lines)
    weakest = int(np.argmin(width))
    middle = shapely.get_coordinates(lines[weakest]).mean(axis=0)
    return float(width[weakest]), (float(middle[0]), float(middle[1]))


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
