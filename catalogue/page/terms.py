"""Words of the trade that a shop need not know: each one sentence and a small drawing, where it is needed. Pure."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass

from catalogue.page.markup import Html, tag
from catalogue.page.parts import asset


@dataclass(frozen=True, slots=True)
class Term:
    """One word."""

    name: str
    sentence: str
    drawing: str
    """Inside of an SVG of 64 × 32; classes as in ``sheet.css``."""


TERMS = {key: Term(**fields) for key, fields in tomllib.loads(asset("terms.toml")).items()}
"""Every word by its key; see ``assets/terms.toml``."""


def term(key: str) -> Html:
    """A question mark that opens the word's sentence and drawing."""
    found = TERMS[key]
    return Html(
        f'<button type="button" class="term" popovertarget="term-{key}" aria-label="What is {found.name}?">?</button>'
        f'<span popover id="term-{key}" class="term-note">{drawing(key)}{tag("b", found.name)}: {found.sentence}</span>'
    )


def drawing(key: str) -> Html:
    """The word's drawing."""
    return Html(f'<svg viewBox="0 0 64 32" aria-hidden="true" class="drawing term-drawing">{TERMS[key].drawing}</svg>')


def as_data() -> dict[str, list[str]]:
    """For the list: name, sentence and drawing by key."""
    return {key: [t.name, t.sentence, str(drawing(key))] for key, t in TERMS.items()}
