"""Arrays for the necks of any name: of pairs, of dots on their stems, and of the letters themselves."""

from __future__ import annotations

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from scanner.alphabet import (
    BESIDE_DOTS,
    DOTTED,
    LOWER,
    UPPER,
    character_index,
    lens_measured,
    lens_pairs,
    lens_places,
    pair_index,
)
from scanner.measures.own_necks import Dotted, own_necks
from scanner.measures.pair_necks import OFFSETS_EM, Profiles, filled
from scanner.records import LENS_WIDTHS_EM, OWN_OFFSETS_EM
from scanner.regions import as_array, polygons_of
from scanner.tables.drawn import Drawn

LEVEL = 1.04
"""In x-heights: small letters without ascender, overshoot included, lie below, the arms of F, P, T, V above."""

DOT_ROWS = 64
"""Lines over the width of an i and a j with their dots: a third of the height that ``pair_necks.ROWS`` lines cover."""


def pair_lenses(drawn: Drawn, gaps_em: NDArray[np.float64], x_height_em: float) -> NDArray[np.float64]:
    """Offset in em past half its gap that each of the lens pairs needs for necks of ``LENS_WIDTHS_EM``; NaN unknown."""
    upem, shaped = drawn.upem, drawn.pairwise
    needed = np.full((len(lens_pairs()), len(LENS_WIDTHS_EM)), np.nan)
    at, first_letter, second_letter = lens_places()
    settable = (shaped.size[at] == 2) & ~np.isnan(gaps_em[at])
    plain = np.flatnonzero(settable & lens_measured())
    start = shaped.start[at[plain]]
    left, right = shaped.glyph[start], shaped.glyph[start + 1]
    glyphs = np.unique(np.concatenate([left, right]))
    regions = [drawn.setter.region(g) for g in glyphs.tolist()]
    if not regions:
        return needed
    offsets, widths = [o * upem for o in OFFSETS_EM], [w * upem for w in LENS_WIDTHS_EM]
    first, second = np.searchsorted(glyphs, left), np.searchsorted(glyphs, right)
    shift, rise = (shaped.place[start + 1] - shaped.place[start]).T
    found = Profiles(regions, offsets).needed(first, second, shift, widths)
    # Arms over the next letter (Ty, Fe) hang on to it from above.
    boxes = shapely.bounds(as_array(regions))
    over = np.flatnonzero(boxes[second, 0] + shift < boxes[first, 2])
    if len(over) and x_height_em > 0:
        seen, place = np.unique(np.concatenate([first[over], second[over]]), return_inverse=True)
        level = LEVEL * (x_height_em * upem)
        turned = Profiles([regions[k] for k in seen], offsets, upright=False, level=level)
        above, below = np.split(place, 2)
        armed = np.flatnonzero(turned.seen[1, above])
        over, above, below = over[armed], above[armed], below[armed]
        hung = turned.needed(below, above, -rise[over], widths, slide=-shift[over])
        found[over] = np.minimum(found[over], hung)
    needed[plain] = np.maximum(found / upem - gaps_em[at[plain], None] / 2, 0.0)
    return np.where(settable[:, None], filled(needed, first_letter, second_letter), np.nan)


def dot_lenses(regions: list[MultiPolygon], upem: float) -> NDArray[np.float64]:
    """Offset in em past half its gap that a dot of ``DOTTED`` needs above its stem, as ``pair_lenses`` of pairs."""
    needed = np.full((len(DOTTED), len(LENS_WIDTHS_EM)), np.nan)
    parts = [_stem_and_dot(regions[character_index()[letter]]) for letter in DOTTED]
    known = np.array([d for d, pair in enumerate(parts) if pair], dtype=np.intp)
    if not len(known):
        return needed
    stems, dots = (as_array([parts[d][side] for d in known.tolist()]) for side in (0, 1))
    profiles = Profiles([*stems, *dots], [o * upem for o in OFFSETS_EM], upright=False, rows=DOT_ROWS)
    below = np.arange(len(known))
    found = profiles.needed(below, below + len(known), np.zeros(len(known)), [w * upem for w in LENS_WIDTHS_EM])
    # Nor does a dot hang on by more than the disc that fits in it.
    boxes = shapely.bounds(dots)
    across = np.minimum(boxes[:, 2] - boxes[:, 0], boxes[:, 3] - boxes[:, 1])
    found = np.maximum(found, (np.array(LENS_WIDTHS_EM) * upem - across[:, None]) / 2)
    needed[known] = np.maximum((found - shapely.distance(stems, dots)[:, None] / 2) / upem, 0.0)
    return needed


def letter_necks(drawn: Drawn) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Narrowest passage of each letter A-Z a-z, (letters, 2, own offsets), and the neck of the dot of an i after (0)
    and before (1) each of ``BESIDE_DOTS``, (2, neighbours, own offsets); NaN where there is nothing to measure."""
    letters = [character_index()[c] for c in UPPER + LOWER]
    having_ink = [k for k, at in enumerate(letters) if not drawn.regions[at].is_empty]
    passages = np.full((len(letters), 2, len(OWN_OFFSETS_EM)), np.nan)
    held = np.full((2, len(BESIDE_DOTS), len(OWN_OFFSETS_EM)), np.nan)
    placed = [(place, _dotted(drawn, *place)) for place in np.ndindex(*held.shape[:2])]
    dotted = {place: letter for place, letter in placed if letter}
    if having_ink:
        shapes = [drawn.regions[letters[k]] for k in having_ink]
        found, dots = own_necks(shapes, list(dotted.values()), drawn.upem, OWN_OFFSETS_EM)
        passages[having_ink] = np.moveaxis(found, 1, 2)
        for place, widths in zip(dotted, dots, strict=True):
            held[place] = widths
    return passages, held


def _dotted(drawn: Drawn, side: int, neighbour: int) -> Dotted | None:
    """An i after (side 0) or before (1) one of ``BESIDE_DOTS``, as HarfBuzz places the two."""
    shaped = drawn.pairwise
    pair = (BESIDE_DOTS[neighbour], DOTTED[0])
    k = pair_index()[pair if side == 0 else pair[::-1]]
    if shaped.size[k] != 2:
        return None
    run = [int(shaped.start[k]), int(shaped.start[k]) + 1]
    letters = [translate(drawn.setter.region(int(shaped.glyph[g])), *shaped.place[g].tolist()) for g in run]
    parts = _stem_and_dot(letters[1 - side])
    return Dotted(shapely.union_all(letters), *parts) if parts and not letters[side].is_empty else None


def _stem_and_dot(letter: MultiPolygon) -> list[BaseGeometry]:
    """The two parts of an i or a j, the lower one first; empty where it has not two."""
    parts = sorted(polygons_of(letter), key=lambda p: float(p.centroid.y))
    return list(parts) if len(parts) == 2 else []
