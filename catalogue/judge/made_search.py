"""The fit of a name predicted for all faces at once: which levers move how far until it holds. Pure.

The same levers in the same order, steps, limits and reserve as the fit itself, which works on outlines; here each face
is a column of arrays. Thickening widens strokes and narrows openings by twice as much and counts towards the offset;
tracking shifts the gaps of letters, a word space that of words; a size scales all of them, and a heavier weight is what
lies between two instances that were measured. Another lever is one more field of ``Settings``, its place in ``_order``
and what it does in ``Name.offset_needed``.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.chain import LINE, PAIR, SPACE, Chain, Needs
from catalogue.judge.hold import NECK_LINES, stray_mm
from catalogue.judge.process import Process
from catalogue.judge.reach import (
    LARGEST,
    MOST_CLOSED,
    MOST_THICKEN_WALLS,
    MOST_TRACKING_EM,
    OFFSET_STEP_MM,
    OPEN_SHARE,
    SIZE_STEPS,
    SMALLEST,
    SPACE_STEP_MM,
    THICKEN_STEP_MM,
    TRACKING_STEP_EM,
    Reach,
)

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]
Places = NDArray[np.intp]

_JUST_MM = 1e-6
"""Sums of lengths round."""


@dataclass(frozen=True, slots=True, eq=False)
class Settings:
    """Where the levers stand, (faces) each."""

    em_mm: Array
    space_mm: Array
    """Taken out of every word space."""
    tracking_em: Array
    thicken_mm: Array
    base_offset_mm: Array

    def of(self, faces: Places | Flags) -> Settings:
        """Those of some of the faces."""
        return Settings(*(getattr(self, f.name)[faces] for f in fields(self)))

    def where(self, chosen: Flags, other: Settings) -> Settings:
        """These for the faces chosen, the other's for the rest."""
        return Settings(*(np.where(chosen, getattr(self, f.name), getattr(other, f.name)) for f in fields(self)))


@dataclass(frozen=True, slots=True, eq=False)
class Lever:
    """One number of the settings that may move to ``end`` (faces) in steps."""

    key: str
    end: Array
    step: Array | float


@dataclass(frozen=True, slots=True, eq=False)
class Name:
    """A name over all faces as the levers see it; lengths in em, (faces) last."""

    chain: Chain
    thinnest: Array
    letter_thinnest: Array
    counter: Array
    """(faces) the smallest counter."""
    openings: Array
    """(openings, faces) widths of counters, apertures and gaps; NaN where a face has no such opening."""
    joined: Flags
    """(faces) whether tracking would tear the letters."""
    process: Process

    def of(self, faces: Places) -> Name:
        """The same for some of the faces, by place."""
        return Name(
            self.chain.of(faces), self.thinnest[faces], self.letter_thinnest[faces], self.counter[faces],
            self.openings[:, faces], self.joined[faces], self.process,
        )  # fmt: skip

    # ── what a setting gives ────────────────────────────────────────────────────────────────────────────────────

    def needs(self, em_mm: Array) -> Needs:
        """What necks as wide as needed ask for at a size."""
        return self.chain.needs(NECK_LINES * self.process.line_width_mm / em_mm)

    def gaps_mm(self, at: Settings) -> Array:
        """(joints, faces) what the joints have to bridge; below 0 where tracking lets letters overlap."""
        kinds, nearest = self.chain.kinds, self.process.least_gap_mm + 2 * at.thicken_mm
        gaps = self.chain.gaps * at.em_mm
        gaps[kinds == PAIR] += at.tracking_em * at.em_mm
        gaps[kinds == SPACE] = np.maximum(gaps[kinds == SPACE] - at.space_mm, nearest)
        gaps[kinds == LINE] = nearest
        return gaps

    def offset_needed(self, at: Settings, needs: Needs, reserve_mm: float) -> Array:
        """(faces) offset, thickening included, from which the base is in one piece, with the reserve and its necks."""
        half = self.gaps_mm(at) / 2
        with_neck = np.minimum(half + needs.past * at.em_mm, np.maximum(half, needs.held * at.em_mm))
        joints = np.maximum(with_neck, half + reserve_mm).max(axis=0, initial=0.0)
        needed: Array = np.maximum(joints, needs.within * at.em_mm)
        return needed

    def strokes_hold(self, at: Settings) -> Flags:
        """(faces) whether the strokes of the top layer are walls; so where none was measured."""
        thin = self.thinnest * at.em_mm + 2 * at.thicken_mm
        return np.isnan(thin) | (thin >= self.process.least_wall_mm - _JUST_MM)

    def closed(self, at: Settings) -> Array:
        """(faces) share of the openings that fuse."""
        left = self.openings * at.em_mm - 2 * at.thicken_mm
        count = np.sum(~np.isnan(left), axis=0)
        share: Array = np.sum(left < OPEN_SHARE * self.process.least_gap_mm, axis=0) / np.maximum(count, 1)
        return share

    def legible(self, at: Settings) -> Flags:
        """(faces) whether enough openings stay open."""
        return self.closed(at) <= MOST_CLOSED

    def reads(self, at: Settings) -> Flags:
        """(faces) whether strokes are walls and enough openings stay open."""
        return self.strokes_hold(at) & self.legible(at)

    def thicken_needed(self, at: Settings) -> Array:
        """(faces) the least thickening, to 0.01 mm, that makes strokes walls with what a printed outline strays."""
        short = self.process.least_wall_mm - np.fmin(self.thinnest, self.letter_thinnest) * at.em_mm
        steps = np.ceil((short + stray_mm(self.process)) / 2 / THICKEN_STEP_MM - _JUST_MM)
        return np.where(short > _JUST_MM, steps * THICKEN_STEP_MM, 0.0)

    def thickened(self, at: Settings, reach: Reach) -> Settings:
        """The settings with as much thickening as strokes need, or as may be."""
        if not reach.allows("thicken"):
            return at
        needed = np.minimum(self.thicken_needed(at), MOST_THICKEN_WALLS * self.process.least_wall_mm)
        return replace(at, thicken_mm=np.maximum(at.thicken_mm, needed))


# ── the search, as the fit makes it ─────────────────────────────────────────────────────────────────────────────────


def best_settings(name: Name, start: Settings, reach: Reach) -> Settings:
    """The least change from the start that holds with a reserve, else holds, else comes nearest."""
    free = _order(name, start, reach)
    search = _Search(name, reach, free, 0.0)
    best = search.solved(start)
    with_reserve = replace(search, reserve_mm=stray_mm(name.process))
    # A reserve is worth a little tracking or offset, but no other size and no heavier letters.
    lacks = search.base_holds(best) & ~with_reserve.base_holds(best)
    gentle = replace(with_reserve, free=[v for v in free if v.key != "thicken_mm"], size_free=False)
    spare = gentle.solved(replace(start, em_mm=best.em_mm))
    return spare.where(lacks & gentle.holds(spare), best)


def _order(name: Name, start: Settings, reach: Reach) -> list[Lever]:
    """What may move, in the order it is tried; letters that join are not tracked."""
    levers: list[Lever] = []
    if (name.chain.kinds == SPACE).any():
        widest = np.nan_to_num(name.chain.gaps[name.chain.kinds == SPACE]).max(axis=0) + 0.1
        levers.append(Lever("space_mm", widest * start.em_mm, SPACE_STEP_MM))
    if reach.allows("tracking"):
        levers.append(Lever("tracking_em", np.where(name.joined, 0.0, -MOST_TRACKING_EM), TRACKING_STEP_EM))
    if reach.allows("thicken"):
        end = np.full(len(start.em_mm), MOST_THICKEN_WALLS * name.process.least_wall_mm)
        levers.append(Lever("thicken_mm", end, THICKEN_STEP_MM))
    if reach.allows("offset"):
        most = np.array([reach.most_offset_of(float(v)) for v in np.unique(start.base_offset_mm)])
        end = most[np.searchsorted(np.unique(start.base_offset_mm), start.base_offset_mm)]
        levers.append(Lever("base_offset_mm", end, OFFSET_STEP_MM))
    return levers


@dataclass(frozen=True, slots=True, eq=False)
class _Search:
    """One search over the levers."""

    name: Name
    reach: Reach
    free: list[Lever]
    reserve_mm: float
    size_free: bool = True

    def base_holds(self, at: Settings, needs: Needs | None = None) -> Flags:
        needs = self.name.needs(at.em_mm) if needs is None else needs
        needed = self.name.offset_needed(at, needs, self.reserve_mm)
        held: Flags = at.thicken_mm + at.base_offset_mm >= needed - _JUST_MM
        return held

    def holds(self, at: Settings, needs: Needs | None = None) -> Flags:
        return self.name.reads(at) & self.base_holds(at, needs)

    def solved(self, start: Settings) -> Settings:
        """Where the levers come to rest in this order."""
        name = self.name
        now = floor = self._readable(start)
        needs = name.needs(now.em_mm)

        def base(at: Settings) -> Flags:
            return self.base_holds(at, needs)

        for lever in self.free:
            there = least(base, now, lever)
            takes = ~base(now) & (np.abs(lever.end) > np.abs(getattr(now, lever.key)))
            now = there.where(takes & (name.legible(there) | ~name.legible(now)), now)
        now = self._smaller(start, now, base(now))
        return self._taken_back(now, floor)

    def _readable(self, start: Settings) -> Settings:
        """Strokes made walls by thickening, and by a larger size where that does not do."""
        now = self.name.thickened(start, self.reach)
        if not (self.size_free and self.reach.allows("size")):
            return now
        small = np.flatnonzero(~self.name.reads(now))
        name, begin = self.name.of(small), start.of(small)
        larger = least(lambda at: name.reads(name.thickened(at, self.reach)), begin, _size(begin, LARGEST))
        return _put(now, small, name.thickened(larger, self.reach))

    def _smaller(self, start: Settings, now: Settings, held: Flags) -> Settings:
        """A smaller size for faces whose base does not hold, where that makes them hold."""
        if not (self.size_free and self.reach.allows("size")):
            return now
        wide = np.flatnonzero(~held)
        part = replace(self, name=self.name.of(wide))
        name = part.name

        def base(at: Settings) -> Flags:
            return part.base_holds(name.thickened(at, self.reach))

        begin = now.of(wide)
        found = name.thickened(least(base, begin, _size(start.of(wide), SMALLEST)), self.reach)
        return _put(now, wide, found.where(part.holds(found), begin))

    def _taken_back(self, now: Settings, floor: Settings) -> Settings:
        """Each lever as far back towards ``floor`` as the name still holds."""
        needs = self.name.needs(now.em_mm)

        def good(at: Settings) -> Flags:
            return self.holds(at, needs)

        able = self.base_holds(now, needs)
        for lever in self.free:
            begin = getattr(floor, lever.key)
            back = moved(now, lever.key, begin)
            shorter = least(good, back, replace(lever, end=getattr(now, lever.key)))
            now = back.where(good(back), shorter).where(able & (getattr(now, lever.key) != begin), now)
        return now


def least(good: Callable[[Settings], Flags], now: Settings, lever: Lever) -> Settings:
    """The settings with the lever moved as little as makes them good, or to its end where nothing does."""
    begin = getattr(now, lever.key)
    count = np.maximum(1, np.ceil(np.abs(lever.end - begin) / lever.step - 1e-9))
    step = np.copysign(lever.step, lever.end - begin)

    def at(k: Array) -> Settings:
        return moved(now, lever.key, np.where(k < count, np.round(begin + k * step, 6), lever.end))

    low, high = np.zeros_like(count), count
    ends = good(at(count))
    while len(count) and (high - low).max() > 1:
        middle = np.floor((low + high) / 2)
        enough = good(at(middle)) & (middle > low)
        low, high = np.where(enough | (high - low <= 1), low, middle), np.where(enough, middle, high)
    return at(np.where(ends, high, count))


def moved(at: Settings, key: str, value: Array) -> Settings:
    """The settings with one of their numbers at another place."""
    values: dict[str, Any] = {key: value}
    return replace(at, **values)


def _size(start: Settings, share: float) -> Lever:
    return Lever("em_mm", share * start.em_mm, start.em_mm / SIZE_STEPS)


def _put(all_of_them: Settings, faces: Places, some: Settings) -> Settings:
    """The settings with those of some faces replaced."""
    values = {}
    for f in fields(all_of_them):
        values[f.name] = getattr(all_of_them, f.name).copy()
        values[f.name][faces] = getattr(some, f.name)
    return Settings(**values)
