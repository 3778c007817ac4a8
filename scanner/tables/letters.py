"""Arrays of one number a letter: loose parts, strokes, slits and counters."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon

from scanner.alphabet import CHARACTERS, QUANTILES, character_index
from scanner.measures.counters import holes_of, inscribed_diameters
from scanner.measures.joins import spanning_edges
from scanner.measures.strokes import letter_widths, quantiles_of, weighted_quantiles
from scanner.regions import as_array, polygons_of

INSCRIBED_TOLERANCE_EM = 0.001


@dataclass(frozen=True, slots=True, eq=False)
class Inside:
    """What lies inside each of some letters; lengths in the unit of the regions, NaN where there is nothing."""

    strokes: NDArray[np.float64]
    """(letters, quantiles) stroke widths at ``QUANTILES``."""
    length: NDArray[np.float64]
    """(letters) centre-line length."""
    slit: NDArray[np.float64]
    """(letters) narrow end (5th percentile) of the channels between the letter's own walls."""
    counter: NDArray[np.float64]
    """(letters) inscribed diameter of the smallest hole."""

    def quantiles(self, wanted: Sequence[float]) -> NDArray[np.float64]:
        """Stroke widths of all the letters together, by length; NaN where none was measured."""
        known = ~np.isnan(self.strokes[:, 0])
        if not known.any():
            return np.full(len(wanted), np.nan)
        shares = np.diff(QUANTILES, prepend=0.0, append=1.0)
        share = (shares[:-1] + shares[1:]) / 2
        mass = self.length[known, None] * share[None]
        return weighted_quantiles(self.strokes[known].ravel(), mass.ravel(), wanted)

    def smallest_counter(self) -> float:
        """The smallest hole of all; NaN where no letter has one."""
        return float(np.nanmin(self.counter)) if not np.isnan(self.counter).all() else float("nan")


def inside(regions: Sequence[MultiPolygon], upem: float) -> Inside:
    """Strokes, slits and counters of letters, each measured from its own region; unit of the regions."""
    widths, channels = letter_widths(regions, upem)
    holes = [(k, hole) for k, region in enumerate(regions) for hole in holes_of(region)]
    diameters = inscribed_diameters([hole for _, hole in holes], INSCRIBED_TOLERANCE_EM * upem)
    counter = np.full(len(regions), np.nan)
    for (k, _), diameter in zip(holes, diameters.tolist(), strict=True):
        counter[k] = np.fmin(counter[k], diameter)
    length = np.array([stroke.length for stroke in widths], dtype=np.float64)
    return Inside(quantiles_of(widths), length, quantiles_of(channels)[:, 1], counter)


def inside_alphabet(regions: Sequence[MultiPolygon], inked: NDArray[np.bool_], upem: float) -> Inside:
    """`inside` of all characters: an accented letter is as wide as its base, whose numbers it takes over."""
    count = len(CHARACTERS)
    plain = [k for k in np.flatnonzero(inked).tolist() if base_letter(CHARACTERS[k]) == CHARACTERS[k]]
    own = inside([regions[k] for k in plain], upem)
    every = Inside(
        np.full((count, len(QUANTILES)), np.nan), np.zeros(count), np.full(count, np.nan), np.full(count, np.nan)
    )
    filled = ((every.strokes, own.strokes), (every.length, own.length), (every.slit, own.slit))
    for whole, part in (*filled, (every.counter, own.counter)):
        whole[plain] = part
        for k in np.flatnonzero(inked).tolist():
            base = character_index().get(base_letter(CHARACTERS[k]), k)
            if base != k:
                whole[k] = whole[base]
    return every


def loose_parts(regions: Sequence[MultiPolygon], inked: NDArray[np.bool_]) -> NDArray[np.float64]:
    """(letters) longest spanning edge between a letter's own parts, 0 for one in one piece; NaN without ink."""
    own = np.full(len(regions), np.nan)
    own[inked] = 0.0
    shapes = as_array(regions)
    pieces = shapely.get_num_geometries(shapes)
    part = [shapely.get_geometry(shapes, k) for k in range(3)]
    two, three = np.flatnonzero(pieces == 2), np.flatnonzero(pieces == 3)  # accented letters: one call for all
    own[two] = shapely.distance(part[0][two], part[1][two])
    ways = [shapely.distance(part[a][three], part[b][three]) for a, b in ((0, 1), (0, 2), (1, 2))]
    own[three] = np.median(ways, axis=0)  # the tree of three leaves the longest way out
    for k in np.flatnonzero(pieces > 3).tolist():
        own[k] = float(spanning_edges(polygons_of(regions[k]))[0][0])
    return own


def base_letter(character: str) -> str:
    """The letter without its marks.

    >>> base_letter("é"), base_letter("ø")
    ('e', 'ø')
    """
    return unicodedata.normalize("NFD", character)[0]
