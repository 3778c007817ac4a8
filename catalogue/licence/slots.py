"""What fills the slots of a template: years, addresses, names of the font, of people and firms.

`{person}` is a name only when the font itself bears it or one of its other fields names it; `{holder}`, the name behind
a copyright sign or a year, may be any that is written as names are, and so may `{more}`, which goes on in the same
sentence; `{next}` is one of a list. `{same}`, `{joined}` and `{end}` take no word: the sentence goes on there, goes on
behind an "&", or ends. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import lru_cache

from catalogue.licence.families import licences_at
from catalogue.licence.grammar import Capture, Fill
from catalogue.licence.limits import (
    english_words,
    in_a_name,
    is_strange,
    limits_in,
    name_words,
    script_of,
    sentence_words,
)
from catalogue.licence.words import Words

MOST_NAME = 16  # words of a list of names
MOST_TITLE = 8  # words of a font's name
ENDS = frozenset(".;!。।¶)")
"""Marks that end what is granted; a question mark and a colon do not, for what follows may take it back."""
PARTS = ENDS | frozenset(":?|=<>(؟")
"""Marks that part two sentences, so that the second says nothing of the first."""
_YEAR = re.compile(r"(?:19|20)\d\d(?:\.\.?\d+)?|\d\d?")
_NOTHING: Capture = ("", "")
_CASED = frozenset(("Latin", "Greek", "Cyrillic", "Armenian"))


@dataclass(frozen=True)
class Own:
    """What a font calls itself and its makers."""

    titles: frozenset[str] = frozenset()
    """Words of its family, full and PostScript names, in lower case."""
    makers: frozenset[str] = frozenset()
    """Words of the names in its copyright, trade mark, maker and designer fields, and of its addresses."""
    handles: frozenset[str] = frozenset()
    """Words in small letters that two of the makers' fields share: "rsms", "vernon adams"."""
    squeezed: str = ""
    """Its names without blanks and marks, one blank between them."""


def fills_for(own: Own) -> Mapping[str, Fill]:
    """Functions that fill slots for one font."""
    return {
        "licence": _licence,
        "year": _year,
        "url": _url,
        "version": _version,
        "same": _same,
        "joined": _joined,
        "end": _end,
        "font": lambda words, at: _title(words, at, own),
        "person": lambda words, at: _names(words, at, own, True),
        "holder": lambda words, at: _names(words, at, own, False),
        "next": lambda words, at: _names(words, at, own, False),
        "more": lambda words, at: () if at and _parted(words, at) else _names(words, at, own, False),
    }


def _licence(words: Words, at: int) -> Iterable[tuple[int, Capture]]:
    return licences_at(words, at)


def _year(words: Words, at: int) -> Iterable[tuple[int, Capture]]:
    """Years and spans of years: "2010-2013, 2015"."""
    stop = at
    while stop < len(words) and words.kinds[stop] == "n":
        first = stop == at
        if not _YEAR.fullmatch(words.low[stop]) or (first and len(words.low[stop]) < 4):
            break
        if not first and not set(words.gaps[stop]) <= set(" -,/&."):
            break
        stop += 1
        yield stop, _NOTHING


def _url(words: Words, at: int) -> Iterable[tuple[int, Capture]]:
    stop = at
    while stop < len(words) and words.kinds[stop] == "u" and stop - at < 4:
        stop += 1
        yield stop, _NOTHING


def _version(words: Words, at: int) -> Iterable[tuple[int, Capture]]:
    if words.kinds[at] == "n":
        yield at + 1, _NOTHING
        if at + 1 < len(words) and len(words.low[at + 1]) == 1 and words.gaps[at + 1] == "":
            yield at + 2, _NOTHING  # 1.3c


def _same(words: Words, at: int) -> Iterable[tuple[int, Capture]]:
    """No word: the sentence goes on here."""
    return ((at, _NOTHING),) if at < len(words) and not PARTS & set(words.gaps[at]) else ()


def _joined(words: Words, at: int) -> Iterable[tuple[int, Capture]]:
    """No word: a sign that means "and" stands here."""
    return ((at, _NOTHING),) if at < len(words) and set("&+/・") & set(words.gaps[at]) else ()


def _end(words: Words, at: int) -> Iterable[tuple[int, Capture]]:
    """No word: the text or its sentence ends here."""
    return ((at, _NOTHING),) if is_end(words, at) else ()


def is_end(words: Words, at: int) -> bool:
    """Whether what is granted ends before a word: a full stop does, a colon or a question mark does not."""
    gap = words.gaps[at]
    return at >= len(words) or (bool(ENDS & set(gap)) and "?" not in gap)


def _title(words: Words, at: int, own: Own) -> Iterable[tuple[int, Capture]]:
    """The font's own name, whole or in part; a name written as one word too."""
    stop = at
    while stop < len(words) and stop - at < MOST_TITLE and _bears(words, stop, own):
        if stop > at and set(words.gaps[stop]) & set(".;:()"):
            break
        stop += 1
        yield stop, _NOTHING


def _bears(words: Words, at: int, own: Own) -> bool:
    low = words.low[at]
    return low in own.titles and low not in sentence_words() - own.titles


def _names(words: Words, at: int, own: Own, closed: bool) -> Iterable[tuple[int, Capture]]:
    """One name or a list of names; each end at which they are whole."""
    stop = at
    ends: list[int] = []
    while stop < len(words) and stop - at < MOST_NAME:
        if stop > at and _parted(words, stop):
            break
        if not _is_part(words, stop, own, closed, first=stop == at):
            break
        stop += 1
        if words.low[stop - 1] not in name_words()["particles"] or words.as_written(stop - 1)[0].isupper():
            ends.append(stop)
    for end in ends:
        if is_name(words, at, end, own):
            yield end, _NOTHING


def _parted(words: Words, at: int) -> bool:
    """Whether the marks before a word end a name: a full stop does, save behind an initial or a title."""
    gap = words.gaps[at]
    if any(mark in gap for mark in ";:!?¶|=<>"):
        return True
    if gap == ".":
        return False  # inside a name: Larkspur.Git
    if "." in gap or "。" in gap:
        before = words.low[at - 1]
        if before in name_words()["closing"] and "," not in gap:
            return True
        return not (len(before) <= 2 or before in name_words()["titles"])
    return False


def _is_part(words: Words, at: int, own: Own, closed: bool, first: bool) -> bool:
    """Whether a word can stand in a name."""
    low, written = words.low[at], words.as_written(at)
    if words.kinds[at] == "u":
        return False
    if words.kinds[at] == "n":
        return not first and (words.gaps[at] in ("", "-") or low in own.titles)
    if low in own.makers or low in own.titles or _in_an_address(words, low):
        return True
    if len(low) == 1 and not first and "." in words.gaps[at + 1]:
        return True  # s.r.o.
    if low in name_words()["particles"]:
        return not first or (written[0].isupper() and low not in name_words()["inner_particles"])
    if (
        low in own.handles
        or words.gaps[at].endswith("@")
        or _is_asian_name(words, at)
        or (not first and words.gaps[at] == "-")
    ):
        return True
    if closed or is_strange(low):
        return False
    return _is_capital(written)


def _is_asian_name(words: Words, at: int) -> bool:
    """Whether a word is a Korean name, or one letter of a Chinese one: a surname and one or two letters."""
    low = words.low[at]
    if script_of(low[0]) == "Hangul":
        return 2 < len(low) < 5 and low[0] in surnames()
    if script_of(low[0]) != "Han":
        return False
    begin, end = at, at + 1
    while begin and words.gaps[begin] == "" and at - begin < 3:
        begin -= 1
    while end < len(words) and words.gaps[end] == "" and end - at < 4:
        end += 1
    return 1 < end - begin < 4 and words.low[begin] in surnames() and all(len(w) == 1 for w in words.low[begin:end])


@lru_cache(maxsize=1)
def _harmless() -> frozenset[str]:
    """Words of sentences that say nothing in a name: particles, legal forms, and "sans", which is a kind of letter."""
    return name_words()["particles"] | name_words()["legal_forms"] | {"sans"}


@lru_cache(maxsize=1)
def surnames() -> frozenset[str]:
    """Common Chinese and Korean surnames, one letter each."""
    return frozenset("".join(name_words()["surnames"]))


def _in_an_address(words: Words, low: str) -> bool:
    """Whether a word stands in an address of the same text: `sachin (sachin@larkspur.example)`."""
    if len(low) < 3 or "u" not in words.kinds or low in sentence_words():
        return False
    return any(low in address for address in _addresses_in(words))


@lru_cache(maxsize=1024)
def _addresses_in(words: Words) -> tuple[str, ...]:
    return tuple(word for word, kind in zip(words.low, words.kinds, strict=True) if kind == "u")


@lru_cache(maxsize=16384)
def _is_capital(written: str) -> bool:
    """Whether a word is written as names are: a capital in it, in a script that has capitals."""
    return script_of(written[0]) in _CASED and any(c.isupper() for c in written)


def is_name(words: Words, start: int, stop: int, own: Own) -> bool:
    """Whether some words can be a name: no limit stands in it, and it is no sentence."""
    small = [
        low
        for low in words.low[start:stop]
        if low in sentence_words() and low not in _harmless() and low not in own.titles and len(low) > 1
    ]
    if len(small) > 1 or any(not _is_ambiguous(words, at) for at in range(start, stop) if words.low[at] in small):
        return False
    if any(licences_at(words, at) for at in range(start, stop) if words.low[at] not in name_words()["particles"]):
        return False  # "Not OFL" is nobody's name
    return all(in_a_name(words, limit, stop) for limit in limits_in(words, start, stop))


def _is_ambiguous(words: Words, at: int) -> bool:
    """Whether a word of sentences can be a name where it stands: "Ben" is Turkish for I, "Hat" German for has."""
    low, written = words.low[at], words.as_written(at)
    if low in name_words()["negations"] or (low in english_words() and low not in name_words()["also_names"]):
        return False
    return written[0].isupper() and not (len(written) > 1 and written.isupper())
