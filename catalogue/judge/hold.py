"""Measures, size and process to hold and reasons. Pure; all lengths in mm.

Hold runs from 0 to 100, and a name holds from 50 on. Points are lost for small margins: up to 25 for the join, 25 for
the neck, 20 for thin strokes, 10 for counters. Whatever breaks the hold (base in pieces, neck, thin strokes) also caps
it: at the limit hold is 50 and rises with the margin by ``STEEP`` points a millimetre, so that a hair more or less of
a measure never turns a good name into a bad one at once. What does not hold stays below 50, and falls to 0 where it
would need twice the base offset.

A wider line, a smaller offset, or the whole drawing made smaller never raises hold. (Letters made smaller at the same
offset in mm do move nearer to each other, in print as here.)

The law stands once, over arrays (``losses``): a ranking judges all faces in one call, and ``judge`` puts one face's
losses into words.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.process import Process

LEAST_THAT_HOLDS = 50
MOST_WITHOUT_HOLD = LEAST_THAT_HOLDS - 1
JOIN_POINTS, NECK_POINTS, STROKE_POINTS, COUNTER_POINTS = 25.0, 25.0, 20.0, 10.0

STEEP = 280.0
"""Points a millimetre of margin at most: a hundredth of a millimetre, far below what a printer repeats, moves hold by
less than 3 points (our limit)."""

SPARE_SHARE = 0.4
"""Spare offset, as a share of the base offset, that counts as room enough."""

SEAM_MM = 50.0 / STEEP
"""Spare offset below which a wide neck does not count in full: straight stems that just touch hang together by their
whole height, however thin the seam (check-values G16)."""

NECK_LINES, AMPLE_NECK_LINES = 2.0, 4.0
"""Lines side by side that a neck needs, and that it has with room to spare (common practice: 2 pass, 4 good)."""

AMPLE = 1.5
"""Times the least wall or gap that counts as room enough; at a third of that all points are lost."""

THIN_SHARE = 0.015
"""Share of the ink that may be thinner than the least wall: pointed tips and sharp joins, not hairlines. Most faces
have less than 0.1 % at 14 mm, heavy ones with hairlines 2 % and more (``bench/stroke_numbers.py``)."""

SLIVER_EM = 0.012
"""Width in em below which a hole is no counter: it fills with ink at every size of a tag, 0.24 mm at capitals of 14 mm.
The narrowest counter that a demo face draws is 0.016 em (``bench/stroke_numbers.py``)."""

STRAY_LINES = 0.25
"""What a printed outline strays, in line widths: 0.1 mm for a line of 0.45 mm (common practice, no source). A margin
below that is no margin."""

LEAST_OFFSET_MM = 1e-6
"""A base offset below this counts as no offset: a share of it means nothing."""

KINDS = ("join", "neck", "stroke", "counter")
"""What points are lost for, in the order of the arrays' first axis."""

_JUST_MM = 1e-6
"""A margin that is short by less is met: sums of lengths round."""

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Sizes:
    """What hold judges, in mm, for one name in one face."""

    join_offset_mm: float
    neck_mm: float | None
    """Neck of the base; None when it was not worked out."""
    thinnest_stroke_mm: float | None
    """Width below which ``THIN_SHARE`` of the ink lies."""
    thin_share: float
    """Share of the ink thinner than the least wall."""
    smallest_counter_mm: float | None
    base_offset_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class SizesOfMany:
    """The same lengths of many faces, arrays (faces) in mm, NaN where a length is not known."""

    join_offset_mm: Array
    neck_mm: Array
    thinnest_stroke_mm: Array
    smallest_counter_mm: Array
    base_offset_mm: Array | float
    """One for all, or one a face."""


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason for lost points, with its number."""

    kind: str
    points: int
    """Whole points; those of all reasons add up to what is lost. 0 where it is less than half of one."""
    text: str
    breaks: bool = False
    """Whether the name does not hold because of it."""

    @property
    def line(self) -> str:
        """Points lost, then the reason."""
        return f"{f'-{self.points}' if self.points else '-<1'} {self.text}"

    @property
    def sentence(self) -> str:
        """The same in words."""
        return f"{self.points or 'less than 1'} lost: {self.text}"


@dataclass(frozen=True, slots=True)
class Hold:
    """The judgement."""

    hold: int
    holds: bool
    reasons: tuple[Reason, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Losses:
    """The judgement of many faces: ``points`` and ``breaks`` have the shape (kinds, faces)."""

    points: Array
    breaks: Flags
    hold: NDArray[np.int64]
    """(faces) 0 to 100."""

    @property
    def holds(self) -> Flags:
        """(faces) whether nothing breaks the hold."""
        broken: Flags = np.logical_or.reduce(self.breaks, axis=0)
        return ~broken


def losses(sizes: SizesOfMany, process: Process) -> Losses:
    """Points lost by kind, one column a face."""
    margins, breaks = _margins(sizes, process)
    points = _small_margins(sizes, process)
    broken = breaks.any(axis=0)
    capped = LEAST_THAT_HOLDS + STEEP * np.maximum(np.nanmin(np.nan_to_num(margins, nan=np.inf), axis=0), 0.0)
    held = np.clip(np.minimum(100.0 - points.sum(axis=0), capped), LEAST_THAT_HOLDS, 100.0)
    hold = np.where(broken, _without_hold(sizes, process, breaks), held)
    # Points beyond those of small margins are lost to what caps the hold; where fewer are lost all count for less.
    lost = 100.0 - hold
    given = points.sum(axis=0)
    blamed = np.where(broken, np.argmax(breaks, axis=0), np.argmin(np.nan_to_num(margins, nan=np.inf), axis=0))
    points *= np.where(given > lost, lost / np.maximum(given, 1e-12), 1.0)
    points[blamed, np.arange(len(hold))] += np.maximum(0.0, lost - given)
    return Losses(points, breaks, np.maximum(0.0, np.round(hold, 9)).astype(np.int64))


def _margins(sizes: SizesOfMany, process: Process) -> tuple[Array, Flags]:
    """By how much each kind is on the right side of its limit in mm, and whether it breaks the hold.

    Both of shape (kinds, faces); NaN where a length is not known. A counter that closes breaks nothing.
    """
    spare = _base_offset(sizes) - sizes.join_offset_mm
    apart = spare < -_JUST_MM
    # If the name is in pieces it has no neck; the join carries those points.
    neck = np.where(apart, np.nan, sizes.neck_mm - NECK_LINES * process.line_width_mm)
    stroke = sizes.thinnest_stroke_mm - process.least_wall_mm
    margins = np.stack([spare, neck, stroke, np.full_like(spare, np.nan)])
    breaks: Flags = np.nan_to_num(margins, nan=0.0) < -_JUST_MM
    return margins, breaks


def _small_margins(sizes: SizesOfMany, process: Process) -> Array:
    """Points (kinds, faces) for margins that are met without room to spare."""
    base = _base_offset(sizes)
    spare = base - sizes.join_offset_mm
    slack = np.clip(spare / np.maximum(SPARE_SHARE * base, SEAM_MM), 0.0, 1.0)
    ample = np.clip(sizes.neck_mm / process.line_width_mm / AMPLE_NECK_LINES, 0.0, 1.0)
    ample = np.where(np.isnan(ample), 1.0, ample)
    seam = 1 - np.clip(spare / SEAM_MM, 0.0, 1.0)
    apart = spare < -_JUST_MM
    points = np.stack(
        [
            JOIN_POINTS * (1 - slack) + NECK_POINTS * np.where(apart, 1.0, ample * seam),
            NECK_POINTS * np.where(apart, 0.0, 1 - ample),
            STROKE_POINTS * _short(sizes.thinnest_stroke_mm / process.least_wall_mm),
            COUNTER_POINTS * _short(sizes.smallest_counter_mm / process.opening_mm),
        ]
    )
    return np.nan_to_num(points, nan=0.0)


def _without_hold(sizes: SizesOfMany, process: Process, breaks: Flags) -> Array:
    """Hold (faces) of what does not hold: less the farther it is from holding."""
    base = _base_offset(sizes)
    short = np.maximum(0.0, sizes.join_offset_mm - base)
    apart = np.where(base > 0, short / np.where(base > 0, base, 1.0), np.where(short > 0, 1.0, 0.0))
    thin = np.where(breaks[2], 1 - sizes.thinnest_stroke_mm / process.least_wall_mm, 0.0)
    return np.clip(LEAST_THAT_HOLDS * (1 - apart) - STROKE_POINTS * thin, 0.0, LEAST_THAT_HOLDS - 1e-6)


def _base_offset(sizes: SizesOfMany) -> Array:
    base = np.asarray(sizes.base_offset_mm, dtype=np.float64)
    return np.where(base >= LEAST_OFFSET_MM, base, 0.0)


def judge(sizes: Sizes, process: Process) -> Hold:
    """How surely the name stays in one piece and reads well, with a reason for each point lost."""
    one = SizesOfMany(
        _one(sizes.join_offset_mm), _one(sizes.neck_mm), _one(sizes.thinnest_stroke_mm),
        _one(sizes.smallest_counter_mm), sizes.base_offset_mm,
    )  # fmt: skip
    lost = losses(one, process)
    texts = (_join_text, _neck_text, _stroke_text, _counter_text)
    whole = _whole(lost.points[:, 0], 100 - int(lost.hold[0]))
    reasons = tuple(
        Reason(kind, points, text(sizes, process), bool(breaks))
        for kind, points, breaks, text in zip(KINDS, whole, lost.breaks[:, 0], texts, strict=True)
        if points > 0 or breaks
    )
    return Hold(int(lost.hold[0]), bool(lost.holds[0]), reasons)


def _whole(points: Array, total: int) -> list[int]:
    """Points as whole numbers that add up to ``total``: what rounding leaves goes to the largest remainders.

    >>> _whole(np.array([13.4, 0.0, 0.3, 0.0]), 14), _whole(np.array([13.4, 0.2]), 13), _whole(np.array([0.6, 0.0]), 2)
    ([14, 0, 0, 0], [13, 0], [2, 0])
    """
    floors = np.floor(points + 1e-9).astype(int)
    left = total - int(floors.sum())
    order = np.argsort(floors - points, kind="stable")
    order = order[points[order] > 0]
    if left > 0 and len(order):
        np.add.at(floors, order[np.arange(left) % len(order)], 1)
    return [int(n) for n in floors]


def stray_mm(process: Process) -> float:
    """What a printed outline strays: as measured on the printer, else ``STRAY_LINES``."""
    return STRAY_LINES * process.line_width_mm if process.stray_mm is None else process.stray_mm


def no_margin(sizes: Sizes, process: Process) -> bool:
    """Whether the base only just joins: by less than a printed outline strays."""
    spare = sizes.base_offset_mm - sizes.join_offset_mm
    return 0 <= spare < stray_mm(process)


def broken(hold: Hold, kind: str, text: str) -> Hold:
    """The judgement with one more thing that keeps the name from holding; it carries the points above the cap."""
    left = min(hold.hold, MOST_WITHOUT_HOLD)
    return Hold(left, False, (*hold.reasons, Reason(kind, hold.hold - left, text, True)))


def _one(value: float | None) -> Array:
    return np.array([np.nan if value is None else value], dtype=np.float64)


def _join_text(sizes: Sizes, process: Process) -> str:
    spare = sizes.base_offset_mm - sizes.join_offset_mm
    if spare < 0:
        need = f"needs an offset of {sizes.join_offset_mm:.2f} mm"
        return f"comes apart: {need}, the base has {sizes.base_offset_mm:.2f} mm"
    if no_margin(sizes, process):
        stray = f"a printed outline strays by {stray_mm(process):.2f} mm"
        return f"joins with no margin: {spare:.3f} mm of offset to spare, {stray}"
    return f"joins with only {spare:.2f} mm of the {sizes.base_offset_mm:.2f} mm offset to spare"


def _neck_text(sizes: Sizes, process: Process) -> str:
    neck = sizes.neck_mm or 0.0
    lines = neck / process.line_width_mm
    wide = f"{neck:.2f} mm is {lines:.1f} lines"
    if lines < NECK_LINES:
        return f"neck too narrow: {wide}, {NECK_LINES * process.line_width_mm:.2f} mm needed"
    if neck < NECK_LINES * process.line_width_mm + stray_mm(process):
        return f"neck only just wide enough: {wide}, {NECK_LINES * process.line_width_mm:.2f} mm needed"
    return f"neck not ample: {wide}, ample are {AMPLE_NECK_LINES * process.line_width_mm:.2f} mm"


def _stroke_text(sizes: Sizes, process: Process) -> str:
    width = sizes.thinnest_stroke_mm or 0.0
    if width < process.least_wall_mm:
        share = f"{sizes.thin_share:.0%} of the ink below the least wall of {process.least_wall_mm:.2f} mm"
        return f"strokes too thin: the thinnest {width:.2f} mm, {share}"
    if width < process.least_wall_mm + stray_mm(process):
        return f"strokes only just walls: the thinnest {width:.2f} mm, the least wall {process.least_wall_mm:.2f} mm"
    return f"strokes not ample: the thinnest {width:.2f} mm, ample are {AMPLE * process.least_wall_mm:.2f} mm"


def _counter_text(sizes: Sizes, process: Process) -> str:
    across = sizes.smallest_counter_mm or 0.0
    least = "gap" if process.least_hole_mm is None else "hole"
    if across < process.opening_mm:
        return f"counter may close: {across:.2f} mm across, least {least} {process.opening_mm:.2f} mm"
    return f"counter not ample: {across:.2f} mm across, ample are {AMPLE * process.opening_mm:.2f} mm"


def _short(ratio: Array) -> Array:
    """Share of points lost: none from ``AMPLE`` times the least, all below a third of that."""
    lost: Array = np.clip((AMPLE - ratio) / (AMPLE - AMPLE / 3), 0.0, 1.0)
    return lost
