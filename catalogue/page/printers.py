"""Printers as the page speaks of them: which there are, what they are called, and how one's own is kept."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import TYPE_CHECKING

from catalogue.errors import LetterholdError
from catalogue.judge.hold import stray_mm
from catalogue.judge.process import Process, built_in, load_process, profile_names
from catalogue.page.markup import Html, join, table, tag
from catalogue.text import clean

if TYPE_CHECKING:
    from collections.abc import Mapping

    from catalogue.tag.coupon.coupon import Coupon

_NOZZLE = "nozzle-"


def names() -> tuple[str, ...]:
    """Names of all profiles that can be read: the built-in ones, then the person's own."""
    return tuple(p.name for p in _readable())


def own() -> list[Process]:
    """The person's own profiles."""
    return [p for p in _readable() if p.name not in built_in()]


def _readable() -> Iterator[Process]:
    for name in profile_names():
        try:
            yield load_process(name)
        except LetterholdError:  # damaged by hand: ``unreadable`` says so where printers are looked after
            continue


def unreadable() -> list[str]:
    """What is wrong with own profiles that cannot be read, a line each."""
    found = []
    for name in profile_names():
        try:
            load_process(name)
        except LetterholdError as error:
            found.append(clean(str(error), 300))
    return found


def in_words(name: str) -> str:
    """What a printer is called to a person.

    >>> in_words("nozzle-0.4"), in_words("workshop")
    ('0.4 mm nozzle', 'workshop')
    """
    return f"{name.removeprefix(_NOZZLE)} mm nozzle" if name in built_in() else clean(name, 40)


@lru_cache(maxsize=8)
def coupon_of(process: Process) -> Coupon:
    """The coupon for a printer; geometry is loaded when it is asked for."""
    from catalogue.tag.coupon.coupon import make_coupon

    return make_coupon(process)


@lru_cache(maxsize=8)
def coupon_files(process: Process) -> Mapping[str, bytes]:
    """All files of its coupon by name."""
    from catalogue.tag.coupon.files import coupon_files as files

    return files(coupon_of(process))


def coupon_sheet(process: Process) -> Html:
    """The coupon's picture with its size, mass and time."""
    made = coupon_of(process)
    width, depth, height = made.size_mm
    drawing = coupon_files(process)["coupon.svg"].decode()
    words = (
        f"{width:.0f} × {depth:.0f} × {height:g} mm, {made.mass_g:.1f} g, about {made.print_minutes:.0f} minutes in one"
        " colour. The numbers on it are millimetres."
    )
    return join([tag("div", Html(drawing), class_="paper"), tag("p", words, class_="note")])


def printers_table() -> Html:
    """What each printer is taken to do."""
    rows = [
        (in_words(p.name), *(f"{mm:.2f}" for mm in (
            p.least_wall_mm, p.least_gap_mm, p.opening_mm, stray_mm(p), p.line_width_mm, p.layer_height_mm
        )))
        for p in _readable()
    ]  # fmt: skip
    head = ("printer", "least wall", "least gap", "least hole", "strays", "line", "layer")
    caption = "In mm. Nozzles alone are common practice for laid plastic; your own printers are as you measured them"
    return join([tag("h2", "What each printer is taken to do"), table(caption, head, rows, (1, 2, 3, 4, 5, 6))])
