"""The licence records: loaded from `fonts_licenses/*.toml`, checked, and kept.

A record says in our own words what one family of licences lets a maker of goods do, how its mention is recognised, and
whether its published text was read. Nothing is loaded when this module is imported.
"""

from __future__ import annotations

import re
import tomllib
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources

from catalogue.licence.prefilter import must_hold, split

KINDS = ("grant", "exception", "notice", "reserve", "restriction")
SELL = ("yes", "yes-conditions", "ask", "no")
REQUIRED = (
    "title",
    "spdx",
    "kind",
    "sell",
    "alter",
    "goods",
    "conditions",
    "accompany",
    "traps",
    "recognise",
    "source",
)


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
    sell: str
    """Verdict for goods that are sold: yes, yes-conditions, ask or no."""
    alter: str
    """Whether outlines may be thickened or offset for goods: yes, ask or no."""
    goods: str
    """What it lets a maker of goods do."""
    conditions: tuple[str, ...]
    accompany: tuple[str, ...]
    """What must go with the goods: on the card or in the listing."""
    traps: tuple[str, ...]
    names: tuple[re.Pattern[str], ...]
    """Short names in package metadata, matched in full and in lower case."""
    base: tuple[str, ...]
    """Starts of the ids that an exception refines."""
    recognise: tuple[tuple[str, re.Pattern[str]], ...]
    """(SPDX id, pattern on flattened lower-case text), the most exact first."""
    gates: tuple[tuple[str, ...], ...]
    """For each entry of `recognise`: one of these stands in every text it matches; () when no short list would do."""
    recognise_ascii: tuple[tuple[str, re.Pattern[str]], ...]
    """Those of them that can match plain ASCII: the others hold no run of Latin letters."""
    gates_ascii: tuple[tuple[str, ...], ...]
    stems: tuple[str, ...]
    """One of them stands in every text that mentions the family; empty when no short list would do."""
    stems_ascii: tuple[str, ...]
    """The same for texts without letters beyond ASCII, for which a short list will do more often."""
    bodies: tuple[tuple[re.Pattern[str], re.Pattern[str], int, tuple[str, ...]], ...]
    """Start and end of the licence's own text, whose words say nothing about other licences, and the most letters
    in it: a longer one has words of somebody else in it (real copies differ by a few); and letters of the start."""
    source: str
    url: str
    read: bool
    """Whether the published text was read for this record; otherwise it is from memory."""


def letters_of(pattern: str) -> tuple[str, ...]:
    """Runs of letters of which every match of a pattern holds one; () when an alternative has none."""
    each = [must_hold(one) for one in split(pattern)]
    return tuple(dict.fromkeys(some for one in each for some in one)) if all(each) else ()


def holds_any(text: str, stems: tuple[str, ...]) -> bool:
    """Whether one of the stems stands in the text; a plain loop, for this runs a hundred times a font."""
    for stem in stems:  # noqa: SIM110 - a generator takes twice as long
        if stem in text:
            return True
    return False


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
    for key, allowed in (("kind", KINDS), ("sell", SELL), ("alter", SELL)):
        if data[key] not in allowed:
            raise ValueError(f"{family}.toml: {key} is {data[key]!r}; use one of {', '.join(allowed)}")
    try:
        grants = data["kind"] in ("grant", "exception")
        for entry in data["recognise"]:
            entry["gate"] = tuple(entry.get("stems", ())) or letters_of(entry["pattern"])
            if grants and not re.match(r"[a-z ]{4}[^|]*$", entry["pattern"]):  # a word's inside names no licence
                entry["pattern"] = f"(?:(?<![a-z])|(?![a-z]))(?:{entry['pattern']})"
        latin = [entry for entry in data["recognise"] if re.search(r"[a-z+]{3,}", entry["pattern"])]
        return Record(
            family=family,
            title=data["title"],
            spdx=tuple(data["spdx"]),
            kind=data["kind"],
            sell=data["sell"],
            alter=data["alter"],
            goods=data["goods"],
            conditions=tuple(data["conditions"]),
            accompany=tuple(data["accompany"]),
            traps=tuple(data["traps"]),
            names=tuple(re.compile(name) for name in data.get("names", ())),
            base=tuple(data.get("with_base", ())),
            recognise=tuple((entry["spdx"], re.compile(entry["pattern"])) for entry in data["recognise"]),
            gates=tuple(entry["gate"] for entry in data["recognise"]),
            recognise_ascii=tuple((entry["spdx"], re.compile(entry["pattern"])) for entry in latin),
            gates_ascii=tuple(entry["gate"] for entry in latin),
            stems=tuple(data.get("stems", ())),
            stems_ascii=tuple(data.get("stems_ascii", data.get("stems", ()))),
            bodies=tuple(
                (re.compile(b["start"]), re.compile(b["end"]), int(b["most_letters"]), letters_of(b["start"]))
                for b in data.get("body", ())
            ),
            source=data["source"]["text"],
            url=data["source"]["url"],
            read=data["source"]["read"],
        )
    except (KeyError, TypeError, re.error) as error:
        raise ValueError(f"{family}.toml: {error}; correct that entry") from error


@lru_cache(maxsize=1)
def records_by_id() -> dict[str, Record]:
    """Record of each SPDX id, in lower case."""
    return {name.lower(): record for record in load_records() for name in record.spdx}
