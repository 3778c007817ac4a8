"""Parts of the letters of a name: which of them are dots, accents or punctuation, and what they belong to. Pure."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from catalogue.tag.layout import letters_at
from catalogue.tag.levers import Setting
from catalogue.tag.trial import Trial
from scanner.regions import polygons_of

MARK_SHARE = 0.5
"""A part smaller than this share of its letter's largest is a dot or an accent; half a stencil letter is not."""

_MARKS = ("P", "S", "Lm", "M")
"""General categories of characters that are no letters: punctuation, symbols, modifier letters, combining marks."""


@dataclass(frozen=True, slots=True)
class Part:
    """One piece of a letter, at its place in mm."""

    region: Polygon
    letter: int
    """Number of the letter it belongs to; an accent with a glyph of its own belongs to the letter it stands on."""
    text: str
    """What that letter stands for."""
    mark: bool
    """Whether it is a dot, an accent or punctuation."""
    alone: bool
    """Whether its letter is nothing else: punctuation may be tied to any letter, an accent to its own only."""


def parts_of(trial: Trial, setting: Setting) -> list[Part]:
    """Parts of all letters in the order of ``seeds_at``."""
    letters = letters_at(trial, setting)
    owners = list(_owners(trial.cut(setting).texts, letters))
    largest: dict[int, float] = {}
    for owner, letter in zip(owners, letters, strict=True):
        areas = [p.area for p in polygons_of(letter)]
        largest[owner] = max(largest.get(owner, 0.0), *areas)
    texts = [text for word in trial.cut(setting).texts for text in word]
    out = []
    for owner, letter, text in zip(owners, letters, texts, strict=True):
        alone = all(unicodedata.category(c).startswith(_MARKS) for c in text)
        for polygon in polygons_of(letter):
            mark = alone or polygon.area < MARK_SHARE * largest[owner]
            out.append(Part(polygon, owner, text, mark, alone))
    return out


def _owners(words: Sequence[Sequence[str]], letters: Sequence[BaseGeometry]) -> Iterator[int]:
    """For each letter the number of the one it belongs to: itself, or the largest of those drawn for one character."""
    first = 0
    for word in words:
        for start, end in _clusters(word):
            here = range(first + start, first + end)
            owner = max(here, key=lambda k: letters[k].area)
            yield from (owner for _ in here)
        first += len(word)


def _clusters(word: Sequence[str]) -> Iterator[tuple[int, int]]:
    """Runs of glyphs that stand for one accented character; a letter that is written twice is two."""
    start = 0
    for k in range(1, len(word) + 1):
        if k < len(word) and word[k] == word[start] and len(unicodedata.normalize("NFD", word[k])) > 1:
            continue
        yield start, k
        start = k


def gap_places(trial: Trial, setting: Setting) -> list[int]:
    """Numbers of the letters with a gap after them that may be closed: inside words, never between parts of one."""
    out, first = [], 0
    for word in trial.cut(setting).texts:
        ends = [end for _, end in _clusters(word)]
        out += [first + end - 1 for end in ends[:-1]]
        first += len(word)
    return out
