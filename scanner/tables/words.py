"""Test words of a face: their join curves, the spaces they enclose, and how far letter pairs predict them."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from scanner.alphabet import pair_index
from scanner.lettering import Lettering
from scanner.measures.chains import Chain, chain_edges
from scanner.measures.counters import holes_of
from scanner.measures.joins import join_edges
from scanner.records import WordMeasures
from scanner.tables.drawn import MOST_PARTS, Drawn

SAME_PLACE_EM = 0.001
"""A letter placed nearer than this to where its pair puts it stands in the same place."""


def word_measures(drawn: Drawn) -> tuple[WordMeasures, ...]:
    """Join curves of the test words the face can set, and the spaces they enclose."""
    setter, shaped = drawn.setter, drawn.inline
    index = np.searchsorted(drawn.glyphs, shaped.glyph)
    settable = [k for k, word in enumerate(drawn.words) if _each_inked(drawn, k) or not setter.missing(word)]
    chains: dict[int, Chain] = {}
    for k in settable:
        run = range(int(shaped.start[k]), int(shaped.start[k] + shaped.size[k]))
        inked = [g for g in run if shaped.glyph[g] and drawn.parts[index[g]]]
        letter = [n for n, g in enumerate(inked) for _ in drawn.parts[index[g]]]
        part = [p for g in inked for p in drawn.parts[index[g]]]
        if len(part) <= MOST_PARTS:
            place = shaped.place[inked][letter].reshape(-1, 2)
            chains[k] = Chain(np.array(part, dtype=np.intp), np.array(letter, dtype=np.intp), place)
    found, touching = chain_edges(list(chains.values()), drawn.outlines)
    known = {k: np.array(e) for k, e, t in zip(chains, found, touching, strict=True) if not t}
    return tuple(
        WordMeasures(drawn.words[k], tuple((known[k] / drawn.upem).tolist()), 0)
        if k in known
        else word_of(setter.set(drawn.words[k]))
        for k in settable
    )


def _each_inked(drawn: Drawn, k: int) -> bool:
    """Whether a word has one glyph a letter, each with ink: then none is missing, and nothing need be shaped again."""
    run = slice(int(drawn.inline.start[k]), int(drawn.inline.start[k] + drawn.inline.size[k]))
    glyphs = drawn.inline.glyph[run]
    if len(glyphs) != len(drawn.words[k]) or not glyphs.all():
        return False
    return all(drawn.parts[at] for at in np.searchsorted(drawn.glyphs, glyphs).tolist())


def word_of(lettering: Lettering) -> WordMeasures:
    """One word by its union: letters that touch may enclose spaces."""
    edges = join_edges(lettering.region)
    voids = len(holes_of(lettering.region)) - sum(len(holes_of(letter.region)) for letter in lettering.letters)
    return WordMeasures(lettering.name, tuple((edges / lettering.upem).tolist()), max(0, voids))


def contextual_share(drawn: Drawn) -> float:
    """Share of the words in which some pair is not drawn, or not placed, as the same two letters alone are."""
    index = pair_index()
    shaped, pairwise = drawn.inline, drawn.pairwise
    known = otherwise = 0
    for k, word in enumerate(drawn.words):
        places = [index.get(pair, -1) for pair in zip(word, word[1:], strict=False)]
        if not places or min(places) < 0:
            continue
        known += 1
        if shaped.size[k] != len(word) or (pairwise.size[places] != 2).any():
            # A ligature of two letters is in the pair table as well; longer ones are not.
            otherwise += int(shaped.size[k] != len(word) - (pairwise.size[places] == 1).sum())
        else:
            otherwise += int(not _as_in_pairs(drawn, int(shaped.start[k]), places))
    return otherwise / known if known else 0.0


def _as_in_pairs(drawn: Drawn, start: int, places: Sequence[int]) -> bool:
    """Whether the glyphs from ``start`` on are those of the pairs at ``places``, at the same distances."""
    shaped, pairwise = drawn.inline, drawn.pairwise
    at = start + np.arange(len(places))
    alone: NDArray[np.intp] = pairwise.start[np.asarray(places)]
    same = (shaped.glyph[at] == pairwise.glyph[alone]) & (shaped.glyph[at + 1] == pairwise.glyph[alone + 1])
    step = (shaped.place[at + 1] - shaped.place[at]) - (pairwise.place[alone + 1] - pairwise.place[alone])
    return bool((same & (np.abs(step) <= SAME_PLACE_EM * drawn.upem).all(axis=1)).all())
