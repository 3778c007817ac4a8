"""A region crossed by parallel lines: the chords they leave in it, and which chords hang on which. Pure; mm."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon

Array = NDArray[np.float64]
Places = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Straight pieces of a region's outlines."""

    start: Array
    end: Array
    """(n, 2)."""


@dataclass(frozen=True, slots=True, eq=False)
class Lines:
    """Parallel lines: line k lies ``first + k × step`` from the origin, square to its direction."""

    angle: float
    first: float
    step: float
    last: int | None = None
    """No line after this one and none before line 0; None for lines without end."""

    @property
    def along(self) -> Array:
        """Their direction."""
        return np.array([np.cos(self.angle), np.sin(self.angle)])

    @property
    def across(self) -> Array:
        """Square to it."""
        return np.array([-np.sin(self.angle), np.cos(self.angle)])

    def at(self, line: Places | Array) -> Array:
        """Distance of lines from the origin."""
        return np.asarray(self.first + self.step * line, dtype=np.float64)


@dataclass(frozen=True, slots=True, eq=False)
class Chords:
    """Stretches of parallel lines inside a region, sorted by line, then along it."""

    line: Places
    low: Array
    high: Array


def edges_of(polygons: Sequence[Polygon]) -> Edges:
    rings = [shapely.get_coordinates(r) for p in polygons for r in (p.exterior, *p.interiors)]
    return Edges(np.concatenate([r[:-1] for r in rings]), np.concatenate([r[1:] for r in rings]))


def chords_of(edges: Edges, lines: Lines) -> Chords:
    """Where parallel lines run inside, by the even-odd rule."""
    a, b = edges.start, edges.end
    ta, tb = ((p @ lines.across - lines.first) / lines.step for p in (a, b))
    sa, sb = a @ lines.along, b @ lines.along
    low, high = (np.ceil(f(ta, tb)).astype(np.int64) for f in (np.minimum, np.maximum))
    if lines.last is not None:
        low, high = np.clip(low, 0, lines.last + 1), np.clip(high, 0, lines.last + 1)
    count = high - low
    edge = np.repeat(np.arange(len(a)), count)
    line = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count, count) + low[edge]
    at = sa[edge] + (line - ta[edge]) * ((sb - sa)[edge] / (tb - ta)[edge])
    order = np.lexsort((at, line))
    line, at = line[order], at[order]
    return Chords(line[::2], at[::2], at[1::2])


_WIDE_MM = 1e6
"""More than any tag measures, so that a line and a place on it sort as one number."""


def sort_key(line: Places | Array, place: Array) -> Array:
    return line * (2 * _WIDE_MM) + place


def chord_at(chords: Chords, place: float, line: float) -> int:
    """The chord nearest to a point."""
    near = np.abs(chords.line - line) * _WIDE_MM
    gap = np.maximum(0.0, np.maximum(chords.low - place, place - chords.high))
    return int(np.argmin(np.rint(near / _WIDE_MM) * _WIDE_MM + gap))


@dataclass(slots=True)
class Walk:
    """State of the walk over the tree of chords."""

    parent: list[int]
    seen: list[int]
    """When a chord was met; 0: not yet."""
    lowest: list[int]
    """The earliest chord that what hangs on this one touches without it."""
    order: list[int] = field(default_factory=list)


def neighbours_of(chords: Chords) -> list[list[int]]:
    """Chords of the next and the last line that overlap each chord."""
    starts, ends = sort_key(chords.line, chords.low), sort_key(chords.line, chords.high)
    first = np.searchsorted(ends, sort_key(chords.line + 1, chords.low), "right").tolist()
    last = np.searchsorted(starts, sort_key(chords.line + 1, chords.high), "left").tolist()
    out: list[list[int]] = [[] for _ in first]
    for k, (low, high) in enumerate(zip(first, last, strict=True)):
        for other in range(low, high):
            out[k].append(other)
            out[other].append(k)
    return out


def walked(neighbours: Sequence[Sequence[int]], root: int, count: int) -> Walk:
    """Depth first over what hangs together with the root."""
    walk = Walk([-1] * count, [0] * count, [0] * count)
    waiting = [(root, -1)]
    while waiting:
        k, up = waiting.pop()
        if walk.seen[k]:
            continue
        walk.order.append(k)
        walk.parent[k] = up
        walk.seen[k] = walk.lowest[k] = len(walk.order)
        waiting += [(other, k) for other in neighbours[k] if not walk.seen[other]]
    for k in walk.order:
        touched = [walk.seen[other] for other in neighbours[k] if other != walk.parent[k]]
        walk.lowest[k] = min([walk.seen[k], *touched])
    return walk
