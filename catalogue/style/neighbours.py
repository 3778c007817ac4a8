"""How far faces lie from one another: along the axes in which labelled styles lie apart, and by their details."""

from __future__ import annotations

import numpy as np

from catalogue.style.model import SAME_DECIMALS, Model
from catalogue.style.vectors import DETAIL, STYLE, Vectors

SAME_DETAIL = 0.1
"""Standard deviations from which a detail is another one; how much more it differs then says nothing."""

AXES_COUNT, STYLE_COUNT, DETAILS_COUNT = 1.0, 2.0, 1.0
"""What the three distances count, each over its usual size: chosen by the five nearest of families outside training."""


def apart(vectors: Vectors, which: int, model: Model) -> Vectors:
    """Distance of every face to face ``which``: 0 is the same drawing, about 1 what two faces taken at random have.

    Three parts: the distance along the model's axes; the mean of the roots of all differences in style, in which many
    small agreements outweigh a few large gaps, so that a narrow or bold sibling stays a neighbour; and the details by
    which a design is known, which count only while they are nearly the same: a shared detail is a sign of kinship, a
    different one is a sign of nothing.
    """
    counts = np.array([AXES_COUNT, STYLE_COUNT, DETAILS_COUNT])
    parts = _parts(model.scale.standard(vectors), which, model) / model.usual
    away: Vectors = (parts * counts).sum(axis=1) / counts.sum()
    return away


def usual_distances(vectors: Vectors, model: Model) -> Vectors:
    """Medians of the three parts over pairs of faces, (3,)."""
    standard = model.scale.standard(vectors)
    every = np.concatenate([_parts(standard, k, model) for k in range(0, len(vectors), max(1, len(vectors) // 60))])
    usual: Vectors = np.median(every[every[:, 0] > 0], axis=0)
    return usual


def _parts(standard: Vectors, which: int, model: Model) -> Vectors:
    gaps = standard - standard[which]
    along = np.sqrt((np.round(gaps @ model.axes, SAME_DECIMALS) ** 2).mean(axis=1))
    style = np.sqrt(np.abs(gaps[:, STYLE])).mean(axis=1)
    details = np.sqrt(np.minimum(np.abs(gaps[:, DETAIL]) / SAME_DETAIL, 1)).mean(axis=1)
    return np.column_stack([along, style, details])
