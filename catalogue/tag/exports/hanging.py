"""How a tag hangs from its key ring, seen from the front."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from catalogue.draw.picture import INK, PALE, Item, Scene, Shape
from catalogue.tag.colours import hex_of
from catalogue.tag.ring_places import HOLE_MM, OUTER_MM
from catalogue.tag.tag import Tag
from catalogue.text import clean

KEY_RING_MM, WIRE_MM = 16.0, 1.2
"""Across and thickness of the key ring that is drawn (a common one, no source)."""

_MARGIN_MM = 1.5


def hanging(tag: Tag) -> Scene:
    """The layers turned as the tag hangs, its centre of mass under the hole, on a key ring."""
    hole = (tag.ring.x_mm, tag.ring.y_mm)
    turned = [(hex_of(p.colour), rotate(p.region, tag.ring.tilt_deg, hole)) for p in tag.layers]
    wire = _key_ring(hole)
    bounds = shapely.total_bounds([wire, *(region for _, region in turned)])
    low, high = bounds[:2] - _MARGIN_MM, bounds[2:] + _MARGIN_MM

    def placed(region: BaseGeometry) -> BaseGeometry:
        return shapely.transform(region, lambda c: np.column_stack([c[:, 0] - low[0], high[1] - c[:, 1]]))

    items: list[Item] = [Shape(placed(region), colour, INK) for colour, region in turned]
    items.append(Shape(placed(wire), PALE, INK))
    width, height = (high - low).tolist()
    return Scene(width, height, f"{clean(tag.name)} as it hangs", tuple(items))


def _key_ring(hole: tuple[float, float]) -> BaseGeometry:
    """A ring of wire through the hole, above the wall that it hangs by; its lower end passes behind that wall."""
    inner = KEY_RING_MM / 2 - WIRE_MM
    centre = shapely.Point(hole[0], hole[1] + HOLE_MM / 2 - WIRE_MM + KEY_RING_MM / 2)
    ring = centre.buffer(KEY_RING_MM / 2, 32).difference(centre.buffer(inner, 32))
    wall = shapely.Point(hole).buffer(OUTER_MM / 2, 32).difference(shapely.Point(hole).buffer(HOLE_MM / 2, 32))
    return shapely.difference(ring, wall)
