"""The levers of the fit: what a person fixed, what may move how far, and where each one stands."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from catalogue.errors import LetterholdError
from catalogue.judge.process import Process
from catalogue.judge.reach import (
    MOST_THICKEN_WALLS,
    MOST_TRACKING_EM,
    OFFSET_STEP_MM,
    SIZE_STEPS,
    SPACE_STEP_MM,
    THICKEN_STEP_MM,
    TRACKING_STEP_EM,
    WEIGHT_STEP,
    Reach,
)
from scanner.lettering import Typesetter

FORMS, GAPS, LINES, BRIDGES, LETTERS = "forms", "gaps", "lines", "bridges", "letters"
BY_HAND = (FORMS, GAPS, LINES, BRIDGES, LETTERS)
"""What a practitioner changes at one place of a name, in the order it is tried: contextual forms and ligatures off,
single gaps closed, lines nearer to each other, bridges to dots, accents and punctuation, bridges between letters."""

USUAL_BY_HAND = (FORMS, GAPS, LINES, BRIDGES)
"""What is taken unasked where nothing else makes a name hold."""


@dataclass(frozen=True, slots=True)
class Levers:
    """What the person fixed; None leaves a lever free."""

    tracking_em: float | None = None
    thicken_mm: float | None = None
    base_offset_mm: float | None = None
    size_fixed: bool = False
    weight: float | None = None
    weight_free: bool = False
    """Whether the weight of a variable face may change; unlike the others this lever has to be set free."""
    backing: str = ""
    """``plate`` or ``bar`` behind the name; empty for none. Never taken unless the person asks for it."""
    line_spacing_mm: float | None = None
    """From baseline to baseline; None for lines as close as they hold. Never so close that letters run together."""
    by_hand: tuple[str, ...] = ()
    """What may be changed at one place, of ``BY_HAND``; like the weight these have to be set free."""
    by_hand_first: bool = False
    """Whether they are also taken where they save outline or size, and not only where nothing else holds."""
    most_offset_mm: float | None = None
    """Bound of a free offset; None for ``reach.MOST_OFFSET`` times the start."""

    @classmethod
    def within(cls, reach: Reach, base_offset_mm: float, size_fixed: bool) -> Levers:
        """The levers that may move within a reach; the others are fixed where they start."""
        return cls(
            tracking_em=None if reach.allows("tracking") else 0.0,
            thicken_mm=None if reach.allows("thicken") else 0.0,
            base_offset_mm=None if reach.allows("offset") else base_offset_mm,
            size_fixed=size_fixed or not reach.allows("size"),
            weight_free=reach.allows("weight"),
            most_offset_mm=reach.most_offset_mm,
        )


@dataclass(frozen=True, slots=True)
class Weights:
    """The weight axis of a variable face."""

    start: float
    greatest: float
    at: Callable[[float], Typesetter]
    """The typesetter at a weight."""


@dataclass(frozen=True, slots=True)
class Closing:
    """One gap between two letters of a word, closed by moving all that follows nearer."""

    after: int
    """Number of the letter before the gap, over all lines from 0, in visual order."""
    em: float
    """How far."""


@dataclass(frozen=True, slots=True)
class Setting:
    """Where the levers stand."""

    em_mm: float
    space_mm: float
    """Taken out of every word space."""
    tracking_em: float
    thicken_mm: float
    base_offset_mm: float
    weight: float | None = None
    """None where the face has no weight axis."""
    backing: str = ""
    line_spacing_mm: float | None = None
    plain: bool = False
    """Without contextual forms and ligatures."""
    closings: tuple[Closing, ...] = ()
    nearer_mm: float = 0.0
    """Taken out of the least distance between lines."""
    bridged: tuple[tuple[int, int], ...] = ()
    """Parts of letters with a bridge between them, by their numbers over the whole name."""


@dataclass(frozen=True, slots=True)
class Lever:
    """One number of a setting that may move from where it stands to ``end`` in steps."""

    name: str
    key: str
    """The field of ``Setting``."""
    end: float
    step: float


def by_hand_of(text: str) -> tuple[str, ...]:
    """What may be changed at one place, from text as ``gaps, bridges``; none for "none". Raises LetterholdError.

    >>> by_hand_of("bridges gaps"), by_hand_of("none")
    (('gaps', 'bridges'), ())
    """
    words = [w.casefold() for w in re.split(r"[\s,/|]+", text) if w]
    if words == ["none"]:
        return ()
    unknown = next((w for w in words if w not in BY_HAND), "")
    if unknown or not words:
        raise LetterholdError(
            f"{unknown or text:.40} is no change by hand; name some of {', '.join(BY_HAND)}, or write none"
        )
    return tuple(k for k in BY_HAND if k in words)


def moved(setting: Setting, key: str, value: object) -> Setting:
    """The setting with one of its levers at another place."""
    values: dict[str, Any] = {key: value}
    return replace(setting, **values)


def starting(em_mm: float, offset_mm: float, fixed: Levers, weights: Weights | None) -> Setting:
    """Where the levers stand before anything moves; ``offset_mm`` is the base's where the person fixed none."""
    weight = weights.start if weights and fixed.weight is None else fixed.weight
    base_offset_mm = fixed.base_offset_mm if fixed.base_offset_mm is not None else offset_mm
    return Setting(
        em_mm, 0.0, fixed.tracking_em or 0.0, fixed.thicken_mm or 0.0, base_offset_mm, weight, fixed.backing,
        fixed.line_spacing_mm,
    )  # fmt: skip


def space_lever(word_space_mm: float, em_mm: float) -> Lever:
    """Word spaces down to words that overlap by a tenth of an em; the least gap between them stops it before."""
    return Lever("word space", "space_mm", word_space_mm + 0.1 * em_mm, SPACE_STEP_MM)


def free_levers(start: Setting, fixed: Levers, process: Process, joined: bool) -> list[Lever]:
    """What may move besides word spaces, in the order it is tried; letters that join are not tracked."""
    free: list[Lever] = []
    if fixed.tracking_em is None and not joined:
        free.append(Lever("tracking", "tracking_em", -MOST_TRACKING_EM, TRACKING_STEP_EM))
    if fixed.thicken_mm is None:
        free.append(Lever("thickening", "thicken_mm", MOST_THICKEN_WALLS * process.least_wall_mm, THICKEN_STEP_MM))
    if fixed.base_offset_mm is None:
        most = Reach(most_offset_mm=fixed.most_offset_mm).most_offset_of(start.base_offset_mm)
        free.append(Lever("base offset", "base_offset_mm", most, OFFSET_STEP_MM))
    return free


def weight_lever(weights: Weights) -> Lever:
    """The weight axis, heavier only."""
    return Lever("weight", "weight", max(weights.start, weights.greatest), WEIGHT_STEP)


def size_lever(start_em_mm: float, share: float) -> Lever:
    """The size, up or down to a share of the start."""
    return Lever("size", "em_mm", share * start_em_mm, start_em_mm / SIZE_STEPS)


def line_lever(distance_mm: float, process: Process) -> Lever:
    """Lines nearer than the least distance between them, until they run together by half a wall at one place."""
    return Lever("line spacing", "nearer_mm", distance_mm + process.least_wall_mm / 2, 0.05)
