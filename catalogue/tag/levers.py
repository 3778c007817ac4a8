"""The levers of the fit: what a person fixed, what may move how far, and where each one stands."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Any

from catalogue.judge.process import Process
from scanner.lettering import Typesetter

MOST_TRACKING_EM = 0.08
"""Tighter than this and letters of most faces run into each other."""

MOST_OFFSET = 2.0
SMALLEST, LARGEST = 0.6, 2.0
"""How far offset and size may go, as shares of the start."""

WEIGHT_STEP = 25.0


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
    return Lever("word space", "space_mm", word_space_mm + 0.1 * em_mm, 0.05)


def free_levers(start: Setting, fixed: Levers, process: Process, joined: bool) -> list[Lever]:
    """What may move besides word spaces, in the order it is tried; letters that join are not tracked."""
    free: list[Lever] = []
    if fixed.tracking_em is None and not joined:
        free.append(Lever("tracking", "tracking_em", -MOST_TRACKING_EM, 0.002))
    if fixed.thicken_mm is None:
        free.append(Lever("thickening", "thicken_mm", process.least_wall_mm / 2, 0.01))
    if fixed.base_offset_mm is None:
        free.append(Lever("base offset", "base_offset_mm", MOST_OFFSET * start.base_offset_mm, 0.02))
    return free


def weight_lever(weights: Weights) -> Lever:
    """The weight axis, heavier only."""
    return Lever("weight", "weight", max(weights.start, weights.greatest), WEIGHT_STEP)


def size_lever(start_em_mm: float, share: float) -> Lever:
    """The size, up or down to a share of the start."""
    return Lever("size", "em_mm", share * start_em_mm, start_em_mm / 100)
