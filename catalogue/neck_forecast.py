"""The neck of a name's base, foretold for all faces at once from what is stored without a size. Arrays in, arrays out.

A name hangs together by the weakest of its pairs, of its dots and of its letters. For every pair the offset is known
that necks of ``LENS_WIDTHS_EM`` need; the greatest over the name's pairs is what the name needs, and read the other way
round that is the neck at an offset. Between the widths the offset goes with the square of the neck, as for two discs
(check-values G14). Letters cap it: a disc must also get through each of them.

Mostly right within 0.02 em (`bench/neck_numbers.py`), and where it is wrong it is too narrow: letters two places apart
help each other, which pairs do not show. Contextual faces draw other letters than were measured.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanner.records import LENS_WIDTHS_EM, OWN_OFFSETS_EM

Array = NDArray[np.float64]

UNKNOWN_RADIUS_EM = 0.1
"""Pairs without a lens (digits, marks, ligatures) are taken for discs of this radius."""


def foretold_neck(gaps: Array, lens: Array, own: Array, offset: Array) -> Array:
    """Neck in em at ``offset`` in em, both of shape (faces); 0 where the name comes apart there.

    ``gaps`` (joints, faces): the least distance each joint has to bridge, NaN where unknown. ``lens`` (joints, widths,
    faces): offset past half the gap for each of ``LENS_WIDTHS_EM``, NaN where unknown. ``own`` (passages, own offsets,
    faces): narrowest passages through letters at ``OWN_OFFSETS_EM``, NaN where unknown.
    """
    width = np.array(LENS_WIDTHS_EM)
    square = np.concatenate([[0.0], width**2])
    start = np.nan_to_num(gaps) / 2
    last = start.max(axis=0, initial=0.0)
    squared = np.zeros_like(offset)
    # Knot by knot, all faces at once; beyond the last the last piece goes on.
    for k in range(len(width)):
        past = np.where(np.isnan(lens[:, k]), square[k + 1] / (8 * UNKNOWN_RADIUS_EM), lens[:, k])
        needed = np.maximum((start + past).max(axis=0, initial=0.0), last)
        share = np.maximum(offset - last, 0.0) / np.maximum(needed - last, 1e-5)
        if k < len(width) - 1:
            share = np.minimum(share, 1.0)
        squared += share * (square[k + 1] - square[k])
        last = needed
    neck: Array = np.minimum(np.sqrt(squared), passages(own, offset).min(axis=0, initial=np.inf))
    return neck


def passages(own: Array, offset: Array) -> Array:
    """Narrowest passages at ``offset``, shape (passages, faces); infinite where unknown.

    A base wider by d all round carries a neck wider by 2 d at least: so from one stored offset to the next. Where a
    counter closes in between the neck is wider yet, and how much is known from the next offset on.
    """
    at = np.array(OWN_OFFSETS_EM)
    found = own[:, 0] + 2 * (offset - at[0])
    for k in range(1, len(at)):
        found = np.where(offset >= at[k], np.maximum(found, own[:, k] + 2 * (offset - at[k])), found)
    return np.where(np.isnan(found), np.inf, np.maximum(found, 0.0))
