"""A name over the whole catalogue: predicted from the stored tables, all faces at once. Pure.

A name is a chain of pairs: its join offset is half the longest of the gaps of its adjacent letters and of the gaps
between each letter's own loose parts. The neck is that of its weakest pair or letter (``predicted_necks``). Both are
predictions; ``check`` measures.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.hold import SLIVER_EM, Hold, Sizes, SizesOfMany, judge, losses
from catalogue.judge.predicted_joins import chained, gaps, own_joins, plain_text
from catalogue.judge.predicted_necks import name_necks
from catalogue.judge.predicted_strokes import thin_strokes
from catalogue.judge.process import Process
from catalogue.judge.request import Request
from catalogue.judge.sizes import faces_em_mm, widest
from catalogue.judge.stack import words_apart_mm
from catalogue.store.columns import Columns
from catalogue.store.database import Face
from scanner.alphabet import character_index

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ranked:
    """One face with its prediction (or full measurement, when verified) for the name; lengths in mm."""

    face: Face
    em_mm: float
    pieces: int
    """Pieces of the base."""
    letter_parts: int
    """Pieces of the letters themselves."""
    join_offset_mm: float
    neck_mm: float | None
    thinnest_stroke_mm: float | None
    smallest_counter_mm: float | None
    hold: Hold
    verified: bool
    also: tuple[Face, ...] = ()
    """Other faces of the same design, the best-licensed first."""

    @property
    def holds(self) -> bool:
        """Whether the name holds as set."""
        return self.hold.holds

    @property
    def order(self) -> tuple[float, float, float, int]:
        """Best first: hold, then the margin of the join, then the stouter stroke."""
        return (-self.hold.hold, self.join_offset_mm, -(self.thinnest_stroke_mm or 0), self.face.id)


@dataclass(frozen=True, slots=True, eq=False)
class Ranking:
    """Predictions of a name, best face first. Arrays have the shape (faces); lengths in mm, NaN where not known."""

    ids: NDArray[np.int64]
    em_mm: Array
    pieces: NDArray[np.int64]
    """Pieces of the base."""
    letter_parts: NDArray[np.int64]
    """Pieces of the letters themselves."""
    join_offset_mm: Array
    neck_mm: Array
    thinnest_stroke_mm: Array
    thin_share: Array
    smallest_counter_mm: Array
    hold: NDArray[np.int64]
    holds: NDArray[np.bool_]
    contextual: Array
    """Share of test words that the face draws in another way than their letter pairs."""
    base_offset_mm: float
    process: Process
    chained: bool
    """Whether the tables know every pair of the name; else gaps are those of the letters' boxes."""
    asked: int
    """Faces asked in all."""
    lacking: dict[str, int]
    """Letters of the name, with the number of faces that lack them (those are not ranked)."""
    left_out: int
    """Faces that lack a letter of the name."""
    unsized: NDArray[np.int64]
    """Numbers of the faces that have the letters but cannot be sized as asked; they are not ranked."""

    def __len__(self) -> int:
        return len(self.ids)

    def row(self, place: int, face: Face) -> Ranked:
        """One place of the ranking with its reasons; ``face`` is the face of ``ids[place]``."""
        sizes = Sizes(
            join_offset_mm=float(self.join_offset_mm[place]),
            neck_mm=_or_none(self.neck_mm[place]),
            thinnest_stroke_mm=_or_none(self.thinnest_stroke_mm[place]),
            thin_share=float(self.thin_share[place]),
            smallest_counter_mm=_or_none(self.smallest_counter_mm[place]),
            base_offset_mm=self.base_offset_mm,
        )
        return Ranked(
            face, float(self.em_mm[place]), int(self.pieces[place]), int(self.letter_parts[place]),
            sizes.join_offset_mm, sizes.neck_mm, sizes.thinnest_stroke_mm, sizes.smallest_counter_mm,
            judge(sizes, self.process), False,
        )  # fmt: skip


def missing_letters(face: Face, name: str) -> list[str]:
    """Letters of the name that the face is known to lack."""
    return [c for c in dict.fromkeys(name) if c in face.missing]


def can_predict(name: str) -> bool:
    """Whether every letter of the name is in the stored alphabet; any other name has to be measured."""
    index = character_index()
    return all(c in index or c == " " for c in plain_text(name)) and bool(name.strip())


def rank(columns: Columns, request: Request, among: NDArray[np.int64] | None = None) -> Ranking:
    """Predicted ranking, best first, of all faces or of those whose ids are ``among``.

    Faces that lack a letter, or cannot be sized as asked, are left out and counted. Each face's numbers are what they
    would be without the others, whatever is stored of those. Raises FontError for a width that leaves no room.
    """
    process, base_offset = request.process, request.base_offset_mm
    text = plain_text(request.name)
    lines = [plain_text(line) for line in request.lines if line.strip()]
    index = character_index()
    letters = text.replace(" ", "")
    places = [(index[c],) for c in letters]
    advance = columns.take("advance", places)
    asked = np.isin(columns.ids, among) if among is not None else np.ones(len(columns), dtype=bool)
    absent = np.isnan(advance) & asked
    lacking = {c: n for c, n in zip(letters, absent.sum(axis=1).tolist(), strict=True) if n}
    em = faces_em_mm(columns, widest(advance, lines), request.size, base_offset)
    able = asked & ~absent.any(axis=0)
    sized = np.isfinite(em)
    em[~sized] = 1.0  # any number does: what follows goes over all faces, and these are left out of the answer

    apart = words_apart_mm(request.stack, process) / em
    parts = [(line, gaps(columns, line, apart), own_joins(columns, line)) for line in lines]
    near = np.full((len(lines) - 1, len(columns)), process.least_gap_mm)  # lines stand as near as they may
    edges = np.concatenate([*(np.nan_to_num(np.concatenate(part[1:])) * em for part in parts), near])
    join = edges.max(axis=0, initial=0.0) / 2
    thin, share = thin_strokes(
        columns.take("strokes", places), columns.take("length", places), process.least_wall_mm / em
    )
    counters = columns.take("counter", places)
    smallest = np.fmin.reduce(np.where(counters < SLIVER_EM, np.nan, counters), axis=0) * em
    necks_of = [name_necks(columns, line, between, own, base_offset / em) for line, between, own in parts]
    neck = np.minimum.reduce(necks_of) * em
    lost = losses(SizesOfMany(join, neck, thin * em, smallest, base_offset), process)

    order = np.lexsort((columns.ids, -np.nan_to_num(thin * em), join, -lost.hold))
    order = order[(able & sized)[order]]
    return Ranking(
        ids=columns.ids[order], em_mm=em[order], pieces=(1 + np.sum(edges > 2 * base_offset, axis=0))[order],
        letter_parts=(1 + np.sum(edges > 0, axis=0))[order], join_offset_mm=join[order], neck_mm=neck[order],
        thinnest_stroke_mm=(thin * em)[order], thin_share=share[order], smallest_counter_mm=smallest[order],
        hold=lost.hold[order], holds=lost.holds[order], contextual=columns.fact("contextual")[order],
        base_offset_mm=base_offset, process=process, chained=all(map(chained, lines)), asked=int(asked.sum()),
        lacking=lacking, left_out=int(absent.any(axis=0).sum()), unsized=columns.ids[able & ~sized],
    )  # fmt: skip


def necks(columns: Columns, name: str, offset_em: Array) -> Array:
    """Predicted neck in em of the base of a name at ``offset_em``; both of shape (faces)."""
    text = plain_text(name)
    return name_necks(columns, text, gaps(columns, text, offset_em), own_joins(columns, text), offset_em)


def _or_none(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
