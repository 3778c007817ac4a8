"""All files of a tag by name, as bytes: what is asked for, the job sheet, nothing on disk."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from catalogue.tag.tag import Tag

FORMATS = ("svg", "dxf", "stl", "3mf", "png")


def tag_files(
    tag: Tag, formats: Sequence[str], verdict: Mapping[str, Any] | None = None, price_per_kg: float | None = None
) -> dict[str, bytes]:
    """Drawings and bodies in the ``formats`` asked for, ``job.html`` and ``job.json``. The preview is drawn once."""
    from catalogue.draw.picture import png, svg
    from catalogue.tag.exports.jobsheet import facts, html
    from catalogue.tag.exports.svg import all_svg, layer_svg, preview

    scene = preview(tag)
    drawing = svg(scene)
    files: dict[str, bytes] = {}
    if "svg" in formats:
        files |= {f"layer-{p.layer}.svg": layer_svg(tag, p).encode() for p in tag.layers}
        files |= {"all.svg": all_svg(tag).encode(), "preview.svg": drawing.encode()}
    if "dxf" in formats:
        from catalogue.tag.exports.dxf import dxf

        files["tag.dxf"] = dxf(tag)
    if "stl" in formats:
        from catalogue.tag.exports.stl import stl

        files["tag.stl"] = stl(tag)
    if "3mf" in formats:
        from catalogue.tag.exports.threemf import threemf

        files["tag.3mf"] = threemf(tag)
    if "png" in formats:
        files["preview.png"] = png(scene)
    # The sheet names its neighbours, not the folder they happen to be in.
    found = facts(tag, verdict, price_per_kg, {n: n for n in [*files, "job.html", "job.json"]})
    files["job.html"] = html(tag, found, drawing).encode()
    files["job.json"] = (json.dumps(found, indent=1, ensure_ascii=False) + "\n").encode()
    return files
