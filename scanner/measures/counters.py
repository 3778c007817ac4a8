"""Counters: holes that belong to a letter.

A hole's inscribed disc loses exactly r of its radius under an outward offset r, so one number a hole, its inscribed
diameter, answers for every offset.
"""

from __future__ import annotations

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from scanner.regions import inscribed_diameter


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
    return sorted(inscribed_diameter(h, tolerance) for h in holes_of(region))
