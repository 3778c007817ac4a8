"""The bodies of a tag for the turnable view: the very triangles that are written, flat and small."""

from __future__ import annotations

import base64
from typing import Any

import numpy as np

from catalogue.draw.picture import svg
from catalogue.tag.colours import hex_of
from catalogue.tag.exports.mesh import prism
from catalogue.tag.exports.svg import preview
from catalogue.tag.tag import Tag


def mesh_data(made: Tag, label: str) -> dict[str, Any]:
    """Bodies as colour, points (float32) and triangles (uint32) in base64; ``flat``: the drawing where there is no 3D.

    A body is a band between two heights, as in the 3MF file.
    """
    bodies = []
    for band in made.bands:
        mesh = prism(band.region, band.bottom_mm, band.top_mm)
        bodies.append(
            [hex_of(band.colour), _text(mesh.points.astype(np.float32)), _text(mesh.triangles.astype(np.uint32))]
        )
    return {"label": label, "size": list(made.size_mm), "bodies": bodies, "flat": svg(preview(made))}


def _text(array: Any) -> str:
    return base64.b64encode(np.ascontiguousarray(array).tobytes()).decode()
