"""All contours of a face's letters as flat arrays, in cap heights: what the style measures walk along.

One object holds the 52 letters, so that every measure is a few array operations and no loop over points.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.alphabet import LOWER, UPPER

LETTERS = UPPER + LOWER
"""The letters that the style of a face is judged by, in the order of all per-letter arrays here."""

AT = {c: k for k, c in enumerate(LETTERS)}
"""Index of a letter."""

LEAST_LEAN = 0.15
"""Share of the steep contour that must agree on a lean, to 3°; directions spread evenly give 0.075."""

Floats = NDArray[np.float64]
NAN = float("nan")


def as_array(regions: Sequence[BaseGeometry]) -> NDArray[np.object_]:
    """Regions as an array of objects, which shapely's functions take at once."""
    array = np.empty(len(regions), dtype=object)
    array[:] = list(regions)
    return array


def median(values: Floats) -> float:
    """Median of the finite values; NaN without one."""
    kept = values[np.isfinite(values)]
    return float(np.median(kept)) if len(kept) else NAN


def upright(points: Floats, slant_deg: float) -> Floats:
    """Points (n, 2) sheared about the baseline so that stems of that lean stand upright."""
    lean = np.tan(np.radians(slant_deg))
    return np.column_stack([points[:, 0] - lean * points[:, 1], points[:, 1]])


@dataclass(frozen=True, slots=True)
class Walk:
    """Even steps along every ring, (steps,) each."""

    direction: Floats
    """Radians."""
    turn: Floats
    """Turning at the end of the step in radians; convex is above 0."""
    ring: NDArray[np.intp]
    following: NDArray[np.intp]
    """Index of the next step on the same ring."""
    before: NDArray[np.intp]


class LetterOutlines:
    """All contours of the letters in cap heights; ``cap`` is the cap height in the letters' units."""

    def __init__(self, letters: Sequence[BaseGeometry], cap: float) -> None:
        polygons, letter = shapely.get_parts(as_array(letters), return_index=True)
        rings, polygon = shapely.get_rings(polygons, return_index=True)
        points, self.ring = shapely.get_coordinates(rings, return_index=True)
        self.points = points / cap
        self.owner = letter[polygon]
        """Letter of each ring."""
        self.outer = np.diff(polygon, prepend=-1) > 0
        """Whether a ring is the outer one of its polygon, which shapely gives first."""
        self.whole = np.ones(len(self.outer), dtype=bool)
        self.start = np.flatnonzero(np.diff(self.ring, prepend=-1))
        x, y = self.points.T
        run = np.diff(self.points, axis=0, append=self.points[-1:])
        run[np.append(self.start[1:], len(points)) - 1] = 0.0
        self.run = run
        """From each point to the next of its ring; nothing at a ring's last point."""
        self.length = np.hypot(*run.T)
        cross = x * run[:, 1] - y * run[:, 0]
        self.area = np.add.reduceat(cross, self.start) / 2
        """Signed area of each ring."""

    @property
    def slant_deg(self) -> float:
        """Lean of the stems: the most frequent direction of long edges that lean less than 40°."""
        return self.lean[0]

    @cached_property
    def lean(self) -> tuple[float, float]:
        """Most frequent lean in degrees and the share of all steep contour within 3° of it."""
        up = np.where(self.run[:, 1] < 0, -1.0, 1.0)
        angle = np.degrees(np.arctan2(self.run[:, 0] * up, self.run[:, 1] * up))
        steep = (np.abs(angle) < 40) & (self.length > 0)
        weight = self.length[steep]
        if weight.sum() <= 0:
            return 0.0, NAN
        # Long edges are stems: they count by their squared length, short ones are pieces of curves.
        counts, _ = np.histogram(angle[steep], bins=160, range=(-40, 40), weights=weight**2)
        smooth = np.convolve(counts, np.hanning(9)[1:-1], mode="same")
        best = -39.75 + 0.5 * int(np.argmax(smooth))
        near = np.abs(angle[steep] - best) < 3
        share = float(weight[near].sum() / self.length.sum())
        if (weight[near] ** 2).sum() < LEAST_LEAN * (weight**2).sum():
            return 0.0, share  # all directions alike: nothing that could lean
        return float(np.average(angle[steep][near], weights=weight[near] ** 2)), share

    @cached_property
    def drawn_turning(self) -> Floats:
        """Absolute turning of each ring as it is drawn, in radians."""
        real = self.length > 1e-6
        run, ring = self.run[real], self.ring[real]
        total = np.zeros(len(self.start))
        if not len(ring):
            return total
        start = np.flatnonzero(np.diff(ring, prepend=-1))
        following = np.arange(1, len(ring) + 1)
        following[np.append(start[1:], len(ring)) - 1] = start
        after = run[following]
        cross = run[:, 0] * after[:, 1] - run[:, 1] * after[:, 0]
        np.add.at(total, ring, np.abs(np.arctan2(cross, (run * after).sum(axis=1))))
        return total

    def walk(self, step: float) -> Walk:
        """Even steps along every ring, of about ``step`` cap heights and at least eight a ring."""
        ends = np.cumsum(self.length)
        total = np.add.reduceat(self.length, self.start)
        begin = ends[self.start] - self.length[self.start]
        count = np.maximum(8, np.rint(total / step)).astype(np.intp)
        first = np.cumsum(count) - count
        ring = np.repeat(np.arange(len(count)), count)
        at = begin[ring] + total[ring] * (np.arange(len(ring)) - first[ring] + 0.37) / count[ring]
        place = np.minimum(np.searchsorted(ends, at, side="right"), len(ends) - 1)
        share = (at - (ends[place] - self.length[place])) / np.maximum(self.length[place], 1e-12)
        points = self.points[place] + np.clip(share, 0, 1)[:, None] * self.run[place]
        following = np.arange(1, len(ring) + 1)
        following[first + count - 1] = first
        before = np.empty_like(following)
        before[following] = np.arange(len(following))
        way = points[following] - points
        direction = np.arctan2(way[:, 1], way[:, 0])
        turn = direction[following] - direction
        turn = (turn + np.pi) % (2 * np.pi) - np.pi
        sign = np.where((self.area > 0) == self.outer, 1.0, -1.0)
        return Walk(direction, turn * sign[ring], ring, following, before)

    def boxes(self) -> Floats:
        """Boxes of the letters set upright, (letters, 4): left, bottom, right, top; NaN without ink."""
        points = upright(self.points, self.slant_deg)
        boxes = np.full((len(LETTERS), 4), np.nan)
        owner = self.owner[self.ring]
        begin = np.flatnonzero(np.diff(owner, prepend=-1))
        boxes[owner[begin], :2] = np.minimum.reduceat(points, begin)
        boxes[owner[begin], 2:] = np.maximum.reduceat(points, begin)
        return boxes
