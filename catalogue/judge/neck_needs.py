"""The offset from which a base has a neck of a given width, for all faces at once: ``predicted_necks`` the other way.

Arrays in, arrays out; lengths in em. A width differs from face to face, as millimetres do in ems.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.predicted_necks import lens_pieces
from scanner.records import OWN_OFFSETS_EM

Array = NDArray[np.float64]


def past_needed(lens: Array, width: Array) -> Array:
    """Offset past half the gap at which joints have necks of ``width``, (joints, faces); infinite is never returned.

    ``lens`` (joints, widths, faces): offset past half the gap for each of ``LENS_WIDTHS_EM``, NaN where unknown;
    ``width`` (faces).
    """
    wanted = width**2
    found = np.full((len(lens), len(width)), np.nan)
    for piece in lens_pieces(lens):
        more = np.maximum(wanted - piece.square, 0.0)
        # Up to the next width known; from there the neck is at least as wide, beyond the last the last piece goes on.
        beyond = np.maximum(piece.end, piece.start + more / piece.slope) if piece.is_last else piece.end
        here = piece.start + more / piece.least_slope
        here = np.where(here <= piece.end, here, beyond)
        within = np.isnan(found) & ((wanted <= piece.end_square) | piece.is_last)
        found = np.where(within, here, found)
    return found


def sampled_needed(widths: Array, width: Array, even: float) -> Array:
    """Offset at which widths known at ``OWN_OFFSETS_EM``, (ways, own offsets, faces), come to ``width`` (faces).

    Shape (ways, faces); minus infinity where unknown, which asks for nothing. ``even`` as in ``predicted_necks``.
    """
    step = OWN_OFFSETS_EM[1] - OWN_OFFSETS_EM[0]
    unknown = np.isnan(widths[:, 0])
    # Below the first offset known a base narrower by d all round carries a neck narrower by 2 d.
    first = widths[:, 0]
    found = np.where(first >= width, OWN_OFFSETS_EM[0] - np.maximum(first - width, 0.0) / 2, np.nan)
    for k in range(len(OWN_OFFSETS_EM) - 1):
        below, above = widths[:, k], widths[:, k + 1]
        rise = above - below
        least = np.where(below > 0, np.minimum(rise, 2 * step), 0.0)
        even_rise = least + even * (rise - least)
        share = (width - below) / np.where(even_rise > 1e-9, even_rise, np.inf)
        share = np.where((even_rise > 1e-9) & (share < 1), np.maximum(share, 0.0), 1.0)
        reached = np.isnan(found) & ((above >= width) | (share < 1))
        found = np.where(reached, OWN_OFFSETS_EM[k] + share * step, found)
    last = widths[:, -1]
    found = np.where(np.isnan(found), OWN_OFFSETS_EM[-1] + np.maximum(width - last, 0.0) / 2, found)
    return np.where(unknown, -np.inf, found)
