"""The neck of a name's base, foretold for all faces at once from what is stored without a size. Arrays in, arrays out.

A name hangs together by the weakest of its pairs, of its dots and of its letters. For every pair the offset is known
that necks of ``LENS_WIDTHS_EM`` need, and read the other way round that is the pair's neck at an offset. Between the
widths the offset goes with the square of the neck, as for two discs (check-values G14), up to a jump (G16). Letters cap
it: a disc must also get through each of them. Dots are held by their neighbours as well.

Mostly right within 0.02 em (`bench/neck_numbers.py`). What is missed: letters two places apart help each other, and the
narrowest way may run between a letter's counter and the ground beside its neighbour, which neither a pair nor a letter
shows alone. Contextual faces draw other letters than were measured.
"""

from __future__ import annotations

from collections.abc import Mapping

import numpy as np
from numpy.typing import NDArray

from scanner.records import LENS_WIDTHS_EM, OWN_OFFSETS_EM

Array = NDArray[np.float64]

LATE_EM = 0.006
"""Neighbours are taken to help a dot so much later than the raster says: they differ from those that stand for them."""

JUMP = 2.0
"""Between two widths so many times as steep as before them, the neck jumps at the second's offset (G16)."""

UNKNOWN_RADIUS_EM = 0.1
"""Pairs without a lens (digits, marks, ligatures) are taken for discs of this radius."""


def foretold_neck(
    gaps: Array, lens: Array, own: Array, offset: Array, held: Mapping[int, Array] | None = None
) -> Array:
    """Neck in em at ``offset`` in em, both of shape (faces); 0 where the name comes apart there.

    ``gaps`` (joints, faces): the least distance each joint has to bridge, NaN where unknown, minus infinity where a
    face has no such joint. ``lens`` (joints, widths,
    faces): offset past half the gap for each of ``LENS_WIDTHS_EM``, NaN where unknown. ``own`` (passages, own offsets,
    faces): narrowest passages through letters at ``OWN_OFFSETS_EM``, NaN where unknown. ``held``, for joints that
    neighbours help to hold: the neck by way of each of them, (neighbours, own offsets, faces), NaN where unknown.
    """
    square = np.concatenate([[0.0], np.array(LENS_WIDTHS_EM) ** 2])
    none = np.isneginf(gaps)
    past = offset - np.nan_to_num(gaps, neginf=0.0) / 2
    squared = np.zeros_like(past)
    last: Array | float = 0.0
    steep: Array | float = np.inf
    # Knot by knot, all joints and faces at once; beyond the last the last piece goes on.
    for k in range(len(LENS_WIDTHS_EM)):
        rise = square[k + 1] - square[k]
        needed = np.where(np.isnan(lens[:, k]), square[k + 1] / (8 * UNKNOWN_RADIUS_EM), lens[:, k])
        np.maximum(needed, last, out=needed)
        slope = rise / np.maximum(needed - last, 1e-5)
        run = np.maximum(past - last, 0.0)
        grown = np.minimum(slope, JUMP * steep) * run
        whole = past >= needed
        squared += np.where(whole, rise if k < len(LENS_WIDTHS_EM) - 1 else slope * run, grown)
        last, steep = needed, slope
    joints: Array = np.sqrt(squared)
    for joint, ways in (held or {}).items():
        lent = np.fmax.reduce(_sampled(ways, offset - LATE_EM, 0.0))
        joints[joint] = np.where(past[joint] > 0, np.fmax(joints[joint], lent), joints[joint])
    joints[none] = np.inf
    neck: Array = np.minimum(joints.min(axis=0, initial=np.inf), passages(own, offset).min(axis=0, initial=np.inf))
    return neck


def passages(own: Array, offset: Array) -> Array:
    """Narrowest passages at ``offset``, shape (passages, faces); infinite where unknown."""
    return np.nan_to_num(_sampled(own, offset, 0.5), nan=np.inf)


def _sampled(widths: Array, offset: Array, even: float) -> Array:
    """Widths known at ``OWN_OFFSETS_EM``, shape (..., own offsets, faces), at ``offset``; NaN where unknown.

    A base wider by d all round carries a neck wider by 2 d at least, and more where a counter closes: somewhere between
    two offsets. ``even`` is the share of that more that is taken as coming evenly, the rest only at the second offset.
    """
    first, step = OWN_OFFSETS_EM[0], OWN_OFFSETS_EM[1] - OWN_OFFSETS_EM[0]
    place = np.clip((offset - first) / step, 0.0, len(OWN_OFFSETS_EM) - 1)
    low = np.minimum(place.astype(np.intp), len(OWN_OFFSETS_EM) - 2)
    faces = np.arange(len(offset))
    below, above = widths[..., low, faces], widths[..., low + 1, faces]
    beyond = offset - first - place * step
    rise = above - below
    least = np.where(below > 0, np.minimum(rise, 2 * step), 0.0)
    share = place - low
    found = below + share * (least + even * (rise - least)) + np.where(below > 0, 2 * beyond, 0.0)
    return np.where(share < 1, np.maximum(found, 0.0), above + 2 * beyond)
