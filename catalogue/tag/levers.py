"""The levers of the fit: what a person fixed, what may move how far, and where each one stands."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

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


@dataclass(frozen=True, slots=True)
class Lever:
    """One number of a setting that may move from where it stands to ``end`` in steps."""

    name: str
    key: str
    """The field of ``Setting``."""
    end: float
    step: float


def moved(setting: Setting, key: str, value: float) -> Setting:
    """The setting with one of its numbers at another place."""
    values: dict[str, Any] = {key: value}
    return replace(setting, **values)


def starting(em_mm: float, offset_mm: float, fixed: Levers, weights: Weights | None) -> Setting:
    """Where the levers stand before anything moves; ``offset_mm`` is the base's where the person fixed none."""
    weight = weights.start if weights and fixed.weight is None else fixed.weight
    base_offset_mm = fixed.base_offset_mm if fixed.base_offset_mm is not None else offset_mm
    return Setting(em_mm, 0.0, fixed.tracking_em or 0.0, fixed.thicken_mm or 0.0, base_offset_mm, weight, fixed.backing)


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
