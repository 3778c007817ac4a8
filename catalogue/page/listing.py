"""A ranking as the page lists it: filtered, and made into lines only where somebody looks. Pure."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.lacking import lacking_lines
from catalogue.judge.ranking import Ranking
from catalogue.store.face import Face


@dataclass(frozen=True, slots=True)
class Line:
    """One face of a listing; lengths in mm, NaN where not known. Without reasons: those take half the time of a row."""

    face: Face
    em_mm: float
    pieces: int
    join_offset_mm: float
    neck_mm: float
    thinnest_stroke_mm: float
    smallest_counter_mm: float
    hold: int
    holds: bool
    known: bool
    """False when the hold was neither predicted nor measured."""
    verified: bool
    """Measured, not predicted."""


@dataclass(frozen=True, slots=True, eq=False)
class RankedName:
    """A name over the catalogue, before the filters."""

    ranking: Ranking
    measured: frozenset[int] = frozenset()
    """Numbers of the faces measured in full, for a name that cannot be predicted; else empty."""
    troubles: tuple[str, ...] = ()
    """One line for each face that could not be measured."""
    predicted: bool = True


@dataclass(frozen=True, slots=True, eq=False)
class PageListing:
    """Ranked faces left by the filters, best first. Lines are made for what is shown only."""

    name: RankedName
    places: NDArray[np.int64]
    """Places of the ranking that pass the filters."""
    faces: dict[int, Face]
    revision: str = ""
    """Of the catalogue that was ranked; what is listed of another one has other lines."""

    @property
    def ranking(self) -> Ranking:
        """Every face ranked for the name, best first."""
        return self.name.ranking

    @property
    def ranked(self) -> int:
        """Faces ranked for the name, before the filters."""
        return len(self.ranking)

    @property
    def holding(self) -> int:
        """Faces of the listing that hold."""
        return int(self.ranking.holds[self.places].sum())

    def __len__(self) -> int:
        return len(self.places)

    def lines(self, start: int, stop: int) -> list[Line]:
        """Lines from ``start`` to before ``stop``."""
        r = self.ranking
        found = []
        for k in self.places[start:stop].tolist():
            number = int(r.ids[k])
            measured = number in self.name.measured
            found.append(
                Line(
                    self.faces[number], float(r.em_mm[k]), int(r.pieces[k]), float(r.join_offset_mm[k]),
                    float(r.neck_mm[k]), float(r.thinnest_stroke_mm[k]), float(r.smallest_counter_mm[k]),
                    int(r.hold[k]), bool(r.holds[k]), self.name.predicted or measured, measured,
                )
            )  # fmt: skip
        return found

    def every_face(self) -> list[Face]:
        """The faces left by the filters, best first."""
        return [self.faces[i] for i in self.ranking.ids[self.places].tolist()]

    @property
    def lacking(self) -> tuple[str, ...]:
        """What faces were left out for, a line each; none where every face has all letters."""
        r = self.ranking
        return lacking_lines(r.lacking, r.asked, r.left_out)

    @property
    def unsized(self) -> list[Face]:
        """Faces that have the letters but none of the height that the size is that of."""
        return [self.faces[i] for i in self.ranking.unsized.tolist() if i in self.faces]
