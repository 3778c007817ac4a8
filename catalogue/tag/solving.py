"""The search over the levers: each as far as needed and no further, and back again where others made it needless."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from catalogue.judge.hold import stray_mm
from catalogue.judge.reach import LARGEST, SMALLEST
from catalogue.tag.layout import space_mm
from catalogue.tag.levers import (
    Lever,
    Levers,
    Setting,
    free_levers,
    moved,
    size_lever,
    space_lever,
    weight_lever,
)
from catalogue.tag.measuring import base_holds, holds, legible, reads, strokes_hold, thicken_needed
from catalogue.tag.trial import Trial


def best_setting(trial: Trial, start: Setting, fixed: Levers) -> Setting:
    """The least change from the start that holds with a reserve, else holds, else comes nearest."""
    order = order_of(trial, start, fixed)
    best = solve(trial, start, fixed, order)
    if not base_holds(trial, best):
        return best
    # A reserve is worth a little tracking or offset, but no other size and no heavier letters.
    trial.reserve_mm = stray_mm(trial.process)
    if base_holds(trial, best):
        return best
    sized, gentle = replace(start, em_mm=best.em_mm), [v for v in order if v.key != "thicken_mm"]
    spare = solve(trial, sized, replace(fixed, size_fixed=True), gentle)
    return spare if holds(trial, spare) else best


def order_of(trial: Trial, start: Setting, fixed: Levers) -> list[Lever]:
    """The levers of the whole name that are free, in the order they are tried."""
    free = free_levers(start, fixed, trial.process, trial.joined)
    if any(len(line) > 1 for line in trial.lines):
        return [space_lever(space_mm(trial, start), start.em_mm), *free]
    return free


def solve(trial: Trial, start: Setting, fixed: Levers, order: Sequence[Lever]) -> Setting:
    """The setting that the levers reach in this order; it holds where any of them can make it hold."""
    floor = readable(trial, start, fixed)
    now = reached(trial, floor, order)
    if not fixed.size_fixed and not base_holds(trial, now):
        size = size_lever(start.em_mm, SMALLEST)
        smaller = _thickened(trial, least(lambda s: base_holds(trial, _thickened(trial, s, fixed)), now, size), fixed)
        now = smaller if holds(trial, smaller) else now
    return taken_back(trial, now, floor, order) if base_holds(trial, now) else now


def reached(
    trial: Trial, now: Setting, order: Sequence[Lever], good: Callable[[Setting], bool] | None = None
) -> Setting:
    """Each lever as far as the base needs it, or to its end, until the base holds, or is ``good``."""
    good = good or (lambda s: base_holds(trial, s))
    for lever in order:
        if good(now):
            break
        if abs(lever.end) > abs(getattr(now, lever.key)):
            there = least(good, now, lever)
            now = there if legible(trial, there) or not legible(trial, now) else now
    return now


def readable(trial: Trial, start: Setting, fixed: Levers) -> Setting:
    """Strokes made walls: by the weight axis, by thickening, and by a larger size where that does not do."""
    light = start
    weights = trial.face.weights
    if weights and fixed.weight_free and fixed.weight is None and not strokes_hold(trial, start):
        light = least(lambda s: strokes_hold(trial, s, stray_mm(trial.process)), start, weight_lever(weights))
    now = _thickened(trial, light, fixed)
    if fixed.size_fixed or reads(trial, now):
        return now
    larger = least(lambda s: reads(trial, _thickened(trial, s, fixed)), light, size_lever(start.em_mm, LARGEST))
    return _thickened(trial, larger, fixed)


def _thickened(trial: Trial, setting: Setting, fixed: Levers) -> Setting:
    if fixed.thicken_mm is not None:
        return setting
    needed = min(thicken_needed(trial, setting), trial.process.least_wall_mm / 2)
    return replace(setting, thicken_mm=max(setting.thicken_mm, needed))


def taken_back(trial: Trial, now: Setting, floor: Setting, order: Sequence[Lever]) -> Setting:
    """Each lever as far back towards ``floor`` as the name still holds."""
    for lever in order:
        begin = getattr(floor, lever.key)
        if getattr(now, lever.key) != begin:
            shorter = replace(lever, end=getattr(now, lever.key))
            back = moved(now, lever.key, begin)
            now = back if holds(trial, back) else least(lambda s: holds(trial, s), back, shorter)
    return now


def least(good: Callable[[Setting], bool], now: Setting, lever: Lever) -> Setting:
    """The setting with the lever moved as little as makes it good, or to its end when nothing does."""
    begin = float(getattr(now, lever.key))
    count = max(1, math.ceil(abs(lever.end - begin) / lever.step - 1e-9))
    step = (lever.end - begin) / count if count == 1 else math.copysign(lever.step, lever.end - begin)

    def at(k: int) -> Setting:
        return moved(now, lever.key, round(begin + k * step, 6) if k < count else lever.end)

    if not good(at(count)):
        return at(count)
    low, high = 0, count
    while high - low > 1:
        middle = (low + high) // 2
        if good(at(middle)):
            high = middle
        else:
            low = middle
    return at(high)
