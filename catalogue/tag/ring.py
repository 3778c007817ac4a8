"""The ring a key ring goes through: where it sits best on the base. Pure; mm, y up.

Its hole is cut through the base too, and the upper layers keep the least gap from it. The nearest places that leave
that gap are tried all round the name; the one nearest to the wished side with the most of the ring's outside within
the base is taken, and a web fills the corners between ring and base so that most of the outside is held.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from catalogue.errors import LetterholdError
from catalogue.judge.hold import NECK_LINES
from catalogue.judge.process import Process
from catalogue.tag.ring_places import (
    END,
    HOLE_MM,
    LEVEL,
    OTHER_NAMES,
    OUTER_MM,
    SIDES,
    apart,
    arcs_at,
    hangs_lengthwise,
    hangs_level,
    places_round,
    scores,
)
from scanner.measures.counters import holes_of
from scanner.regions import inscribed_diameter, offset, polygons_of

HEIGHT_MM = 2.032
"""0.08 in; common practice, no published source."""

WALL_MM = (OUTER_MM - HOLE_MM) / 2
"""1.905 mm."""

SEGMENTS = 96
MOST_SHARE = 0.75
"""More than this within the base and a key ring finds no way round the wall."""

MOST_OF_IT = 0.5
"""Share of the outer circle that has to lie within the base; a place with less is only taken when none has it."""

WEBS_MM = (1.9, 3.0, 5.0)
"""How far outside the ring a web to the base may reach: a wall first, more where that does not hold half of it."""

LUGS_MM = (*WEBS_MM, 8.0, 12.0)
"""For a name that is to hang level: over a dip between tall letters the ring stands on a lug of its own."""

BLUNT_LINES = 4.0
"""Width in lines of what may stand above the ring next to it."""

ROUND_MM = 1.0
"""Radius in the corners between web and base."""

MOST_TURN_DEG = 360.0
"""A wished angle is within one turn either way."""


class RingError(LetterholdError):
    """No place for the ring; the message ends with what to do."""


@dataclass(frozen=True, slots=True)
class RingWish:
    """Where the person wants the ring and how well it has to be held."""

    side: str = END
    """One of ``SIDES`` or an angle in degrees, counter-clockwise from the right."""
    least_bond_mm: float | None = None
    """None for four lines."""


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


def direction_of(side: str) -> tuple[float, float]:
    """A wished side as a direction from the middle of the name. Raises RingError for what is no side.

    >>> direction_of("left"), tuple(round(v, 3) for v in direction_of("90"))
    ((-1.0, 0.0), (0.0, 1.0))
    """
    known = OTHER_NAMES.get(side, side)
    if known in SIDES:
        return SIDES[known]
    try:
        angle = float(side.removesuffix("°"))
    except ValueError:
        angle = math.nan
    if not abs(angle) <= MOST_TURN_DEG:
        raise RingError(
            f"{side[:40]!r} is no place for the ring; use {', '.join(SIDES)} or an angle up to 360 degrees, as 135"
        )
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
    base: BaseGeometry, upper: BaseGeometry, seeds: NDArray[np.float64], process: Process, wish: RingWish
) -> Seated:
    """Find the place. ``upper`` is all that stands above the base; the cut base keeps necks of two lines.

    Raises RingError when no place has bond enough and an open hole.
    """
    least = 4 * process.line_width_mm if wish.least_bond_mm is None else wish.least_bond_mm
    best = 0.0
    second: list[_Try] = []
    for attempt in _tries(base, upper, process, wish):
        best = max(best, bond_mm(attempt.share))
        if bond_mm(attempt.share) < least:
            continue
        if attempt.share < MOST_OF_IT:
            second.append(attempt)
            continue
        seated = _seated(base, attempt, process)
        if seated is not None and _keeps(seated, seeds, process):
            return seated
    for attempt in sorted(second, key=lambda t: -t.share):
        seated = _seated(base, attempt, process)
        if seated is not None and _keeps(seated, seeds, process):
            return seated
    raise _no_place(best, least, wish.side)


def _tries(base: BaseGeometry, upper: BaseGeometry, process: Process, wish: RingWish) -> Iterator[_Try]:
    """Places in the order they suit, each with the web it takes."""
    places = places_round(base, upper, process.least_gap_mm)
    level, lengthwise = wish.side == LEVEL, wish.side == END
    middle = shapely.centroid(base)
    centre = float(middle.x), float(middle.y)
    if level:
        places = places[hangs_level(places, centre)]
    if not len(places):
        return
    shares, open_to = arcs_at(base, places)
    order = np.argsort(-scores(base, places, shares, direction_of(wish.side), lengthwise), kind="stable")
    good = [k for k in order.tolist() if open_to[k] and (level or shares[k] > 0) and shares[k] <= MOST_SHARE]
    if lengthwise:  # what hangs straight down first, the others where none of these will do
        straight = hangs_lengthwise(places, centre)
        good = [*apart([k for k in good if straight[k]], places), *apart([k for k in good if not straight[k]], places)]
    else:
        good = apart(good, places)
    for k in good:
        x, y = places[k].tolist()
        yield _held_at(base, x, y, LUGS_MM if level else WEBS_MM)


def _no_place(best_mm: float, least_mm: float, side: str) -> RingError:
    if 0 < best_mm < least_mm:
        return RingError(
            f"the ring's bond is {best_mm:.2f} mm at best at {side}, {least_mm:.2f} mm asked; try another --ring"
        )
    return RingError(f"no place at {side} where the ring's hole stays open; try another --ring or a larger --offset")


@dataclass(frozen=True, slots=True)
class _Try:
    """A place with the web it takes and the share of the ring's outside that is then held."""

    share: float
    extra: BaseGeometry
    x: float
    y: float
    reach_mm: float
    """How far outside the ring the largest web reaches."""


def tilt_deg(x: float, y: float, centre: tuple[float, float]) -> float:
    """How far the name's line leaves the level when the centre of mass hangs under the hole.

    >>> tilt_deg(0, 10, (0, 0)), tilt_deg(0, 0, (10, 0))
    (0.0, -90.0)
    """
    return math.degrees(math.atan2(x - centre[0], y - centre[1])) or 0.0


def _held_at(base: BaseGeometry, x: float, y: float, webs_mm: tuple[float, ...]) -> _Try:
    """A web next to the ring, as small as holds half of its outside, and the share then held."""
    most_mm = webs_mm[-1]
    reach = OUTER_MM / 2 + 2 * most_mm
    local = shapely.clip_by_rect(base, x - reach, y - reach, x + reach, y + reach)
    share = _share(local, x, y)
    if share >= MOST_OF_IT:
        return _Try(share, Polygon(), x, y, most_mm)
    largest = _web(local, x, y, most_mm)
    most = _share(shapely.union(local, largest), x, y)
    if most >= MOST_OF_IT:  # where the largest is not enough, no smaller one is
        for radius in webs_mm[:-1]:
            extra = _web(local, x, y, radius)
            share = _share(shapely.union(local, extra), x, y)
            if share >= MOST_OF_IT:
                return _Try(share, extra, x, y, most_mm)
    return _Try(most, largest, x, y, most_mm)


def _seated(base: BaseGeometry, place: _Try, process: Process) -> Seated | None:
    """The ring at a place; None where the whole would be in pieces."""
    x, y = place.x, place.y
    outer, hole = disc(x, y, OUTER_MM), disc(x, y, HOLE_MM, around=True)
    held = shapely.union(base, place.extra)
    near = shapely.Point(x, y).buffer(OUTER_MM / 2 + place.reach_mm)
    whole = shapely.union(held, outer)
    pinholes = [h for h in holes_of(whole) if h.intersects(near) and inscribed_diameter(h, 0.01) < process.opening_mm]
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
    share = place.share
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


def _keeps(seated: Seated, seeds: NDArray[np.float64], process: Process) -> bool:
    """Whether the letters still hang together by necks of two lines with the hole cut."""
    shrunk = offset(seated.base, -NECK_LINES * process.line_width_mm / 2, quad_segs=8)
    points = shapely.points(seeds)
    return any(bool(shapely.covers(p, points).all()) for p in polygons_of(shrunk))


def hang_text(tilt_deg: float) -> str:
    """How the name hangs from its ring, in words; ``tilt_deg`` as in ``Ring``.

    >>> hang_text(-84), hang_text(3)
    ('it hangs upright, its left end on top (turned by 84° clockwise)', 'it hangs level')
    """
    angle, clockwise = abs(tilt_deg), tilt_deg < 0
    if angle < 10:
        return "it hangs level"
    if angle > 120:
        return f"it hangs upside down (turned by {angle:.0f}°)"
    turned = f"turned by {angle:.0f}° {'clockwise' if clockwise else 'counter-clockwise'}"
    if angle > 60:
        return f"it hangs upright, its {'left' if clockwise else 'right'} end on top ({turned})"
    return f"it hangs aslant, its {'right' if clockwise else 'left'} end lower ({turned})"
