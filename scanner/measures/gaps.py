"""Least distances between many placed outlines: the same numbers as GEOS in a third of the time.

Letters in a line stand side by side, and that makes most of an outline irrelevant to its neighbour:

1. Every outline is cut along the same ``ROWS`` scan lines. On one line, the way from the end of the left outline's last
   ink to the begin of the right one's first ink is a true distance, so the least over the lines bounds the gap from
   above; and ink that overlaps on a line proves that the two touch.
2. With that bound, only edges of the left outline that end close enough to the right one's box can matter, and the
   other way round: about 10 of 80 edges each. Their vertex-to-edge distances are taken in one numpy pass.
3. What is left (no common scan line, shifted up or down, overlap not proven by a line) goes to GEOS.

Measured on a median face with 5,400 pairs: 36 ms; moving every right letter and asking GEOS took 115 ms (18 demo
faces; the largest difference was 1e-16 em).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.measures.joins import pair_gaps
from scanner.measures.painting import outline_of

ROWS = 96
"""Scan lines over the height of all outlines; more lines give tighter bounds, the result is the same."""

BANDS = 32
"""Height bands in which an edge looks for its counterpart."""

MOST_PRODUCTS = 4_000
"""Edge pairs of one letter pair above which GEOS, with its tree, is the faster way."""

CHUNK = 30_000
"""Edge pairs taken in one numpy pass: small enough to stay in the cache, three times as fast as 1,000,000."""

_APART = 2.0**24
"""Keeps the sorted edges of one outline apart from the next one's in one array; beyond any coordinate of a font."""

_NO_LENGTH = 1e-12
"""Squared font units; an outline may stand still for a step, which is a point and no edge."""

Floats = NDArray[np.float64]
Places = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class _Near:
    """Edges of one side of some letter pairs that can matter to the other: the runs of each pair in one list."""

    edges: Places
    begin: Places
    count: Places


class Outlines:
    """A set of regions prepared for distances between any two of them; one unit throughout."""

    def __init__(self, regions: Sequence[BaseGeometry]) -> None:
        self.regions = np.empty(len(regions), dtype=object)
        self.regions[:] = list(regions)
        boxes = shapely.bounds(self.regions)
        self.left, self.low, self.right, self.high = (boxes[:, k] for k in range(4))
        (points, ring), home = outline_of(self.regions)
        same = np.flatnonzero(ring[1:] == ring[:-1])
        self._start_x, self._start_y = points[same].T.copy()
        self._run_x, self._run_y = (points[same + 1] - points[same]).T.copy()
        self._owner: Places = home[ring[same]]
        self._base = float(np.nanmin(self.low, initial=0.0))
        self._height = float(np.nanmax(self.high, initial=1.0)) - self._base
        self._band = self._height / BANDS
        self._edge_low = self._start_y + np.minimum(self._run_y, 0)
        self._edge_high = self._start_y + np.maximum(self._run_y, 0)
        self._reach_right = self._start_x + np.maximum(self._run_x, 0)
        self._reach_left = self._start_x + np.minimum(self._run_x, 0)
        self._cut_rows()
        self._cut_bands()
        # Edges of each outline, those that reach furthest towards the neighbour first.
        right, left = self._owner * _APART - self._reach_right, self._owner * _APART + self._reach_left
        self._by_right, self._by_left = np.argsort(right), np.argsort(left)
        self._right_keys, self._left_keys = right[self._by_right], left[self._by_left]
        self._first_edge: Places = np.searchsorted(self._owner, np.arange(len(regions))).astype(np.intp)

    def _cut_rows(self) -> None:
        """Cut every outline along the scan lines: begin and end of the first and of the last ink on each."""
        step = self._height / ROWS
        y = (self._start_y - self._base) / step - 0.5
        run = self._run_y / step
        # An edge crosses line n where least <= n < greatest: a vertex on a line counts for one of its two edges.
        begin = np.ceil(np.minimum(y, y + run)).astype(np.intp)
        size = np.ceil(np.maximum(y, y + run)).astype(np.intp) - begin
        edge = np.repeat(np.arange(len(y)), size)
        row = np.arange(len(edge)) + (begin - (np.cumsum(size) - size))[edge]
        x = self._start_x[edge] + (row - y[edge]) / run[edge] * self._run_x[edge]
        line = self._owner[edge] * ROWS + row
        order = _sorted(line, len(self.regions) * ROWS)
        x, line = x[order], line[order]
        firsts = np.flatnonzero(np.diff(line, prepend=-1))
        shape = (len(self.regions), ROWS)
        self._begin, self._begin_end = np.full(shape, np.inf), np.full(shape, -np.inf)
        self._end, self._end_begin = np.full(shape, -np.inf), np.full(shape, np.inf)
        if len(line):
            at = line[firsts]
            for extreme, far, first, second in (
                (np.minimum, np.inf, self._begin, self._begin_end),
                (np.maximum, -np.inf, self._end, self._end_begin),
            ):
                found = extreme.reduceat(x, firsts)
                first.flat[at] = found
                # The next crossing behind the outermost: of two in one place one stays.
                outermost = np.flatnonzero(x == np.repeat(found, np.diff(firsts, append=len(x))))
                rest = x.copy()
                rest[outermost[np.diff(line[outermost], prepend=-1) != 0]] = far
                second.flat[at] = extreme.reduceat(rest, firsts)

    def _cut_bands(self) -> None:
        """Leftmost and rightmost ink of every outline in runs of bands: tables (power of two, outline, first band)."""
        y = (self._start_y - self._base) / self._band
        run = self._run_y / self._band
        low, high = np.minimum(y, y + run), np.maximum(y, y + run)
        begin = np.clip((low - 1e-6).astype(np.intp), 0, BANDS - 1)
        size = np.clip((high + 1e-6).astype(np.intp), 0, BANDS - 1) - begin + 1
        edge = np.repeat(np.arange(len(y)), size)
        band = np.arange(len(edge)) + (begin - (np.cumsum(size) - size))[edge]
        slope = np.divide(self._run_x, run, out=np.zeros_like(run), where=np.abs(run) > 1e-9)[edge]
        flat = np.abs(run[edge]) <= 1e-9
        x0 = self._start_x[edge] + (np.clip(band, low[edge], high[edge]) - y[edge]) * slope
        x1 = self._start_x[edge] + (np.clip(band + 1, low[edge], high[edge]) - y[edge]) * slope
        least = np.where(flat, self._reach_left[edge], np.minimum(x0, x1))
        greatest = np.where(flat, self._reach_right[edge], np.maximum(x0, x1))
        place = self._owner[edge] * BANDS + band
        order = _sorted(place, len(self.regions) * BANDS)
        place = place[order]
        firsts = np.flatnonzero(np.diff(place, prepend=-1))
        left = np.full((len(self.regions), BANDS), np.inf)
        right = np.full((len(self.regions), BANDS), -np.inf)
        if len(place):
            left.flat[place[firsts]] = np.minimum.reduceat(least[order], firsts) - 1e-3
            right.flat[place[firsts]] = np.maximum.reduceat(greatest[order], firsts) + 1e-3
        # Runs of 1, 2, 4 … bands: any run is two of them, which may overlap. A fifth of the entries of all runs.
        self._band_left, self._band_right = _doubling(left, np.minimum), _doubling(right, np.maximum)

    def distances(self, first: Places, second: Places, shift: Floats, rise: Floats) -> Floats:
        """Least distance of each outline ``first[k]`` to ``second[k]`` moved by ``shift[k]`` and ``rise[k]``.

        0 where they touch. The second is meant to stand to the right of the first; where it does not, the answer is
        as right, only slower.
        """
        gaps = np.full(len(first), np.nan)
        bound, touch = self._bounds(first, second, shift)
        level = rise == 0
        touch &= level
        gaps[touch] = 0.0
        near = level & ~touch & (bound > 0) & np.isfinite(bound)
        near[near] = self._windows(np.flatnonzero(near), first, second, shift, bound, gaps)
        rest = np.flatnonzero(~touch & ~near)
        if len(rest):
            left, right = self.regions[first[rest]], self.regions[second[rest]]
            gaps[rest] = pair_gaps(left, right, shift[rest], rise[rest])
        return gaps

    def _bounds(self, first: Places, second: Places, shift: Floats) -> tuple[Floats, NDArray[np.bool_]]:
        """Least way along a scan line from the first to the second, and whether they share ink on one."""
        bound = np.empty(len(first))
        touch = np.zeros(len(first), dtype=bool)
        for at in range(0, len(first), 1024):  # chunks stay in the processor's cache
            a, b = first[at : at + 1024], second[at : at + 1024]
            move = shift[at : at + 1024, None]
            begin = self._begin[b] + move
            way = begin - self._end[a]
            bound[at : at + 1024] = way.min(axis=1)
            crossed = np.flatnonzero(bound[at : at + 1024] <= 0)
            ends = self._begin_end[b[crossed]] + move[crossed]
            shared = (way[crossed] <= 0) & (ends >= self._end_begin[a[crossed]])
            touch[at + crossed] = shared.any(axis=1)
        return bound, touch

    def _windows(
        self, pairs: Places, first: Places, second: Places, shift: Floats, bound: Floats, gaps: Floats
    ) -> NDArray[np.bool_]:
        """Distances from the edges within reach of the other outline, into ``gaps``; which pairs were done."""
        a, b, move = first[pairs], second[pairs], shift[pairs]
        reach = bound[pairs] * (1 + 1e-9) + 1e-6
        begin_a, begin_b = self._first_edge[a], self._first_edge[b]
        count_a = np.searchsorted(self._right_keys, a * _APART - (self.left[b] + move - reach), side="right") - begin_a
        count_b = np.searchsorted(self._left_keys, b * _APART + (self.right[a] - move + reach), side="right") - begin_b
        # Of those, an edge matters only if the other outline comes within reach at the edge's own height.
        pair, edge = _listed(begin_a, count_a, self._by_right)
        length, low, high = self._bands(edge, reach[pair])
        whose = b[pair]
        other = np.minimum(self._band_left[length, whose, low], self._band_left[length, whose, high]) + move[pair]
        keep = self._reach_right[edge] + reach[pair] >= other
        edges_a, count_a = edge[keep], np.bincount(pair[keep], minlength=len(pairs))
        pair, edge = _listed(begin_b, count_b, self._by_left)
        length, low, high = self._bands(edge, reach[pair])
        whose = a[pair]
        other = np.maximum(self._band_right[length, whose, low], self._band_right[length, whose, high])
        keep = self._reach_left[edge] + move[pair] - reach[pair] <= other
        edges_b, count_b = edge[keep], np.bincount(pair[keep], minlength=len(pairs))
        begin_a, begin_b = np.cumsum(count_a) - count_a, np.cumsum(count_b) - count_b
        product = count_a * count_b
        small = (product <= MOST_PRODUCTS) & (product > 0)
        chosen = np.flatnonzero(small)
        crossable = self.left[b] + move <= self.right[a]
        for part in np.array_split(chosen, 1 + int(product[chosen].sum()) // CHUNK):
            if len(part):
                near_a = _Near(edges_a, begin_a[part], count_a[part])
                near_b = _Near(edges_b, begin_b[part], count_b[part])
                gaps[pairs[part]] = self._products(near_a, near_b, move[part], crossable[part])
        return small

    def _bands(self, edge: Places, reach: Floats) -> tuple[Places, Places, Places]:
        """The bands that anything within reach of an edge can lie in, as two runs: their length (its power of two) and
        the first band of each."""
        low = (self._edge_low[edge] - (reach + self._base)) * (1 / self._band)
        high = (self._edge_high[edge] + (reach - self._base)) * (1 / self._band)
        first = np.clip(low.astype(np.intp), 0, BANDS - 1)
        last = np.clip(high.astype(np.intp), 0, BANDS - 1)
        length = _POWER[last - first + 1]
        return length, first, last + 1 - (1 << length)

    def _products(self, a: _Near, b: _Near, move: Floats, overlapping: NDArray[np.bool_]) -> Floats:
        """Least vertex-to-edge distance over all edge pairs of each letter pair; 0 where two edges cross."""
        product = a.count * b.count
        starts = np.cumsum(product) - product
        pair = np.repeat(np.arange(len(product)), product)
        i, j = np.divmod(np.arange(len(pair)) - starts[pair], b.count[pair])
        edge_a = a.edges[i + a.begin[pair]]
        edge_b = b.edges[j + b.begin[pair]]
        ax, ay = self._run_x[edge_a], self._run_y[edge_a]
        bx, by = self._run_x[edge_b], self._run_y[edge_b]
        dx = self._start_x[edge_b] - self._start_x[edge_a] + move[pair]
        dy = self._start_y[edge_b] - self._start_y[edge_a]
        squared = np.minimum(_to_edge(dx, dy, ax, ay), _to_edge(-dx, -dy, bx, by))
        least = np.sqrt(np.minimum.reduceat(squared, starts))
        at = np.flatnonzero(overlapping[pair])
        if len(at):  # only then can edges cross
            ax, ay, bx, by, dx, dy = ax[at], ay[at], bx[at], by[at], dx[at], dy[at]
            turn = ax * by - ay * bx
            along = dx * by - dy * bx  # both are fractions of `turn`: where the edges' lines meet
            across = dx * ay - dy * ax
            sign = np.sign(turn)
            along, across, turn = along * sign, across * sign, np.abs(turn)
            crossing = (turn > 0) & (along >= 0) & (along <= turn) & (across >= 0) & (across <= turn)
            least[pair[at[crossing]]] = 0.0
        return least


_POWER = np.frexp(np.arange(BANDS + 1))[1] - 1
"""Greatest power of two within a number of bands."""


def _sorted(keys: Places, end: int) -> Places:
    """Order of whole numbers from 0 below ``end``. Of two bytes each numpy counts them and compares none."""
    return np.argsort(keys.astype(np.min_scalar_type(max(end, 1) - 1)), kind="stable")


def _doubling(values: Floats, extreme: np.ufunc) -> Floats:
    """Least or greatest of 1, 2, 4 … neighbours from each place on; (powers, outlines, BANDS), to be asked only where
    the run lies within."""
    runs = np.broadcast_to(values, (BANDS.bit_length(), *values.shape)).copy()
    for k in range(1, len(runs)):
        half = 1 << (k - 1)
        extreme(runs[k - 1, :, :-half], runs[k - 1, :, half:], out=runs[k, :, :-half])
    return runs


def _listed(begin: Places, count: Places, edges: Places) -> tuple[Places, Places]:
    """Owner and edge of every entry in the runs ``edges[begin[k] : begin[k] + count[k]]``."""
    owner = np.repeat(np.arange(len(count)), count)
    return owner, edges[np.arange(len(owner)) + (begin - (np.cumsum(count) - count))[owner]]


def _to_edge(dx: Floats, dy: Floats, rx: Floats, ry: Floats) -> Floats:
    """Squared distance of points at (dx, dy) from edges that run from the origin by (rx, ry)."""
    t = (dx * rx + dy * ry) / np.maximum(rx * rx + ry * ry, _NO_LENGTH)
    np.clip(t, 0.0, 1.0, out=t)
    x = dx - t * rx
    y = dy - t * ry
    return x * x + y * y
