"""A line of the list as the browser gets it: short keys, rounded numbers, plain text. Pure."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Any

from catalogue.judge.letters import joined, predictions_weak
from catalogue.judge.weak_spots import gravest
from catalogue.page.drawing import flat_outline
from catalogue.page.listing import Line
from catalogue.page.pictures import UNITS_PER_EM, Picture
from catalogue.style.words import NOT_GROUPED
from catalogue.text import clean
from catalogue.wording import sell

if TYPE_CHECKING:
    from catalogue.judge.check import Check

GRAVE = ("gap", "loose part", "neck", "thin stroke", "counter")
"""Kinds of weak spots ringed in a line; slits and pinholes are filled later and stay for the line's detail."""


def row(number: int, line: Line, picture: Picture | None) -> dict[str, Any]:
    """One line. Lengths in mm; None where nothing was worked out.

    ``d`` is the path in units of an em, ``b`` its box, ``u`` the millimetres of a unit.
    """
    face = line.face
    seal = sell(face.sell)
    return {
        "n": number, "i": face.id, "f": clean(face.family, 60), "s": clean(face.style, 40),
        "h": line.hold if line.known else None, "k": line.holds, "v": line.verified,
        "q": not line.verified and predictions_weak(face),
        "p": line.pieces, "j": _mm(line.join_offset_mm), "c": _mm(line.neck_mm or None),
        "t": _mm(line.thinnest_stroke_mm), "o": _mm(line.smallest_counter_mm),
        "m": seal.sign, "w": seal.statement, "g": clean(face.group, 40) if face.group != NOT_GROUPED else "",
        "l": "joined" if joined(face) else "separate",
        "d": picture.path if picture else "", "b": list(picture.box) if picture else [0, 0, 0, 0],
        "u": round(line.em_mm / UNITS_PER_EM, 6) if math.isfinite(line.em_mm) else 0,
    }  # fmt: skip


def _mm(value: float | None) -> float | None:
    return round(value, 2) if value is not None and math.isfinite(value) else None


def measured(check: Check) -> dict[str, Any]:
    """What a full measurement replaces in a line, and its weak spots: x, y and size in mm, y up."""
    grave = [s for s in check.weak_spots if s.kind in GRAVE]
    drawn: dict[str, Any] = {"u": round(check.em_mm / UNITS_PER_EM, 6)}
    if check.words_closer_mm:  # the letters as they were set for it, under the rings
        path, box = flat_outline(check.regions[-1], UNITS_PER_EM / check.em_mm)
        drawn |= {"d": path, "b": list(box)}
    return drawn | {
        "h": check.hold.hold, "k": check.hold.holds, "v": True, "p": check.layers[0].pieces,
        "j": _mm(check.join_offset_mm), "c": _mm(check.layers[0].neck_mm or None), "t": _mm(check.thinnest_stroke_mm),
        "o": _mm(check.smallest_counter_mm),
        "x": [[round(v, 2) for v in (s.x_mm, s.y_mm, s.size_mm)] for s in gravest(grave)],
    }  # fmt: skip
