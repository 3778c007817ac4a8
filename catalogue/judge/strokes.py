"""Thin strokes of letters, by the ink that an opening takes away. Pure; any unit of length.

An opening by a width removes what is narrower and leaves the rest, so the share of the area that is lost says how much
of the ink is thin (granulometry by openings: G. Matheron, "Random Sets and Integral Geometry", 1975, from memory).
Letters are shrunk by half the width and grown back with mitred corners: so corners down to 60° stay whole, of sharper
ones only the tip goes. Widths along the centre line would count a corner's tip, where two walls meet, for as much as a
hairline of the same length.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from catalogue.judge.hold import THIN_SHARE
from scanner.measures.strokes import Widths, weighted_quantiles

MITRE_LIMIT = 2.0
"""How far a corner grows back, over half the width: 1 / sin(30°), a corner of 60°."""

_ARC_SEGS = 8
"""Segments a quarter circle where letters shrink around inward corners."""

TOLERANCE_SHARE = 0.004
"""How exactly the thinnest stroke is met, as a share of it: 0.003 mm of 0.8 mm."""

_FIRST_STEP = 0.15
"""How far from the guess the search begins, as a share of it."""


def opened(letters: Sequence[BaseGeometry], width: float) -> NDArray[np.object_]:
    """Each letter without what is thinner than ``width``."""
    shapes = np.array(letters, dtype=object)
    # GEOS divides by zero where edges meet in a point, and goes on; numpy would warn of it.
    with np.errstate(divide="ignore", invalid="ignore"):
        shrunk = shapely.buffer(shapes, -width / 2, quad_segs=_ARC_SEGS)
        grown: NDArray[np.object_] = shapely.buffer(shrunk, width / 2, join_style="mitre", mitre_limit=MITRE_LIMIT)
    return grown


def thin_share(letters: Sequence[BaseGeometry], width: float) -> float:
    """Share of the letters' ink that is thinner than ``width``.

    >>> from shapely import box
    >>> round(thin_share([box(0, 0, 4, 4), box(4, 0, 4.4, 10)], 1.0), 3)  # a block and a hairline
    0.2
    """
    return _lost(letters, width, sum(letter.area for letter in letters)) if width > 0 else 0.0


def thinnest_stroke(letters: Sequence[BaseGeometry], guess: float, share: float = THIN_SHARE) -> float | None:
    """Width below which ``share`` of the letters' ink lies; None without ink. ``guess`` is where the search begins.

    >>> from shapely import box
    >>> round(thinnest_stroke([box(0, 0, 2, 10)], 1.0), 1)
    2.0
    """
    total = sum(letter.area for letter in letters)
    if total <= 0:
        return None
    low = high = guess
    step = 1 + _FIRST_STEP
    if _lost(letters, guess, total) > share:
        while _lost(letters, low := low / step, total) > share:
            high, step = low, step * step
    else:
        while _lost(letters, high := high * step, total) <= share:
            low, step = high, step * step
    while high - low > TOLERANCE_SHARE * high:
        middle = (low + high) / 2
        if _lost(letters, middle, total) > share:
            high = middle
        else:
            low = middle
    return (low + high) / 2


def area_shares(inside: Sequence[Widths]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Stroke widths of all letters, and the area that each stands for: its width by its part of the centre line."""
    found = [w for w in inside if len(w.widths)]
    if not found:
        return np.empty(0), np.empty(0)
    areas = [w.widths * (w.length / len(w.widths)) for w in found]
    return np.concatenate([w.widths for w in found]), np.concatenate(areas)


def guessed_thinnest(inside: Sequence[Widths], share: float = THIN_SHARE) -> float | None:
    """The thinnest stroke by the widths along the centre lines; mostly a little less than the opening says."""
    widths, areas = area_shares(inside)
    return float(weighted_quantiles(widths, areas, (share,))[0]) if len(widths) else None


def _lost(letters: Sequence[BaseGeometry], width: float, total: float) -> float:
    """Share of the area; what mitres of round shapes reach beyond the letter is no gain."""
    return max(0.0, 1 - float(shapely.area(opened(letters, width)).sum()) / total)
