"""All files of a tag by name, as bytes; nothing on disk."""

from __future__ import annotations

import json
from collections.abc import Sequence
from typing import TYPE_CHECKING

from catalogue.errors import LetterholdError

if TYPE_CHECKING:
    from catalogue.tag.exports.facts import JobFacts

FORMATS = ("svg", "dxf", "stl", "3mf", "png")
"""In the order they are written; ``tag_files`` makes them, ``making.OUR_FILES`` lists the names of their files."""


class FormatError(LetterholdError):
    """A format that is not known; the message lists those that are."""


def formats_of(text: str) -> tuple[str, ...]:
    """Formats by name, parted by commas, in the order they are written. Raises FormatError for one that is not known.

    >>> formats_of("STL, svg")
    ('svg', 'stl')
    """
    asked = [f.strip().casefold() for f in text.split(",") if f.strip()]
    unknown = [f for f in asked if f not in FORMATS]
    if unknown or not asked:
        raise FormatError(f"format {', '.join(unknown) or text!r} is not known; use any of {','.join(FORMATS)}")
    return tuple(f for f in FORMATS if f in asked)


def tag_files(facts: JobFacts, formats: Sequence[str]) -> dict[str, bytes]:
    """Drawings and bodies in the ``formats`` asked for, ``job.html`` and ``job.json``. The preview is drawn once."""
    from catalogue.draw.picture import png, svg  # here: the formats' names are needed before any drawing
    from catalogue.tag.exports.jobsheet import html
    from catalogue.tag.exports.svg import all_svg, layer_svg, preview

    tag = facts.tag
    scene = preview(tag)
    drawing = svg(scene)
    files: dict[str, bytes] = {}
    if "svg" in formats:
        files |= {f"layer-{p.layer}.svg": layer_svg(tag, p).encode() for p in tag.layers}
        files |= {"all.svg": all_svg(tag).encode(), "preview.svg": drawing.encode()}
    if "dxf" in formats:
        from catalogue.tag.exports.dxf import dxf  # its library takes a third of a second to load

        files["tag.dxf"] = dxf(tag)
    if "stl" in formats:
        from catalogue.tag.exports.stl import stl  # its library is not needed for drawings

        files["tag.stl"] = stl(tag)
    if "3mf" in formats:
        from catalogue.tag.exports.threemf import threemf  # its library is not needed for drawings

        files["tag.3mf"] = threemf(tag)
    if "png" in formats:
        files["preview.png"] = png(scene)
    files["job.html"] = html(facts, drawing).encode()
    # The sheet names the files next to it, not the folder they happen to be in.
    found = facts.as_json((n, n) for n in [*files, "job.json"])
    files["job.json"] = (json.dumps(found, indent=1, ensure_ascii=False) + "\n").encode()
    return files
