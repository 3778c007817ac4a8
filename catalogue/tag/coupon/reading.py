"""From what came out of a coupon to a process profile, with what has to be asked about it. Pure."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace

from catalogue.errors import LetterholdError
from catalogue.judge.process import Process
from catalogue.tag.coupon.sizes import Sizes

LEAST_STRAY_MM = 0.05
"""What no caliper of a workshop shows less of: its own reading and the printer's steps (common practice, no source)."""

MOST_OFF_MM = 1.0
"""A wall that measures more beside its size was another wall."""


class CouponError(LetterholdError):
    """What cannot have come out of the coupon; the message ends with what to do."""


@dataclass(frozen=True, slots=True)
class Printed:
    """What came out, sizes in mm; None where nobody looked."""

    walls_mm: tuple[float, ...] | None = None
    gaps_mm: tuple[float, ...] | None = None
    holes_mm: tuple[float, ...] | None = None
    widest_wall_measured_mm: float | None = None
    """What the widest wall measures."""


@dataclass(frozen=True, slots=True)
class Least:
    """The narrowest size from which on all came out."""

    mm: float
    doubt: str = ""
    """What contradicts itself, as one line to ask about; empty where nothing does."""


@dataclass(frozen=True, slots=True)
class Reading:
    """A profile made of what came out, and what has to be asked before it is saved."""

    process: Process
    doubts: tuple[str, ...]


def reading_of(name: str, like: Process, printed: Printed, sizes: Sizes) -> Reading:
    """The profile of a printer that is like another except for what came out. Raises CouponError."""
    changes: dict[str, float] = {}
    doubts = []
    for kind, key, steps, came_out in (
        ("wall", "least_wall_mm", sizes.walls_mm, printed.walls_mm),
        ("gap", "least_gap_mm", sizes.gaps_mm, printed.gaps_mm),
        ("hole", "least_hole_mm", sizes.holes_mm, printed.holes_mm),
    ):
        if came_out is not None:
            least = least_of(kind, steps, came_out)
            changes[key] = least.mm
            doubts += [least.doubt] if least.doubt else []
    if "least_gap_mm" in changes and "least_hole_mm" not in changes:  # holes close first: nobody looked at them
        changes["least_hole_mm"] = max(like.opening_mm, changes["least_gap_mm"])
    if printed.widest_wall_measured_mm is not None:
        changes["stray_mm"] = stray_of(sizes.walls_mm[-1], printed.widest_wall_measured_mm)
    made = replace(like, name=name, **changes)  # type: ignore[arg-type]
    return Reading(made, (*doubts, *doubts_of(made)))


def least_of(kind: str, steps: tuple[float, ...], came_out: Collection[float]) -> Least:
    """The narrowest step from which on every wider one came out too.

    >>> least_of("wall", (0.3, 0.4, 0.5), (0.4, 0.5)).mm
    0.4
    >>> least_of("wall", (0.3, 0.4, 0.5), (0.3, 0.5))
    Least(mm=0.5, doubt='the wall of 0.3 mm came out, and the wider one of 0.4 mm did not: look at both again')
    """
    strange = sorted(mm for mm in came_out if mm not in steps)
    if strange:
        listed = ", ".join(f"{mm:g}" for mm in steps)
        raise CouponError(f"there is no {kind} of {strange[0]:g} mm on this coupon; it has {listed}")
    if steps[-1] not in came_out and not came_out:
        raise CouponError(
            f"no {kind} came out, not even {steps[-1]:g} mm: look at the printer first (nozzle, first layer,"
            " temperature), then print the coupon again"
        )
    if steps[-1] not in came_out:
        widest = max(came_out)
        raise CouponError(
            f"the {kind} of {widest:g} mm came out, and the widest of {steps[-1]:g} mm did not: look at both again,"
            " and print the coupon again if it is so"
        )
    failed = [mm for mm in steps if mm not in came_out]
    least = min(mm for mm in steps if not failed or mm > failed[-1])
    narrower = [mm for mm in came_out if mm < least]
    if not narrower:
        return Least(least)
    first = min(narrower)
    wider = next(mm for mm in failed if mm > first)
    return Least(
        least, f"the {kind} of {first:g} mm came out, and the wider one of {wider:g} mm did not: look at both again"
    )


def stray_of(drawn_mm: float, measured_mm: float) -> float:
    """How far an outline strays on either side, from a wall's drawn and measured width.

    >>> stray_of(1.2, 1.4), stray_of(1.2, 1.2)
    (0.1, 0.05)
    """
    off = abs(measured_mm - drawn_mm)
    if not off <= MOST_OFF_MM:
        raise CouponError(
            f"a wall drawn {drawn_mm:g} mm wide cannot measure {measured_mm:g} mm; measure the widest one again"
        )
    return max(LEAST_STRAY_MM, round(off / 2, 2))


def doubts_of(process: Process) -> tuple[str, ...]:
    """What in a profile contradicts itself, a line each to ask about; empty where nothing does."""
    found = []
    wall, line, gap = process.least_wall_mm, process.line_width_mm, process.least_gap_mm
    if wall < line:
        found.append(
            f"a least wall of {wall:g} mm is narrower than one line of {line:g} mm, which comes out wider than drawn or"
            " not at all: measure it"
        )
    if process.stray_mm is not None and 2 * process.stray_mm >= gap:
        found.append(
            f"outlines that stray by {process.stray_mm:g} mm on either side close a gap of {gap:g} mm, which is said to"
            " stay open: look at it again"
        )
    if process.least_hole_mm is not None and process.least_hole_mm < gap:
        found.append(
            f"a hole of {process.least_hole_mm:g} mm stays open and a gap of that width does not: holes close first,"
            " look at both again"
        )
    return tuple(found)
