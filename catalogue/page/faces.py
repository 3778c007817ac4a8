"""Which faces pass the filters: what the filters ask, one entry a face. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.letters import joined
from catalogue.page.place import Filters
from catalogue.permission import MAY_BE_SOLD
from catalogue.store.face import Face


@dataclass(frozen=True, slots=True, eq=False)
class Facts:
    """What the filters ask; arrays have the shape (faces), in the order of the faces' numbers."""

    ids: NDArray[np.int64]
    sell: NDArray[np.str_]
    joined: NDArray[np.bool_]
    group: NDArray[np.str_]
    titles: tuple[str, ...]

    @classmethod
    def of(cls, faces: tuple[Face, ...]) -> Facts:
        """The facts of faces, given by number."""
        return cls(
            np.array([f.id for f in faces], dtype=np.int64), np.array([f.sell for f in faces], dtype=np.str_),
            np.array([joined(f) for f in faces], dtype=np.bool_),
            np.array([f.group for f in faces], dtype=np.str_), tuple(f.title.casefold() for f in faces),
        )  # fmt: skip


def passing(facts: Facts, filters: Filters) -> NDArray[np.bool_]:
    """(faces) whether each passes all filters but the one on hold, which asks the ranking."""
    keep = np.ones(len(facts.ids), dtype=np.bool_)
    if filters.sell == "sellable":
        keep &= np.isin(facts.sell, MAY_BE_SOLD)
    elif filters.sell:
        keep &= facts.sell == filters.sell
    if filters.group:
        keep &= facts.group == filters.group
    if filters.letters:
        keep &= facts.joined == (filters.letters == "joined")
    words = filters.family.casefold().split()
    if words:
        keep &= np.array([all(w in title for w in words) for title in facts.titles], dtype=np.bool_)
    return keep
