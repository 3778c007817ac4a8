"""Counters: holes that belong to a letter.

A hole's inscribed disc loses exactly r of its radius under an outward offset r, so one number a hole, its inscribed
diameter, answers for every offset.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from scanner.measures.discs import inscribed_discs


def holes_of(region: BaseGeometry) -> list[Polygon]:
    """The holes of a region as polygons."""
    return [Polygon(h) for p in shapely.get_parts(region) for h in p.interiors]


def counter_diameters(region: BaseGeometry, tolerance: float) -> list[float]:
    """Inscribed diameter of every hole, smallest first; unit of the region.

    >>> from shapely.geometry import box
    >>> ring = box(0, 0, 10, 10).difference(box(2, 2, 8, 6))
    >>> [round(d, 2) for d in counter_diameters(ring, 0.01)]
    [4.0]
    """
    return sorted(inscribed_diameters(holes_of(region), tolerance).tolist())


def inscribed_diameters(holes: Sequence[Polygon], tolerance: float) -> NDArray[np.float64]:
    """Diameter of the largest disc in each hole, within ``tolerance`` and mostly far closer."""
    return inscribed_discs(holes, tolerance)[1]
