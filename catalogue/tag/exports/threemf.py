"""3MF, core specification: one object a height band, held together by a component object; base materials for show.

``displaycolor`` is for display only by the specification, so each object says its colour in its name as well.
Times in the zip are fixed, so that the same tag gives the same bytes.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Generic, Protocol, TypeVar
from xml.sax.saxutils import escape, quoteattr

from catalogue.tag.colours import hex_of
from catalogue.tag.exports.mesh import Mesh, prism
from catalogue.tag.tag import Band, Tag
from catalogue.text import clean

_EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest time a zip can hold (PKWARE APPNOTE 4.4.6)
COMPRESSION = 2
"""A third of the time of level 6 for a file a tenth larger."""

_FIRST_OBJECT = 2
"""Number 1 is the list of materials."""

_TYPES = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">'
    '<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/></Types>\n'
)
_RELATIONS = (
    '<?xml version="1.0" encoding="UTF-8"?>\n'
    '<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">'
    '<Relationship Target="/3D/3dmodel.model" Id="rel0"'
    ' Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/></Relationships>\n'
)


class Stacked(Protocol):
    """What a model is made of: bands with a name for all of them."""

    @property
    def name(self) -> str: ...

    @property
    def bands(self) -> tuple[Band, ...]: ...


Kind = TypeVar("Kind", bound=Stacked)


@dataclass(frozen=True, slots=True)
class Placed(Generic[Kind]):
    """A tag with the place of its lower left corner on a plate, in mm."""

    tag: Kind
    x_mm: float = 0.0
    y_mm: float = 0.0


def threemf(tag: Tag) -> bytes:
    """The tag as a 3MF package."""
    words = f"Name tag in {clean(tag.face)}, made for {tag.process.name}"
    return _package(_model([Placed(tag)], clean(tag.name), words))


def plate_threemf(places: Sequence[Placed[Kind]], title: str) -> bytes:
    """A plate of tags; one that comes again is stored once."""
    return _package(_model(places, title, title))


def _package(model: str) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as package:
        parts = (("[Content_Types].xml", _TYPES), ("_rels/.rels", _RELATIONS), ("3D/3dmodel.model", model))
        for name, text in parts:
            info = zipfile.ZipInfo(name, _EPOCH)
            info.compress_type = zipfile.ZIP_DEFLATED
            info.external_attr = 0o644 << 16
            info.create_system = 3
            package.writestr(info, text.encode(), compresslevel=COMPRESSION)
    return out.getvalue()


def _model(places: Sequence[Placed[Kind]], title: str, words: str) -> str:
    tags = {id(one.tag): one.tag for one in places}
    colours = list(dict.fromkeys(b.colour for tag in tags.values() for b in tag.bands))
    objects: list[str] = []
    whole: dict[int, int] = {}
    number = _FIRST_OBJECT
    for key, tag in tags.items():
        objects += _objects(tag, number, colours)
        number += len(tag.bands) + 1
        whole[key] = number - 1
    return "\n".join([
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<model unit="millimeter" xml:lang="en" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">',
        f'<metadata name="Title">{escape(title)}</metadata>',
        f'<metadata name="Description">{escape(words)}</metadata>',
        '<metadata name="Application">letterhold</metadata>',
        "<resources>",
        '<basematerials id="1">',
        *(f'<base name={quoteattr(c)} displaycolor="{hex_of(c).upper()}"/>' for c in colours),
        "</basematerials>",
        *objects,
        "</resources>",
        "<build>",
        *(_item(one, whole[id(one.tag)]) for one in places),
        "</build>",
        "</model>",
        "",
    ])  # fmt: skip


def _objects(tag: Stacked, first: int, colours: Sequence[str]) -> list[str]:
    """An object a band, numbered from ``first``, and the one that holds them together."""
    out: list[str] = []
    for number, band in enumerate(tag.bands, first):
        out.append(
            f'<object id="{number}" type="model" name={quoteattr(band.name)} pid="1"'
            f' pindex="{colours.index(band.colour)}">'
        )
        out += _mesh(prism(band.region, band.bottom_mm, band.top_mm))
        out.append("</object>")
    last = first + len(tag.bands)
    out.append(f'<object id="{last}" type="model" name={quoteattr(clean(tag.name))}><components>')
    out += [f'<component objectid="{k}"/>' for k in range(first, last)]
    return [*out, "</components></object>"]


def _item(one: Placed[Kind], number: int) -> str:
    moved = f' transform="1 0 0 0 1 0 0 0 1 {one.x_mm:.3f} {one.y_mm:.3f} 0"' if one.x_mm or one.y_mm else ""
    return f'<item objectid="{number}"{moved}/>'


def _mesh(mesh: Mesh) -> list[str]:
    # One format for all points takes a third of the time of one a point.
    points = '<vertex x="%.3f" y="%.3f" z="%.3f"/>\n' * len(mesh.points) % tuple(mesh.points.ravel().tolist())
    faces = '<triangle v1="%d" v2="%d" v3="%d"/>\n' * len(mesh.triangles) % tuple(mesh.triangles.ravel().tolist())
    return ["<mesh><vertices>", points + "</vertices><triangles>", faces + "</triangles></mesh>"]
