"""The coupon as a drawing with captions, from above. Pure."""

from __future__ import annotations

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from catalogue.draw.picture import INK, Item, Scene, Shape, Text
from catalogue.tag.coupon.coupon import Coupon

PLATE_FILL, STANDING_FILL, EDGE = "#8ab4d8", "#274c77", "#22313f"

MARGIN_MM = 2.0

_WRITING = 1 / 26
"""Height of a caption as a share of the coupon's width, and the room on the right that captions take."""
_ROOM = 9.0
"""In heights of a caption."""

CAPTIONS = {
    "walls": ("walls", "does it stand, solid?"),
    "gaps": ("gaps", "does light pass?"),
    "holes": ("holes", "does light pass?"),
    "necks": ("necks", "bend it: does it hold?"),
}
"""What a row is, and what to look for."""


def coupon_scene(coupon: Coupon) -> Scene:
    """Plate and features in two tones, each row with what to look for."""
    width, depth, _ = coupon.size_mm
    size = max(1.4, width * _WRITING)
    plate, mid, top = (band.region for band in coupon.bands)

    def placed(region: BaseGeometry) -> BaseGeometry:
        return shapely.transform(region, lambda c: np.column_stack([c[:, 0] + MARGIN_MM, depth + MARGIN_MM - c[:, 1]]))

    items: list[Item] = [
        Shape(placed(plate), PLATE_FILL, EDGE), Shape(placed(mid), STANDING_FILL), Shape(placed(top), STANDING_FILL)
    ]  # fmt: skip
    x = width + MARGIN_MM + size / 2
    for row in coupon.rows:
        y = depth + MARGIN_MM - row.middle_mm
        for k, line in enumerate(CAPTIONS[row.kind]):
            items.append(Text(x, y + 1.2 * size * k, line, size * (1.0 if k == 0 else 0.8), INK))
    return Scene(width + 2 * MARGIN_MM + _ROOM * size, depth + 2 * MARGIN_MM, coupon.name, tuple(items))
