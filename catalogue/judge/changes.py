"""What has to be changed for a name to hold, in a few words, predicted or fitted. Pure."""

from __future__ import annotations

import math
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Changes:
    """How far each lever moved from what was asked for; 0 where it did not."""

    thicken_mm: float = 0.0
    base_offset_mm: float = 0.0
    """Where the offset ended."""
    offset_more_mm: float = 0.0
    tracking_em: float = 0.0
    space_mm: float = 0.0
    """Taken out of every word space."""
    size: float = 1.0
    """Times the size asked for."""
    cap_height_mm: float = math.nan
    weight: str = ""
    """Of a variable face, where it is another."""

    @property
    def words(self) -> tuple[str, ...]:
        """One entry a change, in the order in which they are tried.

        >>> Changes(thicken_mm=0.15, base_offset_mm=1.3, offset_more_mm=0.3).words
        ('thicken 0.15 mm', 'offset 1.3 mm')
        """
        found = [
            (bool(self.weight), f"weight {self.weight}"),
            (self.thicken_mm > 0, f"thicken {self.thicken_mm:.2f} mm"),
            (self.space_mm > 0, f"words {self.space_mm:.1f} mm closer"),
            (self.tracking_em < 0, f"tracking {self.tracking_em:.3f} em"),
            (self.offset_more_mm > 0, f"offset {self.base_offset_mm:.4g} mm"),
            (abs(self.size - 1) > 1e-6, self._size_words()),
        ]
        return tuple(text for changed, text in found if changed)

    def _size_words(self) -> str:
        if math.isfinite(self.cap_height_mm):
            return f"capitals {self.cap_height_mm:.1f} mm"
        return f"{self.size:.2f} times the size"
