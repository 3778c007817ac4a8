"""Whole reviewed sentences as templates, from `fonts_licenses/grants/<language>.toml`.

Each entry has the template, the places in which it is understood, what it means, where it was seen, and two examples:
one that it must understand and one that it must not. A language without a table of limits is not loaded: what is said
in it is never understood.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

from catalogue.licence.families import name_classes
from catalogue.licence.grammar import Automaton, Capture, Classes, Fill, Filled, GrammarError
from catalogue.licence.limits import load_languages
from catalogue.licence.words import Words

SLOTS = frozenset(
    ("licence", "year", "url", "version", "font", "person", "holder", "more", "next", "same", "joined", "end")
)
"""What `catalogue.licence.slots` can fill."""
MEANINGS = ("grant", "either", "part", "exception", "use", "credit", "plain")
"""grant: the font is under the licences named; either: under the one or the other, at choice; part: a part of it, or
another work, is; exception: the GPL's font exception; use: every use is allowed, in the maker's own
words; credit: the maker wants to be named, which allows nothing; plain: nothing that limits or allows."""
PLACES = (
    "licence",
    "copyright",
    "trademark",
    "maker",
    "description",
    "whole-copyright",
    "whole-maker",
    "whole-trademark",
)
"""Kinds of places; those that begin with "whole-" are for a sentence that is all a place says."""


@dataclass(frozen=True)
class Template:
    """One reviewed sentence."""

    language: str
    text: str
    meaning: str
    spdx: str
    """The licence it grants when it names none by a slot."""
    places: frozenset[str]
    source: str
    example: str
    counter: str


@dataclass(frozen=True)
class Fit:
    """A template that fits some words."""

    template: Template
    stop: int
    licences: tuple[str, ...]
    """SPDX ids in the order of the sentence."""


@lru_cache(maxsize=1)
def load_templates() -> tuple[Template, ...]:
    """All templates of languages that have a table of limits.

    :raises ValueError: names the file and the entry that is broken.
    """
    folder = resources.files("fonts_licenses") / "grants"
    out: list[Template] = []
    for file in sorted((f for f in folder.iterdir() if f.name.endswith(".toml")), key=lambda f: f.name):
        language = file.name[:-5]
        if language in load_languages():
            data = tomllib.loads(file.read_text("utf-8"))
            out += [_template(language, entry) for entry in data["template"]]
    return tuple(out)


def _template(language: str, entry: Mapping[str, Any]) -> Template:
    wrong = [p for p in entry["places"] if p not in PLACES] + [m for m in (entry["means"],) if m not in MEANINGS]
    if wrong:
        raise ValueError(f"grants/{language}.toml: {wrong[0]} in {entry['text']!r}; use one of {PLACES + MEANINGS}")
    return Template(
        language,
        entry["text"],
        entry["means"],
        entry.get("spdx", ""),
        frozenset(entry["places"]),
        entry["source"],
        entry["example"],
        entry["counter"],
    )


@lru_cache(maxsize=1)
def _own_classes() -> dict[str, dict[str, str]]:
    """Classes of words of each language."""
    folder = resources.files("fonts_licenses") / "grants"
    languages = {template.language for template in load_templates()}
    return {
        language: tomllib.loads((folder / f"{language}.toml").read_text("utf-8")).get("classes", {})
        for language in sorted(languages)
    }


@lru_cache(maxsize=1)
def _classes() -> Classes:
    """Classes of all languages, each under the name of its language, with those that all share."""
    out = Classes(name_classes())
    for language, sources in _own_classes().items():
        out.add(f"{language}:", sources)
    return out


@lru_cache(maxsize=8)
def _automaton(place: str) -> tuple[Automaton, tuple[Template, ...]]:
    """All templates of one place together."""
    chosen = tuple(t for t in load_templates() if place in t.places)
    automaton = Automaton(_classes())
    for number, template in enumerate(chosen):
        try:
            automaton.add(number, template.text, f"{template.language}:", _own_classes()[template.language])
        except GrammarError as error:
            raise ValueError(f"grants/{template.language}.toml: {error}; correct that template") from error
    strange = automaton.slots() - SLOTS
    if strange:
        raise ValueError(f"grants: {{{min(strange)}}} is neither a slot nor a class of its language; correct it")
    return automaton, chosen


def fits_at(words: Words, at: int, place: str, fills: Mapping[str, Fill], filled: Filled) -> list[Fit]:
    """Templates that fit from a word on, the longest first; `filled` remembers what filled slots of these words."""
    automaton, templates = _automaton(place)
    found = automaton.matches(words, at, fills, filled)
    fits = [Fit(templates[match.number], match.stop, _licences(match.captures)) for match in found if match.stop > at]
    return sorted(fits, key=lambda fit: -fit.stop)


def _licences(captures: tuple[Capture, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(value for slot, value in captures if slot == "licence"))
