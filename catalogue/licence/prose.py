"""Prose about a design: understood when every word of a sentence is one of the trade's, or a name.

`fonts_licenses/words/<language>.toml` hold words with which one speaks of letters, their makers and their history. No
negation, permission, trade, money, person addressed or occasion of use is among them, so that no limit can be said in
them. A single word outside of the list and the sentence is not understood. Pure, but for loading the lists.
"""

from __future__ import annotations

import tomllib
from functools import lru_cache
from importlib import resources

from catalogue.licence.families import licences_at
from catalogue.licence.limits import is_strange, limits_in, load_languages, script_of, sentence_words
from catalogue.licence.slots import Own
from catalogue.licence.words import Words

LONGEST = 160  # words of a sentence; what is longer is a list or a text without full stops
MOST_NAMES = 0.45  # share of names in a sentence; one of names alone says nothing, and "Keep It Private" is one
MOST_ACRONYM = 5  # letters of a word in capitals
MOST_SHOUTED = 0.3  # share of such words in a sentence; more, and it is one in capitals
_CASED = frozenset(("Latin", "Greek", "Cyrillic", "Armenian"))
_ENDINGS = ("s", "es", "d", "ed", "ly", "'s", "ing", "al")


@lru_cache(maxsize=1)
def design_words() -> dict[str, frozenset[str]]:
    """Words of the lists, by language; only languages that have a table of limits."""
    folder = resources.files("fonts_licenses") / "words"
    out: dict[str, frozenset[str]] = {}
    for language in load_languages():
        file = folder / f"{language}.toml"
        if file.is_file():
            out[language] = frozenset(tomllib.loads(file.read_text("utf-8"))["design"].split())
    return out


@lru_cache(maxsize=32768)
def _is_design(low: str, language: str) -> bool:
    known = design_words()[language]
    if low in known or (len(low) == 1 and low.isascii()):
        return True
    return any(low.endswith(e) and (low[: -len(e)] in known or low[: -len(e)] + "e" in known) for e in _ENDINGS)


def sentence_end(words: Words, start: int) -> int:
    """The word behind the sentence that begins at `start`."""
    return _sentence_ends(words)[start]


@lru_cache(maxsize=64)
def _sentence_ends(words: Words) -> tuple[int, ...]:
    """For each word the one behind its sentence; found once a text, as a sentence may have any length."""
    ends = [len(words)] * len(words)
    for at in range(len(words) - 2, -1, -1):
        ends[at] = at + 1 if words.ends_sentence(at + 1) else ends[at + 1]
    return tuple(ends)


def is_design_prose(words: Words, start: int, stop: int, own: Own) -> bool:
    """Whether a sentence speaks of a design and of nothing else."""
    if stop - start > LONGEST or limits_in(words, start, stop):
        return False
    if any(licences_at(words, at) for at in range(start, stop)):
        return False
    if sum(len(low) == 1 for low in words.low[start:stop]) > max(2, (stop - start) // 6):
        return False  # s p a c e d letters
    shouted = sum(len(w) > 1 and w.isupper() for w in map(words.as_written, range(start, stop)))
    if shouted > max(1, MOST_SHOUTED * (stop - start)):
        return False
    return any(_reads(words, start, stop, own, language) for language in design_words())


def _reads(words: Words, start: int, stop: int, own: Own, language: str) -> bool:
    names = 0
    for at in range(start, stop):
        low = words.low[at]
        if words.kinds[at] != "w" or _is_design(low, language) or low in own.titles or low in own.makers:
            continue
        if is_strange(low) or at == start or not _is_proper(words, at):
            return False
        names += 1
    return names <= MOST_NAMES * (stop - start)


def _is_proper(words: Words, at: int) -> bool:
    """Whether a word inside a sentence is written as a name, in a sentence that is not all capitals."""
    written = words.as_written(at)
    if words.low[at] in sentence_words():
        return False
    if len(written) == 1 or (at > 0 and "'" in words.gaps[at]):
        return True
    if script_of(written[0]) not in _CASED or not written[0].isupper():
        return False
    return not written.isupper() or len(written) <= MOST_ACRONYM
