"""A finished tag as it hangs from a key ring: its layers turned about the ring's hole, in mm, y down. Pure."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
import shapely
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from catalogue.draw.picture import path_data
from catalogue.tag.colours import hex_of
from catalogue.tag.fit import Fit
from catalogue.tag.tag import Tag

SMOOTH_MM = 0.04
"""How far a drawn outline may stray: a tenth of a pixel on the board."""


@dataclass(frozen=True, slots=True)
class Hanging:
    """Layers of a tag from the bottom up, the hole of its ring at the origin, y down."""

    layers: tuple[tuple[str, str, BaseGeometry], ...]
    """Name, #rrggbb and region."""

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, top, right, bottom, in mm from the hole."""
        found = shapely.bounds(np.asarray([r for _, _, r in self.layers], dtype=object))
        low, high = np.nanmin(found[:, :2], axis=0), np.nanmax(found[:, 2:], axis=0)
        return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def hang(tag: Tag) -> Hanging:
    """The tag turned by the tilt at which it comes to rest."""
    return _turned(tag, tag.ring.tilt_deg)


def level(tag: Tag) -> Hanging:
    """The tag with its name level, to be read."""
    return _turned(tag, 0.0)


def _turned(tag: Tag, degrees: float) -> Hanging:
    hole = (tag.ring.x_mm, tag.ring.y_mm)

    def placed(region: BaseGeometry) -> BaseGeometry:
        return shapely.transform(
            shapely.simplify(rotate(region, degrees, origin=hole), SMOOTH_MM),
            lambda c: np.column_stack([c[:, 0] - hole[0], hole[1] - c[:, 1]]),
        )

    by_layer = {p.layer: p for p in tag.layers if not p.region.is_empty}
    low = shapely.union_all([by_layer[k].region for k in ("base", "ring") if k in by_layer])
    parts = [("base", by_layer["base"].colour, low)]
    parts += [(k, by_layer[k].colour, by_layer[k].region) for k in ("middle", "top") if k in by_layer]
    return Hanging(tuple((name, hex_of(colour), placed(region)) for name, colour, region in parts))


def drawn(hanging: Hanging) -> dict[str, Any]:
    """What the browser needs to draw it: ``layers`` of colour and path, and the ``box``."""
    return {
        "layers": [[colour, path_data(region)] for _, colour, region in hanging.layers],
        "box": [round(v, 2) for v in hanging.box],
    }


def change_in_words(fit: Fit) -> str:
    """What had to be changed so that the name holds, for people who never set type.

    The numbers stand in Make; here it is one line under a tag.
    """
    words = {
        "tracking": "letters closer", "thickening": "letters thicker", "base offset": "wider outline",
        "word space": "words closer", "weight": "heavier letters", "forms": "plain forms", "gap": "a gap closed",
        "lines": "lines closer", "bridge": "a bridge",
    }  # fmt: skip
    parts = []
    for change in fit.changes:
        if change.lever == "cap height":
            parts.append(f"{'larger' if change.end > change.start else 'smaller'}, {change.end:.0f} mm")
        else:
            parts.append(words.get(change.lever, change.lever))
    return ", ".join(dict.fromkeys(parts))
