"""From raw statements to what each of them claims: the words are read here, and weighed in `judge`. Pure."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache

from catalogue.licence.expressions import resolve_name, terms_of
from catalogue.licence.families import load_records
from catalogue.licence.own import CFF_NAMES, name_id, names_of, own_of
from catalogue.licence.reading import Piece, read
from catalogue.licence.slots import Own
from catalogue.licence.words import words_of
from catalogue.text import clean
from scanner.evidence import Evidence

QUOTE = 240  # characters of a shown quote
UNCLEAR = "LicenseRef-Unclear-Words"
FREE_USE = "LicenseRef-Free-For-Any-Use"
FREEWARE = "LicenseRef-Freeware"
FREE_WITH_CREDIT = "LicenseRef-Free-With-Credit"
GRANT_NOTHING = ("component", "excerpt")
"""Scopes whose grants do not cover the font. A limit in a text that was not read to its end has the scope "font"."""
WHOLE_NAMES = ("name", "style", "file", "folder", "archive", "version", "unique")
"""Places in which parts of the font's names count, too."""
LABELS = ("name", "style", "file", "folder", "archive")
_PLACES = {
    "0": "copyright", "3": "unique", "5": "version", "6": "style", "7": "trademark", "8": "maker", "9": "maker",
    "10": "description", "11": "url", "12": "url", "13": "licence", "14": "address", "19": "sample",
    "1": "name", "4": "name", "16": "name", "18": "name", "21": "name",
    "2": "style", "17": "style", "22": "style", "25": "style",
}  # fmt: skip
_NAME_SOURCES = ("file-name", "packaged-name", "folder-name", "archive-name", "beside-name")
_BARE_IDS = ("1", "2", "4", "6", "16", "17", "18", "21", "22", "25")
_SOURCES = {
    "cff": "copyright", "meta": "description", "file-name": "file", "packaged-name": "folder",
    "folder-name": "folder", "archive-name": "archive", "text-file": "text-file", "data-file": "data",
    "beside-name": "folder",
    "licence-file": "licence-file", "given": "licence-file", "copyright-file": "licence-file",
}  # fmt: skip
_SPDX = re.compile(r"(?i)(?:/\*|//|#)?\s*SPDX-License-Identifier:\s*([^*\n]+?)\s*(?:\*/)?")


@dataclass(frozen=True)
class Statement:
    """A raw statement, read."""

    raw: Evidence
    place: str
    evidence: tuple[Evidence, ...]
    """What is shown of it; () for a mere name or style."""
    unknown: tuple[str, ...]
    """Its sentences that are not understood, in its own words."""


def place_of_words(item: Evidence) -> str:
    """The kind of place a statement stands in; see `catalogue.licence.reading`."""
    number = name_id(item.locator) if item.source == "name" else ""
    if number:
        return _PLACES.get(number, "description")
    return "name" if item.locator in CFF_NAMES else _SOURCES.get(item.source, "licence")


def assess(raw: tuple[Evidence, ...]) -> tuple[Statement, ...]:
    """All statements about one face, read with what the font calls itself.

    One of its names or notices is read with what the others say.
    """
    names = names_of(raw)
    own = own_of(names)
    others: dict[str, Own] = {}
    out: list[Statement] = []
    for item in raw:
        kept = own
        if place_of_words(item) in ("name", "style", "copyright", "maker", "trademark"):
            number = name_id(item.locator) or item.locator
            if number not in others:
                others[number] = own_of(names, number)
            kept = others[number]
        out.append(_statement(item, _touching(kept, item)))
    return tuple(out)


def _touching(own: Own, item: Evidence) -> Own:
    """Of what the font calls itself, the words that a statement has: fonts of one family then read it alike, once."""
    if place_of_words(item) in WHOLE_NAMES:
        return own
    low = _word_set(item.quote)
    return Own(own.titles & low, own.makers & low, own.handles & low)


@lru_cache(maxsize=8192)
def _word_set(text: str) -> frozenset[str]:
    return frozenset(words_of(text).low)


@lru_cache(maxsize=16384)
def _statement(item: Evidence, own: Own) -> Statement:
    quote = clean(item.quote, QUOTE)
    scope = "component" if item.scope == "other" else item.scope
    if item.source == "os2":
        return Statement(item, "", (replace(item, quote=quote, scope="font"),), ())
    hit = _SPDX.fullmatch(item.quote.strip()[:300])
    if item.claim or (hit and resolve_name(hit[1])):
        return _claimed(item if item.claim else replace(item, claim=hit[1] if hit else ""), quote, own)
    place = place_of_words(item)
    pieces = _label_pieces(item.quote, place, own) if place in LABELS else read(item.quote, place, own)
    shown = tuple(_evidence(item, scope, pieces))
    unknown = tuple(piece.said for piece in pieces if piece.kind == "unknown")
    if item.source == "beside-name":
        unknown = ()  # files next to a font are called what their keeper likes: their names can only limit
    if item.scope == "excerpt":
        unknown = (*unknown, "(the rest of this file was not read)")
    if not shown and (unknown or not _is_bare_label(item)):
        shown = (replace(item, quote=quote, scope=scope),)
    return Statement(item, place, shown, unknown)


def _label_pieces(text: str, place: str, own: Own) -> tuple[Piece, ...]:
    """A name must have the shape of one, and say no more than the font's other names do."""
    alone = read(text, "name", Own()) if place == "name" else ()
    return alone if any(piece.kind != "plain" for piece in alone) else read(text, place, own)


def _is_bare_label(item: Evidence) -> bool:
    """Whether a statement is a name or style, which is shown only when it says something of the licence."""
    return item.source in _NAME_SOURCES or name_id(item.locator) in _BARE_IDS


def _claimed(item: Evidence, quote: str, own: Own) -> Statement:
    """A machine-readable field; what it says beyond its expression is searched for clear limits."""
    claim = resolve_name(item.claim)
    if not claim:
        return _statement(replace(item, claim=""), own)
    scope = item.scope if item.scope != "unknown" else "font"
    polarity = _polarity(claim)
    shown = [Evidence(item.source, item.locator, quote, claim, polarity, scope)]
    for piece in read(item.quote, "licence-file", own) if len(item.quote) > len(item.claim) + 12 else ():
        if piece.kind == "limit" and piece.clear and polarity == "grant":
            shown.append(_limit(item, scope, piece))
    return Statement(item, "", tuple(shown), ())


def _polarity(claim: str) -> str:
    terms = terms_of(claim)
    if terms.sell == "no":
        return "restriction"
    return "statement" if {r.kind for r in terms.records} & {"notice", "reserve"} else "grant"


def _evidence(item: Evidence, scope: str, pieces: tuple[Piece, ...]) -> Iterator[Evidence]:
    granted = _granted(pieces)
    if granted:
        claim, quote = granted
        kept = scope if scope in GRANT_NOTHING else "font"
        yield Evidence(item.source, item.locator, clean(quote, QUOTE), claim, _polarity(claim), kept)
    for piece in pieces:
        said = clean(piece.said, QUOTE)
        if piece.kind == "limit":
            yield _limit(item, scope, piece)
        elif piece.kind == "part" and piece.spdx:
            yield Evidence(item.source, item.locator, said, " AND ".join(piece.spdx), "grant", "component")
        elif piece.kind == "mention":
            yield Evidence(item.source, item.locator, said, piece.spdx[0], "statement", _whole(scope))
        elif piece.kind == "unknown" and not any(p.kind in ("limit", "mention") for p in pieces):
            yield Evidence(item.source, item.locator, said, "", "statement", _whole(scope))


def _whole(scope: str) -> str:
    return "component" if scope == "component" else "unknown"


@lru_cache(maxsize=64)
def _limit_id(family: str) -> str:
    return next(record.spdx[0] for record in load_records() if record.family == family)


def _limit(item: Evidence, scope: str, piece: Piece) -> Evidence:
    said = clean(piece.said, QUOTE)
    polarity = "restriction" if piece.clear else "statement"
    scope = "component" if scope == "component" else "font"
    return Evidence(item.source, item.locator, said, _limit_id(piece.family), polarity, scope)


def _granted(pieces: tuple[Piece, ...]) -> tuple[str, str] | None:
    """The expression that one statement grants, and its words: several licences at once, or one of them at choice."""
    grants = [p for p in pieces if p.kind in ("grant", "either") and p.spdx]
    if any(p.kind == "use" for p in pieces):
        grants = [p for p in grants if p.spdx != (FREEWARE,)]  # "Free!" leaves open what "sell what you make" settles
    exceptions = [p for p in pieces if p.kind == "exception"]
    if not grants and not exceptions:
        return _used(pieces)
    either = any(p.kind == "either" for p in grants)
    kept: dict[str, str] = {}
    for spdx in (spdx for p in grants for spdx in p.spdx):  # one id a family, the more exact one
        family = _family_of(spdx)
        known = kept.get(family)
        if known is None or _exactness(spdx) > _exactness(known):
            kept[family] = spdx
    ids = list(kept.values())
    if exceptions:
        ids = _excepted(ids)
    first = next((p for p in grants if p.spdx), exceptions[0] if exceptions else grants[0])
    claim = (" OR " if either else " AND ").join(ids)
    if any(p.kind == "credit" for p in pieces) and terms_of(claim).sell == "yes":
        claim = f"({claim}) AND {FREE_WITH_CREDIT}" if " OR " in claim else f"{claim} AND {FREE_WITH_CREDIT}"
    return claim, first.said


def _used(pieces: tuple[Piece, ...]) -> tuple[str, str] | None:
    """What a maker's own words come to: every use is allowed, with a credit where they ask for it."""
    uses = [p for p in pieces if p.kind == "use"]
    credit = any(p.kind == "credit" for p in pieces)
    named = next((p.spdx[0] for p in uses if p.spdx), FREE_USE)
    return (FREE_WITH_CREDIT if credit else named, uses[0].said) if uses else None


def _family_of(spdx: str) -> str:
    base = spdx.split(" WITH ")[0]
    records = terms_of(base).records
    return records[0].family if records else base


def _exactness(spdx: str) -> tuple[bool, bool, bool]:
    return " WITH " in spdx, "-1.0-or-later" not in spdx, "or-later" in spdx


def _excepted(ids: list[str]) -> list[str]:
    """An exception joined to the licence it refines; alone it implies the GPL it was written for."""
    out = [
        f"{spdx} WITH Font-exception-2.0" if spdx.startswith(("GPL", "LGPL")) and " WITH " not in spdx else spdx
        for spdx in ids
    ]
    return out if any(" WITH " in spdx for spdx in out) else [*out, "GPL-2.0-or-later WITH Font-exception-2.0"]
