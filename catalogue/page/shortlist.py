"""The shortlist: faces kept for later with a note, over names and days. Known again by the font's bytes."""

from __future__ import annotations

import datetime
from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from typing import Any

from catalogue.page.desk import Desk
from catalogue.store.face import Face

NAME = "shortlist"
MOST_NOTE = 400


@dataclass(frozen=True, slots=True)
class Kept:
    """One face that was kept."""

    mark: str
    """Digest of the font, index and instance: the same face after another scan."""
    title: str
    name: str
    """The name it was kept for."""
    day: str
    note: str = ""


def mark_of(face: Face) -> str:
    """What a face is known again by."""
    return f"{face.digest}#{face.face_index}#{face.instance}"


class Shortlist:
    """The kept faces of a desk, the newest first."""

    def __init__(self, desk: Desk) -> None:
        self._desk = desk

    def entries(self) -> list[Kept]:
        """All of them."""
        return [k for k in map(_read, self._desk.read(NAME, [])) if k is not None]

    def keep(self, face: Face, name: str, on: bool = True) -> None:
        """Keep a face for a name, or keep it no longer."""
        mark = mark_of(face)
        others = [k for k in self.entries() if k.mark != mark]
        if on:
            today = datetime.date.today().isoformat()
            others.insert(0, Kept(mark, face.title, " ".join(name.split()), today))
        self._write(others)

    def drop(self, mark: str) -> None:
        """Keep one no longer."""
        self._write([k for k in self.entries() if k.mark != mark])

    def note(self, mark: str, note: str) -> None:
        """Write a note to one."""
        self._write([replace(k, note=note[:MOST_NOTE]) if k.mark == mark else k for k in self.entries()])

    def numbers(self, faces: Iterable[Face]) -> list[int]:
        """Numbers of the catalogue's faces that are kept, the newest first."""
        entries = self.entries()
        by_mark = {mark_of(f): f.id for f in faces} if entries else {}
        return [by_mark[k.mark] for k in entries if k.mark in by_mark]

    def _write(self, entries: list[Kept]) -> None:
        self._desk.write(NAME, [asdict(k) for k in entries])


def _read(row: Any) -> Kept | None:
    try:
        return Kept(**{k: str(v) for k, v in row.items()})
    except (TypeError, AttributeError):
        return None
