"""What it takes to join a name, predicted for all faces at once from stored gaps. Arrays in, arrays out; lengths in em.

A name is a chain of pairs: it is one piece once every gap of adjacent letters, and every gap between a letter's own
loose parts, is bridged.
"""

from __future__ import annotations

import unicodedata

import numpy as np
from numpy.typing import NDArray

from catalogue.store.columns import Columns
from scanner.alphabet import DOTTED, NEIGHBOURS, character_index, pair_index
from scanner.records import BIAS_EM

Array = NDArray[np.float64]

WORD_SPACE_EM = 0.25
"""Word space assumed in predictions (a quarter em, trade habit); ``check`` uses the face's own."""


def plain_text(name: str) -> str:
    """The name in composed characters with single spaces."""
    return unicodedata.normalize("NFC", " ".join(name.split()))


def base_letter(character: str) -> str:
    """The letter without its accent."""
    return unicodedata.normalize("NFD", character)[0]


def gaps(columns: Columns, text: str, apart_em: Array) -> Array:
    """Gaps of adjacent letters, (pairs, faces). Words stand no farther apart than ``apart_em``, as ``check`` sets them;
    nearer where a word space between the ink ends of their letters is less.
    """
    return np.concatenate([pair_gaps(columns, text), np.minimum(space_gaps(columns, text), apart_em)])


def neighbours(text: str) -> tuple[tuple[str, str], ...]:
    """Pairs of letters next to each other in a word, those of the table first.

    >>> neighbours("A-1 b"), neighbours("1Ab")
    ((('A', '-'), ('-', '1')), (('A', 'b'), ('1', 'A')))
    """
    pairs = [(a, b) for a, b in zip(text, text[1:], strict=False) if " " not in (a, b)]
    return tuple(sorted(pairs, key=lambda pair: tabled(*pair) is None))


def pair_gaps(columns: Columns, text: str) -> Array:
    """Gaps of ``neighbours``, (pairs, faces); of a pair that no table has, the distance of the letters' boxes."""
    known, index = pair_index(), character_index()
    pairs = [(tabled(a, b), a, b) for a, b in neighbours(text)]
    found = [_ink_gap(columns, index[a], index[b], 0.0) for pair, a, b in pairs if pair is None]
    places = [(known[pair],) for pair, _, _ in pairs if pair is not None]
    return np.concatenate([columns.take("gaps", places), np.array(found).reshape(len(found), len(columns))])


def space_gaps(columns: Columns, text: str) -> Array:
    """Gaps between the words of a line as faces set them, (word spaces, faces)."""
    index = character_index()
    ends = [(a, b) for a, space, b in zip(text, text[1:], text[2:], strict=False) if space == " "]
    found = [_ink_gap(columns, index[a], index[b], WORD_SPACE_EM) for a, b in ends]
    return np.array(found).reshape(len(found), len(columns))


def tabled(a: str, b: str) -> tuple[str, str] | None:
    """The pair of the table that stands for these two letters: their own, or that of their base letters."""
    return next((pair for pair in ((a, b), (base_letter(a), base_letter(b))) if pair in pair_index()), None)


def chained(text: str) -> bool:
    """Whether the tables know every pair of neighbouring letters.

    >>> chained("O'Malley"), chained("A-1")
    (True, False)
    """
    return all(" " in (a, b) or tabled(a, b) for a, b in zip(text, text[1:], strict=False))


def own_joins(columns: Columns, text: str) -> Array:
    """What it takes to join each letter's loose parts, (letters, faces): an i-dot may reach a neighbour sooner."""
    index = character_index()
    own = columns.take("own_join", [(index[c],) for c in text if c != " "])
    at = -1
    for before, letter, after in zip(f" {text}", text, f"{text[1:]} ", strict=False):
        at += letter != " "
        if letter in DOTTED:
            near = [
                (side, DOTTED.index(letter), NEIGHBOURS.index(neighbour))
                for side, neighbour in enumerate((before, after))
                if neighbour in NEIGHBOURS and neighbour
            ]
            for edge in columns.take("dotted_edges", near):
                own[at] = np.fmin(own[at], edge)
    return own


def _ink_gap(columns: Columns, first: int, second: int, between: float) -> Array:
    """Distance of the letters' boxes: the advance left after the first's ink, plus the second's left bearing."""
    advance = columns.take("advance", [(first,)])[0]
    right = columns.take("right", [(first,)])[0] - BIAS_EM
    left = columns.take("left", [(second,)])[0] - BIAS_EM
    gap: Array = np.maximum(0.0, advance - right + between + left)
    return gap
