"""The small-parts cylinder of 16 CFR 1501.4: which bodies surely do not fit it. The inch figures govern.

A calculation from the drawing, never a test; for everything else the answer is "may fit".
"""

from __future__ import annotations

import math

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from scanner.units import MM_PER_INCH

DIAMETER_MM = 1.25 * MM_PER_INCH
SHALLOW_MM, DEEP_MM = 1.00 * MM_PER_INCH, 2.25 * MM_PER_INCH
LONGEST_MM = math.hypot(DIAMETER_MM, DEEP_MM)
"""Longest straight line inside: 65.377 mm."""


def diameter_mm(outline: BaseGeometry, height_mm: float) -> float:
    """Longest distance between two points of a flat body."""
    points = shapely.get_coordinates(shapely.convex_hull(outline))
    across = points[:, None, :] - points[None, :, :]
    return math.hypot(float(np.hypot(across[..., 0], across[..., 1]).max()), height_mm)


def least_width_mm(outline: BaseGeometry) -> float:
    """Least distance between two parallel lines that hold the outline; reached along an edge of its hull.

    >>> from shapely.geometry import box
    >>> least_width_mm(box(0, 0, 60, 20))
    20.0
    """
    points = shapely.get_coordinates(shapely.convex_hull(outline))
    run = np.diff(points, axis=0)
    length = np.hypot(run[:, 0], run[:, 1])
    run, start = run[length > 0] / length[length > 0, None], points[:-1][length > 0]
    away = (points[None] - start[:, None]) * np.stack([-run[:, 1], run[:, 0]], axis=1)[:, None]
    return float(np.abs(away.sum(axis=2)).max(axis=1).min())


def may_fit(outline: BaseGeometry, height_mm: float) -> bool:
    """False only where the body surely does not fit: too long for any line inside, or too wide every way."""
    return diameter_mm(outline, height_mm) <= LONGEST_MM and least_width_mm(outline) <= DIAMETER_MM
