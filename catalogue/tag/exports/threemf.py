"""3MF, core specification: one object a height band, held together by a component object; base materials for show.

``displaycolor`` is for display only by the specification, so each object says its colour in its name as well.
Times in the zip are fixed, so that the same tag gives the same bytes.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Sequence
from xml.sax.saxutils import escape, quoteattr

from catalogue.tag.colours import hex_of
from catalogue.tag.exports.mesh import Mesh, prism
from catalogue.tag.tag import Tag
from catalogue.text import clean

_EPOCH = (1980, 1, 1, 0, 0, 0)  # the earliest time a zip can hold (PKWARE APPNOTE 4.4.6)
COMPRESSION = 2
"""A third of the time of level 6 for a file a tenth larger."""

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


def threemf(tag: Tag) -> bytes:
    """The tag as a 3MF package."""
    words = f"Name tag in {clean(tag.face)}, made for {tag.process.name}"
    return _package(_model([(tag, 0.0, 0.0)], clean(tag.name), words))


def plate_threemf(places: Sequence[tuple[Tag, float, float]], title: str) -> bytes:
    """A plate of tags, each with the place of its lower left corner; a tag that comes again is stored once."""
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


def _model(places: Sequence[tuple[Tag, float, float]], title: str, words: str) -> str:
    tags = {id(tag): tag for tag, _, _ in places}
    colours = list(dict.fromkeys(b.colour for tag in tags.values() for b in tag.bands))
    out = [
        '<?xml version="1.0" encoding="UTF-8"?>',
        '<model unit="millimeter" xml:lang="en" xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">',
        f'<metadata name="Title">{escape(title)}</metadata>',
        f'<metadata name="Description">{escape(words)}</metadata>',
        '<metadata name="Application">letterhold</metadata>',
        "<resources>",
        '<basematerials id="1">',
        *(f'<base name={quoteattr(c)} displaycolor="{hex_of(c).upper()}"/>' for c in colours),
        "</basematerials>",
    ]
    number = 2
    whole: dict[int, int] = {}
    for key, tag in tags.items():
        first = number
        for band in tag.bands:
            out.append(
                f'<object id="{number}" type="model" name={quoteattr(band.name)} pid="1"'
                f' pindex="{colours.index(band.colour)}">'
            )
            out += _mesh(prism(band.region, band.bottom_mm, band.top_mm))
            out.append("</object>")
            number += 1
        out.append(f'<object id="{number}" type="model" name={quoteattr(clean(tag.name))}><components>')
        out += [f'<component objectid="{k}"/>' for k in range(first, number)]
        out.append("</components></object>")
        whole[key] = number
        number += 1
    out += ["</resources>", "<build>"]
    for tag, x, y in places:
        moved = f' transform="1 0 0 0 1 0 0 0 1 {x:.3f} {y:.3f} 0"' if x or y else ""
        out.append(f'<item objectid="{whole[id(tag)]}"{moved}/>')
    return "\n".join([*out, "</build>", "</model>", ""])


def _mesh(mesh: Mesh) -> list[str]:
    # One format for all points takes a third of the time of one a point.
    points = '<vertex x="%.3f" y="%.3f" z="%.3f"/>\n' * len(mesh.points) % tuple(mesh.points.ravel().tolist())
    faces = '<triangle v1="%d" v2="%d" v3="%d"/>\n' * len(mesh.triangles) % tuple(mesh.triangles.ravel().tolist())
    return ["<mesh><vertices>", points + "</vertices><triangles>", faces + "</triangles></mesh>"]
