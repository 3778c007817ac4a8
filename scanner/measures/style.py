"""Style of a face as a vector of scale-free numbers: what groups and neighbours are made from.

Everything comes from what the scan already holds: the regions of the 52 letters and the face's table. Lengths are
fractions of the cap height or of the median stroke, angles are degrees, the rest are shares. A number that the face
does not give (no small letters, no feet) is NaN. Letters are set upright by the measured slant before they are
painted, so that an italic's stems and symmetry are judged as its upright's are.

The order and the definition of each number stand in ``features.py``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.alphabet import LOWER, QUANTILES, UPPER, pair_index
from scanner.measures.contour_style import contour_numbers
from scanner.measures.features import FEATURES, RATIOS
from scanner.measures.feet import feet_numbers
from scanner.measures.letter_outlines import AT, LETTERS, NAN, Floats, LetterOutlines, as_array, median
from scanner.measures.painted_letters import PaintedLetters, legible, likeness
from scanner.measures.stems import stem_numbers
from scanner.records import Table

FILLED_FROM = 0.6
"""Share of hollow letters from which a face is read by its filled shapes as well."""

FEW_SMALLS = 10
"""Small letters below which a face is one of capitals: they stand in for the small letters."""

_BOWLS = "ABDOPQRabdegopq"
_SOLID = "CEFGHIJKLMNSTUVWXYZcfhijklmnrstuvwxyz"


def style_features(
    regions: Sequence[BaseGeometry], advances: Floats, table: Table, upem: float, cap_em: float, x_em: float
) -> NDArray[np.float32]:
    """The vector of one face, in the order of ``FEATURES``; NaN where there is nothing to measure.

    ``regions`` and ``advances`` are those of ``alphabet.CHARACTERS``, in font units, capitals and small letters first;
    ``table`` is the face's table, heights are in em. Without a cap height the ink of the letters stands in for it.
    """
    letters = list(regions[: len(LETTERS)])
    inked = ~shapely.is_empty(as_array(letters))
    values = dict.fromkeys(FEATURES, NAN)
    values |= {"capitals": float(inked[:26].sum()), "smalls": float(inked[26:].sum())}
    if not inked.any():
        return np.array(list(values.values()), dtype=np.float32)
    capitals_only = values["smalls"] < FEW_SMALLS and values["capitals"] >= 2 * FEW_SMALLS
    if capitals_only:  # the capitals stand in for the small letters
        letters, inked = 2 * letters[:26], np.tile(inked[:26], 2)
        advances, table = np.tile(advances[:26], 2), _capitals_twice(table)
    if not (np.isfinite(cap_em) and cap_em > 0):
        cap_em = max(float(np.nanmax([r.bounds[3] for r in letters if not r.is_empty])) / upem, 0.01)
    x_em = cap_em if capitals_only else x_em
    outlines = LetterOutlines(letters, cap_em * upem)
    values |= _proportions(outlines, advances[: len(LETTERS)], inked, upem, cap_em, x_em)
    values |= _strokes(table, cap_em)
    values |= _joins(table, x_em)
    values |= contour_numbers(outlines, values["stroke"])
    drawn = PaintedLetters(outlines, outlines.whole)
    values |= feet_numbers(drawn)
    values |= stem_numbers(drawn)
    boxes = drawn.boxed()
    values |= likeness(boxes)
    values |= _build(letters, inked)
    values["legible"] = legible(boxes)
    if values["hollow"] > FILLED_FROM:
        values["legible"] = max(values["legible"], legible(PaintedLetters(outlines, outlines.outer).boxed()))
    return np.array([values[name] for name in FEATURES], dtype=np.float32)


def _proportions(
    outlines: LetterOutlines, advances: Floats, inked: NDArray[np.bool_], upem: float, cap_em: float, x_em: float
) -> dict[str, float]:
    upper, lower = slice(0, 26), slice(26, 52)
    advance = np.where(inked & (advances > 0), advances / upem, np.nan)
    box = outlines.boxes()
    width = (box[:, 2] - box[:, 0]) * cap_em
    low, high = box[:, 1], box[:, 3]
    has_lower = np.isfinite(advance[lower]).sum() >= 13
    has_upper = np.isfinite(advance[upper]).sum() >= 13
    x = x_em if np.isfinite(x_em) and x_em > 0 else NAN

    def one(values: Floats, letters: str) -> float:
        return median(values[[AT[c] for c in letters]])

    def spread(values: Floats, letters: str) -> float:
        chosen = values[[AT[c] for c in letters]]
        chosen = chosen[np.isfinite(chosen)]
        return float(np.std(chosen)) if len(chosen) >= 4 else NAN

    tall, heavy = high - low, width / cap_em
    mean_lower = float(np.nanmean(advance[lower])) if has_lower else NAN
    mean_upper = float(np.nanmean(advance[upper])) if has_upper else NAN
    return {
        "x_height": x / cap_em if has_lower else NAN,
        "ascender": one(high, "bdfhkl"),
        "descender": -one(low, "gjpqy"),
        "width_lower": mean_lower / x,
        "width_upper": mean_upper / cap_em,
        "width_spread_lower": float(np.nanstd(advance[lower])) / mean_lower if has_lower else NAN,
        "width_spread_upper": float(np.nanstd(advance[upper])) / mean_upper if has_upper else NAN,
        "width_i_m": float(advance[AT["i"]] / advance[AT["m"]]),
        "aspect_o": float(heavy[AT["o"]] / tall[AT["o"]]),
        "aspect_O": float(heavy[AT["O"]] / tall[AT["O"]]),
        "bearing": median(1 - width[lower] / advance[lower]),
        "wobble_base": spread(low, "hiklmnrxzAFHIKMNPRTXYZ"),
        "wobble_x": spread(high, "uvwxzmnr"),
        "wobble_cap": spread(high, "BDEFHIKLMNPRTUVWXYZ"),
        "top_t": one(high, "t"),
        "top_f": one(high, "f"),
        "top_dot": one(high, "ij"),
        "depth_j": -one(low, "j"),
        "depth_Q": -one(low, "Q"),
        "over_lower": one(high, "ceo") - one(high, "vxz"),
        "over_upper": one(high, "CGO") - one(high, "EHI"),
        **{name: float(advance[AT[name[0]]] / advance[AT[name[-1]]]) for name in RATIOS},
    }


def _strokes(table: Table, cap_em: float) -> dict[str, float]:
    """From the widths that the table keeps of every letter."""
    widths = table.strokes[: len(LETTERS)]
    known = ~np.isnan(widths[:, 0])
    if known.sum() < 8:
        return {}
    shares = np.diff(QUANTILES, prepend=0.0, append=1.0)
    share = (shares[:-1] + shares[1:]) / 2
    values = widths[known].ravel()
    order = np.argsort(values)
    mass = np.cumsum((table.length[: len(LETTERS)][known, None] * share).ravel()[order])
    thin, middle, heavy = np.interp((0.05, 0.5, 0.8), mass / mass[-1], values[order])
    at = {q: k for k, q in enumerate(QUANTILES.tolist())}
    median_width = widths[:, at[0.5]]
    own = widths[26:, at[0.8]] / np.maximum(widths[26:, at[0.1]], 1e-4)
    return {
        "stroke": float(middle) / cap_em,
        "stroke_hair": float(thin / middle),
        "stroke_heavy": float(heavy / middle),
        "contrast": median(own),
        "stroke_case": median(median_width[:26]) / median(median_width[26:]),
        "stroke_spread": float(np.nanstd(median_width) / np.nanmean(median_width)),
    }


def _capitals_twice(table: Table) -> Table:
    """The table with the capitals' strokes and gaps in place of the small letters'."""
    index = pair_index()
    strokes, length, gaps = table.strokes.copy(), table.length.copy(), table.gaps.copy()
    strokes[26:52], length[26:52] = strokes[:26], length[:26]
    small, _ = _pairs()
    gaps[small] = gaps[[index[a, b] for a in UPPER for b in UPPER]]
    return replace(table, strokes=strokes, length=length, gaps=gaps)


def _joins(table: Table, x_em: float) -> dict[str, float]:
    small, mixed = _pairs()
    out = {}
    for name, places in (("joined", small), ("joined_capital", mixed)):
        gaps = table.gaps[places]
        gaps = gaps[~np.isnan(gaps)]
        out[name] = float(np.mean(gaps <= 0)) if len(gaps) >= 100 else NAN
    gaps = table.gaps[small]
    gaps = gaps[~np.isnan(gaps)]
    if len(gaps) >= 100 and np.isfinite(x_em) and x_em > 0:
        low, middle, high = np.quantile(gaps, (0.25, 0.5, 0.75)) / x_em
        out |= {"gap": float(middle), "gap_spread": float(high - low)}
    return out


def _pairs() -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    index = pair_index()
    small = np.array([index[a, b] for a in LOWER for b in LOWER], dtype=np.intp)
    mixed = np.array([index[a, b] for a in UPPER for b in LOWER], dtype=np.intp)
    return small, mixed


def _build(letters: Sequence[BaseGeometry], inked: NDArray[np.bool_]) -> dict[str, float]:
    polygons, letter = shapely.get_parts(as_array(letters), return_index=True)
    holes = np.bincount(letter, weights=shapely.get_num_interior_rings(polygons), minlength=len(letters))
    ink = np.bincount(letter, weights=shapely.area(polygons), minlength=len(letters))
    filled = np.bincount(
        letter, weights=shapely.area(shapely.polygons(shapely.get_exterior_ring(polygons))), minlength=len(letters)
    )
    # A speck is no part of a letter: it counts from a fiftieth of the letter's ink.
    large = shapely.area(polygons) > ink[letter] / 50
    parts = np.bincount(letter, weights=large, minlength=len(letters))
    lost = 1 - ink / np.maximum(filled, 1e-9)

    bowls, solid, whole = inked & _among(_BOWLS), inked & _among(_SOLID), inked & ~_among("ij")
    return {
        "pieces": _mean(parts[whole]),
        "broken": _mean(parts[bowls] >= 2),
        "closed": _mean(holes[bowls] >= 1),
        "hollow": _mean(holes[solid] >= 1),
        "hollow_area": median(lost[solid]),
    }


def _among(letters: str) -> NDArray[np.bool_]:
    """Which of ``LETTERS`` are among some."""
    return np.array([c in letters for c in LETTERS])


def _mean(values: NDArray[np.generic]) -> float:
    return float(np.mean(values.astype(float))) if len(values) else NAN
