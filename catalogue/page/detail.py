"""The detail of a line: the tag measured in full, its weak spots, its reasons. Pure."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from catalogue.judge.check import Check
from catalogue.page.drawing import sheet, solid_of, spot_lines
from catalogue.page.markup import Html, join, listed, tag
from catalogue.page.place import Look
from catalogue.store.face import Face
from catalogue.text import clean
from catalogue.wording import pieces_of, sell


def detail(check: Check, face: Face, verdict: Mapping[str, Any], look: Look) -> Html:
    """Drawing on one side, words on the other."""
    label = f"{check.name} in {clean(face.title)}, {_state(check)}"
    drawing = sheet(solid_of(check, look), label)
    return tag("div", tag("div", drawing), tag("div", words(check, verdict)), class_="two")


def words(check: Check, verdict: Mapping[str, Any]) -> Html:
    """Hold with its reasons, weak spots in the order of their numbers, and the sell verdict."""
    hold = check.hold
    stamp = tag("span", f"{_state(check)}, hold {hold.hold} of 100", class_=f"stamp {'good' if hold.holds else 'bad'}")
    parts: list[Html] = [tag("p", stamp)]
    if check.missing_letters:
        line = f"These letters lack {' '.join(check.missing_letters)}; choose others."
        parts.append(tag("p", line, class_="bad"))
    if hold.reasons:
        parts += [tag("h2", "Points lost"), listed(r.sentence for r in hold.reasons)]
    spots = spot_lines(check.weak_spots)
    parts.append(tag("h2", "Weak spots on the drawing") if spots else tag("p", "No weak spot at this size."))
    if spots:
        parts.append(listed(spots, ordered=True))
    seal = sell(verdict.get("verdict"))
    licence = f" ({clean(str(verdict['spdx']), 60)})" if verdict.get("spdx") else ""
    parts.append(tag("p", f"{seal.sign} {seal.sentence}{licence}. Evidence, not legal advice."))
    return join(parts)


def _state(check: Check) -> str:
    if check.hold.holds:
        return "holds"
    pieces = check.layers[0].pieces
    return f"does not hold: {pieces_of(pieces)}" if pieces > 1 else "does not hold"
