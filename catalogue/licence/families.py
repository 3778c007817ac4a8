"""The licence records: loaded from `fonts_licenses/*.toml`, checked, and kept.

A record says in our own words what one family of licences lets a maker of goods do, by which names and addresses it
is called, and whether its published text was read. Nothing is loaded when this module is imported.
"""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

from catalogue.licence.grammar import Automaton, Capture, Classes, GrammarError
from catalogue.licence.words import Words
from catalogue.permission import STRICTER, Permission

KINDS = ("grant", "exception", "notice", "reserve", "restriction")
REQUIRED = ("title", "spdx", "kind", "sell", "alter", "goods", "conditions", "accompany", "traps", "source")
LONGEST_PATTERN = 100  # characters of a pattern in a record: a longer one is read by nobody
_NAMED_AT_END = {"ofl": "OFL-1.1", "ofl-1.1": "OFL-1.1", "ofl1.1": "OFL-1.1", "apache-2.0": "Apache-2.0"}
"""Last parts of an address that name the licence which is read there, on any site."""
_ADDRESS_TAIL = re.compile(r"(?:[/.#?&=_](?:[a-z_]{2,5}|deed|legalcode|index|licen[cs]e)){0,3}[/.#]?")


@dataclass(frozen=True)
class Named:
    """What one licence is called."""

    spdx: str
    says: tuple[str, ...]
    """Templates of its name; see `catalogue.licence.grammar`."""
    addresses: tuple[str, ...]
    """Starts of addresses at which its text is published, without scheme and `www.`."""


@dataclass(frozen=True)
class Record:
    """One family of licences."""

    family: str
    """The file's name without `.toml`."""
    title: str
    spdx: tuple[str, ...]
    """SPDX ids, `… WITH …` expressions, or LicenseRef-… where SPDX has none."""
    kind: str
    """grant; exception (refines a grant); notice (needs reading); reserve (shuts out much); restriction (no goods)."""
    sell: Permission
    """Verdict for goods that are sold: yes, yes-conditions, ask or no."""
    alter: Permission
    """Whether outlines may be thickened or offset for goods: yes, ask or no."""
    goods: str
    """What it lets a maker of goods do."""
    conditions: tuple[str, ...]
    accompany: tuple[str, ...]
    """What must go with the goods: on the card or in the listing."""
    traps: tuple[str, ...]
    short: tuple[re.Pattern[str], ...]
    """Short names in package metadata, matched in full and in lower case."""
    base: tuple[str, ...]
    """Starts of the ids that an exception refines."""
    named: tuple[Named, ...]
    source: str
    url: str
    read: bool
    """Whether the published text was read for this record; otherwise it is from memory."""
    proof: str
    """The published sentence that speaks of goods, in our own words, with its place; "" where none does."""
    proof_url: str


@lru_cache(maxsize=1)
def load_records() -> tuple[Record, ...]:
    """All records, by family name.

    :raises ValueError: when a record is broken; the message names the file and the entry.
    """
    folder = resources.files("fonts_licenses")
    files = sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name)
    records = tuple(parse_record(f.name[:-5], f.read_text("utf-8")) for f in files)
    owners: dict[str, str] = {}
    for record in records:
        for name in record.spdx:
            if owners.setdefault(name, record.family) != record.family:
                raise ValueError(f"{record.family}.toml: {name} is also in {owners[name]}.toml; keep it in one")
    return records


def parse_record(family: str, text: str) -> Record:
    """One record from TOML.

    :raises ValueError: names the entry that is missing or wrong, and what it may be.
    """
    try:
        data = tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        raise ValueError(f"{family}.toml: {error}; correct the TOML") from error
    missing = [key for key in REQUIRED if key not in data]
    if missing:
        raise ValueError(f"{family}.toml: {missing[0]} is missing; add it")
    for key, allowed in (("kind", KINDS), ("sell", STRICTER), ("alter", STRICTER)):
        if data[key] not in allowed:
            raise ValueError(f"{family}.toml: {key} is {data[key]!r}; use one of {', '.join(allowed)}")
    long = [name for name in data.get("names", ()) if len(name) > LONGEST_PATTERN]
    if long:
        raise ValueError(f"{family}.toml: {long[0]!r} has more than {LONGEST_PATTERN} characters; split it")
    try:
        return _built(family, data)
    except (KeyError, TypeError, re.error) as error:
        raise ValueError(f"{family}.toml: {error}; correct that entry") from error


def _built(family: str, data: Mapping[str, Any]) -> Record:
    source = data["source"]
    return Record(
        family=family,
        title=data["title"],
        spdx=tuple(data["spdx"]),
        kind=data["kind"],
        sell=Permission(data["sell"]),
        alter=Permission(data["alter"]),
        goods=data["goods"],
        conditions=tuple(data["conditions"]),
        accompany=tuple(data["accompany"]),
        traps=tuple(data["traps"]),
        short=tuple(re.compile(name) for name in data.get("names", ())),
        base=tuple(data.get("with_base", ())),
        named=tuple(
            Named(n["spdx"], tuple(n.get("says", ())), tuple(n.get("addresses", ()))) for n in data.get("named", ())
        ),
        source=source["text"],
        url=source["url"],
        read=source["read"],
        proof=source.get("proof", ""),
        proof_url=source.get("proof_url", ""),
    )


@lru_cache(maxsize=1)
def records_by_id() -> dict[str, Record]:
    """Record of each SPDX id, in lower case."""
    return {name.lower(): record for record in load_records() for name in record.spdx}


@lru_cache(maxsize=1)
def name_classes() -> dict[str, str]:
    """Classes of words that names of licences share."""
    text = (resources.files("fonts_licenses") / "words" / "names.toml").read_text("utf-8")
    return dict(tomllib.loads(text)["classes"])


@lru_cache(maxsize=1)
def _names() -> tuple[Automaton, tuple[str, ...], frozenset[str]]:
    """All names of licences together, the id of each by its number, and the words with which one can begin."""
    automaton = Automaton(Classes(name_classes()))
    ids: list[str] = []
    for record in load_records():
        for named in record.named:
            for template in named.says:
                try:
                    automaton.add(len(ids), template)
                except GrammarError as error:
                    raise ValueError(f"{record.family}.toml: {error}; correct that name") from error
                ids.append(named.spdx)
    return automaton, tuple(ids), automaton.starts()[0]


@lru_cache(maxsize=1)
def _addresses() -> dict[str, str]:
    return {a.rstrip("/"): n.spdx for record in load_records() for n in record.named for a in n.addresses}


@lru_cache(maxsize=65536)
def licences_at(words: Words, at: int) -> tuple[tuple[int, Capture], ...]:
    """Names and addresses of licences that begin at a word: the word behind each, and ("licence", SPDX id)."""
    if words.kinds[at] == "u":
        spdx = licence_of_address(words.low[at])
        return ((at + 1, ("licence", spdx)),) if spdx else ()
    automaton, ids, starts = _names()
    if words.low[at] not in starts:
        return ()
    best: dict[int, str] = {}
    for match in automaton.matches(words, at, {}):
        known = best.get(match.stop)
        if known is None or len(ids[match.number]) > len(known):  # the more exact id: "GPL-2.0-or-later"
            best[match.stop] = ids[match.number]
    return tuple((stop, ("licence", spdx)) for stop, spdx in best.items())


@lru_cache(maxsize=4096)
def licence_of_address(address: str) -> str:
    """SPDX id of the licence that is published at an address; "" for any other.

    >>> licence_of_address("scripts.sil.org/ofl"), licence_of_address("larkspur.example/eula")
    ('OFL-1.1', '')
    >>> licence_of_address("creativecommons.org/licenses/by/4.0/deed.de")
    'CC-BY-4.0'
    """
    known = _addresses()
    for end in (len(address), *(at for at in range(len(address) - 1, 0, -1) if not address[at].isalnum())):
        if address[:end] in known and _ADDRESS_TAIL.fullmatch(address, end):
            return known[address[:end]]
    return _NAMED_AT_END.get(address.rsplit("/", 1)[-1].removesuffix(".txt").removesuffix(".html"), "")
