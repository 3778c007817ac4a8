"""Places for the ring all round a name, and how well each suits. Pure; mm, y up."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.regions import offset, polygons_of

OUTER_MM, HOLE_MM = 7.62, 3.81
"""Diameters of the ring and its hole: 0.30 and 0.15 in; common practice, no published source."""

LEVEL = "level"
"""The side from which the name hangs level: above the centre of mass."""

END = "end"
"""The side from which the name hangs lengthwise: left of the centre of mass. The usual one."""

CORNER = "corner"
"""The upper left corner, from which the name hangs aslant."""

SIDES = {
    END: (-1.0, 0.0), LEVEL: (0.0, 1.0), CORNER: (-1.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0),
    "top": (0.0, 1.0),
}  # fmt: skip
"""Wished sides as directions from the middle of the name."""

OTHER_NAMES = {"upper-left": CORNER}
"""What a side may be called as well."""

LEVEL_DEG = 12.0
"""A name turned less looks level, or lengthwise (our choice; the eye sees 5° in print, a tag on a ring swings)."""

REACH_MM = 4.0
"""Open ground a key ring needs outside the wall."""

PLACE_MM = 0.4
"""How far apart places are looked at."""

MOST_TRIES, APART_MM = 12, 1.0
"""How many places are tried in full, and how far apart they are."""


def places_round(base: BaseGeometry, upper: BaseGeometry, gap: float) -> NDArray[np.float64]:
    """Centres as near as the hole may come to the upper layers, all round the name."""
    keep = offset(upper if not upper.is_empty else offset(base, -HOLE_MM / 4), HOLE_MM / 2 + gap + 0.02)
    points = []
    for polygon in polygons_of(keep):
        line = shapely.get_coordinates(polygon.exterior)
        along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        at = np.linspace(0.0, along[-1], max(16, int(along[-1] / PLACE_MM)), endpoint=False)
        points.append(np.column_stack([np.interp(at, along, line[:, k]) for k in range(2)]))
    places: NDArray[np.float64] = np.concatenate(points)
    return places


def apart(order: Sequence[int], places: NDArray[np.float64]) -> list[int]:
    """The order without places close to one that comes before."""
    kept: list[int] = []
    for k in order:
        if not kept or np.hypot(*(places[kept] - places[k]).T).min() >= APART_MM:
            kept.append(k)
        if len(kept) == MOST_TRIES:
            break
    return kept


def arcs_at(base: BaseGeometry, places: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
    """Share of the outer circle within the base at each place, and whether the middle of its free arc lies open."""
    shapely.prepare(base)
    angles = 2 * np.pi * np.arange(72) / 72
    circle = np.column_stack([np.cos(angles), np.sin(angles)])
    ring = places[:, None, :] + OUTER_MM / 2 * circle[None]
    held = shapely.contains_xy(base, ring[..., 0], ring[..., 1])
    shares = held.mean(axis=1)
    free = (~held[..., None] * circle[None]).sum(axis=1)
    length = np.maximum(np.hypot(free[:, 0], free[:, 1]), 1e-9)[:, None]
    out = free / length
    reach = (
        places[:, None, :] + (OUTER_MM / 2 + np.array([0.0, 0.3, 0.6, 1.0]) * REACH_MM)[None, :, None] * out[:, None]
    )
    blocked = shapely.contains_xy(base, reach[..., 0], reach[..., 1]).any(axis=1)
    arcs = (np.diff(np.concatenate([held, held[:, :1]], axis=1).astype(int), axis=1) == 1).sum(axis=1)
    return shares, ~blocked & (arcs <= 1)


def hangs_level(places: NDArray[np.float64], centre: tuple[float, float]) -> NDArray[np.bool_]:
    """Whether a tag with its centre of mass there hangs level from each place."""
    away = places - np.array(centre)
    level: NDArray[np.bool_] = np.abs(away[:, 0]) <= np.tan(np.radians(LEVEL_DEG)) * away[:, 1]
    return level


def hangs_lengthwise(places: NDArray[np.float64], centre: tuple[float, float]) -> NDArray[np.bool_]:
    """Whether a tag with its centre of mass there hangs by its left end, straight down, from each place."""
    away = places - np.array(centre)
    upright: NDArray[np.bool_] = np.abs(away[:, 1]) <= -np.tan(np.radians(LEVEL_DEG)) * away[:, 0]
    return upright


def scores(
    base: BaseGeometry,
    places: NDArray[np.float64],
    shares: NDArray[np.float64],
    direction: tuple[float, float],
    lengthwise: bool = False,
) -> NDArray[np.float64]:
    """The higher the better: much of the outside held (more than half brings nothing), near to the wished side.

    With ``lengthwise`` that is at the height of the centre of mass, as it is above it for a side straight up.
    """
    x0, y0, x1, y1 = base.bounds
    half = np.array([(x1 - x0) / 2, (y1 - y0) / 2])
    step = np.array(direction)
    at = np.array([(x0 + x1) / 2, (y0 + y1) / 2]) + half * step / np.abs(step).max()
    if abs(step[0]) < 1e-9:  # straight up or down: over the centre of mass, so that the name hangs level
        at[0] = shapely.centroid(base).x
    elif lengthwise:
        at[1] = shapely.centroid(base).y
    far = np.hypot(*(places - at).T)
    found: NDArray[np.float64] = np.minimum(shares, 0.5) - 0.6 * far / OUTER_MM
    return found
