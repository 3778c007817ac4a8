"""What a record says besides the verdict: when it was looked at and by whom, and where the font was got from."""

from __future__ import annotations

import datetime
import os
from dataclasses import dataclass
from pathlib import Path

from catalogue.text import clean
from scanner.evidence import read_names
from scanner.evidence.debian import debian_package, debian_version
from scanner.evidence.package import package_of

_ADDRESS_FIELDS = {11: "the maker's address in the font", 12: "the designer's address in the font"}


@dataclass(frozen=True)
class Looked:
    """Facts of one look at a font, which the person knows."""

    when: datetime.date
    """The day; a `datetime.datetime` with a zone says the hour too."""
    note: str = ""
    """What the shop notes: an order, a use."""
    shop: str = ""
    """Who looked; "" when the shop has no name set."""
    got_from: str = ""
    """Where the font was got from, in the seller's words."""

    def day(self) -> str:
        """The day as a record writes it, with hour and zone where they are known.

        >>> Looked(datetime.date(2031, 5, 4)).day()
        '2031-05-04'
        """
        if isinstance(self.when, datetime.datetime):
            zone = "UTC" if not self.when.utcoffset() else "%Z (UTC%z)"
            return self.when.strftime(f"%Y-%m-%d %H:%M {zone if self.when.tzinfo else ''}").strip()
        return self.when.isoformat()


def now() -> datetime.datetime:
    """This minute, with the clock's zone."""
    return datetime.datetime.now().astimezone()


def got_from(font: Path, looked: Looked) -> list[str]:
    """Where a font came from: the seller's words, the package that holds it, the addresses it names; one line each."""
    out = [f"{clean(looked.got_from, 400)} (given by the seller)"] if looked.got_from else []
    folder = os.path.dirname(os.path.abspath(font))
    package = debian_package(folder, font.name)
    if package:
        out.append(f"Debian package {package} {debian_version(package)}".strip())
    name, version = package_of(folder)
    if name:
        out.append(f"Python package {name} {version}")
    seen: set[str] = set()
    for row in read_names(font):
        text = clean(row.text, 200)
        if row.name_id in _ADDRESS_FIELDS and text and text not in seen:
            seen.add(text)
            out.append(f"{text} ({_ADDRESS_FIELDS[row.name_id]})")
    return out or ["not known: note where you got it, with --got-from"]
