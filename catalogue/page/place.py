"""Where a person is on the page: what is asked, which faces are shown and chosen, where the levers stand. Records only.

A place is kept in the session, in the address, and on disk until tomorrow.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

from catalogue.judge.process import Process, load_process
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.permission import Permission
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
FORMS = {"list": "list of measures", "board": "board of tags", "wall": "styles"}
RINGS = tuple(SIDES)
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


@dataclass(frozen=True, slots=True)
class Look:
    """Ring, layers and colours of a tag."""

    ring: str = "upper-left"
    layers: int = 3
    colours: tuple[str, str, str] = ("navy", "sky", "cream")
    """Of base, middle and top: a name or #rrggbb."""


@lru_cache(maxsize=32)
def process_of(name: str) -> Process:
    """A process profile by name; read from disk once."""
    return load_process(name)


def request(name: str, size: Size, process: str, offset_mm: float) -> Request:
    r"""A request from what the title block holds; lines of the name are parted by newlines.

    >>> request("Anna\nLee", Size("cap-height", 14.0), "nozzle-0.4", 1.0).lines
    ('Anna', 'Lee')
    """
    return Request.of(name, size, process_of(process), default_stack(offset_mm))


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
