"""Style vectors by name: (faces, ``len(FEATURES)``) as the catalogue stores them, and which numbers are compared."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanner.measures.features import COUNTS, DETAILS, FEATURES

Vectors = NDArray[np.float64]
Row = dict[str, float]

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
