"""How far the levers of a fit go, in which steps, and where they stop: what the fit and its prediction share."""

from __future__ import annotations

from dataclasses import dataclass

from catalogue.errors import LetterholdError

MOST_TRACKING_EM = 0.08
"""Tighter than this and letters of most faces run into each other."""

MOST_THICKEN_WALLS = 0.5
"""How far letters are thickened, in least walls."""

MOST_OFFSET = 2.0
SMALLEST, LARGEST = 0.6, 2.0
"""How far offset and size may go, as shares of the start."""

SPACE_STEP_MM, TRACKING_STEP_EM, THICKEN_STEP_MM, OFFSET_STEP_MM = 0.05, 0.002, 0.01, 0.02
WEIGHT_STEP = 25.0
SIZE_STEPS = 100
"""Of the start's size, in one of the start's size."""

LETTER_THIN_SHARE = 0.06
"""Share of one letter's ink that may be thinner than the least wall where letters are thickened: tips and joins."""

OPEN_SHARE = 0.5
"""Share of the least gap below which an opening surely fuses (check values: below about 0.3 mm at a 0.4 mm nozzle)."""

MOST_CLOSED = 0.5
"""Share of all openings in and between the letters that may fuse. Over the demo faces none is above it at capitals of
10 mm, one in twenty at 7 mm, five in six at 3.5 mm."""

CHANGES = ("weight", "thicken", "tracking", "offset", "size")
"""What may be changed, in the order it is tried. Words are always set closer where that is needed."""


@dataclass(frozen=True, slots=True)
class Reach:
    """What a person lets the fit change, and how far."""

    change: frozenset[str] = frozenset(CHANGES)
    """Of ``CHANGES``."""
    most_offset_mm: float | None = None
    """Of the base; None for twice the offset asked for."""

    @classmethod
    def of(cls, text: str) -> Reach:
        """From a list as ``thicken,offset``. Raises LetterholdError for a change that there is not.

        >>> sorted(Reach.of("offset, thicken").change)
        ['offset', 'thicken']
        """
        names = frozenset(name.strip().casefold() for name in text.split(",") if name.strip())
        unknown = sorted(names - set(CHANGES))
        if unknown:
            raise LetterholdError(f"change {unknown[0]!r} is not known; use any of {', '.join(CHANGES)}")
        return cls(names)

    def allows(self, change: str) -> bool:
        """Whether such a change may be made."""
        return change in self.change

    def most_offset_of(self, start_mm: float) -> float:
        """The widest offset of a base that starts at ``start_mm``; a bound below the start leaves it there."""
        most = MOST_OFFSET * start_mm if self.most_offset_mm is None else self.most_offset_mm
        return max(start_mm, most)
