"""A second engine's opinion: ink as FreeType draws it against ink as our outlines have it, glyph by glyph.

The two share no code from the font's bytes to the area: HarfBuzz and Clipper on one side, FreeType's rasteriser on the
other. Where they differ, one of them reads the font wrongly, and neither a verdict nor a tag of it is to be trusted.
FreeType has crashed on broken fonts: ask about such in a process of its own.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from scanner.contours import FLATTEN_EM
from scanner.lettering import Typesetter
from scanner.raster import Rasteriser
from scanner.shaping import Shaper

MOST_SHARE = 0.01
"""Difference of a glyph's ink from which the engines disagree."""

PX_PER_EM = 256
"""Raster of the comparison: coverage is exact, so it only has to be fine against FreeType's 64ths of a pixel."""


@dataclass(frozen=True, slots=True)
class InkDifference:
    """One character whose ink the two engines see differently; areas in square em."""

    character: str
    outline_em2: float
    raster_em2: float
    share: float
    """Difference over the larger of the two, after what flattening the curves may cost."""


def ink_differences(
    data: bytes, face_index: int, coordinates: Mapping[str, float], characters: Iterable[str]
) -> tuple[InkDifference, ...]:
    """Characters whose ink differs by more than ``MOST_SHARE``, the worst first; none where the engines agree.

    ``data`` are plain sfnt bytes; characters the face does not map are passed over. Raises FontError and RasterError
    where one of the engines cannot open or draw the face at all.
    """
    setter = Typesetter(Shaper(data, face_index, dict(coordinates)))
    raster = Rasteriser(data, face_index, dict(coordinates), PX_PER_EM)
    upem = float(setter.shaper.upem)
    found = []
    for character in dict.fromkeys(characters):
        if not setter.shaper.has(character):
            continue
        glyphs = [placed.glyph for placed in setter.shaper.shape(character) if placed.glyph]
        regions = [setter.region(glyph) for glyph in glyphs]
        outline = sum(region.area for region in regions) / upem**2
        drawn = sum(raster.glyph(glyph).area_em2 for glyph in glyphs)
        flattening = FLATTEN_EM * sum(region.length for region in regions) / upem
        excess = max(0.0, abs(outline - drawn) - flattening)
        if excess > MOST_SHARE * max(outline, drawn):
            found.append(InkDifference(character, outline, drawn, excess / max(outline, drawn)))
    return tuple(sorted(found, key=lambda d: (-d.share, d.character)))
