"""The writing of templates, taken apart: words, slots, alternatives and optional words. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from catalogue.licence.words import words_of

_MARK = re.compile(r"[\[\](){}|]")


class GrammarError(ValueError):
    """A template that is no template; the message quotes it."""


@dataclass(frozen=True)
class Part:
    """One part of a template."""

    kind: str
    """word, slot, choice or optional."""
    text: str = ""
    choices: list[list[Part]] = field(default_factory=list)


def parts_of(text: str) -> list[Part]:
    """A template's words, slots and groups.

    :raises GrammarError: for brackets that do not match.
    """
    tokens: list[str] = []
    at = 0
    for hit in _MARK.finditer(text):
        between = text[at : hit.start()]
        tokens += [between.strip()] if tokens[-1:] == ["{"] else words_of(between).low
        tokens.append(hit[0])
        at = hit.end()
    tokens += words_of(text[at:]).low
    parts, rest = _read(tokens, 0, "")
    if rest != len(tokens):
        raise GrammarError(f"a bracket is closed that was not opened in: {text}")
    return parts[0]


def _read(tokens: list[str], at: int, closing: str) -> tuple[list[list[Part]], int]:
    """Alternatives from a token on, up to the bracket that closes them."""
    choices: list[list[Part]] = [[]]
    while at < len(tokens):
        token = tokens[at]
        if token == closing:
            return choices, at + 1
        if token == "{":
            if tokens[at + 2 : at + 3] != ["}"]:
                raise GrammarError(f"a slot is not closed near {' '.join(tokens[at : at + 4])}")
            choices[-1].append(Part("slot", tokens[at + 1]))
            at += 3
        elif token in "([":
            inner, at = _read(tokens, at + 1, ")" if token == "(" else "]")
            choices[-1].append(Part("choice" if token == "(" else "optional", "", inner))
        elif token == "|" and closing:
            choices.append([])
            at += 1
        elif token in ")]}|":
            break
        else:
            choices[-1].append(Part("word", token))
            at += 1
    if closing:
        raise GrammarError(f"a bracket is not closed: {closing}")
    return choices, at
