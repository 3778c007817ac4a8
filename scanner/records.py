"""The frozen records that pass between the steps."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from scanner.alphabet import (
    BESIDE_DOTS,
    CHARACTERS,
    DOTTED,
    LOWER,
    NEIGHBOURS,
    QUANTILES,
    UPPER,
    lens_pairs,
    pairs,
)
from scanner.errors import LetterholdError

STEP_EM = 0.0001
"""Resolution of stored lengths; 16 bits reach 6.5 em."""

BIAS_EM = 1.0
"""Added to stored ink ends, which may lie left of the letter's origin."""

ABSENT = 65535
"""Stored where there is nothing to measure."""

LENS_WIDTHS_EM = (0.05, 0.1, 0.16, 0.23, 0.3, 0.4)
"""Necks for which the offset they need is kept for every pair, beyond the pair's own join offset."""

OWN_OFFSETS_EM = tuple(k / 64 for k in range(2, 10))
"""Offsets at which a letter's own narrowest passage is kept, 0.031 to 0.141 em: evenly, whole pixels of its raster."""

_FINEST_EM = 0.2 / 250**2
"""Packed offsets go by squares, fine where they are small: 250 steps to 0.2 em."""

_WIDTH_EM = 0.004
"""Step of packed widths, which reach 1 em."""

Stored = NDArray[np.uint16]


def to_stored(values_em: NDArray[np.float64]) -> Stored:
    """Lengths in em to 16-bit steps; NaN becomes ABSENT."""
    steps = np.clip(np.rint(np.nan_to_num(values_em, nan=-1.0) / STEP_EM), 0, ABSENT - 1)
    return np.where(np.isnan(values_em), ABSENT, steps).astype(np.uint16)


def from_stored(values: Stored) -> NDArray[np.float64]:
    """16-bit steps back to em; ABSENT becomes NaN."""
    return np.where(values == ABSENT, np.nan, values * STEP_EM)


def packed(offsets_em: NDArray[np.float64]) -> NDArray[np.float64]:
    """Pairs of offsets, shape (..., 2 n), two to a stored value, shape (..., n); infinite and beyond 0.2 em as 0.203.

    >>> unpacked(packed(np.array([0.05, np.inf]))).round(4)
    array([0.05  , 0.2032])
    """
    return _paired(np.sqrt(np.minimum(offsets_em, 1.0) / _FINEST_EM))  # NaN stays NaN, and is stored as absent


def unpacked(values: NDArray[np.float64], axis: int = -1) -> NDArray[np.float64]:
    """Inverse of ``packed``, along any axis; NaN where nothing was stored."""
    steps = _single(values, axis)
    return steps * steps * _FINEST_EM


def packed_widths(widths_em: NDArray[np.float64]) -> NDArray[np.float64]:
    """Pairs of widths, two to a stored value, in even steps; infinite and beyond 1 em as 1.008.

    >>> unpacked_widths(packed_widths(np.array([0.25, np.inf]))).round(3)
    array([0.248, 1.008])
    """
    return _paired(np.minimum(widths_em, 2.0) / _WIDTH_EM)


def unpacked_widths(values: NDArray[np.float64], axis: int = -1) -> NDArray[np.float64]:
    """Inverse of ``packed_widths``, along any axis; NaN where nothing was stored."""
    return _single(values, axis) * _WIDTH_EM


def _paired(steps: NDArray[np.float64]) -> NDArray[np.float64]:
    whole = np.rint(steps).clip(0, 252)
    return np.asarray((whole[..., 0::2] * 256 + whole[..., 1::2]) * STEP_EM)


def _single(values: NDArray[np.float64], axis: int) -> NDArray[np.float64]:
    both = np.rint(values * (1 / STEP_EM))
    high = np.floor(both * (1 / 256))
    both -= 256 * high
    shape = list(values.shape)
    shape[axis] *= 2
    steps = np.empty(shape)
    pairs = np.moveaxis(steps, axis, 0)
    pairs[0::2], pairs[1::2] = np.moveaxis(high, axis, 0), np.moveaxis(both, axis, 0)
    return steps


@dataclass(frozen=True, slots=True)
class Table:
    """Per-letter and per-pair measures of one face, in em, as arrays over ``alphabet.CHARACTERS`` and ``pairs()``."""

    gaps: NDArray[np.float64]
    """(pairs) least distance between the two letters; 0 when they touch, NaN when the face lacks one."""
    own_join: NDArray[np.float64]
    """(characters) longest gap between the letter's own loose parts; 0 for a letter in one part."""
    dotted_edges: NDArray[np.float64]
    """(2, dotted, neighbours) longest spanning edge of i or j and the letter before (0) or after (1) it: a dot
    often lies nearer to a neighbour (Vi, Ti, il) than to its own stem. NaN where not measured."""
    counter: NDArray[np.float64]
    """(characters) inscribed diameter of the smallest hole; NaN without a hole."""
    slit: NDArray[np.float64]
    """(characters) narrow end (5th percentile) of the channels between the letter's own walls; NaN without one."""
    strokes: NDArray[np.float64]
    """(characters, quantiles) stroke widths at ``QUANTILES``; NaN when not measured."""
    length: NDArray[np.float64]
    """(characters) centre-line length, the weight of a letter in a word's distribution."""
    advance: NDArray[np.float64]
    """(characters) advance width of the letter set alone; a name's width is their sum, kerning left out."""
    left: NDArray[np.float64]
    """(characters) left end of the ink from the letter's origin, plus ``BIAS_EM`` so that it is never negative."""
    right: NDArray[np.float64]
    """(characters) right end of the ink from the letter's origin, plus ``BIAS_EM``."""
    lens: NDArray[np.float64]
    """(lens pairs, widths / 2) offset past half the gap at which the pair hangs together by each of
    ``LENS_WIDTHS_EM``, ``packed``."""
    dot_lens: NDArray[np.float64]
    """(dotted, widths / 2) the same for a dot and its stem."""
    own_necks: NDArray[np.float64]
    """(letters A-Z a-z, 2, own offsets / 2) narrowest passage from the letter's middle to its left and its right at
    ``OWN_OFFSETS_EM``, ``packed_widths``."""
    held_dots: NDArray[np.float64]
    """(2, ``BESIDE_DOTS``, own offsets / 2) neck of the dot of an i after or before such a neighbour, the same way."""

    def to_bytes(self) -> bytes:
        """The stored form: 16-bit steps of 0.0001 em, arrays one after the other."""
        return b"".join(to_stored(getattr(self, name)).tobytes() for name in table_shapes())

    @classmethod
    def from_bytes(cls, data: bytes) -> Table:
        """Inverse of ``to_bytes``. Raises LetterholdError when the length is not that of this version."""
        shapes = table_shapes()
        flat = np.frombuffer(data, dtype=np.uint16)
        if len(flat) != sum(int(np.prod(s)) for s in shapes.values()):
            raise LetterholdError("the stored measures are of another version; scan the fonts again")
        parts = {}
        at = 0
        for name, shape in shapes.items():
            size = int(np.prod(shape))
            parts[name] = from_stored(flat[at : at + size]).reshape(shape)
            at += size
        return cls(**parts)


def table_shapes() -> dict[str, tuple[int, ...]]:
    """Arrays of ``Table`` in stored order, with their shapes."""
    n = len(CHARACTERS)
    return {
        "gaps": (len(pairs()),),
        "own_join": (n,),
        "dotted_edges": (2, len(DOTTED), len(NEIGHBOURS)),
        "counter": (n,),
        "slit": (n,),
        "strokes": (n, len(QUANTILES)),
        "length": (n,),
        "advance": (n,),
        "left": (n,),
        "right": (n,),
        "lens": (len(lens_pairs()), len(LENS_WIDTHS_EM) // 2),
        "dot_lens": (len(DOTTED), len(LENS_WIDTHS_EM) // 2),
        "own_necks": (len(UPPER + LOWER), 2, len(OWN_OFFSETS_EM) // 2),
        "held_dots": (2, len(BESIDE_DOTS), len(OWN_OFFSETS_EM) // 2),
    }


@dataclass(frozen=True, slots=True)
class WordMeasures:
    """One test word in one face, measured in full; lengths in em."""

    word: str
    join_edges_em: tuple[float, ...]
    """The join curve: spanning-tree edges, longest first; pieces at offset r are 1 + count(edge > 2 r)."""
    voids: int
    """Spaces that the letters enclose between them."""


@dataclass(frozen=True, slots=True)
class FaceMeasures:
    """Everything measured of one face at one instance, without a size."""

    upem: int
    script: str
    """The script whose letters gave the numbers below, by its Unicode name: ``Latin`` for every face that has a letter
    from A to z; empty for one that has digits and no letters."""
    cap_height_em: float
    """NaN where there are no flat letters and the face states no height."""
    cap_height_of: str
    """The letters whose tops are the cap height: capitals, or the flat letters of another script; empty where the
    face's own statement was taken, or nothing."""
    x_height_em: float
    slant_deg: float
    """Lean to the right in degrees."""
    advances_variation: float
    """Spread of lower-case advances over their mean; 0 for a monospaced face."""
    median_stroke_em: float
    thinnest_stroke_em: float
    """5th percentile along the centre lines of the letters."""
    joining: float
    """Share of adjacent pairs of small letters (or of the letters of the face's own script) that touch or overlap, each
    pair equal."""
    letter_gap_em: float
    """Median gap of the same pairs (of all pairs where there are no small letters); NaN where none was measured."""
    smallest_counter_em: float
    contextual: float
    """Share of the test words' letters that the face draws otherwise there than between the same two neighbours:
    what letter pairs cannot predict."""
    table: Table
    words: tuple[WordMeasures, ...]
    missing: str
    """Characters of the alphabet that the face does not map, or maps to something without ink."""
    notes: tuple[str, ...] = ()
    """What could not be measured, and why."""
    style: tuple[float, ...] = ()
    """Scale-free style numbers in the order of ``measures.style.FEATURES``; NaN where not measurable."""


@dataclass(frozen=True, slots=True)
class FaceRecord:
    """A catalogue row in the making: which face it is, and its measures or the reason there are none."""

    path: str
    face_index: int
    instance: str
    """Name of the named instance; empty for a static face and the default instance."""
    coordinates: dict[str, float] = field(hash=False)
    family: str
    style: str
    version: str
    variable: bool
    letters: int
    """Number of code points the face maps."""
    measures: FaceMeasures | None
    reason: str = ""
    """Why there are no measures; empty when there are."""
    seconds: float = 0.0
    """CPU time spent on it."""
    covered: tuple[int, ...] = ()
    """First and last code point of each run of characters that the face maps (``coverage``)."""


@dataclass(frozen=True, slots=True)
class FileRecord:
    """All that one font file gave: its faces, or the reason it gave none."""

    path: str
    size: int
    mtime_ns: int
    digest: str
    """SHA-256 of the file's bytes; empty when it could not be read."""
    faces: tuple[FaceRecord, ...]
    reason: str = ""
    """Why the file gave no faces, or not all; from ``reasons.Reason``."""
    verdicts: dict[int, dict[str, Any]] = field(default_factory=dict, hash=False)
    """Licence verdict of each face index in its JSON form, where the scan was given a judge."""
