"""What faces have to do with each other: family, style group, the next heavier instance of a variable font. Pure."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.store.face import Face

SELLABLE = ("yes", "yes-conditions")
NOT_GROUPED = ("", "not grouped")

WEIGHT_AXIS = "wght"
"""Tag of the weight axis (OpenType 1.9, registered design variation axes)."""


@dataclass(frozen=True, slots=True, eq=False)
class Kin:
    """All faces of a catalogue, (faces) in ascending order of their numbers."""

    faces: tuple[Face, ...]
    ids: NDArray[np.int64]
    family: NDArray[np.intp]
    """A number for each family."""
    group: NDArray[np.intp]
    """A number for each style group; -1 for a face that is in none."""
    sellable: NDArray[np.bool_]
    heavier: NDArray[np.intp]
    """Place of the next heavier instance of the same variable font; -1 where there is none."""

    @classmethod
    def of(cls, faces: Sequence[Face]) -> Kin:
        """Of the measured faces of a catalogue."""
        known = tuple(sorted(faces, key=lambda f: f.id))
        groups = _numbered(["" if f.group in NOT_GROUPED else f.group for f in known])
        return cls(
            known, np.array([f.id for f in known], dtype=np.int64),
            _numbered([f.family.casefold() for f in known]),
            np.where([f.group in NOT_GROUPED for f in known], -1, groups),
            np.array([f.sell in SELLABLE for f in known], dtype=bool), _heavier(known),
        )  # fmt: skip


def _numbered(names: Sequence[str]) -> NDArray[np.intp]:
    numbers: dict[str, int] = {}
    return np.array([numbers.setdefault(name, len(numbers)) for name in names], dtype=np.intp)


def _heavier(faces: Sequence[Face]) -> NDArray[np.intp]:
    """For each face the place of the next heavier instance: by strokes, since a default instance has no number."""
    found = np.full(len(faces), -1, dtype=np.intp)
    alike: dict[tuple[object, ...], list[int]] = defaultdict(list)
    for place, face in enumerate(faces):
        if face.variable and math.isfinite(face.median_stroke_em):
            others = tuple(sorted((k, v) for k, v in face.coordinates.items() if k != WEIGHT_AXIS))
            alike[face.path, face.face_index, others].append(place)
    for places in alike.values():
        places.sort(key=lambda k: faces[k].median_stroke_em)
        found[places[:-1]] = places[1:]
    return found
