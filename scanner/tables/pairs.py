"""Arrays of one number a pair: gaps, and the dots of i and j next to their neighbours."""

from __future__ import annotations

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
    index = np.searchsorted(drawn.glyphs, shaped.glyph)
    where: list[tuple[int, ...]] = []
    ends: list[tuple[int, int, int, int]] = []
    places = []
    for side, d, n in np.ndindex(*edges.shape):
        pair = (NEIGHBOURS[n], DOTTED[d]) if side == 0 else (DOTTED[d], NEIGHBOURS[n])
        k = pair_index().get(pair, -1)
        if k < 0 or shaped.size[k] != 2:
            continue
        start = int(shaped.start[k])
        left, right = int(index[start]), int(index[start + 1])
        own = drawn.parts[right if side == 0 else left]
        if len(own) == 2:
            where.append((side, d, n))
            ends.append((left, own[0], left, own[1]) if side == 0 else (own[0], right, own[1], right))
            places.append(shaped.place[start + 1] - shaped.place[start])
    if not where:
        return edges
    first, second = np.array(ends, dtype=np.intp).reshape(-1, 2).T
    shift, rise = np.repeat(np.array(places), 2, axis=0).T
    reach = drawn.outlines.distances(first, second, shift, rise).reshape(-1, 2)
    one, two = np.array([(e[1], e[3]) if w[0] == 0 else (e[0], e[2]) for w, e in zip(where, ends, strict=True)]).T
    own_gap = shapely.distance(drawn.outlines.regions[one], drawn.outlines.regions[two])
    edges[tuple(np.array(where).T)] = np.median(np.column_stack([reach, own_gap]), axis=1)
    return edges
