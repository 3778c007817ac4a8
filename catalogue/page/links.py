"""What an address carries: the job, the filters, the chosen faces. Read and written here only. Pure.

A value that cannot be read is left out, as if it were not in the address: links outlive what they were made for.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from urllib.parse import urlencode

from catalogue.page.shelf import LETTERS, Filters, Job
from catalogue.ranking import Size
from scanner.names import LONGEST_NAME
from scanner.units import parse_length_mm

FIRST_NAME = "Marlie"
SIZES = {"cap-height": "capitals", "x-height": "small letters", "width": "whole width"}
FIRST_JOB = Job(FIRST_NAME, Size("cap-height", 14.0), "nozzle-0.4", 1.0)
SELL_FILTERS = ("sellable", "yes", "yes-conditions", "ask", "no", "unknown")
ALL = Filters()
MOST_CHOSEN = 8
LEAST_SIZE_MM, MOST_SIZE_MM = 2.0, 400.0
MOST_OFFSET_MM = 5.0


@dataclass(frozen=True, slots=True)
class Place:
    """Everything an address says."""

    job: Job = FIRST_JOB
    filters: Filters = ALL
    face: int = 0
    chosen: tuple[int, ...] = ()


def read(parameters: Mapping[str, str], processes: tuple[str, ...]) -> Place:
    """The place an address names.

    >>> read({"name": "Zoë", "size": "0.5in", "process": "none"}, ("nozzle-0.4",)).job
    Job(name='Zoë', size=Size(kind='cap-height', mm=12.7), process='nozzle-0.4', offset_mm=1.0)
    """
    first = FIRST_JOB
    name = parameters.get("name", first.name)[:LONGEST_NAME]
    faces = (_number(part) for part in parameters.get("faces", "").split(","))
    kind = parameters.get("by", "")
    size = Size(kind if kind in SIZES else first.size.kind, size_mm(parameters.get("size", "")) or first.size.mm)
    process = parameters.get("process", "")
    if process not in processes:
        process = first.process
    offset = offset_mm(parameters.get("offset", ""))
    sell, letters = parameters.get("sell", ""), parameters.get("letters", "")
    return Place(
        Job(name, size, process, first.offset_mm if offset is None else offset),
        Filters(
            sell if sell in SELL_FILTERS else "", parameters.get("group", "")[:80],
            letters if letters in LETTERS else "",
            min(100, _number(parameters.get("hold", ""))), parameters.get("family", "")[:80],
        ),
        _number(parameters.get("face", "")),
        tuple(dict.fromkeys(n for n in faces if n))[:MOST_CHOSEN],
    )  # fmt: skip


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
