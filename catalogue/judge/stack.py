"""The stack: base, middle and top, each the lettering at its own offset and height."""

from __future__ import annotations

from dataclasses import dataclass

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
