"""Places that hold no sentences: version, unique name, style, and the names of files and folders.

Each has its own shape. What does not fit it is a sentence in the wrong place, and is not understood. Pure.
"""

from __future__ import annotations

import re
import tomllib
from functools import lru_cache
from importlib import resources

from catalogue.licence.limits import is_strange, script_of, sentence_words
from catalogue.licence.slots import PARTICLES, Own
from catalogue.licence.words import Words

MOST_STRANGERS = {"version": 2, "unique": 5, "style": 1, "name": 8, "file": 4, "folder": 5}
"""Words that are neither the font's own nor of the trade, which a place may hold; common practice, no source."""
MOST_LETTERS = 24  # of such a word; longer ones are several words
_HEX = re.compile(r"[0-9a-f]{6,40}")
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])|(?<=[A-Z])(?=[A-Z][a-z])|[_+]")
_TAG = re.compile(r"[A-Z0-9]{1,6}")
_CASED = frozenset(("Latin", "Greek", "Cyrillic", "Armenian"))


@lru_cache(maxsize=1)
def _words() -> dict[str, frozenset[str]]:
    text = (resources.files("fonts_licenses") / "words" / "labels.toml").read_text("utf-8")
    return {place: frozenset(said.split()) for place, said in tomllib.loads(text).items()}


def spread(text: str) -> str:
    """A name written as one word, apart at its capitals: `PersonalUseOnly` as three words.

    >>> spread("LarkspurPersonalUse-Bold_v2")
    'Larkspur Personal Use-Bold v2'
    """
    return _CAMEL.sub(" ", text)


def is_label(words: Words, place: str, own: Own) -> bool:
    """Whether a text has the shape of its place: version, unique, style, name (of a family), file or folder."""
    known = _words()["style"] | _words().get(place if place in ("version", "unique") else "files", frozenset())
    strangers: list[str] = []
    small = 0
    for at, low in enumerate(words.low):
        if words.kinds[at] != "w":
            small += 1 if words.kinds[at] == "u" and _tells(low) else 0
            continue
        if low in known or low in own.titles or (low in own.makers and place != "name"):
            continue
        if is_strange(low) or (script_of(low[0]) not in _CASED and not low.isdigit()):
            return False  # letters without capitals, and not the font's own: it could be a sentence
        if _HEX.fullmatch(low) or (place in ("version", "unique") and _TAG.fullmatch(words.as_written(at))):
            continue
        small += low in sentence_words() and low not in PARTICLES
        strangers.append(low)
    return (
        small <= (2 if place == "name" else 1)
        and len(strangers) <= MOST_STRANGERS[place]
        and all(len(low) <= MOST_LETTERS for low in strangers)
        and not (small and place in ("version", "unique"))
    )


def _tells(address: str) -> bool:
    """Whether an address is a sentence: three small words in it, as `…/you-must-not-sell`."""
    parts = re.split(r"[^a-z]+", address)
    return sum(part in sentence_words() and part not in PARTICLES for part in parts) > 2


def is_address(words: Words) -> bool:
    """Whether a text is addresses and nothing else, none of which is a sentence."""
    return bool(len(words)) and all(k == "u" and not _tells(w) for k, w in zip(words.kinds, words.low, strict=True))
