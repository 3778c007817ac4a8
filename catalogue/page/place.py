"""Where a person is on the page: what is asked, which faces are shown and chosen, where the levers stand. Records only.

A place is kept in the session, in the address, and on disk until tomorrow.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from catalogue.judge.process import load_process
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.permission import Permission
from catalogue.tag.levers import BY_HAND
from catalogue.tag.ring_places import SIDES

FIRST_NAME = "Marlie"
FIRST_PROCESS = "nozzle-0.4"
FIRST_OFFSET_MM = 1.0

SIZES = {"cap-height": "capitals", "x-height": "small letters", "width": "whole width"}
"""What a size is that of, in words."""

LETTERS = {"": "all", "joined": "joined script", "separate": "separate letters"}
LEAST_HOLDS = (50, 70, 85)
"""Holds that a list can be cut at."""
SELL_FILTERS = ("sellable", *Permission)
FORMS = {"list": "list", "board": "board", "wall": "styles"}
RINGS = tuple(SIDES)
HAND_WORDS = dict(
    zip(BY_HAND, ("plain forms", "gaps closed", "lines nearer", "bridges to marks", "bridged letters"), strict=True)
)
"""Changes at single places, in words."""
LAYERS = {3: "three colours", 2: "two colours", 1: "one colour"}
MOST_CHOSEN = 8


@dataclass(frozen=True, slots=True)
class Filters:
    """Which faces to show; empty means all."""

    sell: str = ""
    """"sellable", or one verdict."""
    group: str = ""
    letters: str = ""
    """joined or separate."""
    least_hold: int = 0
    family: str = ""
    """A part of family and style."""

    @property
    def count(self) -> int:
        """How many of them are set."""
        return sum(map(bool, (self.sell, self.group, self.letters, self.least_hold, self.family)))


@dataclass(frozen=True, slots=True)
class Hand:
    """Where the levers stand that a person moves by hand; size and offset are in the request."""

    thicken_mm: float = 0.0
    tracking_em: float = 0.0
    weight: float | None = None
    """Place on the weight axis of a variable face; None leaves the face as it is."""
    behind: str = ""
    """``plate`` or ``bar`` behind the name."""
    by_hand: tuple[str, ...] = ()
    """What may be changed at single places, of ``levers.BY_HAND``."""
    line_spacing_mm: float = 0.0
    """From baseline to baseline; 0 for lines as close as they hold."""


@dataclass(frozen=True, slots=True)
class Look:
    """Ring, layers and colours of a tag."""

    ring: str = RINGS[0]
    layers: int = 3
    colours: tuple[str, str, str] = ("navy", "sky", "cream")
    """Of base, middle and top: a name or #rrggbb."""


def request(name: str, size: Size, process: str, offset_mm: float) -> Request:
    r"""A request from what the title block holds; lines of the name are parted by newlines.

    >>> request("Anna\nLee", Size("cap-height", 14.0), "nozzle-0.4", 1.0).lines
    ('Anna', 'Lee')
    """
    return Request.of(name, size, load_process(process), default_stack(offset_mm))


FIRST = request(FIRST_NAME, Size("cap-height", 14.0), FIRST_PROCESS, FIRST_OFFSET_MM)


@dataclass(frozen=True, slots=True)
class Place:
    """Everything an address says."""

    asked: Request = FIRST
    filters: Filters = Filters()
    face: int = 0
    chosen: tuple[int, ...] = ()
    hand: Hand = Hand()
    look: Look = Look()
    form: str = "list"
    """How faces are shown to choose from, of ``FORMS``."""


def in_one_line(asked: Request) -> Request:
    """The request with its lines one after the other: what can be ranked of it."""
    return asked if len(asked.lines) == 1 else replace(asked, lines=(asked.name,))
