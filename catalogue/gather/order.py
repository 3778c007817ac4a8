"""The order of a scan: one file of each family first, so that a ranking is of use long before the end. Pure.

Nothing is opened for it: families and weights are guessed by names, as foundries write them (``Family-BoldItalic``).
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from pathlib import PurePath

from scanner.files import FontFile

_STYLE = re.compile(
    r"((extra|ultra|semi|demi)?(bold|black|heavy|light|thin|medium|regular|book|italic|oblique|roman|condensed)[ _]*)+$"
)
_LEANS = re.compile(r"italic|oblique")
_WEIGHTS = tuple(
    (re.compile(words), order)
    for words, order in (
        (r"light|thin", 4),
        (r"(semi|demi)bold|medium", 2),
        (r"black|heavy|(extra|ultra)bold", 1),
        (r"bold", 0),
    )
)
_REGULAR = 3


def families_first(files: Iterable[FontFile]) -> list[FontFile]:
    """The files in their order, but one of each family first: an upright one, and of those the one that holds best."""
    given = list(files)
    best: dict[tuple[str, str], tuple[bool, int, int]] = {}
    for place, file in enumerate(given):
        path = PurePath(file.name)
        stem = path.stem.casefold()
        key = str(path.parent), family_of(stem)
        rank = bool(_LEANS.search(stem)), weight_order(stem), place
        best[key] = min(best.get(key, rank), rank)
    first = {place for *_, place in best.values()}
    return [given[k] for k in sorted(first)] + [f for k, f in enumerate(given) if k not in first]


def family_of(stem: str) -> str:
    """What of a file's name is the family's: before a hyphen, else without words of style.

    >>> family_of("lobstertwo-bolditalic"), family_of("dejavusans bold"), family_of("bold")
    ('lobstertwo', 'dejavusans', 'bold')
    """
    head = stem.partition("-")[0].strip() or stem
    return _STYLE.sub("", head).strip(" _") or head


def weight_order(stem: str) -> int:
    """Where the weight in a file's name stands, the least where tags hold best: stout strokes, counters still open.

    >>> [weight_order(s) for s in ("a-bold", "a-black", "a-semibold", "a-regular", "a", "a-thin")]
    [0, 1, 2, 3, 3, 4]
    """
    words = _STYLE.search(stem)
    return next((order for known, order in _WEIGHTS if words and known.search(words[0])), _REGULAR)
