"""The ring a key ring goes through: where it sits best on the base. Pure; mm, y up.

Its hole is cut through the base too, and the upper layers keep the least gap from it. The nearest places that leave
that gap are tried all round the name; the one nearest to the wished side with the most of the ring's outside within
the base is taken, and a web fills the corners between ring and base so that most of the outside is held.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from catalogue.errors import LetterholdError
from catalogue.judge.process import Process
from scanner.measures.counters import holes_of
from scanner.regions import inscribed_diameter, offset, polygons_of

OUTER_MM, HOLE_MM, HEIGHT_MM = 7.62, 3.81, 2.032
"""Diameters and height: 0.30, 0.15 and 0.08 in; common practice, no published source. The wall is 1.905 mm."""

SEGMENTS = 96
MOST_SHARE = 0.75
"""More than this within the base and a key ring finds no way round the wall."""

REACH_MM = 4.0
"""Open ground a key ring needs outside the wall."""

MOST_OF_IT = 0.5
"""Share of the outer circle that has to lie within the base; a place with less is only taken when none has it."""

PLACE_MM = 0.4
"""How far apart places are looked at."""

MOST_TRIES, APART_MM = 12, 1.0
WEBS_MM = (1.9, 3.0, 5.0)
"""How far outside the ring a web to the base may reach: a wall first, more where that does not hold half of it."""

BLUNT_LINES = 4.0
"""Width in lines of what may stand above the ring beside it."""

ROUND_MM = 1.0
"""Radius in the corners between web and base."""

SIDES = {"upper-left": (-1.0, 1.0), "left": (-1.0, 0.0), "right": (1.0, 0.0), "top": (0.0, 1.0)}


class RingError(LetterholdError):
    """No place for the ring; the message ends with what to do."""


@dataclass(frozen=True, slots=True)
class Ring:
    """A placed ring."""

    x_mm: float
    y_mm: float
    bond_mm: float
    """Width of material that joins ring and base where they part, the hole not counted."""
    overlap_share: float
    """Share of the ring's outer circle that lies within the base."""
    tilt_deg: float
    """Turn of the name's line from level when the tag hangs from the hole; counter-clockwise is positive."""


@dataclass(frozen=True, slots=True)
class Seated:
    """A ring with the base it sits in: web added, hole cut."""

    ring: Ring
    base: BaseGeometry
    rim: BaseGeometry
    """The part of the ring outside the base."""
    hole: Polygon


def disc(x: float, y: float, diameter: float, around: bool = False) -> Polygon:
    """A circle as a polygon: inscribed, or ``around`` the circle so that a hole is never too small (G21)."""
    radius = diameter / 2 / (math.cos(math.pi / SEGMENTS) if around else 1.0)
    angle = 2 * math.pi * (np.arange(SEGMENTS) + 0.5) / SEGMENTS
    return Polygon(np.column_stack([x + radius * np.cos(angle), y + radius * np.sin(angle)]))


def wish(text: str) -> tuple[float, float]:
    """A wished side as a direction from the middle of the name.

    >>> wish("left"), tuple(round(v, 3) for v in wish("90"))
    ((-1.0, 0.0), (0.0, 1.0))
    """
    if text in SIDES:
        return SIDES[text]
    try:
        angle = float(text.removesuffix("°"))
    except ValueError:
        angle = math.nan
    if not math.isfinite(angle):
        raise RingError(f"{text!r} is no place for the ring; use {', '.join(SIDES)} or an angle in degrees, as 135")
    return math.cos(math.radians(angle)), math.sin(math.radians(angle))


def bond_mm(share: float, outer_mm: float = OUTER_MM, hole_mm: float = HOLE_MM) -> float:
    """Material across the chord under an arc of ``share`` of the circle; two walls from a half on.

    >>> round(bond_mm(1 / 3), 3), round(bond_mm(0.5), 3), bond_mm(0.0)
    (6.599, 3.81, 0.0)
    """
    outer, hole = outer_mm / 2, hole_mm / 2
    half = math.pi * min(share, 0.5)
    away = outer * math.cos(half)
    return 2 * outer * math.sin(half) - 2 * math.sqrt(max(0.0, hole**2 - away**2))


def seat(
    base: BaseGeometry, upper: BaseGeometry, seeds: NDArray[np.float64], process: Process, neck_mm: float,
    side: str = "upper-left", least_bond_mm: float | None = None,
) -> Seated:  # fmt: skip
    """Find the place. ``upper`` is all that stands above the base; ``neck_mm`` is what the cut base has to keep."""
    least = 4 * process.line_width_mm if least_bond_mm is None else least_bond_mm
    direction = wish(side)
    places = _places(base, upper, process.least_gap_mm)
    shares, open_to = _shares(base, places)
    order = np.argsort(-_scores(base, places, shares, direction), kind="stable")
    good = [k for k in order.tolist() if open_to[k] and 0 < shares[k] <= MOST_SHARE]
    best = 0.0
    second: list[tuple[float, BaseGeometry, float, float]] = []
    for k in _apart(good, places)[:MOST_TRIES]:
        x, y = places[k].tolist()
        extra, share = _held_at(base, x, y)
        best = max(best, bond_mm(share))
        if bond_mm(share) < least:
            continue
        if share < MOST_OF_IT:
            second.append((share, extra, x, y))
            continue
        seated = _seated(base, extra, share, process, x, y)
        if seated is not None and _keeps(seated, seeds, neck_mm):
            return seated
    for share, extra, x, y in sorted(second, key=lambda t: -t[0]):
        seated = _seated(base, extra, share, process, x, y)
        if seated is not None and _keeps(seated, seeds, neck_mm):
            return seated
    if 0 < best < least:
        raise RingError(f"the ring's bond is {best:.2f} mm at best at {side}, {least:.2f} mm asked; try another --ring")
    raise RingError(f"no place at {side} where the ring's hole stays open; try another --ring or a larger --offset")


def tilt_deg(x: float, y: float, centre: tuple[float, float]) -> float:
    """How far the name's line leaves the level when the centre of mass hangs under the hole.

    >>> tilt_deg(0, 10, (0, 0)), tilt_deg(0, 0, (10, 0))
    (0.0, -90.0)
    """
    return math.degrees(math.atan2(x - centre[0], y - centre[1])) or 0.0


def _places(base: BaseGeometry, upper: BaseGeometry, gap: float) -> NDArray[np.float64]:
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


def _apart(order: Sequence[int], places: NDArray[np.float64]) -> list[int]:
    """The order without places close to one that comes before."""
    kept: list[int] = []
    for k in order:
        if not kept or np.hypot(*(places[kept] - places[k]).T).min() >= APART_MM:
            kept.append(k)
        if len(kept) == MOST_TRIES:
            break
    return kept


def _shares(base: BaseGeometry, places: NDArray[np.float64]) -> tuple[NDArray[np.float64], NDArray[np.bool_]]:
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


def _scores(
    base: BaseGeometry, places: NDArray[np.float64], shares: NDArray[np.float64], direction: tuple[float, float]
) -> NDArray[np.float64]:
    x0, y0, x1, y1 = base.bounds
    half = np.array([(x1 - x0) / 2, (y1 - y0) / 2])
    step = np.array(direction)
    at = np.array([(x0 + x1) / 2, (y0 + y1) / 2]) + half * step / np.abs(step).max()
    if abs(step[0]) < 1e-9:  # straight up or down: over the centre of mass, so that the name hangs level
        at[0] = shapely.centroid(base).x
    far = np.hypot(*(places - at).T)
    scores: NDArray[np.float64] = np.minimum(shares, 0.5) - 0.6 * far / OUTER_MM
    return scores


def _held_at(base: BaseGeometry, x: float, y: float) -> tuple[BaseGeometry, float]:
    """A web beside the ring, as small as holds half of its outside, and the share then held."""
    reach = OUTER_MM / 2 + 2 * WEBS_MM[-1]
    local = shapely.clip_by_rect(base, x - reach, y - reach, x + reach, y + reach)
    share = _share(local, x, y)
    if share >= MOST_OF_IT:
        return Polygon(), share
    largest = _web(local, x, y, WEBS_MM[-1])
    most = _share(shapely.union(local, largest), x, y)
    if most >= MOST_OF_IT:  # where the largest is not enough, no smaller one is
        for radius in WEBS_MM[:-1]:
            extra = _web(local, x, y, radius)
            share = _share(shapely.union(local, extra), x, y)
            if share >= MOST_OF_IT:
                return extra, share
    return largest, most


def _seated(
    base: BaseGeometry, extra: BaseGeometry, share: float, process: Process, x: float, y: float
) -> Seated | None:
    outer, hole = disc(x, y, OUTER_MM), disc(x, y, HOLE_MM, around=True)
    held = shapely.union(base, extra)
    near = shapely.Point(x, y).buffer(OUTER_MM / 2 + WEBS_MM[-1])
    whole = shapely.union(held, outer)
    pinholes = [h for h in holes_of(whole) if h.intersects(near) and inscribed_diameter(h, 0.01) < process.least_gap_mm]
    held = shapely.union_all([held, *pinholes])
    cut = shapely.difference(held, hole)
    whole = shapely.union(cut, shapely.difference(outer, hole))
    if len(polygons_of(whole)) != 1:
        return None
    # A web runs out to nothing along the ring; above the ring it ends bluntly, in what prints as a few lines.
    thick = _opened(shapely.intersection(cut, near), BLUNT_LINES / 2 * process.line_width_mm)
    cut = shapely.union(shapely.difference(base, hole), shapely.intersection(thick, cut))
    rim = shapely.difference(whole, cut)
    centre = shapely.centroid(whole)
    ring = Ring(x, y, bond_mm(share), share, tilt_deg(x, y, (float(centre.x), float(centre.y))))
    return Seated(ring, cut, rim, hole)


def _opened(region: BaseGeometry, radius: float) -> BaseGeometry:
    return offset(offset(region, -radius), radius)


def _closed(region: BaseGeometry, radius: float) -> BaseGeometry:
    return offset(offset(region, radius), -radius)


def _web(local: BaseGeometry, x: float, y: float, reach: float) -> BaseGeometry:
    """What lies between the ring and the base near it: their hull up to ``reach`` outside the ring, corners rounded."""
    outer = disc(x, y, OUTER_MM)
    near = shapely.Point(x, y).buffer(OUTER_MM / 2 + reach)
    both = shapely.union(local, outer)
    parts = [p for p in polygons_of(shapely.intersection(local, near)) if p.intersects(outer)]
    hull = shapely.convex_hull(shapely.union_all([outer, *parts]))
    smooth = shapely.difference(_closed(shapely.union(both, hull), ROUND_MM), both)
    found = shapely.intersection(smooth, near.buffer(ROUND_MM))
    # Only what touches the ring: other corners of the name keep their look.
    kept = [p for p in polygons_of(found) if p.area > 0.02 and p.distance(outer) < 0.02]
    # A hair wider, so that the web shares no sliver with the ring; never into the ring itself.
    return shapely.difference(offset(shapely.union_all(kept), 0.01, mitre=True), outer)


def _share(base: BaseGeometry, x: float, y: float) -> float:
    """Share of the outer circle within the base or on its edge."""
    angles = 2 * np.pi * np.arange(720) / 720
    radius = OUTER_MM / 2 + 0.02
    shapely.prepare(base)
    return float(shapely.contains_xy(base, x + radius * np.cos(angles), y + radius * np.sin(angles)).mean())


def _keeps(seated: Seated, seeds: NDArray[np.float64], neck_mm: float) -> bool:
    """Whether the letters still hang together by ``neck_mm`` with the hole cut."""
    shrunk = offset(seated.base, -neck_mm / 2, quad_segs=8)
    points = shapely.points(seeds)
    return any(bool(shapely.covers(p, points).all()) for p in polygons_of(shrunk))
