"""What a font calls itself and its makers, gathered from its names and notices, so that names can be told from words.

One of these places is always read with what the others say: else whatever stands in it would count as a name. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

from catalogue.licence.labels import spread
from catalogue.licence.limits import limits_in, sentence_words, telling_words
from catalogue.licence.slots import Own
from catalogue.licence.words import words_of
from scanner.evidence import Evidence

TITLE_IDS = ("1", "4", "6", "16")
MAKER_IDS = ("0", "7", "8", "9")
ADDRESS_IDS = ("11", "12")
CFF_NAMES = ("CFF FullName", "CFF FamilyName")
CFF_NOTICES = ("CFF Notice", "CFF Copyright")
_NAME = re.compile(r"name (\d+)")
_LETTERS = re.compile(r"[^\W_]+")
_HOST = re.compile(r"[a-z0-9]+")


class Names(NamedTuple):
    """What one statement adds."""

    key: str
    """Its name id, or its place."""
    titles: frozenset[str] = frozenset()
    makers: frozenset[str] = frozenset()
    small: frozenset[str] = frozenset()
    squeezed: str = ""


@lru_cache(maxsize=16384)
def name_id(locator: str) -> str:
    """The id of a name record as text; "" for other places.

    >>> name_id("name 13 (platform 3, language 0x0409)"), name_id("CFF Notice")
    ('13', '')
    """
    hit = _NAME.match(locator)
    return hit[1] if hit else ""


def names_of(raw: Sequence[Evidence]) -> list[Names]:
    """What the statements about one face say of its names and makers."""
    keyed = ((name_id(item.locator) or item.locator, item.quote) for item in raw if item.source in ("name", "cff"))
    return [names for names in (_names_in(key, quote) for key, quote in keyed) if names is not None]


@lru_cache(maxsize=16384)
def _names_in(key: str, quote: str) -> Names | None:
    if key in TITLE_IDS or key in CFF_NAMES:
        return Names(key, titles=_title_words(quote), squeezed=_squeezed(quote))
    if key in MAKER_IDS or key in CFF_NOTICES:
        return Names(key, makers=_maker_words(quote) - telling_words(), small=_small_words(quote))
    return Names(key, makers=_host_words(quote)) if key in ADDRESS_IDS else None


def own_of(names: Sequence[Names], but: str = "") -> Own:
    """All that the statements say together; `but` is the key of one to leave out."""
    kept = [one for one in names if one.key != but]
    fields: dict[str, set[str]] = {}
    for one in names:
        for word in one.small:
            fields.setdefault(word, set()).add(one.key[:3])
    return Own(
        frozenset().union(*(one.titles for one in kept)),
        frozenset().union(*(one.makers for one in kept)),
        frozenset(word for word, keys in fields.items() if len(keys) > 1),
        " ".join(dict.fromkeys(one.squeezed for one in kept if one.squeezed)),
    )


def _squeezed(text: str) -> str:
    return "".join(_LETTERS.findall(text)).lower()


def _title_words(text: str) -> frozenset[str]:
    return frozenset(words_of(text).low) | frozenset(words_of(spread(text)).low)


def _host_words(text: str) -> frozenset[str]:
    """Parts of the addresses in a text: a maker's site bears its name."""
    words = words_of(text)
    addresses = (low for low, kind in zip(words.low, words.kinds, strict=True) if kind == "u")
    return frozenset(part for address in addresses for part in _HOST.findall(address) if len(part) > 3)


def _small_words(text: str) -> frozenset[str]:
    """Words of a short notice in small letters that neither make a sentence nor limit: handles, as some makers have."""
    words = words_of(text)
    if len(words) > 40:
        return frozenset()
    limiting = {at for limit in limits_in(words) for at in range(limit.start, limit.stop)}
    small = (at for at in range(len(words)) if words.kinds[at] == "w" and words.as_written(at).islower())
    return frozenset(words.low[at] for at in small if at not in limiting) - sentence_words()


def _maker_words(text: str) -> frozenset[str]:
    """Words of a notice that are written as names; none of a text that is no notice but an essay."""
    words = words_of(text)
    if len(words) > 120:
        return frozenset()
    limiting = {at for limit in limits_in(words) for at in range(limit.start, limit.stop)}
    named = (at for at in range(len(words)) if words.as_written(at)[0].isupper() and at not in limiting)
    return frozenset(words.low[at] for at in named)
