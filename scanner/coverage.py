"""Which characters a face maps, as runs of code points: small enough to be stored for every face."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

MOST_RUNS = 65_536
"""Runs kept; a sound face of 30,000 letters has some thousands, and a table can claim half a million."""

Runs = tuple[int, ...]
"""First and last code point of each run, ascending, one after the other."""


def runs_of(code_points: NDArray[np.uint32]) -> Runs:
    """Runs of ascending code points.

    >>> runs_of(np.array([65, 66, 67, 97], dtype=np.uint32)), runs_of(np.array([], dtype=np.uint32))
    ((65, 67, 97, 97), ())
    """
    if not len(code_points):
        return ()
    cuts = np.flatnonzero(np.diff(code_points) != 1)
    first = code_points[np.concatenate([[0], cuts + 1])]
    last = code_points[np.concatenate([cuts, [len(code_points) - 1]])]
    return tuple(np.column_stack([first, last])[:MOST_RUNS].ravel().tolist())


def to_bytes(runs: Runs) -> bytes:
    """The stored form: 32-bit numbers, least significant byte first."""
    return np.array(runs, dtype="<u4").tobytes()


def covers(stored: bytes, text: str) -> bool:
    """Whether stored runs hold every character of a text.

    >>> covers(to_bytes((65, 67)), "ABBA"), covers(to_bytes((65, 67)), "ABDA"), covers(b"", "")
    (True, False, True)
    """
    runs = np.frombuffer(stored, dtype="<u4")
    asked = np.unique(np.array([ord(c) for c in text], dtype=np.uint32))
    at = np.searchsorted(runs[0::2], asked, side="right") - 1
    return bool(((at >= 0) & (asked <= runs[1::2][at] if len(runs) else False)).all())
