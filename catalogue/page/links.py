"""What an address carries: the job, the filters, the chosen faces. Read and written here only. Pure.

A value that cannot be read counts as not given, for links outlive what they were made for; a line tells which those are
and what stands in their place.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from typing import TypeVar
from urllib.parse import urlencode

from catalogue.judge.request import Size
from catalogue.page.catalogue_view import LETTERS, Filters, Job
from catalogue.text import clean
from scanner.names import LONGEST_NAME
from scanner.units import parse_length_mm

FIRST_NAME = "Marlie"
LINE_MARK = "\\n"
"""What starts a new line in a name, as for ``letterhold tag``."""
SIZES = {"cap-height": "capitals", "x-height": "small letters", "width": "whole width"}
FIRST_JOB = Job(FIRST_NAME, Size("cap-height", 14.0), "nozzle-0.4", 1.0)
LEAST_HOLDS = (50, 70, 85)
"""Holds that the ranking can be cut at."""
SELL_FILTERS = ("sellable", "yes", "yes-conditions", "ask", "no", "unknown")
ALL = Filters()
MOST_CHOSEN = 8
LEAST_SIZE_MM, MOST_SIZE_MM = 2.0, 400.0
MOST_OFFSET_MM = 5.0
LONGEST_FILTER = 80
_MOST_TOLD = 6

Value = TypeVar("Value")


_KEYS = {
    "name": "name", "by": "size of the", "size": "size", "process": "process", "offset": "base offset",
    "sell": "sell verdict", "group": "group", "letters": "script", "hold": "hold", "family": "family", "face": "face",
    "faces": "faces",
}  # fmt: skip
"""What an address may hold, and what the page calls it."""


@dataclass(frozen=True, slots=True)
class Place:
    """Everything an address says."""

    job: Job = FIRST_JOB
    filters: Filters = ALL
    face: int = 0
    chosen: tuple[int, ...] = ()


def read(parameters: Mapping[str, str], processes: Collection[str]) -> Place:
    """The place an address names.

    >>> read({"name": "Zoë", "size": "0.5in", "process": "none"}, ("nozzle-0.4",)).job
    Job(name='Zoë', size=Size(kind='cap-height', mm=12.7), process='nozzle-0.4', offset_mm=1.0)
    """
    return read_and_tell(parameters, processes)[0]


def read_and_tell(
    parameters: Mapping[str, str], processes: Collection[str], groups: Collection[str] | None = None
) -> tuple[Place, str]:
    """The same, and a line on what was not understood, empty when all was. ``groups``: those that there are, if known.

    >>> read_and_tell({"size": "tall", "hue": "red"}, ("nozzle-0.4",))[1]
    'Not understood in this link: size “tall” (14 mm is used), “hue” (left out). Set here what you meant.'
    """
    first = FIRST_JOB
    wrong = [f"“{clean(key, 30)}” (left out)" for key in parameters if key not in _KEYS]

    def one(key: str, parse: Callable[[str], Value | None], otherwise: Value, used: str) -> Value:
        text = parameters.get(key, "")
        value = parse(text) if text.strip() else None
        if value is None and text.strip():
            wrong.append(f"{_KEYS[key]} “{clean(text, 30)}” ({used})")
        return otherwise if value is None else value

    def of(allowed: Collection[str] | None) -> Callable[[str], str | None]:
        return lambda text: text if len(text) <= LONGEST_FILTER and (allowed is None or text in allowed) else None

    def whole(text: str) -> int | None:
        return _number(text) or None

    # A name that is too long is none; that there is none at all may be meant.
    name = parameters.get("name", first.name)
    if len(name) > LONGEST_NAME:
        wrong.append(f"the end of the name (its first {LONGEST_NAME} characters are used)")
    parts = [p for p in parameters.get("faces", "").split(",") if p.strip()]
    faces = tuple(dict.fromkeys(_number(p) for p in parts if _number(p)))
    wrong += [f"face “{clean(p, 30)}” (left out)" for p in parts if not _number(p)]
    if len(faces) > MOST_CHOSEN:
        wrong.append(f"faces beyond the first {MOST_CHOSEN} (left out)")
    place = Place(
        Job(
            name[:LONGEST_NAME],
            Size(
                one("by", of(SIZES), first.size.kind, f"that of the {SIZES[first.size.kind]} is used"),
                one("size", size_mm, first.size.mm, f"{first.size.mm:g} mm is used"),
            ),
            one("process", of(processes), first.process, f"{first.process} is used"),
            one("offset", offset_mm, first.offset_mm, f"{first.offset_mm:g} mm is used"),
        ),
        Filters(
            one("sell", of(SELL_FILTERS), "", "all are shown"),
            one("group", of(groups), "", "all are shown"),
            one("letters", of(LETTERS), "", "all are shown"),
            one("hold", lambda text: _number(text) if _number(text) in LEAST_HOLDS else None, 0, "all are shown"),
            one("family", of(None), "", "all are shown"),
        ),
        one("face", whole, 0, "no face is opened"),
        faces[:MOST_CHOSEN],
    )
    wrong = sorted(wrong, key=lambda line: line.endswith("(left out)"))
    more = f" and {len(wrong) - _MOST_TOLD} more" if len(wrong) > _MOST_TOLD else ""
    line = f"Not understood in this link: {', '.join(wrong[:_MOST_TOLD])}{more}. Set here what you meant."
    return place, line if wrong else ""


def write(place: Place) -> dict[str, str]:
    """The parameters of a place; what stands at its first value is left out, except the name."""
    job, filters, first = place.job, place.filters, FIRST_JOB
    found = {
        "name": job.name,
        "by": job.size.kind if job.size.kind != first.size.kind else "",
        "size": f"{job.size.mm:g}mm" if job.size.mm != first.size.mm else "",
        "process": job.process if job.process != first.process else "",
        "offset": f"{job.offset_mm:g}mm" if job.offset_mm != first.offset_mm else "",
        "sell": filters.sell, "group": filters.group, "letters": filters.letters,
        "hold": str(filters.least_hold) if filters.least_hold else "", "family": filters.family,
        "face": str(place.face) if place.face else "", "faces": ",".join(map(str, place.chosen)),
    }  # fmt: skip
    return {k: v for k, v in found.items() if v or k == "name"}


def query(job: Job, filters: Filters) -> str:
    """The address part that asks a route for the same listing."""
    return urlencode(write(Place(job, filters)))


def in_one_line(job: Job) -> Job:
    r"""The job with the lines of its name one after the other: what can be ranked of it.

    >>> in_one_line(Job(r"Anna\nBo", FIRST_JOB.size, "nozzle-0.4", 1.0)).name
    'AnnaBo'
    """
    return replace(job, name=job.name.replace(LINE_MARK, ""))


def without_face(place: Place) -> Place:
    """The place without its opened face."""
    return replace(place, face=0)


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


def _number(text: str) -> int:
    text = text.strip()
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0
