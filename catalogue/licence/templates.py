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

MEANINGS = ("grant", "either", "part", "exception", "plain")
"""grant: the font is under the licences named; either: under the one or the other, at choice; part: a part of it, or
another work, is; exception: the GPL's font exception; plain: nothing that limits or allows."""
PLACES = ("licence", "copyright", "trademark", "maker", "description")


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
def _classes() -> dict[str, Classes]:
    """Classes of words of each language, with those that all share."""
    folder = resources.files("fonts_licenses") / "grants"
    return {
        language: Classes(
            name_classes() | tomllib.loads((folder / f"{language}.toml").read_text("utf-8")).get("classes", {})
        )
        for language in {template.language for template in load_templates()}
    }


@lru_cache(maxsize=8)
def _automata(place: str) -> tuple[tuple[Automaton, tuple[Template, ...], frozenset[str], frozenset[str]], ...]:
    """For each language: its templates of one place together, and the words and slots with which one can begin."""
    out = []
    for language in sorted(_classes()):
        chosen = tuple(t for t in load_templates() if t.language == language and place in t.places)
        automaton = Automaton(_classes()[language])
        for number, template in enumerate(chosen):
            try:
                automaton.add(number, template.text)
            except GrammarError as error:
                raise ValueError(f"grants/{language}.toml: {error}; correct that template") from error
        if chosen:
            out.append((automaton, chosen, *automaton.starts()))
    return tuple(out)


def fits_at(words: Words, at: int, place: str, fills: Mapping[str, Fill], kept: dict[str, Filled]) -> list[Fit]:
    """Templates that fit from a word on, the longest first; `kept` remembers what filled slots of these words."""
    out: list[Fit] = []
    for automaton, templates, starts, slots in _automata(place):
        if words.low[at] in starts or any(True for slot in slots for _ in fills[slot](words, at)):
            filled = kept.setdefault(templates[0].language, {})
            for match in automaton.matches(words, at, fills, filled):
                if match.stop > at:
                    out.append(Fit(templates[match.number], match.stop, _licences(match.captures)))
    return sorted(out, key=lambda fit: -fit.stop)


def _licences(captures: tuple[Capture, ...]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(value for slot, value in captures if slot == "licence"))
