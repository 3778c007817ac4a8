"""One order and what became of it."""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

from catalogue.errors import LetterholdError
from catalogue.tag.colours import DEFAULT_COLOURS
from catalogue.tag.ring_places import END

COLUMNS = (
    "order", "name", "face", "cap_height", "width", "line_spacing", "colours", "process", "ring", "behind", "by_hand",
    "quantity", "note",
)  # fmt: skip

MOST_QUANTITY = 1000
"""Pieces of one order."""

BEST = "best"
"""What stands for a face that is to be chosen."""


class OrdersError(LetterholdError):
    """An order file that cannot be read at all; the message ends with what to do."""


@dataclass(frozen=True, slots=True)
class Order:
    """One row. ``reason`` says what is wrong with it; empty when it can be made."""

    row: int
    """As a spreadsheet counts: the column names are row 1."""
    order: str
    name: str = ""
    face: str = BEST
    cap_height: str = ""
    width: str = ""
    colours: tuple[str, str, str] = DEFAULT_COLOURS
    process: str = ""
    ring: str = END
    quantity: int = 1
    """0 in a row that cannot be read."""
    note: str = ""
    reason: str = ""
    behind: str = ""
    """``plate`` or ``bar``; empty for neither."""
    by_hand: str = ""
    """As ``levers.by_hand_of`` reads it; empty for the usual changes, where nothing else holds."""
    line_spacing: str = ""

    @property
    def key(self) -> str:
        """Equal for two orders of the same tag, so that it is made once."""
        parts = (
            self.name, self.face, self.cap_height, self.width, *self.colours, self.process, self.ring, self.behind,
            self.by_hand, self.line_spacing,
        )  # fmt: skip
        return hashlib.sha256("\x1f".join(parts).encode("utf-8", "surrogatepass")).hexdigest()[:12]

    @property
    def takes_best(self) -> bool:
        """Whether the face is left to the ranking."""
        return self.face.casefold() == BEST


@dataclass(frozen=True, slots=True)
class Result:
    """What became of an order."""

    order: Order
    face: str = ""
    """The face it was made in, or tried in; empty when none was found."""
    hold: int = 0
    size_mm: tuple[float, float, float] = (0.0, 0.0, 0.0)
    mass_g: float = 0.0
    folder: str = ""
    reason: str = ""
    """Why it was not made; empty when it was."""

    @property
    def face_shown(self) -> str:
        """The face it was made or tried in, else the one that was asked for."""
        return self.face or self.order.face
