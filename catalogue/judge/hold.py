"""Measures, size and process to hold and reasons. Pure; all lengths in mm.

Hold runs from 0 to 100. Points are lost for a small margin (up to 25 for the join, 25 for the neck, 20 for thin
strokes, 10 for counters); a name that does not hold never gets more than ``MOST_WITHOUT_HOLD``, and 0 when it would
need more than twice the base offset. A wider line, a smaller offset, or the whole drawing made smaller never raises
hold. (Letters made smaller at the same offset in mm do move nearer to each other, in print as here.)

The law stands once, over arrays (``losses``): a ranking judges all faces in one call, and ``judge`` puts one face's
losses into words.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.process import Process

MOST_WITHOUT_HOLD = 49
JOIN_POINTS, NECK_POINTS, STROKE_POINTS, COUNTER_POINTS = 25.0, 25.0, 20.0, 10.0

SPARE_SHARE = 0.4
"""Spare offset, as a share of the base offset, that counts as room enough."""

NECK_LINES, AMPLE_NECK_LINES = 2.0, 4.0
"""Lines side by side that a neck needs, and that it has with room to spare (common practice: 2 pass, 4 good)."""

AMPLE = 1.5
"""Times the least wall or gap that counts as room enough; at a third of that all points are lost."""

THIN_SHARE = 0.05
"""Share of the centre line that may be thinner than the least wall: ends and sharp joins, not hairlines."""

LEAST_OFFSET_MM = 1e-6
"""A base offset below this is none: a share of it means nothing."""

KINDS = ("join", "neck", "stroke", "counter")
"""What points are lost for, in the order of the arrays' first axis."""

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Sizes:
    """What hold judges, in mm, for one name in one face."""

    join_offset_mm: float
    neck_mm: float | None
    """Neck of the base; None when it was not worked out."""
    thinnest_stroke_mm: float | None
    thin_share: float
    """Share of centre-line length thinner than the least wall."""
    smallest_counter_mm: float | None
    base_offset_mm: float


@dataclass(frozen=True, slots=True)
class Reason:
    """One reason for lost points, with its number."""

    kind: str
    points: float
    text: str
    breaks: bool = False
    """Whether the name does not hold because of it."""

    @property
    def line(self) -> str:
        """Points lost, then the reason."""
        return f"{'-<1' if self.points < 0.5 else f'-{self.points:.0f}'} {self.text}"

    @property
    def sentence(self) -> str:
        """The same in words."""
        return f"{'less than 1' if self.points < 0.5 else f'{self.points:.0f}'} lost: {self.text}"


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


def losses(
    join_offset_mm: Array,
    neck_mm: Array,
    thinnest_stroke_mm: Array,
    thin_share: Array,
    smallest_counter_mm: Array,
    base_offset_mm: float,
    process: Process,
) -> Losses:
    """Points lost by kind, one column a face; all arguments (faces), NaN where a length is not known."""
    if base_offset_mm < LEAST_OFFSET_MM:
        base_offset_mm = 0.0
    spare = base_offset_mm - join_offset_mm
    apart = spare < 0
    room = SPARE_SHARE * base_offset_mm
    slack = np.clip(spare / room, 0.0, 1.0) if room > 0 else np.zeros_like(spare)
    join = np.where(apart, JOIN_POINTS + NECK_POINTS, JOIN_POINTS * (1 - slack))

    lines = neck_mm / process.line_width_mm
    # Apart, there is no neck either; the join carries its points.
    neck = np.where(apart, 0.0, NECK_POINTS * (1 - np.clip(lines / AMPLE_NECK_LINES, 0.0, 1.0)))
    points = np.stack(
        [
            join,
            neck,
            STROKE_POINTS * _short(thinnest_stroke_mm / process.least_wall_mm),
            COUNTER_POINTS * _short(smallest_counter_mm / process.least_gap_mm),
        ]
    )
    points = np.nan_to_num(points, nan=0.0)
    breaks = np.stack(
        [
            apart,
            ~apart & (lines < NECK_LINES),
            (thin_share > THIN_SHARE) & ~np.isnan(thinnest_stroke_mm),
            np.zeros_like(apart),
        ]
    )
    hold = 100.0 - points.sum(axis=0)
    # What is left falls to 0 at twice the base offset.
    left = np.clip(1 + spare / base_offset_mm, 0.0, 1.0) if base_offset_mm > 0 else np.zeros_like(spare)
    fall = np.where(apart, hold * (1 - left), 0.0)
    points[0] += fall
    hold -= fall
    # The points above the cap are lost to what breaks the hold: the first such kind carries them.
    over = np.where(breaks.any(axis=0), np.maximum(0.0, hold - MOST_WITHOUT_HOLD), 0.0)
    points[np.argmax(breaks, axis=0), np.arange(len(hold))] += over
    hold -= over
    return Losses(points, breaks, np.maximum(0.0, np.round(hold, 9)).astype(np.int64))


def judge(sizes: Sizes, process: Process) -> Hold:
    """How surely the name stays in one piece and reads well, with a reason for each point lost."""
    lost = losses(
        _one(sizes.join_offset_mm), _one(sizes.neck_mm), _one(sizes.thinnest_stroke_mm), _one(sizes.thin_share),
        _one(sizes.smallest_counter_mm), sizes.base_offset_mm, process,
    )  # fmt: skip
    texts = (_join_text, _neck_text, _stroke_text, _counter_text)
    reasons = tuple(
        Reason(kind, float(points), text(sizes, process), bool(breaks))
        for kind, points, breaks, text in zip(KINDS, lost.points[:, 0], lost.breaks[:, 0], texts, strict=True)
        if points > 0 or breaks
    )
    return Hold(int(lost.hold[0]), bool(lost.holds[0]), reasons)


def broken(hold: Hold, kind: str, text: str) -> Hold:
    """The judgement with one more thing that keeps the name from holding; it carries the points above the cap."""
    left = min(hold.hold, MOST_WITHOUT_HOLD)
    return Hold(left, False, (*hold.reasons, Reason(kind, hold.hold - left, text, True)))


def _one(value: float | None) -> Array:
    return np.array([np.nan if value is None else value], dtype=np.float64)


def _join_text(sizes: Sizes, _: Process) -> str:
    spare = sizes.base_offset_mm - sizes.join_offset_mm
    if spare < 0:
        need = f"needs an offset of {sizes.join_offset_mm:.2f} mm"
        return f"comes apart: {need}, the base has {sizes.base_offset_mm:.2f} mm"
    return f"joins with only {spare:.2f} mm of the {sizes.base_offset_mm:.2f} mm offset to spare"


def _neck_text(sizes: Sizes, process: Process) -> str:
    neck = sizes.neck_mm or 0.0
    lines = neck / process.line_width_mm
    told = f"{neck:.2f} mm is {lines:.1f} lines"
    if lines < NECK_LINES:
        return f"neck too narrow: {told}, {NECK_LINES * process.line_width_mm:.2f} mm needed"
    return f"neck not ample: {told}, ample are {AMPLE_NECK_LINES * process.line_width_mm:.2f} mm"


def _stroke_text(sizes: Sizes, process: Process) -> str:
    width = sizes.thinnest_stroke_mm or 0.0
    if width < process.least_wall_mm or sizes.thin_share > THIN_SHARE:
        share = f"{sizes.thin_share:.0%} below the least wall of {process.least_wall_mm:.2f} mm"
        return f"strokes too thin: the thinnest {width:.2f} mm, {share}"
    return f"strokes not ample: the thinnest {width:.2f} mm, ample are {AMPLE * process.least_wall_mm:.2f} mm"


def _counter_text(sizes: Sizes, process: Process) -> str:
    across = sizes.smallest_counter_mm or 0.0
    if across < process.least_gap_mm:
        return f"counter may close: {across:.2f} mm across, least gap {process.least_gap_mm:.2f} mm"
    return f"counter not ample: {across:.2f} mm across, ample are {AMPLE * process.least_gap_mm:.2f} mm"


def _short(ratio: Array) -> Array:
    """Share of points lost: none from ``AMPLE`` times the least, all below a third of that."""
    lost: Array = np.clip((AMPLE - ratio) / (AMPLE - AMPLE / 3), 0.0, 1.0)
    return lost
