"""The stack: base, middle and top, each the lettering at its own offset and height."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from catalogue.judge.hold import stray_mm
from catalogue.judge.process import Process

BASE_TOP_MM, MIDDLE_TOP_MM, TOP_TOP_MM = 2.794, 4.572, 6.350
"""Heights above the bed: 0.11, 0.18 and 0.25 in; common practice, no published source."""


@dataclass(frozen=True, slots=True)
class Layer:
    """One layer: the lettering offset outward by ``offset_mm``, up to ``top_mm`` above the bed."""

    layer: str
    offset_mm: float
    top_mm: float


def default_stack(base_offset_mm: float = 1.0) -> tuple[Layer, ...]:
    """Base 1.0 mm, middle half of it, top the letters themselves (common practice, no published source)."""
    return (
        Layer("base", base_offset_mm, BASE_TOP_MM),
        Layer("middle", base_offset_mm / 2, MIDDLE_TOP_MM),
        Layer("top", 0.0, TOP_TOP_MM),
    )


def words_apart_mm(stack: Sequence[Layer], process: Process) -> float:
    """How far words stand from each other at most, in mm.

    As far as lets a channel of the least gap run between their middle layers: so a reader sees two words where
    letters of one word touch or nearly do. Nearer where the base would then have no margin left: what joins with less
    to spare than a printed outline strays holds no tag.

    >>> from catalogue.judge.process import load_process
    >>> [words_apart_mm(default_stack(base), load_process("nozzle-0.4")) for base in (1.0, 0.5)]
    [1.5, 0.775]
    """
    offsets = sorted(layer.offset_mm for layer in stack)
    base, middle = offsets[-1], offsets[-2] if len(offsets) > 1 else 0.0
    with_margin = 2 * (base - stray_mm(process))
    return max(process.least_gap_mm, min(2 * middle + process.least_gap_mm, with_margin))
