"""A tag as the sheets of a run need it: regions, colours and sizes, without the fit; kept in the order's folder."""

from __future__ import annotations

import base64
import zlib
from dataclasses import dataclass
from typing import Any

import shapely
from shapely import GeometryCollection, MultiPolygon
from shapely.geometry.base import BaseGeometry

from catalogue.tag.tag import Band, Tag


@dataclass(frozen=True, slots=True)
class Body:
    """The stacked bands of a tag, its layers for drawings, and what is written next to them."""

    name: str
    face: str
    process: str
    size_mm: tuple[float, float, float]
    layers: tuple[Band, ...]
    """As drawn from above: base, ring, middle, top."""
    bands: tuple[Band, ...]
    """As printed; they do not overlap."""
    lettering: BaseGeometry
    """The name in one line as its face draws it, in font units."""


def body_of(tag: Tag, lettering: BaseGeometry) -> Body:
    """The body of a finished tag."""
    layers = tuple(Band(p.layer, p.colour, p.region, p.bottom_mm, p.top_mm) for p in tag.layers)
    return Body(tag.name, tag.face, tag.process.name, tag.size_mm, layers, tag.bands, lettering)


def packed(body: Body) -> dict[str, Any]:
    """The body as JSON takes it."""
    parts = [*body.layers, *body.bands]
    regions = GeometryCollection([*(p.region for p in parts), body.lettering])
    return {
        "name": body.name, "face": body.face, "process": body.process, "size_mm": list(body.size_mm),
        "layers": len(body.layers), "parts": [[p.name, p.colour, p.bottom_mm, p.top_mm] for p in parts],
        "regions": base64.b64encode(zlib.compress(shapely.to_wkb(regions), 1)).decode(),
    }  # fmt: skip


def unpacked(found: dict[str, Any]) -> Body:
    """The body that was packed. Raises whatever damaged data makes the libraries raise: the caller makes it again."""
    *regions, lettering = shapely.from_wkb(zlib.decompress(base64.b64decode(found["regions"]))).geoms
    parts = [
        Band(str(name), str(colour), MultiPolygon(region), float(bottom), float(top))
        for (name, colour, bottom, top), region in zip(found["parts"], regions, strict=True)
    ]
    width, depth, height = (float(v) for v in found["size_mm"])
    count = int(found["layers"])
    return Body(
        str(found["name"]), str(found["face"]), str(found["process"]), (width, depth, height), tuple(parts[:count]),
        tuple(parts[count:]), lettering,
    )  # fmt: skip
