"""Words of the trade that a shop need not know: each one sentence and a small drawing, where it is needed. Pure."""

from __future__ import annotations

from dataclasses import dataclass

from catalogue.page.markup import Html, tag


@dataclass(frozen=True, slots=True)
class Term:
    """One word."""

    name: str
    sentence: str
    drawing: str
    """Inside of an SVG of 64 × 32; classes as in ``sheet.css``."""


_TWO = '<rect class="base" x="8" y="6" width="18" height="20"/><rect class="base" x="{x}" y="6" width="18" height="20"/>'

TERMS = {
    "hold": Term(
        "hold", "How surely the name stays in one piece and reads well, 0 to 100; 50 and more holds.",
        '<rect class="plain" x="6" y="11" width="52" height="10"/><rect class="base" x="6" y="11" width="38" height="10"/>',
    ),
    "join": Term(
        "outline needed", "How wide an outline must be so that all letters become one piece.",
        _TWO.format(x=38) + '<path class="mark" d="M26 16H38"/>',
    ),
    "outline": Term(
        "outline", "How far the lowest layer reaches beyond the letters, all round; it holds them together.",
        '<rect class="middle" x="12" y="2" width="40" height="28" rx="8"/><rect class="base" x="20" y="9" width="24" height="14"/>',
    ),
    "neck": Term(
        "neck", "The narrowest bridge by which a letter hangs on to the rest: where it would snap first.",
        '<circle class="base" cx="17" cy="16" r="12"/><circle class="base" cx="47" cy="16" r="12"/>'
        '<rect class="base" x="26" y="13" width="12" height="6"/><path class="mark" d="M32 8V13M32 19V24"/>',
    ),
    "stroke": Term(
        "thinnest stroke", "The thinnest line of the letters; below the printer's least wall it breaks or is left out.",
        '<rect class="base" x="8" y="4" width="10" height="24"/><rect class="base" x="18" y="14" width="38" height="3"/>'
        '<path class="mark" d="M40 8V14M40 17V23"/>',
    ),
    "counter": Term(
        "smallest hole", "The smallest hole inside a letter (printers call it a counter); too small and it fills up.",
        '<path class="base" fill-rule="evenodd" d="M32 2a14 14 0 1 0 0 28a14 14 0 1 0 0-28M32 12a4 4 0 1 1 0 8a4 4 0 1 1 0-8"/>',
    ),
    "thickening": Term(
        "thicker letters", "Every line of the letters grows by this much on both sides together.",
        '<rect class="middle" x="12" y="4" width="14" height="24"/><rect class="base" x="15" y="4" width="8" height="24"/>',
    ),
    "tracking": Term(
        "letters closer", "Space taken out between letters, as a share of the letter size (em).",
        _TWO.format(x=32) + '<path class="mark" d="M52 3H46L49 1M46 3L49 5"/>',
    ),
    "bond": Term(
        "ring bond", "How much material joins the ring to the tag: the more, the harder it comes off.",
        '<path class="base" fill-rule="evenodd" d="M18 4a12 12 0 1 0 0 24a12 12 0 1 0 0-24M18 10a6 6 0 1 1 0 12a6 6 0 1 1 0-12"/>'
        '<rect class="base" x="26" y="8" width="34" height="16"/><path class="mark" d="M28 5V27"/>',
    ),
}  # fmt: skip


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
