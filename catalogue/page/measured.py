"""A name that cannot be predicted, as a ranking: the faces measured for it, then those beyond the bound, unmeasured."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.measuring import blank, measure_covering
from catalogue.judge.ranking import Ranking
from catalogue.judge.request import Request
from catalogue.page.listing import RankedName
from catalogue.store.database import Store


def measured_name(store: Store, asked: Request, among: NDArray[np.int64]) -> RankedName:
    """The name over those of the faces ``among`` that have its letters. Opens fonts: for one thread at a time."""
    found = measure_covering(store, asked, among=among)
    rows = [*found.rows, *map(blank, found.unmeasured)]

    def column(values: list[float | None]) -> NDArray[np.float64]:
        return np.array([math.nan if v is None else v for v in values], dtype=np.float64)

    ranking = Ranking(
        ids=np.array([r.face.id for r in rows], dtype=np.int64), em_mm=column([r.em_mm for r in rows]),
        pieces=np.array([r.pieces for r in rows], dtype=np.int64),
        letter_parts=np.array([r.letter_parts for r in rows], dtype=np.int64),
        join_offset_mm=column([r.join_offset_mm for r in rows]), neck_mm=column([r.neck_mm for r in rows]),
        thinnest_stroke_mm=column([r.thinnest_stroke_mm for r in rows]), thin_share=np.zeros(len(rows)),
        smallest_counter_mm=column([r.smallest_counter_mm for r in rows]),
        hold=np.array([r.hold.hold for r in rows], dtype=np.int64),
        holds=np.array([r.hold.holds for r in rows], dtype=np.bool_), contextual=np.zeros(len(rows)),
        base_offset_mm=asked.base_offset_mm, process=asked.process, chained=False, asked=len(among),
        lacking=dict(found.lacking), left_out=found.left_out,
        unsized=np.array([f.id for f in found.unsized], dtype=np.int64),
    )  # fmt: skip
    return RankedName(ranking, frozenset(r.face.id for r in found.rows), found.troubles, predicted=False)
