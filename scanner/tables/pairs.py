"""Arrays of one number a pair: gaps, and the dots of i and j next to their neighbours."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from scanner.alphabet import DOTTED, LOWER, NEIGHBOURS, pair_index, pair_places, pairs
from scanner.lettering import Typesetter
from scanner.tables.drawn import Drawn


def pair_gaps(drawn: Drawn) -> NDArray[np.float64]:
    """Least distance of every pair, in font units, each pair shaped by HarfBuzz for its kerning and its joins."""
    first, second = pair_places()
    setter, shaped = drawn.setter, drawn.pairwise
    wanted = drawn.inked[first] & drawn.inked[second]
    gaps = np.full(len(first), np.nan)
    for k in np.flatnonzero(wanted & (shaped.size == 1)):
        glyph = int(shaped.glyph[shaped.start[k]])
        one = _one_part(setter, glyph, drawn.regions[first[k]], drawn.regions[second[k]])
        gaps[k] = 0.0 if one else np.nan
    for k in np.flatnonzero(wanted & (shaped.size > 2)):
        gaps[k] = gap_of(setter, "".join(pairs()[k]))
    plain = np.flatnonzero(wanted & (shaped.size == 2))
    start = shaped.start[plain]
    shift, rise = (shaped.place[start + 1] - shaped.place[start]).T
    left, right = (np.searchsorted(drawn.glyphs, shaped.glyph[at]) for at in (start, start + 1))
    gaps[plain] = drawn.outlines.distances(left, right, shift, rise)
    return gaps


def _one_part(setter: Typesetter, glyph: int, *letters: MultiPolygon) -> bool:
    """Whether a ligature holds together: no more parts than its letters have alone, less the join."""
    return len(setter.region(glyph).geoms) < sum(len(r.geoms) for r in letters)


def gap_of(setter: Typesetter, text: str) -> float:
    """Least distance in font units of the two letters of a text, each of one glyph or several; NaN where there are
    not two."""
    letters = setter.set(text).letters
    by_text: dict[str, list[MultiPolygon]] = {}
    for letter in letters:
        by_text.setdefault(letter.text, []).append(letter.region)
    groups = [shapely.union_all(r) for r in by_text.values()]
    return float(shapely.distance(groups[0], groups[1])) if len(groups) == 2 else float("nan")


def small_letter_gaps(gaps: NDArray[np.float64]) -> NDArray[np.float64]:
    """The known gaps of all pairs of small letters, in the unit of ``gaps``."""
    known = gaps[[pair_index()[a, b] for a in LOWER for b in LOWER]]
    return np.asarray(known[~np.isnan(known)])


def dotted_edges(drawn: Drawn) -> NDArray[np.float64]:
    """Longest spanning edge of neighbour, stem and dot, in font units, as in ``Table.dotted_edges``.

    Three nodes have three distances, and the tree leaves the longest out: its longest edge is their median.
    """
    shaped = drawn.pairwise
    edges = np.full((2, len(DOTTED), len(NEIGHBOURS)), np.nan)
    place, pair = _dotted_places()
    glyph = np.searchsorted(drawn.glyphs, shaped.glyph)
    counts = np.array([len(parts) for parts in drawn.parts], dtype=np.intp)
    # Index of the dotted letter's glyph in the run of two: second after its neighbour, first before it.
    begin = shaped.start[pair]
    known = shaped.size[pair] == 2
    known[known] = counts[glyph[begin[known] + 1 - place[known, 0]]] == 2
    if not known.any():
        return edges
    place, begin = place[known], begin[known]
    before = place[:, 0] == 0
    left, right = glyph[begin], glyph[begin + 1]
    own = np.where(before, right, left)
    two = np.array([parts if len(parts) == 2 else (-1, -1) for parts in drawn.parts], dtype=np.intp)
    one, other = two[own].T
    # One after the other: neighbour and first part, neighbour and second part.
    first = np.column_stack([np.where(before, left, one), np.where(before, left, other)]).ravel()
    second = np.column_stack([np.where(before, one, right), np.where(before, other, right)]).ravel()
    shift, rise = np.repeat(shaped.place[begin + 1] - shaped.place[begin], 2, axis=0).T
    reach = drawn.outlines.distances(first, second, shift, rise).reshape(-1, 2)
    own_gap = shapely.distance(drawn.outlines.regions[one], drawn.outlines.regions[other])
    edges[tuple(place.T)] = np.median(np.column_stack([reach, own_gap]), axis=1)
    return edges


@lru_cache(maxsize=1)
def _dotted_places() -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Places in ``Table.dotted_edges`` whose pair is in the table, (n, 3), and their pairs; the same for every face."""
    places, known = [], []
    for side, d, n in np.ndindex(2, len(DOTTED), len(NEIGHBOURS)):
        pair = (NEIGHBOURS[n], DOTTED[d]) if side == 0 else (DOTTED[d], NEIGHBOURS[n])
        k = pair_index().get(pair, -1)
        if k >= 0:
            places.append((side, d, n))
            known.append(k)
    return np.array(places, dtype=np.intp).reshape(-1, 3), np.array(known, dtype=np.intp)
