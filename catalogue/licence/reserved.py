"""Reserved Font Names that a statement declares: they bind the names of changed font files, not goods. Pure."""

from __future__ import annotations

import re
from functools import lru_cache

from catalogue.text import clean
from scanner.evidence import Evidence

LOOKED = 4000  # characters of a statement in which names are looked for
MOST = 20
_DECLARED = re.compile(r"(?i)reserved font names?(?: is| are)?:?\s*([^.;\n(]{2,160})")
_QUOTED = re.compile(r"[\"'“‘<]([^\"'“”‘’<>]{2,40})[\"'”’>]")
_TALK = re.compile(r"(?i)(?:refers|s\b|or\b|unless|is\b|are\b|may\b|for\b|declared)")


def reserved_names(raw: tuple[Evidence, ...]) -> tuple[str, ...]:
    """Names that the font's own words or a licence file of it declare."""
    out: dict[str, None] = {}
    for item in raw:
        if item.source in ("name", "cff", "licence-file", "given") and item.scope in ("unknown", "font"):
            out |= dict.fromkeys(names_in(item.quote))
    return tuple(out)[:MOST]


@lru_cache(maxsize=4096)
def names_in(text: str) -> tuple[str, ...]:
    """Reserved Font Names that a text declares, not those its definitions talk about.

    >>> names_in("with Reserved Font Names 'Larkspur' and 'Larkspur Sans'.")
    ('Larkspur', 'Larkspur Sans')
    """
    out: list[str] = []
    if "reserved font" not in text[:LOOKED].lower():
        return ()
    for hit in _DECLARED.finditer(text[:LOOKED]):
        if _TALK.match(hit[1].lstrip("\"'”’ ")):
            continue
        quoted = _QUOTED.findall(hit[1])
        bare = [] if quoted else [hit[1]]
        out += [clean(name, 40) for name in quoted or bare]
    return tuple(out)
