"""SPDX expressions: from the short names that packages use, and to what they come to for goods."""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from catalogue.licence.families import Record, licences_at, load_records, records_by_id
from catalogue.licence.words import words_of
from catalogue.permission import STRICTER, Permission
from catalogue.text import clean


@lru_cache(maxsize=4096)
def resolve_name(raw: str) -> str:
    """SPDX expression of a licence field: an SPDX expression, a Debian short name, or "" when neither.

    >>> resolve_name("GPL-2+ with Font exception or OFL-1.1")
    'GPL-2.0-or-later WITH Font-exception-2.0 OR OFL-1.1'
    >>> resolve_name("whatever")
    ''
    """
    text = clean(raw, 300).strip()
    grouped = _outer_split(text, r"\s+(?:OR|or|\|\|?)\s+|\s*\|\|?\s*")
    if len(grouped) > 1:
        parts = [resolve_name(part) for part in grouped]
        return " OR ".join(parts) if all(parts) else ""
    grouped = _outer_split(text, r",?\s+(?:AND|and)\s+|\s*[&,;]\s*")
    if len(grouped) > 1:
        parts = [resolve_name(part) for part in grouped]
        return " AND ".join(f"({p})" if " OR " in p else p for p in parts) if all(parts) else ""
    if text.startswith("(") and text.endswith(")"):
        return resolve_name(text[1:-1])
    return _one_name(text.strip("() "))


def _outer_split(text: str, pattern: str) -> list[str]:
    """Splits where `pattern` stands outside of brackets."""
    out, last = [], 0
    for hit in re.finditer(pattern, text):
        ahead = text[: hit.start()]
        if ahead.count("(") == ahead.count(")"):
            out.append(text[last : hit.start()])
            last = hit.end()
    return [part for part in (*out, text[last:]) if part.strip()]


def _one_name(name: str) -> str:
    low = name.lower()
    exception = re.search(r"(?:[ -]with[ -](?:\w+ )?font[- ]exception(?:-2\.0)?|\+fe)$", low)
    if exception:
        base = _one_name(name[: exception.start()])
        if base.startswith("AGPL"):  # seen: the only exception of that kind is one vendor's, for PostScript and PDF
            return f"{base} WITH PS-or-PDF-font-exception-20170817"
        return f"{base} WITH Font-exception-2.0" if base and " " not in base else ""
    known = records_by_id().get(low)
    if known is not None:
        return next(spdx for spdx in known.spdx if spdx.lower() == low)
    named = _whole_name(low)
    for record in load_records():
        if any(pattern.fullmatch(low) for pattern in record.short):
            if record.family in ("gpl", "lgpl", "agpl"):
                return _gnu_id(record, low)
            version = re.search(r"\d(?:\.\d)?", low) if record.family.startswith("cc-") else None
            if version:
                wanted = version[0] if "." in version[0] else version[0] + ".0"
                kind = "-SA-" if "-sa" in low else "-ND-" if "-nd" in low else "-"
                exact = [s for s in record.spdx if s.endswith(kind + wanted)] or [named]
                return exact[0] or record.spdx[0]
            return named or record.spdx[0]
    return named


def _whole_name(low: str) -> str:
    """SPDX id of a licence's name that is all of the text, as "apache license, version 2.0"; "" for any other."""
    words = words_of(low)
    ends = licences_at(words, 0) if len(words) else []
    return next((capture[1] for stop, capture in ends if stop == len(words)), "")


def _gnu_id(record: Record, low: str) -> str:
    """`GPL-2+` and its like as SPDX ids; a bare name counts as any version."""
    hit = re.search(r"\d(?:\.\d)?", low)
    number = hit[0] if hit else {"gpl": "1", "lgpl": "2.1", "agpl": "3"}[record.family]
    number = number if "." in number else number + ".0"
    later = not hit or low.endswith(("+", "later"))
    wanted = f"{record.family.upper()}-{number}-{'or-later' if later else 'only'}"
    return wanted if wanted in record.spdx else record.spdx[0]


@dataclass(frozen=True)
class Terms:
    """What an expression comes to for goods."""

    sell: Permission
    alter: Permission
    accompany: tuple[str, ...]
    records: tuple[Record, ...]


@lru_cache(maxsize=4096)
def terms_of(expression: str) -> Terms:
    """OR takes the most permissive side, AND the strictest; an id without a record asks."""
    sides = _outer_split(expression, r"\s+OR\s+")
    if len(sides) > 1:
        return min((terms_of(side) for side in sides), key=lambda t: (STRICTER.index(t.sell), STRICTER.index(t.alter)))
    sides = _outer_split(expression, r"\s+AND\s+")
    if len(sides) > 1:
        every = [terms_of(side) for side in sides]
        return Terms(
            max((t.sell for t in every), key=STRICTER.index),
            max((t.alter for t in every), key=STRICTER.index),
            tuple(dict.fromkeys(a for t in every for a in t.accompany)),
            tuple(dict.fromkeys(r for t in every for r in t.records)),
        )
    name = expression.strip()
    if name.startswith("(") and name.endswith(")"):
        return terms_of(name[1:-1])
    record = records_by_id().get(name.lower()) or _record_of_with(name)
    if record is None:
        return Terms(Permission.ASK, Permission.ASK, (), ())
    return Terms(record.sell, record.alter, record.accompany, (record,))


def _record_of_with(name: str) -> Record | None:
    """Record of `X WITH exception` when that very pair is not listed."""
    if " WITH " not in name:
        return None
    base, exception = name.split(" WITH ", 1)
    for record in load_records():
        if record.kind == "exception" and any(spdx.endswith(" WITH " + exception) for spdx in record.spdx):
            return record if base.startswith(record.base) else None
    return records_by_id().get(base.lower())
