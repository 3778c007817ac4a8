"""Largest inscribed discs of many polygons at once."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]

COARSE = 2.0
"""The first search for a disc is this much coarser than asked."""

_GRID = np.stack(np.meshgrid(*[np.linspace(-1, 1, 5)] * 2), axis=-1).reshape(-1, 2)


def inscribed_discs(
    polygons: Sequence[BaseGeometry], tolerance: float, coarse: float = COARSE
) -> tuple[Floats, Floats]:
    """Centres, shape (n, 2), and diameters, shape (n), of the largest disc in each polygon; unit of the polygons.

    GEOS searches coarsely for the place, which is what takes its time (0.42 ms a hole at 0.001 em, 0.2 ms at
    0.002 em); then a grid of points around the best place so far shrinks upon it, for all polygons in one call. The
    disc is the largest there; of another place it may fall short by ``coarse`` times the tolerance.
    """
    if not len(polygons):
        return np.empty((0, 2)), np.empty(0)
    array = np.array([*polygons, None], dtype=object)[:-1]
    spots = shapely.maximum_inscribed_circle(array, tolerance=coarse * tolerance)
    place = shapely.get_coordinates(shapely.get_point(spots, 0))
    radius = shapely.length(spots)
    walls = shapely.boundary(array)
    shapely.prepare(walls)
    span = np.minimum(2 * coarse * tolerance, radius / 2)  # stays inside
    rows = np.arange(len(array))
    while span.max() > tolerance / 8:
        around = place[:, None] + _GRID[None] * span[:, None, None]
        distance = shapely.distance(walls[:, None], shapely.points(around))
        best = np.argmax(distance, axis=1)
        radius = np.maximum(radius, distance[rows, best])
        place = around[rows, best]
        span = span * 0.4
    return place, 2 * radius
