"""Published licence texts, recognised word by word in their order.

`fonts_licenses/texts/*.toml` hold fingerprints: sixteen bits a word, in order, never the words. A text is recognised
when nearly all of it stands in a statement in its order. Words that stand between its own come out as insertions, for
whoever reads on: a clause that somebody wrote into a licence is never taken for the licence. Words may be missing only
where losing them takes nothing back. Pure, but for loading the table once.
"""

from __future__ import annotations

import base64
import tomllib
import zlib
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import NamedTuple

from catalogue.licence.words import Words

SEED = 5  # words that must agree before a text is looked for
STRIDE = 3  # every so many-th place of a text can be a seed
REACH = 60  # words that may be inserted or missing at one place
CHUNK = 24  # words that are compared at once
AGAIN = 4  # words that must agree behind such a place
LEAST_SHARE = 0.85  # of a text's words that must be there
MOST_MISSING = 12  # words missing at one place; real copies lose a heading, an address or a line
SLOT = 0
"""Fingerprint of a place for a name or a year in a published text."""
_HOLDERS = ("the", "copyright", "holder", "holders", "author", "authors", "owner", "owners", "organization", "regents")
_OTHERS = ("lesser", "affero", "noncommercial", "noderivatives", "noderivs", "sharealike")
_TURNING = ("not", "no", "non", "without", "never", "nor", "neither", "free", "any", "only", "unless", "except")


@dataclass(frozen=True, eq=False)
class Text:
    """One published text, or a part of it that stands alone."""

    name: str
    spdx: str
    """The licence it is, or for which it is the notice."""
    role: str
    """grant (the licence or its notice), exception, or plain (says nothing of what is allowed: a disclaimer)."""
    prints: tuple[int, ...]
    """Sixteen bits a word."""
    digest: str
    """SHA-256 of the words in lower case, one blank between them."""
    address: str
    """Where it is published."""


@dataclass(frozen=True)
class Found:
    """A text in a statement."""

    text: Text
    start: int
    stop: int
    """First word and the one behind the last."""
    own: tuple[tuple[int, int], ...]
    """Runs of words that are the text's; what lies between them was inserted."""
    whole: bool
    """False when the statement ends in the middle of the text: then it grants nothing."""
    names: tuple[tuple[int, int], ...] = ()
    """Insertions at places where the published text has a name or a year."""


@dataclass(frozen=True)
class _Table:
    texts: tuple[Text, ...]
    seeds: dict[tuple[int, ...], tuple[tuple[int, int], ...]]
    """Text and place of each run of SEED words at every STRIDE-th place."""
    turning: frozenset[int]
    others: frozenset[int]
    """Words that make another licence of this one where they are inserted: "Lesser"."""
    holders: frozenset[int]
    """Words for which a copy may have a name: "the copyright holder"."""


_Tried = dict[tuple[int, int, int], Found | None]
"""What came of a text from a place of the statement and one of its own on, as found before."""


def fingerprint(words: Words) -> tuple[int, ...]:
    """Sixteen bits a word, never `SLOT`."""
    return tuple(map(_print_of, words.low))


@lru_cache(maxsize=16384)
def _print_of(word: str) -> int:
    return (zlib.crc32(word.encode("utf-8", "replace")) & 0xFFFF) or 1


def packed(prints: tuple[int, ...]) -> str:
    """Fingerprints as text for a table."""
    raw = b"".join(p.to_bytes(2, "big") for p in prints)
    return base64.b64encode(zlib.compress(raw, 9)).decode("ascii")


def unpacked(text: str) -> tuple[int, ...]:
    """What `packed` wrote.

    >>> unpacked(packed((1, 65535, 0)))
    (1, 65535, 0)
    """
    raw = zlib.decompress(base64.b64decode("".join(text.split())))
    return tuple(int.from_bytes(raw[at : at + 2], "big") for at in range(0, len(raw), 2))


@lru_cache(maxsize=1)
def load_texts() -> tuple[Text, ...]:
    """All texts of the table, by name."""
    folder = resources.files("fonts_licenses") / "texts"
    out: list[Text] = []
    for file in sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name):
        for entry in tomllib.loads(file.read_text("utf-8"))["text"]:
            prints = unpacked(entry["prints"])
            out.append(Text(entry["name"], entry["spdx"], entry["role"], prints, entry["digest"], entry["address"]))
    return tuple(out)


@lru_cache(maxsize=1)
def _table() -> _Table:
    seeds: dict[tuple[int, ...], list[tuple[int, int]]] = {}
    texts = load_texts()
    for number, text in enumerate(texts):
        for at in range(0, len(text.prints) - SEED + 1, STRIDE):
            key = text.prints[at : at + SEED]
            if SLOT not in key:
                seeds.setdefault(key, []).append((number, at))
    turning = frozenset(map(_print_of, _TURNING))
    others = frozenset(map(_print_of, _OTHERS))
    holders = frozenset(map(_print_of, _HOLDERS))
    return _Table(texts, {key: tuple(places[:24]) for key, places in seeds.items()}, turning, others, holders)


def texts_in(words: Words) -> tuple[Found, ...]:
    """Published texts in a statement, each place of it claimed by the text that covers most, in order."""
    if len(words) < SEED:
        return ()
    prints = fingerprint(words)
    table = _table()
    out: list[Found] = []
    tried: _Tried = {}
    at = 0
    while at <= len(prints) - SEED:
        places = table.seeds.get(prints[at : at + SEED])
        best = _best(table, prints, at, places, tried) if places else None
        if best is None:
            at += 1
        else:
            out.append(best)
            at = best.stop
    return tuple(out)


def _best(
    table: _Table, prints: tuple[int, ...], at: int, places: tuple[tuple[int, int], ...], tried: _Tried
) -> Found | None:
    best: Found | None = None
    seen: set[int] = set()
    for number, place in places:
        if number in seen:
            continue
        seen.add(number)
        text = table.texts[number]
        back = _run_back(prints, at, text.prints, place)
        key = number, at - back, place - back
        if key not in tried:
            tried[key] = _aligned(table, text, prints, at - back, place - back)
        found = tried[key]
        if found is not None and (best is None or _owned(found) > _owned(best)):
            best = found
    return best


def _owned(found: Found) -> tuple[bool, int]:
    had = sum(stop - start for start, stop in found.own)
    return found.whole, 2 * had - (found.stop - found.start)


def _run(one: tuple[int, ...], i: int, other: tuple[int, ...], j: int) -> int:
    """How many words agree from two places on."""
    most = min(len(one) - i, len(other) - j)
    length = 0
    while length + CHUNK <= most and one[i + length : i + length + CHUNK] == other[j + length : j + length + CHUNK]:
        length += CHUNK
    while length < most and one[i + length] == other[j + length]:
        length += 1
    return length


def _run_back(one: tuple[int, ...], i: int, other: tuple[int, ...], j: int) -> int:
    """How many words agree before two places."""
    length, most = 0, min(i, j)
    while length + CHUNK <= most and one[i - length - CHUNK : i - length] == other[j - length - CHUNK : j - length]:
        length += CHUNK
    while length < most and one[i - length - 1] == other[j - length - 1]:
        length += 1
    return length


def _aligned(table: _Table, text: Text, prints: tuple[int, ...], at: int, place: int) -> Found | None:
    """The text in the statement, from the first words of a common run on; None when too much of it is missing."""
    there = text.prints
    first, i, j = place, at, place
    own: list[tuple[int, int]] = []
    names: list[tuple[int, int]] = []
    missing = 0
    while i < len(prints) and j < len(there):
        length = _run(prints, i, there, j)
        if length:
            own.append((i, i + length))
            i, j = i + length, j + length
        if i >= len(prints) or j >= len(there):
            break
        step = _resumed(text, prints, i, j)
        if step is None:
            break
        skipped = there[j : j + step[1]]
        if table.others.intersection(prints[i : i + step[0]]):
            return None
        if len(skipped) > MOST_MISSING or table.turning.intersection(skipped):
            break
        if step[0] and skipped and (SLOT in skipped or table.holders.issuperset(skipped)):
            names.append((i, i + step[0]))
        missing += len(skipped) - skipped.count(SLOT)
        i, j = i + step[0], j + step[1]
    if not own:
        return None
    had = sum(stop - start for start, stop in own)
    slots = there.count(SLOT)
    whole = had >= LEAST_SHARE * (len(there) - slots)
    cut_short = own[-1][1] >= len(prints) and first <= MOST_MISSING and had >= min(12, len(there) - slots)
    if not whole and not (cut_short and missing <= MOST_MISSING):
        return None
    return Found(text, own[0][0], own[-1][1], tuple(own), whole, tuple(names))


def _resumed(text: Text, prints: tuple[int, ...], i: int, j: int) -> tuple[int, int] | None:
    """How many words were inserted and are missing where the two part, the fewest that make them agree again."""
    runs = _runs(text)
    best: tuple[int, int] | None = None
    for more in range(min(REACH, len(prints) - i) + 1):
        if best is not None and more >= sum(best):
            break
        if i + more >= len(prints) or prints[i + more] not in runs.firsts:
            continue
        for size in (AGAIN, 3, 2):
            for place in runs.places.get(prints[i + more : i + more + size], ()):
                gone = place - j
                if 0 <= gone <= MOST_MISSING and (more or gone) and (best is None or more + gone < sum(best)):
                    best = more, gone
    return best


class _Runs(NamedTuple):
    """Where the words of a text stand."""

    places: dict[tuple[int, ...], tuple[int, ...]]
    """Places of each short run of words."""
    firsts: frozenset[int]
    """First words of the runs."""


@lru_cache(maxsize=512)
def _runs(text: Text) -> _Runs:
    """Places of each run of AGAIN words; of a shorter one where a name follows, or the text ends."""
    out: dict[tuple[int, ...], list[int]] = {}
    prints = text.prints
    for at in range(len(prints)):
        run = prints[at : at + AGAIN]
        length = run.index(SLOT) if SLOT in run else len(run)
        if length >= 2:
            out.setdefault(run[:length], []).append(at)
    return _Runs({run: tuple(places) for run, places in out.items()}, frozenset(run[0] for run in out))
