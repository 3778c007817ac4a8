"""The wall of styles: each group as a row of names, drawn in its faces, the most typical first. Pure."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from catalogue.page.pictures import UNITS_PER_EM, Picture
from catalogue.store.face import Face
from catalogue.style.groups import Decision
from catalogue.style.words import GROUPS
from catalogue.text import clean
from catalogue.wording import count_of

MOST_NAMES = 14
"""Families drawn on a shelf; the count says how many there are."""


@dataclass(frozen=True, slots=True)
class Shelf:
    """One group on the wall."""

    group: str
    meaning: str
    families: int
    faces: tuple[Face, ...]
    """One of each family, the most typical first, at most ``MOST_NAMES``."""
    count: int
    """Faces of the group, of all its families."""

    def data(self) -> dict[str, Any]:
        """The shelf as the browser gets it, without its names."""
        many = f"{count_of(self.count, 'face')} of {count_of(self.families, 'family', 'families')}"
        return {"style": self.group, "means": self.meaning, "many": many}


def shelves(faces: Sequence[Face], styles: Mapping[int, Decision]) -> list[Shelf]:
    """A shelf for each group that has one of the faces, in the order of the groups."""

    def typical(face: Face) -> float:
        style = styles.get(face.id)
        return style.probability if style is not None and style.group == face.group else 0.0

    found = []
    for word in GROUPS:
        members = sorted((f for f in faces if f.group == word.name), key=typical, reverse=True)
        if members:
            families = {f.family.casefold(): f for f in reversed(members)}
            first = tuple(f for f in members if families[f.family.casefold()] is f)
            found.append(Shelf(word.name, word.meaning, len(families), first[:MOST_NAMES], len(members)))
    return found


def names(shelf: Shelf, picture: Callable[[Face], Picture | None]) -> list[dict[str, Any]]:
    """The drawn names of a shelf. ``d`` is the path, ``b`` its box, ``c`` the cap height in the same units.

    A face whose font is gone is left out.
    """
    found = []
    for face in shelf.faces:
        drawn = picture(face)
        if drawn is None:
            continue
        left, top, right, bottom = drawn.box
        cap = face.cap_height_em * UNITS_PER_EM
        found.append({
            "i": face.id, "f": clean(face.family, 60), "s": clean(face.style, 40), "d": drawn.path,
            "b": [left, top, right, bottom],
            "c": round(cap, 1) if math.isfinite(cap) and cap > 0 else max(bottom - top, 1),
        })  # fmt: skip
    return found
