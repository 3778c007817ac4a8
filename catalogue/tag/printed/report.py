"""How often each level of hold held, with its interval, and what speaks against the weights. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from catalogue.judge.hold import LEAST_THAT_HOLDS
from catalogue.tag.printed.outcome import Outcome

LEVELS = ((0, 49), (50, 69), (70, 84), (85, 100))
"""First and last hold of each level; names hold from 50 on."""

Z_95 = 1.959964
"""Two-sided 95 % of the normal distribution (any table)."""

HALF = 0.5


@dataclass(frozen=True, slots=True)
class Interval:
    """A share with its limits, 0 to 1."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Level:
    """The prints of one level."""

    least: int
    most: int
    held: int
    broke: int
    closed: int

    @property
    def printed(self) -> int:
        """All of them."""
        return self.held + self.broke + self.closed

    @property
    def interval(self) -> Interval:
        """Of the share that held."""
        return wilson(self.held, self.printed)

    @property
    def words(self) -> str:
        """As 85 to 100."""
        return f"{self.least} to {self.most}"


def wilson(successes: int, trials: int, z: float = Z_95) -> Interval:
    """The interval of a share by the score of Wilson (JASA 22, 1927, 209-212); all of 0 to 1 without any trial.

    >>> found = wilson(8, 8)
    >>> round(found.low, 3), found.high
    (0.676, 1.0)
    """
    if trials == 0:
        return Interval(0.0, 1.0)
    share, squared = successes / trials, z * z
    middle = share + squared / (2 * trials)
    half = z * math.sqrt(share * (1 - share) / trials + squared / (4 * trials**2))
    whole = 1 + squared / trials
    # At none and at all one limit is exact; rounding would miss it by a hair.
    low = 0.0 if successes == 0 else (middle - half) / whole
    return Interval(low, 1.0 if successes == trials else (middle + half) / whole)


def levels_of(outcomes: Sequence[Outcome]) -> tuple[Level, ...]:
    """The prints by level, the lowest first."""
    found = []
    for least, most in LEVELS:
        results = [o.result for o in outcomes if least <= o.hold <= most]
        found.append(Level(least, most, *(results.count(r) for r in ("held", "broke", "closed"))))
    return tuple(found)


def against(levels: Sequence[Level]) -> tuple[str, ...]:
    """What speaks against the weights of hold, a line each: only what lies outside of chance at 95 %."""
    lines = []
    for level in levels:
        if level.least >= LEAST_THAT_HOLDS and level.interval.high < HALF:
            lines.append(
                f"of {level.printed} prints with a hold of {level.words}, which should hold, {level.held} did: hold"
                " promises too much here"
            )
        if level.most < LEAST_THAT_HOLDS and level.interval.low > HALF:
            lines.append(
                f"of {level.printed} prints with a hold of {level.words}, which should not hold, {level.held} did: hold"
                " is too strict here"
            )
    for k, lower in enumerate(levels):
        for higher in levels[k + 1 :]:
            if higher.interval.high < lower.interval.low:
                lines.append(
                    f"prints with a hold of {higher.words} held less often than those of {lower.words}: the weights"
                    " look wrong"
                )
    return tuple(lines)
