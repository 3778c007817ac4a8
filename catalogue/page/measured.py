"""A name that cannot be predicted: the first faces that have its letters are measured, the others only listed."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable
from contextlib import AbstractContextManager
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from catalogue.errors import LetterholdError
from catalogue.judge.hold import Hold
from catalogue.judge.ranking import Ranked, Ranking
from catalogue.judge.request import Request
from catalogue.judge.sizes import LEAST_HEIGHT_EM
from catalogue.page.listing import RankedName
from catalogue.store.database import Face

MOST_MEASURED = 60
"""Faces measured in full; measuring one takes some 20 ms."""


class Alone(Protocol):
    """Gives a face's font to one thread at a time."""

    def __call__(self, face: Face) -> AbstractContextManager[object]: ...


def measured_name(asked: Request, faces: Iterable[Face], alone: Alone) -> RankedName:
    """The name over the faces that have its letters."""
    from catalogue.judge.check import typesetter, verify

    rows: list[Ranked] = []
    lacking: Counter[str] = Counter()
    troubles: list[str] = []
    left_out = done = 0
    for face in faces:
        try:
            with alone(face):
                missing = typesetter(face).missing(asked.name)
                if missing:
                    left_out += 1
                    lacking.update(missing)
                    continue
                row = Ranked(face, _em_mm(asked, face), 0, math.nan, None, None, None, Hold(0, False, ()), False)
                if done < MOST_MEASURED:
                    row = verify(row, asked.name, asked.size, asked.process, asked.stack, asked.language)
                    done += 1
                rows.append(row)
        except LetterholdError as error:
            troubles.append(str(error))  # a font that is gone, or cannot set or size the name, has no line
    rows.sort(key=lambda r: (not r.verified, *r.order) if r.verified else (True, 0.0, 0.0, 0.0, r.face.id))
    ranking = _ranking(asked, rows, dict(lacking), left_out)
    return RankedName(ranking, frozenset(r.face.id for r in rows if r.verified), tuple(troubles), predicted=False)


def _em_mm(asked: Request, face: Face) -> float:
    sized = asked.size.kind == "cap-height" and face.cap_height_em > LEAST_HEIGHT_EM
    return asked.size.mm / face.cap_height_em if sized else math.nan


def _ranking(asked: Request, rows: list[Ranked], lacking: dict[str, int], left_out: int) -> Ranking:
    def column(values: list[float | None]) -> NDArray[np.float64]:
        return np.array([math.nan if v is None else v for v in values], dtype=np.float64)

    return Ranking(
        ids=np.array([r.face.id for r in rows], dtype=np.int64), em_mm=column([r.em_mm for r in rows]),
        pieces=np.array([r.pieces for r in rows], dtype=np.int64),
        join_offset_mm=column([r.join_offset_mm for r in rows]), neck_mm=column([r.neck_mm for r in rows]),
        thinnest_stroke_mm=column([r.thinnest_stroke_mm for r in rows]), thin_share=np.zeros(len(rows)),
        smallest_counter_mm=column([r.smallest_counter_mm for r in rows]),
        hold=np.array([r.hold.hold for r in rows], dtype=np.int64),
        holds=np.array([r.hold.holds for r in rows], dtype=np.bool_), contextual=np.zeros(len(rows)),
        base_offset_mm=asked.base_offset_mm, process=asked.process, lacking=lacking, left_out=left_out,
        unsized=np.empty(0, dtype=np.int64),
    )  # fmt: skip
