"""Words that limit what may be done with a font, in any place of it, from `fonts_licenses/limits/<language>.toml`.

A hit among the clear ones shuts goods out, one among the weak ones asks. A phrase is words in their order, so marks and
blanks between them hide nothing. Scripts that no table covers are known by `strange_scripts`: what is written in them
is never understood. Pure, but for loading the tables once.
"""

from __future__ import annotations

import tomllib
import unicodedata
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

import ahocorasick

from catalogue.licence.words import Words, is_wide, words_of


@lru_cache(maxsize=1)
def name_words() -> dict[str, frozenset[str]]:
    """Words that stand in names of people and firms, by kind: particles, titles, legal_forms, negations, …"""
    data = tomllib.loads((resources.files("fonts_licenses") / "words" / "names.toml").read_text("utf-8"))
    return {kind: frozenset(said.split()) for kind, said in data.items() if isinstance(said, str)}


@dataclass(frozen=True)
class Language:
    """The limits of one language."""

    code: str
    name: str
    scripts: frozenset[str]
    """First words of Unicode character names: Latin, Cyrillic, …; Han and Kana as one writes them."""
    sentence_words: frozenset[str]
    weak: tuple[str, ...]
    passes: tuple[str, ...]
    clear: tuple[tuple[str, str], ...]
    """(record family, phrase)"""


@dataclass(frozen=True)
class Limit:
    """A limiting phrase in a text."""

    family: str
    """Record of the limit; "unclear-words" for a weak one."""
    clear: bool
    start: int
    stop: int
    """First word and the one behind the last."""


@lru_cache(maxsize=1)
def load_languages() -> dict[str, Language]:
    """All tables, by language code."""
    folder = resources.files("fonts_licenses") / "limits"
    files = sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    return {f.name[:-5]: _language(f.name[:-5], tomllib.loads(f.read_text("utf-8"))) for f in files}


def _language(code: str, data: dict[str, Any]) -> Language:
    return Language(
        code,
        data["language"],
        frozenset(data["scripts"]),
        frozenset(word for said in data["sentence_words"].split() for word in words_of(said).low),
        tuple(data["weak"]),
        tuple(data["passes"]),
        tuple((entry["family"], phrase) for entry in data["limit"] for phrase in entry["clear"]),
    )


@lru_cache(maxsize=1)
def sentence_words() -> frozenset[str]:
    """Words of all languages that make a sentence."""
    return frozenset().union(*(language.sentence_words for language in load_languages().values()))


@lru_cache(maxsize=1)
def telling_words() -> frozenset[str]:
    """Words of all languages that make a sentence and are no small words of names."""
    return sentence_words() - name_words()["particles"]


@lru_cache(maxsize=1)
def english_words() -> frozenset[str]:
    """English words that make a sentence."""
    return load_languages()["en"].sentence_words


@lru_cache(maxsize=1)
def _automaton() -> ahocorasick.Automaton:
    """All phrases; the value of each: (rank, family, clear, letters), a pass above a clear limit above a weak one."""
    automaton = ahocorasick.Automaton()
    for language in load_languages().values():
        rows = [("", False, phrase, 2) for phrase in language.passes]
        rows += [(family, True, phrase, 1) for family, phrase in language.clear]
        rows += [("unclear-words", False, phrase, 0) for phrase in language.weak]
        for family, clear, phrase, rank in rows:
            key = _line(words_of(phrase).low)
            key = key[:-1] if phrase.endswith("*") and key.endswith(" ") else key
            known = automaton.get(key, None)
            if known is None or known[0] < rank:
                automaton.add_word(key, (rank, family, clear, len(key)))
    automaton.make_automaton()
    return automaton


def _line(low: tuple[str, ...]) -> str:
    """Words with a blank on each side; those of scripts without blanks close together, and Thai ones too."""
    out = [" "]
    for word in low:
        if _is_close(word[0]) and out[-1] == " " and len(out) > 1 and _is_close(out[-2][-1]):
            out.pop()
        out += [word, " "]
    line = "".join(out)
    start = 1 if len(line) > 2 and _is_close(line[1]) else 0
    return line[start : -1 if len(line) > 2 and _is_close(line[-2]) else None]


def _is_close(letter: str) -> bool:
    return is_wide(letter) or "\u0e00" <= letter <= "\u0e7f"


def limits_at(words: Words, start: int, stop: int) -> tuple[Limit, ...]:
    """Limiting phrases that touch some words, clear ones first."""
    return tuple(limit for limit in _limits_of(words) if limit.start < stop and start < limit.stop)


def limits_in(words: Words, start: int = 0, stop: int | None = None) -> tuple[Limit, ...]:
    """Limiting phrases among some words, clear ones first; none in a phrase that means something else."""
    end = len(words) if stop is None else stop
    found = _limits_of(words)
    if not found or (start == 0 and end == len(words)):
        return found
    return tuple(limit for limit in found if start <= limit.start and limit.stop <= end)


@lru_cache(maxsize=1024)
def _limits_of(words: Words) -> tuple[Limit, ...]:
    """All limiting phrases of a text, the longest at each place."""
    if not words.low:
        return ()
    line, places = _placed(words.low)
    hits = [(end - value[3] + 1, end + 1, value) for end, value in _automaton().iter(line)]
    spared = [(a, b) for a, b, value in hits if value[0] == 2]
    out: dict[int, Limit] = {}
    for begin, end, (rank, family, clear, _) in sorted(hits, key=lambda hit: (-hit[2][0], hit[0] - hit[1])):
        if rank == 2 or any(a <= begin and end <= b for a, b in spared):
            continue
        first, last = places[begin + (line[begin] == " ")], places[end - 1]
        if any(found.start <= first and last < found.stop for found in out.values()):
            continue
        out[first] = Limit(family, clear, first, last + 1)
    return tuple(sorted(out.values(), key=lambda found: (not found.clear, found.start)))


def _placed(low: tuple[str, ...]) -> tuple[str, list[int]]:
    """The line of some words, and the word that each of its letters belongs to."""
    line: list[str] = [" "]
    places = [0]
    for number, word in enumerate(low):
        if _is_close(word[0]) and line[-1] == " " and len(line) > 1 and _is_close(line[-2]):
            line.pop()
            places.pop()
        line += [*word, " "]
        places += [number] * (len(word) + 1)
    return "".join(line), places


def in_a_name(words: Words, limit: Limit, stop: int) -> bool:
    """Whether a weak word is part of somebody's name: a legal form stands behind it, as in "Commercial GmbH"."""
    behind = words.low[limit.stop : min(stop, limit.stop + 2)]
    alone = not limit.clear and limit.stop - limit.start == 1
    return alone and any(word in name_words()["legal_forms"] for word in behind)


@lru_cache(maxsize=1)
def _known_scripts() -> frozenset[str]:
    return frozenset().union(*(language.scripts for language in load_languages().values()))


_OTHER_NAMES = {"CJK": "Han", "HIRAGANA": "Kana", "KATAKANA": "Kana", "IDEOGRAPHIC": "Han", "KATAKANA-HIRAGANA": "Kana"}


@lru_cache(maxsize=8192)
def script_of(letter: str) -> str:
    """Script of a letter by its Unicode name; "" for what is no letter.

    >>> script_of("x"), script_of("Ж"), script_of("字"), script_of("7")
    ('Latin', 'Cyrillic', 'Han', '')
    """
    if not letter.isalpha():
        return ""
    first = unicodedata.name(letter, "UNKNOWN").split()[0]
    return _OTHER_NAMES.get(first, first.capitalize())


@lru_cache(maxsize=16384)
def is_strange(word: str) -> bool:
    """Whether a word has a letter of a script for which there is no table of limits."""
    if word.isascii():
        return False
    return any(script_of(c) not in _known_scripts() for c in word if c.isalpha() and c not in "ªºµ")
