"""A face without Latin letters, measured by the letters of its own script; and the height that flat letters give."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from itertools import permutations

import numpy as np
from numpy.typing import NDArray
from shapely import MultiPolygon

from scanner.lettering import Typesetter
from scanner.records import WordMeasures
from scanner.scripts import Script, letters_in, script_of, scripts_in
from scanner.tables.drawn import whole
from scanner.tables.letters import Inside, inside
from scanner.tables.pairs import gap_of
from scanner.tables.words import word_of

LEAST_LETTERS = 4
"""Letters of one script below which a face is one of symbols that has some letter among them (Ω, ℵ)."""

PAIRED = 12
"""Letters whose pairs are measured: 132 pairs, as many as say how close a script stands."""

LETTERS_A_WORD = 4
"""Length of the words that stand in for names where none are known in a script."""

LEAST_HEIGHT_EM = 0.05
"""Tops below this are pieces of something, not letters to size by; real capitals are above 0.2 em."""


@dataclass(frozen=True, slots=True, eq=False)
class OwnLetters:
    """Letters of one script in one face, each shaped alone, in font units."""

    script: Script
    letters: str
    """Those that have ink."""
    regions: list[MultiPolygon]
    advances: NDArray[np.float64]
    setter: Typesetter

    def inside(self) -> Inside:
        """Strokes, slits and counters, in font units."""
        return inside(self.regions, float(self.setter.shaper.upem))

    def gaps(self) -> NDArray[np.float64]:
        """Least distances in font units of pairs of the most used letters, where they are two shapes or more."""
        gaps = np.array([gap_of(self.setter, a + b) for a, b in permutations(self.letters[:PAIRED], 2)])
        return np.asarray(gaps[~np.isnan(gaps)])

    def words(self) -> tuple[WordMeasures, ...]:
        """Join curves of names in the script; where none are known, of the letters some at a time."""
        texts = [word for word in self.script.words if not self.setter.missing(word)]
        if not texts:
            starts = range(0, min(len(self.letters), 3 * LETTERS_A_WORD), LETTERS_A_WORD)
            texts = [self.letters[k : k + LETTERS_A_WORD] for k in starts]
        return tuple(word_of(self.setter.set(text)) for text in texts)


def own_letters(setter: Typesetter) -> OwnLetters | None:
    """The letters of the script that a face is made for; None where no script has letters with ink in it."""
    code_points = setter.shaper.unicodes
    for code in scripts_in(code_points):
        letters = letters_in(code_points, code)
        if len(letters) < LEAST_LETTERS:
            continue
        regions = [whole(setter, c) for c in letters]
        inked = [k for k, region in enumerate(regions) if not region.is_empty]
        if inked:
            advances = [sum(placed.advance for placed in setter.shaper.shape(letters[k])) for k in inked]
            kept = "".join(letters[k] for k in inked)
            return OwnLetters(script_of(code), kept, [regions[k] for k in inked], np.array(advances), setter)
    return None


@dataclass(frozen=True, slots=True)
class Height:
    """Height of flat letters, and where it comes from."""

    em: float
    """NaN where the face has none to measure and states none."""
    letters: str = ""
    """The letters whose tops gave it; empty where it is the face's own statement, or unknown."""


def flat_height(regions: Mapping[str, MultiPolygon], upem: float) -> Height | None:
    """Median top of flat letters, of those that have ink; None where it is no height to size by."""
    drawn = {c: region for c, region in regions.items() if not region.is_empty}
    if not drawn:
        return None
    em = float(np.median([region.bounds[3] for region in drawn.values()])) / upem
    return Height(em, "".join(drawn)) if em > LEAST_HEIGHT_EM else None


def script_height(setter: Typesetter, script: Script, small: bool = False) -> Height | None:
    """Height of a script's flat letters, capital or small; None where it has none that are known to us."""
    letters = script.small if small else script.flat
    return flat_height({c: whole(setter, c) for c in letters}, setter.shaper.upem)


def any_script_height(setter: Typesetter) -> Height | None:
    """Height of the flat letters of the first script of the face that has any."""
    found = (script_height(setter, script_of(code)) for code in scripts_in(setter.shaper.unicodes))
    return next((height for height in found if height), None)
