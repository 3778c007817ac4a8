"""Measures, size and process to hold and reasons. Pure; all lengths in mm.

Hold runs from 0 to 100. Points are lost for a small margin (up to 25 for the join, 25 for the neck, 20 for thin
strokes, 10 for counters); a name that does not hold never gets more than ``MOST_WITHOUT_HOLD``, and 0 when it would
need more than twice the base offset. A wider line, a smaller offset, or the whole drawing made smaller never raises
hold. (Letters made smaller at the same offset in mm do move nearer to each other, in print as here.)
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from catalogue.process import Process

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


@dataclass(frozen=True, slots=True)
class Hold:
    """The judgement."""

    hold: int
    holds: bool
    reasons: tuple[Reason, ...]


def judge(sizes: Sizes, process: Process) -> Hold:
    """How surely the name stays in one piece and reads well, with a reason for each point lost."""
    reasons: list[Reason] = []
    holds = True

    spare = sizes.base_offset_mm - sizes.join_offset_mm
    if spare < 0:
        holds = False
        text = (
            f"comes apart: needs an offset of {sizes.join_offset_mm:.2f} mm, the base has {sizes.base_offset_mm:.2f} mm"
        )
        reasons.append(Reason("join", JOIN_POINTS + NECK_POINTS, text, breaks=True))
    else:
        room = SPARE_SHARE * sizes.base_offset_mm
        lost = JOIN_POINTS * (1 - min(1.0, spare / room)) if room > 0 else JOIN_POINTS
        if lost > 0:
            text = f"joins with only {spare:.2f} mm of the {sizes.base_offset_mm:.2f} mm offset to spare"
            reasons.append(Reason("join", lost, text))

    if sizes.neck_mm is not None and spare >= 0:
        lines = sizes.neck_mm / process.line_width_mm
        lost = NECK_POINTS * (1 - min(1.0, lines / AMPLE_NECK_LINES))
        if lines < NECK_LINES:
            holds = False
        if lost > 0:
            need = NECK_LINES * process.line_width_mm
            verb = "too narrow" if lines < NECK_LINES else "narrow"
            text = f"neck {verb}: {sizes.neck_mm:.2f} mm is {lines:.1f} lines, {need:.2f} mm needed"
            reasons.append(Reason("neck", lost, text, breaks=lines < NECK_LINES))

    if sizes.thinnest_stroke_mm is not None:
        lost = STROKE_POINTS * _short(sizes.thinnest_stroke_mm / process.least_wall_mm)
        too_thin = sizes.thin_share > THIN_SHARE
        if too_thin:
            holds = False
        if lost > 0 or too_thin:
            thin = sizes.thinnest_stroke_mm < process.least_wall_mm
            what = "thin strokes" if thin else "strokes near the least wall"
            text = (
                f"{what}: {sizes.thinnest_stroke_mm:.2f} mm at the thin end, {sizes.thin_share:.0%} below the least"
                f" wall of {process.least_wall_mm:.2f} mm"
            )
            reasons.append(Reason("stroke", lost, text, breaks=too_thin))

    if sizes.smallest_counter_mm is not None:
        lost = COUNTER_POINTS * _short(sizes.smallest_counter_mm / process.least_gap_mm)
        if lost > 0:
            what = "counter may close" if sizes.smallest_counter_mm < process.least_gap_mm else "counter near the limit"
            text = f"{what}: {sizes.smallest_counter_mm:.2f} mm across, least gap {process.least_gap_mm:.2f} mm"
            reasons.append(Reason("counter", lost, text))

    hold = 100.0 - sum(r.points for r in reasons)
    if spare < 0:
        # Apart, there is no neck either; what is left falls to 0 at twice the base offset.
        left = 1 + spare / sizes.base_offset_mm if sizes.base_offset_mm > 0 else 0.0
        lost = hold * (1 - max(0.0, left))
        reasons[0] = replace(reasons[0], points=reasons[0].points + lost)
        hold -= lost
    if not holds and hold > MOST_WITHOUT_HOLD:
        # The points above the cap are lost to what breaks the hold: the first such reason carries them.
        at = next(k for k, r in enumerate(reasons) if r.breaks)
        reasons[at] = replace(reasons[at], points=reasons[at].points + hold - MOST_WITHOUT_HOLD)
        hold = MOST_WITHOUT_HOLD
    return Hold(int(max(0.0, hold)), holds, tuple(reasons))


def _short(ratio: float) -> float:
    """Share of points lost: none from ``AMPLE`` times the least, all below a third of that."""
    return min(1.0, max(0.0, (AMPLE - ratio) / (AMPLE - AMPLE / 3)))
