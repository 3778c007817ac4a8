"""Words of a name, set as close as a tag needs them: over a whole word space no base hangs together."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely.affinity import translate

from scanner.lettering import Letter, Lettering, Typesetter
from scanner.names import LetteringError

MOST_LINES = 6

NO_SPACE_EM = 0.25
"""Word space of a face that has none (a quarter em, trade habit)."""

MOST_OVER_EM = 0.1
"""A word reaches no farther over the one before: where their heights never meet they would slide past each other."""

_NEAR_EM = 0.0005
"""How exactly the distance of two words is met."""


def lines_of(name: str) -> list[list[str]]:
    r"""Lines of words in visual order: words of a right-to-left line come reversed.

    >>> lines_of("Anna Lee\n\nBo"), lines_of("محمد علي") == [["علي", "محمد"]]
    ([['Anna', 'Lee'], ['Bo']], True)
    """
    lines = [line.split() for line in name.splitlines() if line.strip()]
    if not lines:
        raise LetteringError("the name is empty; type at least one letter")
    if len(lines) > MOST_LINES:
        raise LetteringError(f"the name has {len(lines)} lines; {MOST_LINES} are the most, shorten it")
    return [line[::-1] if _right_to_left(line) else line for line in lines]


def word_space(setter: Typesetter) -> float:
    """Advance of the face's word space in font units; a quarter em where it has none."""
    return sum(g.advance for g in setter.shaper.shape(" ")) or NO_SPACE_EM * setter.shaper.upem


def set_words(setter: Typesetter, name: str, apart: float, language: str | None = None) -> tuple[Lettering, float]:
    """One line with its words at most ``apart`` from each other, and the most that was taken out of a word space.

    Font units. Words that the face sets closer stay where they are. Raises LetteringError as ``Typesetter.set``.
    """
    whole = setter.set(name, language)
    words = [word for line in lines_of(name) for word in line]
    if len(words) < 2:
        return whole, 0.0
    upem = float(setter.shaper.upem)
    space = word_space(setter)
    out: list[Letter] = []
    pen = taken = 0.0
    for word in words:
        letters = setter.set(word, language).letters
        move = 0.0
        if out and letters:
            before = shapely.union_all([letter.region for letter in out])
            here = translate(shapely.union_all([letter.region for letter in letters]), pen)
            most = here.bounds[0] - before.bounds[2] + MOST_OVER_EM * upem
            # To move by what is still too far never goes beyond it.
            while move < most and (far := shapely.distance(before, translate(here, -move)) - apart) > _NEAR_EM * upem:
                move = min(most, move + far)
        pen -= move
        taken = max(taken, move)
        out += [replace(letter, region=translate(letter.region, pen)) for letter in letters]
        pen += sum(g.advance for g in setter.shaper.shape(word, language)) + space
    return Lettering(name, setter.shaper.upem, tuple(out), whole.missing), taken


def _right_to_left(words: Sequence[str]) -> bool:
    for c in "".join(words):
        kind = unicodedata.bidirectional(c)
        if kind in ("L", "R", "AL"):
            return kind != "L"
    return False
