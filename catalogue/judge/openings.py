"""Openings in and between the letters of a name, predicted for all faces from stored measures. Lengths in em."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.chain import PAIR, Chain
from catalogue.store.columns import Columns
from scanner.alphabet import character_index

Array = NDArray[np.float64]

TWO_COUNTERS = frozenset("B8&g")
"""Letters drawn with two holes in most faces; the table keeps the smaller."""

APERTURE_OVER_SLIT = 4.0
"""Median width of the channels between a letter's own walls over their narrow end, which the table keeps: of 1 to 9 the
share of openings that close agrees best (``bench/made_numbers.py``, families written from)."""


def openings_of(columns: Columns, letters: str, chain: Chain) -> Array:
    """Widths of the counters of ``letters``, of the channels between their own walls and of the gaps between them,
    (openings, faces); NaN where a face has no such opening.
    """
    index = character_index()
    counters = columns.take("counter", [(index[c],) for c in letters for _ in range(1 + (c in TWO_COUNTERS))])
    apertures = APERTURE_OVER_SLIT * columns.take("slit", [(index[c],) for c in letters])
    gaps = chain.gaps[chain.kinds == PAIR]
    return np.concatenate([counters, apertures, np.where(gaps > 0, gaps, np.nan)])
