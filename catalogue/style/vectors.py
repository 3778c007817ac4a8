"""Style vectors by name: (faces, ``len(FEATURES)``) as the catalogue stores them, and which numbers are compared."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanner.measures.features import DETAILS, FEATURES

Vectors = NDArray[np.float64]
Row = dict[str, float]

COUNTS = ("capitals", "smalls")
"""Numbers that say how many letters a face has, and nothing of their style."""

COMPARED = tuple(f for f in FEATURES if f not in COUNTS)
"""The numbers that the model reads, in the order of its own arrays."""

PLACES = np.array([FEATURES.index(f) for f in COMPARED])
"""Where the compared numbers stand in a vector."""

DETAIL = np.array([COMPARED.index(f) for f in DETAILS])
STYLE = np.array([k for k, f in enumerate(COMPARED) if f not in DETAILS and f != "legible"])
"""Places among the compared numbers: details by which a design is known, and all that make its style."""


def rows(vectors: Vectors) -> list[Row]:
    """The vectors by name."""
    return [dict(zip(FEATURES, v, strict=True)) for v in vectors.tolist()]


def row(vector: Vectors) -> Row:
    """One vector by name."""
    return rows(vector[None])[0]


def measured(vectors: Vectors) -> NDArray[np.bool_]:
    """Which faces have a style vector at all."""
    known: NDArray[np.bool_] = np.any(np.isfinite(vectors), axis=1) if len(vectors) else np.zeros(0, dtype=bool)
    return known
