"""The features of a coupon as regions, each around a place on the plate. Pure; mm, y up.

``u`` is the unit of the drawing: the stroke of the numbers on it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Point, Polygon, box
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

HEIGHT_U, BLOCK_U, SLOT_U = 7.0, 8.0, 5.0
"""Height of every feature, width of a block with a gap or a hole in it, length of the gap."""

GRIP_U = 3.0
"""Half the width of what a neck holds on to, on either side."""
STEM_U, TAB_U, FOOT_U = 2.0, 5.0, 2.5
"""Length of a stem, height of the tab that hangs on it, and how far a neck's foot stands on the plate."""
EDGE_U = 1.0
"""How far the foot of a stem stands out from the plate's edge."""

ROUND_SEGMENTS = 16
"""Segments a quarter of a circle: it strays 0.005 mm at the largest hole."""


@dataclass(frozen=True, slots=True)
class Cut:
    """A block and what is cut through it and through the plate below."""

    solid: BaseGeometry
    opening: BaseGeometry


def wall(x_mm: float, y_mm: float, width_mm: float, u: float) -> BaseGeometry:
    """An upright wall on the plate, its foot at y."""
    return box(x_mm - width_mm / 2, y_mm, x_mm + width_mm / 2, y_mm + HEIGHT_U * u)


def gap(x_mm: float, y_mm: float, width_mm: float, u: float) -> Cut:
    """A block with an upright gap."""
    middle = y_mm + HEIGHT_U * u / 2
    slot = box(x_mm - width_mm / 2, middle - SLOT_U * u / 2, x_mm + width_mm / 2, middle + SLOT_U * u / 2)
    return Cut(_block(x_mm, y_mm, u), slot)


def hole(x_mm: float, y_mm: float, diameter_mm: float, u: float) -> Cut:
    """A block with a round hole; its polygon lies around the circle, so that it is never too small."""
    radius = diameter_mm / 2 / math.cos(math.pi / (4 * ROUND_SEGMENTS))
    return Cut(_block(x_mm, y_mm, u), Point(x_mm, y_mm + HEIGHT_U * u / 2).buffer(radius, quad_segs=ROUND_SEGMENTS))


def stem_neck(x_mm: float, width_mm: float, u: float) -> BaseGeometry:
    """A tab that hangs from the plate's edge, y = 0, by a straight stem."""
    end = -(EDGE_U + STEM_U) * u
    foot = box(x_mm - GRIP_U * u, -EDGE_U * u, x_mm + GRIP_U * u, FOOT_U * u)
    stem = box(x_mm - width_mm / 2, end, x_mm + width_mm / 2, -EDGE_U * u)
    tab = box(x_mm - GRIP_U * u, end - TAB_U * u, x_mm + GRIP_U * u, end)
    return shapely.union_all([foot, stem, tab])


def round_neck(x_mm: float, width_mm: float, u: float) -> BaseGeometry:
    """A disc that hangs from another on the plate's edge: where two circles of radius r cross, at d = 2·√(r² - (w/2)²)
    from middle to middle, the chord is w. Both outlines have a point where they cross, so that the neck is exact.
    """
    radius, half = GRIP_U * u, width_mm / 2
    down = math.sqrt(radius**2 - half**2)
    cross = math.asin(down / radius)
    turn = np.linspace(-cross, math.pi + cross, 3 * ROUND_SEGMENTS)
    upper = np.column_stack([radius * np.cos(turn), radius * np.sin(turn)])
    lower = np.column_stack([-upper[:, 0], -2 * down - upper[:, 1]])
    return translate(Polygon(np.concatenate([upper[:-1], lower[:-1]])), x_mm, 0.0)


def _block(x_mm: float, y_mm: float, u: float) -> BaseGeometry:
    return box(x_mm - BLOCK_U * u / 2, y_mm, x_mm + BLOCK_U * u / 2, y_mm + HEIGHT_U * u)
