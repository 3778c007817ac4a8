"""A line of the ledger as the browser gets it: short keys, rounded numbers, plain text. Pure."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from catalogue.page.shelf import CONTEXTUAL_FROM, JOINED_SHARE, Picture
from catalogue.ranking import Ranked
from catalogue.text import clean

if TYPE_CHECKING:
    from catalogue.check import Check

SELL = {
    "yes": ("●", "may be sold"),
    "yes-conditions": ("◐", "may be sold, on conditions"),
    "ask": ("?", "ask the owner"),
    "no": ("×", "not for sale"),
    "unknown": ("–", "no evidence found"),
}
"""A shape and words for each verdict; the shapes stay apart without colour."""


def row(number: int, ranked: Ranked, picture: Picture | None) -> dict[str, Any]:
    """One line. Lengths in mm; None where nothing was worked out.

    ``d`` is the path in thousandths of an em, ``b`` its box, ``u`` the millimetres of a thousandth.
    """
    face = ranked.face
    mark, words = SELL.get(face.sell, SELL["unknown"])
    known = math.isfinite(ranked.join_offset_mm)
    worst = max(ranked.hold.reasons, key=lambda r: (r.breaks, r.points), default=None)
    return {
        "n": number, "i": face.id, "f": clean(face.family, 60), "s": clean(face.style, 40),
        "h": ranked.hold.hold if known else None, "k": ranked.hold.holds, "v": ranked.verified,
        "q": not ranked.verified and face.contextual > CONTEXTUAL_FROM,
        "p": ranked.pieces, "j": _mm(ranked.join_offset_mm), "c": _mm(ranked.neck_mm),
        "t": _mm(ranked.thinnest_stroke_mm), "o": _mm(ranked.smallest_counter_mm),
        "m": mark, "w": words, "g": clean(face.group, 40),
        "l": "joined" if face.joining >= JOINED_SHARE else "separate",
        "r": clean(worst.text, 120) if worst else "",
        "d": picture.path if picture else "", "b": list(picture.box) if picture else [0, 0, 0, 0],
        "u": round(ranked.em_mm / 1000, 6) if math.isfinite(ranked.em_mm) else 0,
    }  # fmt: skip


def _mm(value: float | None) -> float | None:
    return round(value, 2) if value is not None and math.isfinite(value) else None


def measured(check: Check) -> dict[str, Any]:
    """What a full measurement replaces in a line."""
    return {
        "h": check.hold.hold, "k": check.hold.holds, "v": True, "p": check.layers[0].pieces,
        "j": _mm(check.join_offset_mm), "c": _mm(check.layers[0].neck_mm), "t": _mm(check.thinnest_stroke_mm),
        "o": _mm(check.smallest_counter_mm),
    }  # fmt: skip
