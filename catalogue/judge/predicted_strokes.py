"""Thin strokes of a name, predicted for all faces at once from stored stroke widths. Arrays in, arrays out.

A width counts by the area it stands for, which is its part of the centre line times the width: near to what an opening
takes away (``strokes``).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanner.alphabet import QUANTILES
from scanner.records import ABSENT, STEP_EM

Array = NDArray[np.float64]


TABLED_THIN_SHARE = 0.05
"""Share of the ink below the predicted thinnest stroke: more than ``hold.THIN_SHARE``, as widths along the centre lines
count the tips of corners, which an opening leaves. Of 0.02 to 0.08 this agrees best with what is measured, in the demo
faces as in 464 display faces of another maker (``bench/stroke_numbers.py``)."""

LETTER_TABLED_SHARE = 0.13
"""The same of one letter, where the fit lets ``reach.LETTER_THIN_SHARE`` be thinner (``bench/made_numbers.py``)."""


def thin_strokes(strokes: Array, length: Array, least_em: Array) -> tuple[Array, Array]:
    """Width below which ``TABLED_THIN_SHARE`` of the ink lies, and the share below ``least_em``; NaN and 0 if unknown.

    ``strokes`` (letters, quantiles, faces), ``length`` (letters, faces).
    """
    shares = np.diff(QUANTILES, prepend=0.0, append=1.0)
    weight = (shares[:-1] + shares[1:]) / 2
    letters, kept, count = strokes.shape
    values = strokes.reshape(letters * kept, count)
    mass = (np.nan_to_num(length)[:, None] * weight[:, None]).reshape(letters * kept, count) * np.nan_to_num(values)
    total = mass.sum(axis=0)
    share = (mass * (values < least_em)).sum(axis=0) / np.maximum(total, 1e-12)
    # Width and weight in one whole number: sorting needs no second array to be brought into the same order, which
    # took two thirds of the time. Widths come in steps of STEP_EM, weights in 60,000ths of the name's ink.
    width = np.nan_to_num(values / STEP_EM, nan=ABSENT)
    keys = (np.rint(width).astype(np.uint32) << 16) | np.rint(mass / np.maximum(total, 1e-12) * 60000).astype(np.uint32)
    keys = np.sort(np.ascontiguousarray(keys.T), axis=1)
    parts = np.cumsum(keys & 0xFFFF, axis=1)
    at = np.argmax(parts >= TABLED_THIN_SHARE * parts[:, -1:], axis=1)
    thin = (keys[np.arange(count), at] >> 16) * STEP_EM
    return np.where(total > 0, thin, np.nan), share


def thinnest_letter(strokes: Array) -> Array:
    """(faces) the least of the letters' own thin strokes, each the width below which ``LETTER_TABLED_SHARE`` of its ink
    lies; NaN where no letter was measured. ``strokes`` as in ``thin_strokes``.
    """
    shares = np.diff(QUANTILES, prepend=0.0, append=1.0)
    weight = (shares[:-1] + shares[1:]) / 2
    mass = np.cumsum(weight[:, None] * np.nan_to_num(strokes), axis=1)
    at = np.argmax(mass >= LETTER_TABLED_SHARE * mass[:, -1:], axis=1)[:, None]
    own = np.take_along_axis(strokes, at, axis=1)[:, 0]
    least: Array = np.fmin.reduce(np.where(mass[:, -1] > 0, own, np.nan), axis=0)
    return least
