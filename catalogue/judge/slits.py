"""Slits: channels of a drawing that close in print, kept apart from corners, whose tips always close. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from scanner.regions import offset, polygons_of

BLUNT = 0.7
"""How much of the box over its mouth a channel with one mouth takes up at least. A corner between straight sides takes
half of it, one between round sides less, a channel of an even width all of it: the limit is ours, between the two."""

_APART_MM = 0.005
"""What stands farther than this from every wall is a mouth; above the error of offsets."""


@dataclass(frozen=True, slots=True)
class Slit:
    """A channel that closes."""

    region: Polygon
    """What of it is filled, in mm."""
    length_mm: float
    """Along its walls."""


def slits(region: BaseGeometry, least_gap_mm: float, line_mm: float) -> list[Slit]:
    """Channels narrower than the least gap and at least a line long. Holes are left out: counters are judged apart.

    A closing by half the least gap fills all that is narrower, the tips of corners too. What is filled counts when it
    has more than one mouth (a bridge over an aperture or between two strokes), or when its one mouth leads into a
    channel and not into a corner, see ``BLUNT``.

    >>> block = shapely.box(0, 0, 10, 5)
    >>> [round(s.length_mm) for s in slits(block - shapely.box(4.9, 2, 5.1, 5), 0.5, 0.4)]
    [3]
    >>> slits(block - shapely.Polygon([(4, 5), (5, 2), (6, 5)]), 0.5, 0.4)
    []
    """
    solid = shapely.union_all([Polygon(p.exterior) for p in polygons_of(region)])
    closed = offset(offset(solid, least_gap_mm / 2), -least_gap_mm / 2)
    filled = [f for f in polygons_of(shapely.difference(closed, solid)) if f.exterior.length > 2 * line_mm]
    walls = offset(solid, _APART_MM)
    found = []
    for place in filled:
        mouths = _mouths(place, walls)
        wide = sum(mouth.length for mouth in mouths)
        length = (place.exterior.length - wide) / 2
        blunt = len(mouths) == 1 and place.area > BLUNT * wide * _depth(place, mouths[0])
        if length >= line_mm and (blunt or len(mouths) > 1):  # without a mouth it is a seam that rounding left
            found.append(Slit(place, length))
    return found


def _mouths(place: Polygon, walls: BaseGeometry) -> list[BaseGeometry]:
    """Where a filled place meets the open ground."""
    parts = shapely.get_parts(shapely.line_merge(shapely.difference(place.exterior, walls)))
    return [part for part in parts if part.length > 4 * _APART_MM]


def _depth(place: Polygon, mouth: BaseGeometry) -> float:
    """How far it goes in."""
    return float(np.max(shapely.distance(shapely.points(shapely.get_coordinates(place)), mouth)))
