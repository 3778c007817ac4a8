"""Craft: how well a face is made, by what the scan measured of it, as a figure from 0 to 100 with its reasons. Pure.

It says nothing of style or taste: letters that European names need, stems and spaces of one width, contours without
roughness and specks, letters that can be told apart, and a family that is finished. Limits are our own (no source).
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.store.face import Face
from scanner.alphabet import LOWER_ACCENTED, UPPER, UPPER_ACCENTED
from scanner.measures.features import FEATURES

Array = NDArray[np.float64]

NAME_LETTERS = frozenset(UPPER + UPPER.lower() + UPPER_ACCENTED + LOWER_ACCENTED)
"""Letters of European names that the scan looks for."""

READABLE_FROM = 0.5
"""Share of letters that look most like themselves, from which a face is taken to be read at first sight."""


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the figure: full points at ``good``, none at ``poor``."""

    feature: str
    points: float
    good: float
    poor: float
    reason: str
    """What is said where less than half of the points are left."""


PARTS = (
    Part("letters", 25.0, 1.0, 0.55, "lacks letters of European names"),
    Part("stroke_spread", 15.0, 0.08, 0.35, "strokes differ from letter to letter"),
    Part("stem_spread", 10.0, 0.10, 0.45, "stems differ in width"),
    Part("gap_spread", 10.0, 0.12, 0.45, "uneven spacing"),
    Part("rough", 10.0, 0.15, 1.2, "rough contours"),
    Part("specks", 10.0, 0.0, 0.4, "specks in its letters"),
    Part("legible", 10.0, 0.9, 0.4, "letters look like others"),
    Part("finished", 5.0, 1.0, 0.0, "version below 1"),
)  # fmt: skip
"""What is looked at; a number that was not measured counts half."""

FAMILY_POINTS = 5.0
"""For a family of two styles or more."""


@dataclass(frozen=True, slots=True, eq=False)
class Craft:
    """Of all faces, (faces) each."""

    figure: Array
    readable: NDArray[np.bool_]
    shares: Array
    """(parts, faces) share of the points of each part."""

    def reasons(self, place: int) -> tuple[str, ...]:
        """What costs a face most."""
        return tuple(part.reason for part, share in zip(PARTS, self.shares[:, place], strict=True) if share < 0.5)


def craft_of(faces: Sequence[Face], features: Array) -> Craft:
    """The craft of faces; ``features`` (faces, features) in the order of ``FEATURES``, NaN where not measured."""
    styles = Counter(face.family.casefold() for face in faces)
    own = {
        "letters": np.array([1 - len(NAME_LETTERS.intersection(f.missing)) / len(NAME_LETTERS) for f in faces]),
        "finished": np.array([float(_version(f.version) >= 1) for f in faces]),
    }
    values = [own[p.feature] if p.feature in own else features[:, FEATURES.index(p.feature)] for p in PARTS]
    limits = np.array([[p.good, p.poor] for p in PARTS])
    shares = (np.array(values).reshape(len(PARTS), len(faces)) - limits[:, 1:]) / (limits[:, :1] - limits[:, 1:])
    shares = np.nan_to_num(np.clip(shares, 0.0, 1.0), nan=0.5)
    several = np.array([styles[face.family.casefold()] > 1 for face in faces], dtype=bool)
    figure = np.array([p.points for p in PARTS]) @ shares + np.where(several, FAMILY_POINTS, 0.0)
    legible = features[:, FEATURES.index("legible")]
    return Craft(figure, ~(legible < READABLE_FROM), shares)


def _version(text: str) -> float:
    """The number in a version string, 1 where there is none.

    >>> _version("Version 1.002; ttfautohint"), _version("0.5"), _version("")
    (1.002, 0.5, 1.0)
    """
    found = re.search(r"\d+(\.\d+)?", text)
    return float(found.group()) if found else 1.0
