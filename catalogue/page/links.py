"""What an address carries: request, filters, faces, levers and look. Read and written here only. Pure.

A value that cannot be read counts as not given, for links outlive what they were made for; a line says which those are
and what stands in their place.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from typing import TypeVar
from urllib.parse import urlencode

from catalogue.judge.request import Request, Size
from catalogue.page.place import (
    FIRST,
    FIRST_OFFSET_MM,
    FIRST_PROCESS,
    FORMS,
    LAYERS,
    LEAST_HOLDS,
    LETTERS,
    MOST_CHOSEN,
    RINGS,
    SELL_FILTERS,
    SIZES,
    Filters,
    Hand,
    Look,
    Place,
    request,
)
from catalogue.tag.backing import BACKINGS
from catalogue.tag.colours import hex_of
from catalogue.tag.levers import by_hand_of
from catalogue.text import clean
from scanner.names import LONGEST_NAME
from scanner.units import parse_length_mm

LEAST_SIZE_MM, MOST_SIZE_MM = 2.0, 400.0
MOST_OFFSET_MM = 5.0
MOST_THICKEN_MM, MOST_TIGHTER_EM = 2.0, 0.3
LONGEST_FILTER = 80
_MOST_SHOWN = 6

Value = TypeVar("Value")

_KEYS = {
    "name": "name", "by": "size of the", "size": "size", "process": "process", "offset": "base offset",
    "sell": "sell verdict", "group": "group", "letters": "letters", "hold": "hold", "family": "family", "face": "face",
    "faces": "faces", "thicken": "thickening", "tracking": "tracking", "weight": "weight", "ring": "ring",
    "behind": "behind", "by_hand": "changes at single places", "line_spacing": "line spacing", "layers": "layers",
    "colours": "colours", "as": "form",
}  # fmt: skip
"""What an address may hold, and what the page calls it."""


class _Reader:
    """Parameters, read one by one; keeps what could not be read."""

    def __init__(self, parameters: Mapping[str, str]) -> None:
        self.parameters = parameters
        self.wrong: list[str] = []
        self.left_out = [f"“{clean(key, 30)}” (left out)" for key in parameters if key not in _KEYS]

    def one(
        self, key: str, parse: Callable[[str], Value | None], otherwise: Value, used: str = "all are shown"
    ) -> Value:
        """The value under a key; ``used`` says what stands in its place where it cannot be read."""
        text = self.parameters.get(key, "")
        if not text.strip():
            return otherwise
        value = parse(text)
        if value is None:
            self.wrong.append(f"{_KEYS[key]} “{clean(text, 30)}” ({used})")
            return otherwise
        return value

    @property
    def line(self) -> str:
        """What was not understood, in one line; empty when all was."""
        every = self.wrong + self.left_out
        more = f" and {len(every) - _MOST_SHOWN} more" if len(every) > _MOST_SHOWN else ""
        line = f"Not understood in this link: {', '.join(every[:_MOST_SHOWN])}{more}. Set here what you meant."
        return line if every else ""


def read(parameters: Mapping[str, str], processes: Collection[str]) -> Place:
    """The place an address names.

    >>> read({"name": "Zoë", "size": "0.5in", "process": "none"}, ("nozzle-0.4",)).asked.size
    Size(kind='cap-height', mm=12.7)
    """
    return read_and_report(parameters, processes)[0]


def read_and_report(
    parameters: Mapping[str, str], processes: Collection[str], groups: Collection[str] | None = None
) -> tuple[Place, str]:
    """The place, and a line on what was not understood, empty when all was. ``groups``: those there are, if known.

    >>> read_and_report({"size": "tall", "hue": "red"}, ("nozzle-0.4",))[1]
    'Not understood in this link: size “tall” (14 mm is used), “hue” (left out). Set here what you meant.'
    """
    reader = _Reader(parameters)
    asked = _request(reader, processes)
    filters = Filters(
        reader.one("sell", _of(SELL_FILTERS), ""), reader.one("group", _of(groups), ""),
        reader.one("letters", _of([k for k in LETTERS if k]), ""), reader.one("hold", _least_hold, 0),
        reader.one("family", _of(None), ""),
    )  # fmt: skip
    face = reader.one("face", lambda text: _number(text) or None, 0, "no face is opened")
    place = Place(asked, filters, face, _faces(reader), _hand(reader), _look(reader),
                  reader.one("as", _of(FORMS), "list", "the list is shown"))  # fmt: skip
    return place, reader.line


def _request(reader: _Reader, processes: Collection[str]) -> Request:
    # An empty name may be meant; one that is too long is cut.
    name = reader.parameters.get("name", FIRST.text).replace("\\n", "\n")
    if len(name) > LONGEST_NAME:
        reader.left_out.append(f"the end of the name (its first {LONGEST_NAME} characters are used)")
    first = FIRST.size
    return request(
        name[:LONGEST_NAME],
        Size(
            reader.one("by", _of(SIZES), first.kind, f"that of the {SIZES[first.kind]} is used"),
            reader.one("size", size_mm, first.mm, f"{first.mm:g} mm is used"),
        ),
        reader.one("process", _of(processes), FIRST_PROCESS, f"{FIRST_PROCESS} is used"),
        reader.one("offset", offset_mm, FIRST_OFFSET_MM, f"{FIRST_OFFSET_MM:g} mm is used"),
    )


def _faces(reader: _Reader) -> tuple[int, ...]:
    parts = [p for p in reader.parameters.get("faces", "").split(",") if p.strip()]
    faces = tuple(dict.fromkeys(_number(p) for p in parts if _number(p)))
    reader.left_out += [f"face “{clean(p, 30)}” (left out)" for p in parts if not _number(p)]
    if len(faces) > MOST_CHOSEN:
        reader.left_out.append(f"faces beyond the first {MOST_CHOSEN} (left out)")
    return faces[:MOST_CHOSEN]


def _hand(reader: _Reader) -> Hand:
    return Hand(
        reader.one("thicken", lambda text: _decimal(text, 0.0, MOST_THICKEN_MM), 0.0, "none is used"),
        reader.one("tracking", lambda text: _decimal(text, -MOST_TIGHTER_EM, 0.0), 0.0, "none is used"),
        reader.one("weight", lambda text: _decimal(text, 1.0, 1000.0), None, "that of the face is used"),
        reader.one("behind", _of(BACKINGS), "", "nothing is used"),
        reader.one("by_hand", _by_hand, (), "none are used"),
        reader.one("line_spacing", size_mm, 0.0, "as close as holds"),
    )


def _look(reader: _Reader) -> Look:
    first = Look()
    return Look(
        reader.one("ring", _of(RINGS), first.ring, f"{first.ring} is used"),
        reader.one("layers", lambda text: _number(text) if _number(text) in LAYERS else None, first.layers,
                   f"{first.layers} are used"),
        reader.one("colours", colours_of, first.colours, f"{' '.join(first.colours)} are used"),
    )  # fmt: skip


def write(place: Place) -> dict[str, str]:
    """The parameters of a place; what stands at its first value is left out, except the name."""
    asked, filters, hand, look, first = place.asked, place.filters, place.hand, place.look, Place()
    found = {
        "name": asked.text,
        "by": asked.size.kind if asked.size.kind != FIRST.size.kind else "",
        "size": f"{asked.size.mm:g}mm" if asked.size.mm != FIRST.size.mm else "",
        "process": asked.process.name if asked.process.name != FIRST_PROCESS else "",
        "offset": f"{asked.base_offset_mm:g}mm" if asked.base_offset_mm != FIRST_OFFSET_MM else "",
        "sell": filters.sell, "group": filters.group, "letters": filters.letters,
        "hold": str(filters.least_hold) if filters.least_hold else "", "family": filters.family,
        "face": str(place.face) if place.face else "", "faces": ",".join(map(str, place.chosen)),
        "thicken": f"{hand.thicken_mm:g}" if hand.thicken_mm else "",
        "tracking": f"{hand.tracking_em:g}" if hand.tracking_em else "",
        "weight": f"{hand.weight:g}" if hand.weight is not None else "",
        "behind": hand.behind, "by_hand": ",".join(hand.by_hand),
        "line_spacing": f"{hand.line_spacing_mm:g}mm" if hand.line_spacing_mm else "",
        "ring": look.ring if look.ring != first.look.ring else "",
        "layers": str(look.layers) if look.layers != first.look.layers else "",
        "colours": ",".join(look.colours) if look.colours != first.look.colours else "",
        "as": place.form if place.form != first.form else "",
    }  # fmt: skip
    return {k: v for k, v in found.items() if v or k == "name"}


def query(place: Place) -> str:
    """The address part that asks a route for the same listing in the same look."""
    return urlencode(write(Place(place.asked, place.filters, look=place.look)))


def size_mm(text: str) -> float | None:
    """A letter size or width, None when it is no length or out of bounds.

    >>> size_mm("14mm"), size_mm("1in"), size_mm("0.1mm"), size_mm("tall")
    (14.0, 25.4, None, None)
    """
    try:
        mm = parse_length_mm(text)
    except ValueError:
        return None
    return mm if LEAST_SIZE_MM <= mm <= MOST_SIZE_MM else None


def offset_mm(text: str) -> float | None:
    """An offset, None when it is no length or out of bounds. Nothing at all is an offset too.

    >>> offset_mm("0"), offset_mm("0.04in"), offset_mm("9mm")
    (0.0, 1.016, None)
    """
    if text.strip() in ("0", "0mm", "0in"):
        return 0.0
    try:
        mm = parse_length_mm(text)
    except ValueError:
        return None
    return round(mm, 4) if mm <= MOST_OFFSET_MM else None


def colours_of(text: str) -> tuple[str, str, str] | None:
    """Colours of base, middle and top, None where there are not three that are known.

    >>> colours_of("plum,#AABBCC,white"), colours_of("plum,white")
    (('plum', '#aabbcc', 'white'), None)
    """
    parts = [p.strip().casefold() for p in text.split(",")]
    try:
        hexes = [hex_of(p) for p in parts]
    except ValueError:
        return None
    return (parts[0], parts[1], parts[2]) if len(hexes) == 3 else None


def _of(allowed: Collection[str] | None) -> Callable[[str], str | None]:
    return lambda text: text if len(text) <= LONGEST_FILTER and (allowed is None or text in allowed) else None


def _least_hold(text: str) -> int | None:
    return _number(text) if _number(text) in LEAST_HOLDS else None


def _by_hand(text: str) -> tuple[str, ...] | None:
    try:
        return by_hand_of(text)
    except ValueError:
        return None


def _decimal(text: str, least: float, most: float) -> float | None:
    try:
        value = float(text)
    except ValueError:
        return None
    return value if least <= value <= most else None


def _number(text: str) -> int:
    text = text.strip()
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0
