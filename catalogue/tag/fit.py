"""The least change that makes a name hold. Pure: a face, a request and levers in, a frozen fit out; mm, y up.

What has to be true: the base is one piece; every neck of it is at least two lines wide; the strokes of the top layer
are at least the least wall; of the openings in and between its letters at least half stay open, so that the name can
be read; holes between letters too small to print open are filled. Counters that may close are reported, not changed.
Where word spaces, tracking and offsets reach that far, the base is also in one piece with a reserve of offset:
straight stems that face each other hang together by their whole height as soon as they touch, however thin the seam.

The levers, in the order they are tried:

1. the weight of a variable face, heavier as far as thin strokes need it: its maker's own way to thicken;
2. thickening of the letters, as far as thin strokes still need it;
3. word spaces, narrowed down to the least gap;
4. tracking, never where letters join;
5. thickening beyond need, at most half the least wall;
6. offsets of base and middle (the middle keeps half the base's);
7. cap height: larger where strokes are too thin or openings close, smaller where letters stand too far apart;
8. what a practitioner changes at one place, where it is set free (``by_hand``): contextual forms and ligatures off,
   single gaps closed, lines nearer to each other, bridges to dots, accents and punctuation.

Each lever goes as far as needed and no further. One that does not suffice stays at its end while the next is tried;
once the name holds, each lever goes back as far as it still does. Offsets count from the outline of the top layer,
thickened or not, so that the steps of the stack keep their look.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from catalogue.judge.hold import Hold, Sizes, broken, judge
from catalogue.judge.measured import counters_of
from catalogue.judge.request import Request
from catalogue.judge.stack import Layer, default_stack
from catalogue.judge.weak_spots import WeakSpot, weak_spots_of
from catalogue.tag.bridges import Bridge
from catalogue.tag.by_hand import by_hand
from catalogue.tag.layout import letters_at, placed_at
from catalogue.tag.levers import Levers, Setting, starting
from catalogue.tag.measuring import based, bridges_at, join_mm, measure, middled, seeds_at
from catalogue.tag.shapes import geometry_errors, grown, without_pinholes
from catalogue.tag.solving import best_setting
from catalogue.tag.trial import FitFace, Measured, Trial
from catalogue.tag.words import Change, changes, misses, unreadable
from scanner.regions import offset

_OF_THE_BASE = ("gap", "loose part", "neck")
"""Kinds of weak spots that say how the base hangs together."""


@dataclass(frozen=True, slots=True)
class Fit:
    """The lettering as it will be made, its layers in mm, and how it came about."""

    request: Request
    setting: Setting
    cap_height_mm: float
    """NaN where the face has no capitals."""
    base: BaseGeometry
    middle: BaseGeometry
    top: BaseGeometry
    letters: tuple[BaseGeometry, ...]
    """The letters of the top layer, thickened, each at its place."""
    seeds: NDArray[np.float64]
    """Centres of the letters' parts, shape (n, 2)."""
    measured: Measured
    changes: tuple[Change, ...]
    closing_counters_mm: tuple[float, ...]
    """Widths of the counters of the top layer narrower than the least gap."""
    filled_pinholes: int
    misses: tuple[str, ...]
    """What is still missing; empty when the name holds."""
    hold: Hold
    bridges: tuple[Bridge, ...]
    baselines_mm: tuple[float, ...]
    """Baselines of the lines, the first at 0, downwards."""

    @property
    def name(self) -> str:
        """The name with its lines parted by newlines."""
        return self.request.text

    @property
    def stack(self) -> tuple[Layer, ...]:
        """The layers as they are made; offsets count from the letters of the top layer."""
        return default_stack(self.setting.base_offset_mm)

    def weak_spots(self) -> tuple[WeakSpot, ...]:
        """What is weak in the name as it will be made, as a check finds it."""
        spots = weak_spots_of(self.letters, self.setting.em_mm, self.stack, self.request.process)
        # A check knows the letters alone; what stands behind them, or a bridge, holds them together.
        held = self.setting.backing or self.bridges
        return tuple(s for s in spots if s.kind not in _OF_THE_BASE) if held else spots

    @property
    def holds(self) -> bool:
        """Whether nothing is missing."""
        return not self.misses


@geometry_errors()
def fit(face: FitFace, request: Request, em_mm: float, levers: Levers) -> Fit:
    """Solve the fit, starting from ``em_mm`` millimetres an em. Raises LetteringError when nothing can be set."""
    trial = Trial(face, request)
    start = starting(em_mm, request.base_offset_mm, levers, face.weights)
    trial.cut(start)
    best = by_hand(trial, start, best_setting(trial, start, levers), levers)
    return _finished(trial, start, best)


def _finished(trial: Trial, start: Setting, best: Setting) -> Fit:
    letters = letters_at(trial, best)
    region = shapely.union_all(letters)
    gap = trial.process.opening_mm
    top, filled_top = without_pinholes(grown(region, best.thicken_mm), letters, gap)
    (middle, filled_middle), (base, filled_base) = middled(trial, best), based(trial, best)
    middle = shapely.union(middle, top)
    counters = _counters_mm(letters, best)
    hold, missing = _judged(trial, start, best, counters)
    return Fit(
        trial.request, best, trial.face.cap_height_em * best.em_mm, shapely.union(base, middle), middle, top,
        tuple(offset(a, best.thicken_mm) for a in letters), seeds_at(trial, best), measure(trial, best),
        changes(trial, start, best),
        tuple(sorted(round(c, 3) for c in counters if c < gap)), filled_top + filled_middle + filled_base,
        missing, hold, bridges_at(trial, best), placed_at(trial, best).baselines,
    )  # fmt: skip


def _counters_mm(letters: list[BaseGeometry], setting: Setting) -> list[float]:
    """Widths of the letters' counters in the top layer."""
    counters, _ = counters_of(letters, setting.em_mm)
    return [hole.across_mm - 2 * setting.thicken_mm for hole in counters]


def _judged(trial: Trial, start: Setting, best: Setting, counters_mm: list[float]) -> tuple[Hold, tuple[str, ...]]:
    """How surely it holds, and what is missing."""
    measured = measure(trial, best)
    join = max(0.0, join_mm(trial, best) - best.thicken_mm)
    sizes = Sizes(
        join, measured.neck_mm, measured.thinnest_stroke_mm, measured.thin_share, min(counters_mm, default=None),
        best.base_offset_mm,
    )  # fmt: skip
    hold, missing = judge(sizes, trial.process), misses(trial, best)
    # What is measured to a hundredth may miss by less than the law sees, and the other way round: both say the same.
    if missing and hold.holds:
        hold = broken(hold, "fit", missing[0])
    elif not missing and not hold.holds:
        missing += [reason.text for reason in hold.reasons if reason.breaks]
    blot = unreadable(trial, start, best)
    if blot:
        missing.append(blot)
        hold = broken(hold, "reading", blot)
    return hold, tuple(missing)
