"""What is on a coupon: widths of walls, gaps, holes and necks in mm. Common practice, no published source.

The steps lie around what is usual for laid plastic: walls of one to two lines, gaps that fuse below 0.3 mm, holes that
come out small up to 2 mm.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from catalogue.judge.process import Process

WALLS_MM = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 1.0, 1.2)
GAPS_MM = (0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5, 0.6)
HOLES_MM = (0.3, 0.5, 0.7, 0.8, 1.0, 1.2, 1.5, 2.0)
NECKS_MM = (0.4, 0.6, 0.9, 1.2)
"""Each once with a straight stem and once between two round shapes."""

USUAL_NOZZLE_MM, MOST_GROWTH = 0.4, 3.0
"""The steps are for nozzles up to this; above it they grow with the nozzle, as far as there is room."""


@dataclass(frozen=True, slots=True)
class Sizes:
    """The steps of one coupon, narrowest first, in mm."""

    walls_mm: tuple[float, ...]
    gaps_mm: tuple[float, ...]
    holes_mm: tuple[float, ...]
    necks_mm: tuple[float, ...]


def sizes_for(process: Process) -> Sizes:
    """The steps for a printer.

    >>> from catalogue.judge.process import load_process
    >>> sizes_for(load_process("nozzle-0.25")).walls_mm[0], sizes_for(load_process("nozzle-0.8")).walls_mm[-1]
    (0.3, 2.4)
    """
    factor = min(max(1.0, process.nozzle_mm / USUAL_NOZZLE_MM), MOST_GROWTH)
    if factor == 1.0:
        return Sizes(WALLS_MM, GAPS_MM, HOLES_MM, NECKS_MM)
    gaps = tuple(_rounded(factor * mm, 0.05 if factor * mm < 1 else 0.1) for mm in GAPS_MM)
    others = (tuple(_rounded(factor * mm, 0.1) for mm in steps) for steps in (WALLS_MM, HOLES_MM, NECKS_MM))
    walls, holes, necks = others
    return Sizes(walls, gaps, holes, necks)


def _rounded(mm: float, step_mm: float) -> float:
    """To steps that take three figures at most, a half upwards."""
    return round(math.floor(mm / step_mm + 0.5 + 1e-9) * step_mm, 2)


def size_text(mm: float) -> str:
    """A size as it stands on the coupon: mm, no leading zero, one decimal at least so that none looks like a wall.

    >>> [size_text(mm) for mm in (0.05, 0.3, 1.2, 2.0)]
    ['.05', '.3', '1.2', '2.0']
    """
    return (f"{mm:g}" if round(mm, 1) != mm else f"{mm:.1f}").removeprefix("0")
