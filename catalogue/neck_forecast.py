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
    """Neck in em at ``offset`` in em, of shape (faces); 0 where the name comes apart there.

    ``gaps`` (faces, joints): the least distance each joint has to bridge, NaN where unknown. ``lens`` (faces, joints,
    widths): offset past half the gap for each of ``LENS_WIDTHS_EM``, NaN where unknown. ``own`` (faces, passages,
    own offsets): narrowest passages through letters at ``OWN_OFFSETS_EM``, NaN where unknown.
    """
    width = np.array(LENS_WIDTHS_EM)
    lens = np.where(np.isnan(lens), width**2 / (8 * UNKNOWN_RADIUS_EM), lens)
    start = np.nan_to_num(gaps) / 2
    joints = np.concatenate([start[:, :, None], start[:, :, None] + np.maximum.accumulate(lens, axis=2)], axis=2)
    needed = joints.max(axis=1, initial=0.0)
    square = np.concatenate([[0.0], width**2])
    # Knot by knot, all faces at once; beyond the last the last piece goes on.
    squared = np.zeros(len(offset))
    for k in range(len(width)):
        run = np.maximum(needed[:, k + 1] - needed[:, k], 1e-5)
        share = np.maximum(offset - needed[:, k], 0.0) / run
        if k < len(width) - 1:
            share = np.minimum(share, 1.0)
        squared += share * (square[k + 1] - square[k])
    return np.minimum(np.sqrt(squared), passage(own, offset).min(axis=1, initial=np.inf))


def passage(own: Array, offset: Array) -> Array:
    """Narrowest passage at ``offset``, shape (faces, passages); infinite where unknown.

    Between the stored offsets on a straight line; outside them a passage grows by twice the offset.
    """
    at = np.array(OWN_OFFSETS_EM)
    o = offset[:, None]
    found = own[:, :, 0] + 2 * np.minimum(o - at[0], 0.0) + 2 * np.maximum(o - at[-1], 0.0)
    for k in range(len(at) - 1):
        share = np.clip((o - at[k]) / (at[k + 1] - at[k]), 0.0, 1.0)
        found = found + share * (own[:, :, k + 1] - own[:, :, k])
    # An accented letter or a sign has none of its own.
    return np.where(np.isnan(found), np.inf, np.maximum(found, 0.0))
