"""Cross sections of a stacked body: every straight cut that parts some of it from where it is held. Pure; mm.

The outline on the bed is crossed by parallel lines in several directions. Within the filled outline each crossing, a
chord, parts the body in two; chords of neighbouring lines that overlap belong together, which makes a tree with the
place where the body is held as its root: what hangs on a chord is what comes off when the body breaks there. A section
is what the bands, each with its width and heights, show along a chord; gaps in it carry nothing.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

from catalogue.tag.chords import (
    Array,
    Chords,
    Edges,
    Lines,
    Places,
    chord_at,
    chords_of,
    edges_of,
    neighbours_of,
    sort_key,
    walked,
)
from catalogue.tag.tag import Band
from scanner.regions import polygons_of

DIRECTIONS = 8
"""Of cutting lines; a section cut askew by half a step is 2 % longer."""

STEP_MM = 0.3
"""Between parallel lines: two thirds of a common line, below which no neck prints."""

SIMPLE_MM = 0.02
"""Outline points that stray less are dropped; widths change by less than 2 % of the least wall."""


FINE_MM = 0.05
"""Between lines round a weak section: where discs meet in a cusp, 0.3 mm away from the neck it is 6 % wider."""

FINEST = 3
"""Weak sections looked at again for bending; one is for tension."""

APART_MM = 1.5
"""Sections nearer than this are one."""


@dataclass(frozen=True, slots=True, eq=False)
class Sections:
    """Sections by cut, one element a cut, all arrays of one length; those that part no letter are left out."""

    area_mm2: Array
    out_of_plane_mm3: Array
    """Section modulus for bending out of the plane of the bed."""
    in_plane_mm3: Array
    """Section modulus for bending in that plane."""
    lever_mm: Array
    """From the section to the farthest point of what comes off, square to the cut."""
    x_mm: Array
    y_mm: Array
    """Centre of the section."""
    angle: Array
    """Of the cut, in radians from the x axis."""
    far_x_mm: Array
    far_y_mm: Array
    """The farthest point of what comes off."""

    @property
    def per_lever_mm2(self) -> Array:
        """The lesser modulus over the lever: times a strength it is the force that parts the section."""
        return np.asarray(np.minimum(self.out_of_plane_mm3, self.in_plane_mm3) / self.lever_mm, dtype=np.float64)

    @classmethod
    def joined(cls, parts: Sequence[Sections]) -> Sections:
        """All of several."""
        names = [f.name for f in fields(cls)]
        return cls(**{name: np.concatenate([getattr(p, name) for p in parts]) for name in names})


@dataclass(frozen=True, slots=True)
class Stack:
    """A body as it is cut: bands from below, each inside the first; where it is held; what must not come off."""

    bands: Sequence[Band]
    held_mm: tuple[float, float]
    """Centre of the hole that it hangs from."""
    hole_mm: float
    """Diameter of that hole; a cut through it parts nothing that a loose key ring could bend."""
    seeds_mm: Array
    """Centres of the letters' parts, shape (n, 2)."""


@dataclass(frozen=True, slots=True, eq=False)
class _Outlines:
    """What is cut: the filled outline on the bed, and each band."""

    whole: Edges
    bands: Sequence[Edges]


def sections(stack: Stack) -> Sections:
    """Every section that parts letters from where the body is held, over all directions; the weakest ones finely."""
    bands = [edges_of(polygons_of(shapely.simplify(b.region, SIMPLE_MM))) for b in stack.bands]
    outer = max(polygons_of(stack.bands[0].region), key=lambda p: p.area)
    outlines = _Outlines(edges_of([Polygon(shapely.simplify(outer, SIMPLE_MM).exterior)]), bands)
    found = Sections.joined([_along(k * np.pi / DIRECTIONS, stack, outlines) for k in range(DIRECTIONS)])
    weak = {*_weakest(found, found.per_lever_mm2, FINEST), *_weakest(found, found.area_mm2, 1)}
    return Sections.joined([found, *(_finely(found, k, stack, outlines) for k in sorted(weak))])


def _along(angle: float, stack: Stack, outlines: _Outlines) -> Sections:
    """Sections along lines in one direction."""
    lines = Lines(angle, 0.0, STEP_MM)
    lines = replace(lines, first=float((outlines.whole.start @ lines.across).min()) + STEP_MM / 2)
    chords = chords_of(outlines.whole, lines)
    points = np.vstack([stack.held_mm, stack.seeds_mm])
    places, heights = points @ lines.along, points @ lines.across
    held, *seeds = (
        chord_at(chords, s, (t - lines.first) / STEP_MM) for s, t in zip(places.tolist(), heights.tolist(), strict=True)
    )
    cuts = _cuts(chords, held, seeds)
    keys = np.flatnonzero(cuts.parts & ~_through_the_hole(chords, lines, stack))
    far = cuts.far[keys]
    beyond = lines.at(far + np.sign(far - chords.line[keys]) / 2)
    middle = (chords.low + chords.high)[cuts.far_chord[keys]] / 2
    ends = middle[:, None] * lines.along + beyond[:, None] * lines.across
    return _cut(chords, keys, lines, _Cut(stack.bands, outlines.bands, ends))


def _through_the_hole(chords: Chords, lines: Lines, stack: Stack) -> NDArray[np.bool_]:
    held = np.array(stack.held_mm)
    place, height = float(held @ lines.along), float(held @ lines.across)
    near: NDArray[np.bool_] = np.abs(lines.at(chords.line) - height) < stack.hole_mm / 2
    return near & (chords.low <= place) & (place <= chords.high)


def _weakest(found: Sections, weakness: Array, most: int) -> list[int]:
    """The weakest sections, apart from each other."""
    kept: list[int] = []
    for k in np.argsort(weakness)[: 50 * most].tolist():
        away = np.hypot(found.x_mm[kept] - found.x_mm[k], found.y_mm[kept] - found.y_mm[k])
        if not (away < APART_MM).any():
            kept.append(k)
        if len(kept) == most:
            break
    return kept


def _finely(found: Sections, k: int, stack: Stack, outlines: _Outlines) -> Sections:
    """Sections round one, closer together and turned a little either way."""
    centre = np.array([found.x_mm[k], found.y_mm[k]])
    far = np.array([[found.far_x_mm[k], found.far_y_mm[k]]])
    parts = []
    for turn in (-1 / 3, 0.0, 1 / 3):
        reach = round(STEP_MM / FINE_MM)
        lines = Lines(float(found.angle[k]) + turn * np.pi / DIRECTIONS, 0.0, FINE_MM, 2 * reach)
        lines = replace(lines, first=float(centre @ lines.across) - reach * FINE_MM)
        chords = chords_of(outlines.whole, lines)
        here = float(centre @ lines.along)
        meets = (chords.low <= here) & (here <= chords.high)
        keys = np.flatnonzero(meets & ~_through_the_hole(chords, lines, stack))
        parts.append(_cut(chords, keys, lines, _Cut(stack.bands, outlines.bands, np.repeat(far, len(keys), axis=0))))
    return Sections.joined(parts)


@dataclass(frozen=True, slots=True, eq=False)
class _Cut:
    """What is cut, and the farthest point of what each chosen chord parts."""

    bands: Sequence[Band]
    edges: Sequence[Edges]
    far: Array


def _cut(chords: Chords, keys: Places, lines: Lines, cut: _Cut) -> Sections:
    """The sections on the chosen chords."""
    widths = [_on_chords(chords, chords_of(edges, lines)) for edges in cut.edges]
    moduli = _moduli(cut.bands, widths)
    height = lines.at(chords.line)
    place = moduli.centre[:, None] * lines.along + height[:, None] * lines.across
    lever = np.abs(cut.far @ lines.across - height[keys])
    return Sections(
        moduli.area[keys], moduli.out_of_plane[keys], moduli.in_plane[keys], lever, place[keys, 0], place[keys, 1],
        np.full(len(keys), lines.angle), cut.far[:, 0], cut.far[:, 1],
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Cuts:
    """By chord: whether letters come off when it breaks, and how far what comes off reaches."""

    parts: NDArray[np.bool_]
    far: Places
    """The farthest line."""
    far_chord: Places
    """A chord on that line."""


def _cuts(chords: Chords, held: int, seeds: Sequence[int]) -> _Cuts:
    """What hangs on each chord, seen from the one where the body is held."""
    count, line = len(chords.line), chords.line.tolist()
    walk = walked(neighbours_of(chords), held, count)
    letters, nearest, farthest = [0] * count, list(range(count)), list(range(count))
    for k in seeds:
        letters[k] += 1
    parts, far = np.zeros(count, dtype=bool), list(range(count))
    for k in reversed(walk.order):  # what hangs on a chord is met after it
        up = walk.parent[k]
        if up < 0:
            continue
        if walk.lowest[k] >= walk.seen[up] and letters[k]:  # nothing but the chord above holds it
            parts[up] = True
            far[up] = max(far[up], nearest[k], farthest[k], key=lambda c: abs(line[c] - line[up]))
        letters[up] += letters[k]
        nearest[up] = min(nearest[up], nearest[k], key=line.__getitem__)
        farthest[up] = max(farthest[up], farthest[k], key=line.__getitem__)
        walk.lowest[up] = min(walk.lowest[up], walk.lowest[k])
    ends = np.array(far, dtype=np.int64)
    return _Cuts(parts, chords.line[ends], ends)


@dataclass(frozen=True, slots=True, eq=False)
class _Widths:
    """Of one band on each chord: its length, its first and second moment along the line, and where it ends."""

    length: Array
    first: Array
    second: Array
    low: Array
    high: Array


def _on_chords(chords: Chords, band: Chords) -> _Widths:
    count = len(chords.line)
    middle = (band.low + band.high) / 2
    after = np.searchsorted(sort_key(chords.line, chords.low), sort_key(band.line, middle), "right")
    on = np.clip(after - 1, 0, count - 1)
    fits = (chords.line[on] == band.line) & (middle <= chords.high[on])
    on, low, high = on[fits], band.low[fits], band.high[fits]

    def summed(values: Array) -> Array:
        return np.asarray(np.bincount(on, values, count), dtype=np.float64)

    least, most = np.full(count, np.inf), np.full(count, -np.inf)
    np.minimum.at(least, on, low)
    np.maximum.at(most, on, high)
    return _Widths(summed(high - low), summed((high**2 - low**2) / 2), summed((high**3 - low**3) / 3), least, most)


@dataclass(frozen=True, slots=True, eq=False)
class _Moduli:
    """Of the section on each chord: area, section moduli, and where its centre lies along the line."""

    area: Array
    out_of_plane: Array
    in_plane: Array
    centre: Array


def _moduli(bands: Sequence[Band], widths: Sequence[_Widths]) -> _Moduli:
    """Beam theory: second moments about the centre of the whole section, over the distance of its farthest fibre."""
    bottoms, tops = np.array([[b.bottom_mm, b.top_mm] for b in bands]).T[:, :, None]
    heights, middles = tops - bottoms, (tops + bottoms) / 2
    length, first, second, low, high = (
        np.stack([getattr(w, n) for w in widths]) for n in ("length", "first", "second", "low", "high")
    )
    area = np.maximum((length * heights).sum(axis=0), 1e-12)
    level = (length * heights * middles).sum(axis=0) / area
    about_level = (length * (heights**3 / 12 + heights * (middles - level) ** 2)).sum(axis=0)
    there = length > 0
    top, bottom = np.where(there, tops, -np.inf).max(axis=0), np.where(there, bottoms, np.inf).min(axis=0)
    out = about_level / np.maximum(np.maximum(top - level, level - bottom), 1e-9)
    centre = (first * heights).sum(axis=0) / area
    about_centre = (second * heights).sum(axis=0) - area * centre**2
    inside = about_centre / np.maximum(np.maximum(high.max(axis=0) - centre, centre - low.min(axis=0)), 1e-9)
    return _Moduli(area, out, inside, centre)
