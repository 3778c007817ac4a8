"""The alphabet of a face drawn once: what every array of its table, and its scalars, are made from."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from scanner.alphabet import CHARACTERS, LOWER, UPPER, pair_texts
from scanner.lettering import Typesetter
from scanner.measures.gaps import Outlines
from scanner.regions import NOTHING, as_array, polygons_of
from scanner.shaping import ShapedTexts

MOST_PARTS = 60
"""Parts of a word above which its union is built: a face of scraps, for which pairs of parts are too many."""


@dataclass(frozen=True, slots=True, eq=False)
class Drawn:
    """Alphabet, letter pairs and test words of one face, shaped and as regions, in font units."""

    setter: Typesetter
    words: Sequence[str]
    pairwise: ShapedTexts
    """The pairs of ``alphabet.pairs``."""
    inline: ShapedTexts
    """The test words."""
    glyphs: NDArray[np.int64]
    """Every glyph of these texts once, ascending: an index into ``outlines``."""
    regions: list[MultiPolygon]
    """(characters) each character's region, shaped alone, at the origin."""
    advances: NDArray[np.float64]
    """(characters) advance of each character, shaped alone; 0 where the face does not map it."""
    inked: NDArray[np.bool_]
    """(characters) which have ink."""
    outlines: Outlines
    """The glyphs' regions, and after them the parts of those in several parts."""
    parts: list[list[int]]
    """(glyphs) which entries of ``outlines`` are a glyph's parts."""

    @property
    def upem(self) -> float:
        """Font units of one em."""
        return float(self.setter.shaper.upem)

    @property
    def has_latin(self) -> bool:
        """Whether any of the letters A to z has ink."""
        return bool(self.inked[: len(UPPER + LOWER)].any())


def draw_alphabet(setter: Typesetter, words: Sequence[str]) -> Drawn:
    """Shape the alphabet, its pairs and the words, and fetch every glyph they need in one pass. Raises FontError."""
    shaper = setter.shaper
    alone = shaper.shape_many(CHARACTERS)
    pairwise = shaper.shape_many(pair_texts())
    inline = shaper.shape_many(words)
    glyphs = np.unique(np.concatenate([alone.glyph, pairwise.glyph, inline.glyph]))
    setter.prepare(glyphs.tolist())
    regions, advances = _letters(setter, alone)
    inked = np.array([not region.is_empty for region in regions])
    outlines, parts = _outlines([setter.region(g) for g in glyphs.tolist()])
    return Drawn(setter, words, pairwise, inline, glyphs, regions, advances, inked, outlines, parts)


def _letters(setter: Typesetter, shaped: ShapedTexts) -> tuple[list[MultiPolygon], NDArray[np.float64]]:
    """Region at the origin and advance of every alphabet character, shaped alone."""
    regions: list[MultiPolygon] = []
    advances = np.zeros(len(CHARACTERS))
    for k, character in enumerate(CHARACTERS):
        region = NOTHING
        if setter.shaper.has(character):
            advances[k] = shaped.advance[k]
            glyph = int(shaped.glyph[shaped.start[k]]) if shaped.size[k] == 1 else 0
            region = setter.region(glyph) if glyph else whole(setter, character)
        regions.append(region)
    return regions, advances


def whole(setter: Typesetter, text: str) -> MultiPolygon:
    """Union of a text's letters; empty where it has no ink."""
    parts = [part for letter in setter.set(text).letters for part in polygons_of(letter.region)]
    return MultiPolygon(polygons_of(shapely.union_all(parts)))


def _outlines(regions: list[MultiPolygon]) -> tuple[Outlines, list[list[int]]]:
    """Glyph regions and after them the parts of those in several parts, and which entries are a glyph's parts."""
    entries: list[BaseGeometry] = list(regions)
    parts: list[list[int]] = []
    for k, count in enumerate(shapely.get_num_geometries(as_array(regions)).tolist()):
        if count <= 1 or count > MOST_PARTS:
            parts.append([k] * count)
        else:
            parts.append(list(range(len(entries), len(entries) + count)))
            entries += polygons_of(regions[k])
    return Outlines(entries), parts
