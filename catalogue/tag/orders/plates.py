"""Where tags lie on the beds they are printed on. Pure; mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

SPACING_MM = 5.0
"""Between tags, and from the edge of the bed."""


@dataclass(frozen=True, slots=True)
class Place:
    """Where the lower left corner of a tag goes on its plate."""

    plate: int
    x_mm: float
    y_mm: float


def plate(
    sizes: Sequence[tuple[float, float]], bed_mm: tuple[float, float], spacing_mm: float = SPACING_MM
) -> list[Place | None]:
    """Rows of boxes, the deepest first, a new plate when one is full; None for what is larger than the bed.

    >>> plate([(100, 20)] * 3, (220, 50), 5)
    [Place(plate=0, x_mm=5, y_mm=5), Place(plate=0, x_mm=110, y_mm=5), Place(plate=1, x_mm=5, y_mm=5)]
    """
    places: list[Place | None] = [None] * len(sizes)
    number, x, y, deep = 0, spacing_mm, spacing_mm, 0.0
    for k in sorted(range(len(sizes)), key=lambda k: (-sizes[k][1], -sizes[k][0], k)):
        width, depth = sizes[k]
        if not lies_on((width, depth), bed_mm, spacing_mm):
            continue
        if x + width + spacing_mm > bed_mm[0]:
            x, y, deep = spacing_mm, y + deep + spacing_mm, 0.0
        if y + depth + spacing_mm > bed_mm[1]:
            number, x, y, deep = number + 1, spacing_mm, spacing_mm, 0.0
        places[k] = Place(number, x, y)
        x += width + spacing_mm
        deep = max(deep, depth)
    return places


def lies_on(size_mm: tuple[float, float], bed_mm: tuple[float, float], spacing_mm: float = SPACING_MM) -> bool:
    """Whether a tag lies on a bed along its sides, the spacing all round it."""
    return all(size + 2 * spacing_mm <= bed for size, bed in zip(size_mm, bed_mm, strict=True))
