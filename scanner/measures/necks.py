"""The neck: the narrowest width through which a letter hangs on to the rest.

Neck of a base region B with one seed a letter part (the centre of the part's largest inscribed disc): twice the
largest inset e for which one component of B shrunk by e holds every seed. The order of the text plays no part.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.regions import QUAD_SEGS, offset, polygons_of


def seeds_of(parts: Sequence[BaseGeometry], tolerance: float) -> NDArray[np.float64]:
    """Centres of the largest inscribed discs, shape (n, 2)."""
    lines = shapely.maximum_inscribed_circle(np.asarray(parts, dtype=object), tolerance=tolerance)
    return shapely.get_coordinates(shapely.get_point(lines, 0))


def neck(base: BaseGeometry, seeds: NDArray[np.float64], tolerance: float) -> tuple[float, tuple[float, float] | None]:
    """Width of the neck of ``base`` and the place where it parts; 0 and None when the seeds are not on one piece.

    Bisection over insets, to ``tolerance`` of the width, in the unit of the base. With one seed the neck is the
    diameter of the disc that fits there.
    """
    points = shapely.points(seeds)
    pieces = polygons_of(base)
    home = next((p for p in pieces if bool(shapely.contains(p, points).all())), None)
    if home is None:
        return 0.0, None
    low, high = 0.0, float(shapely.distance(home.boundary, points).min())
    if len(seeds) == 1:
        return 2 * high, None
    # Half the tolerance is spent on fewer vertices: each inset costs as much as the outline has points.
    home = shapely.simplify(home, tolerance / 8)
    apart: BaseGeometry | None = None
    while high - low > tolerance / 4:
        middle = (low + high) / 2
        shrunk = shapely.buffer(home, -middle, quad_segs=QUAD_SEGS)
        if _one_holds_all(shrunk, points):
            low = middle
        else:
            high, apart = middle, shrunk
    return low + high, _parting(apart, points)


def necks_at(
    region: BaseGeometry, parts: Sequence[BaseGeometry], offsets: Sequence[float], tolerance: float
) -> list[float]:
    """Necks of ``region`` after each outward offset; same unit throughout."""
    seeds = seeds_of(parts, tolerance)
    return [neck(offset(region, r), seeds, tolerance)[0] for r in offsets]


def _one_holds_all(shrunk: BaseGeometry, points: NDArray[np.object_]) -> bool:
    return any(bool(shapely.covers(p, points).all()) for p in polygons_of(shrunk))


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
