"""Which scripts a face has letters for, and the letters to measure each by; the only importer of Unicode's script data.

The most used letters of each script are data (``scripts.toml``); a script that is not listed is measured by the first
letters the face maps.
"""

from __future__ import annotations

import tomllib
import unicodedata
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

import numpy as np
from fontTools import unicodedata as unicode_data
from numpy.typing import NDArray

MOST_LETTERS = 40
"""Letters of a script that a face is measured by: about as many as the Latin alphabet has in two cases."""

_NO_LETTERS = frozenset({"Zyyy", "Zinh", "Zzzz", "Brai"})
"""Characters of all scripts or none, private ones too: symbols, digits, mathematical letters, marks, Braille dots."""

CodePoints = NDArray[np.uint32]


@dataclass(frozen=True, slots=True)
class Script:
    """What is known of one script."""

    name: str
    """As Unicode writes it: ``Devanagari``."""
    letters: str = ""
    """Its most used letters, the most used first."""
    flat: str = ""
    """Letters whose flat tops stand at one height, to size a face by."""
    small: str = ""
    """Flat small letters, for a script of two cases."""
    words: tuple[str, ...] = ()
    """Names written in it."""


@lru_cache(maxsize=1)
def known_scripts() -> Mapping[str, Script]:
    """The scripts of ``scripts.toml`` by their ISO 15924 codes."""
    text = resources.files("scanner").joinpath("scripts.toml").read_text(encoding="utf-8")
    return {code: _script(entry) for code, entry in tomllib.loads(text).items()}


def _script(entry: Mapping[str, Any]) -> Script:
    words = tuple(entry.get("words", ()))
    return Script(entry["name"], entry["letters"], entry.get("flat", ""), entry.get("small", ""), words)


def script_of(code: str) -> Script:
    """A script by its ISO 15924 code; one that is not listed has its name only.

    >>> script_of("Hebr").flat, script_of("Ogam")
    ('החדרבת', Script(name='Ogham', letters='', flat='', small='', words=()))
    """
    return known_scripts().get(code) or Script(str(unicode_data.script_name(code)).replace("_", " "))


@lru_cache(maxsize=1)
def _script_runs() -> tuple[CodePoints, NDArray[np.str_]]:
    """First code point of each run of one script, ascending, and that script's code."""
    return np.array(unicode_data.Scripts.RANGES, dtype=np.uint32), np.array(unicode_data.Scripts.VALUES)


def scripts_in(code_points: CodePoints) -> list[str]:
    """Codes of the scripts these characters belong to, the one with the most characters first.

    >>> scripts_in(np.array([0x41, 0x5D0, 0x5D1, 0x31], dtype=np.uint32))
    ['Hebr', 'Latn']
    >>> scripts_in(np.array([0x31, 0x2603, 0x1D400, 0xE000], dtype=np.uint32))
    []
    """
    starts, codes = _script_runs()
    found, count = np.unique(codes[np.searchsorted(starts, code_points, side="right") - 1], return_counts=True)
    order = np.lexsort((found, -count))
    return [code for code in found[order].tolist() if code not in _NO_LETTERS]


def letters_in(code_points: CodePoints, code: str) -> str:
    """The letters of one script to measure a face by, at most ``MOST_LETTERS`` of those it maps.

    >>> letters_in(np.array([0x41, 0x5D0, 0x5D1, 0x5BF], dtype=np.uint32), "Hebr")
    'אב'
    """
    starts, codes = _script_runs()
    own = code_points[codes[np.searchsorted(starts, code_points, side="right") - 1] == code].tolist()
    mapped = set(own)
    used = [c for c in script_of(code).letters if ord(c) in mapped]
    if not used:
        letters = (chr(k) for k in own)
        used = [c for c, _ in zip((c for c in letters if unicodedata.category(c)[0] == "L"), range(MOST_LETTERS))]
    return "".join(used[:MOST_LETTERS])
