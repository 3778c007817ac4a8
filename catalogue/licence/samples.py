"""Sample texts that fonts carry to be shown: pangrams and the like, known by the digests of their words. Pure."""

from __future__ import annotations

import zlib
from functools import lru_cache
from importlib import resources

from catalogue.licence.words import Words, words_of

_POINTS: dict[int, str] = dict.fromkeys((*range(0x0591, 0x05C8), *range(0x0610, 0x061B), *range(0x064B, 0x0653)), "")
_POINTS |= {0x0670: "", 0x0671: "\u0627"}  # alef wasla is written only where vowels are
"""Vowel points of Hebrew and Arabic (Unicode blocks); a sample is known without them."""


def digest(low: tuple[str, ...]) -> str:
    """Eight hexadecimal digits of a text's words."""
    return f"{zlib.crc32(' '.join(low).encode('utf-8', 'replace')):08x}"


@lru_cache(maxsize=1)
def _known() -> frozenset[str]:
    lines = (resources.files("fonts_licenses") / "words" / "samples.txt").read_text("utf-8").splitlines()
    return frozenset(word for line in lines if not line.startswith("#") for word in line.split())


def is_sample(words: Words) -> bool:
    """Whether a text is one of the known samples, or sentences each of which is."""
    bare = words.flat.translate(_POINTS)
    if bare != words.flat:
        return is_sample(words_of(bare))
    if digest(words.low) in _known():
        return True
    start = 0
    for at in range(1, len(words) + 1):
        if words.ends_sentence(at):
            if digest(words.low[start:at]) not in _known():
                return False
            start = at
    return start == len(words) > 0
