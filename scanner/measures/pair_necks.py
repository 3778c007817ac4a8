"""How far two neighbouring letters must grow to hang together by a neck of some width.

Letters that grow meet in a lens, and the neck between them is the lens's chord: the way between the two bays of open
ground above and below it. What a neighbour sees of a letter is its profile: where its last (or first) ink stands on
each of ``ROWS`` lines. Profiles grow as letters do, each once for all its pairs, and a row is bridged from the offset
on at which the two grown profiles meet there. A neck of width w needs bridged rows over a height of w: the offset it
needs is the least, over all such windows, of the greatest in the window. Exact for two discs (check-values G14), up to
the rows. Arms that reach over the next letter are looked at once more from above and below.

Kept is the offset a neck needs, not the neck at some offset: a threshold, so that what a whole name needs for a neck is
the greatest over its pairs.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.measures.painting import outline_of

ROWS = 96
"""Lines over the height of all letters."""

OFFSETS_EM = tuple(0.01 * 1.3**k for k in range(11))
"""Offsets by which profiles are grown, 0.010 to 0.138 em; what bridges a row is interpolated between them."""

WINDOWS = (0.75, 1.0)
"""Heights of the windows looked at, as shares of the neck: a lens that leans is not as tall as its chord."""

_STEEPEST = 2.0
"""Sideways run of a lens, in its heights, above which it is none but a jump between two bays."""

CHUNK = 128
"""Pairs taken in one numpy pass: they stay in the processor's cache."""

MOST_EM = 0.2
"""Offsets above it are kept as one and the same (``records.packed``)."""

_FORESEEN = 1.3
"""How far beyond its offset a grown profile is kept, times the offset: to the next of ``OFFSETS_EM``."""

_HIDDEN = 0.25
"""A corner so far, times the greatest offset, within the ink of its own row reaches no further than that ink."""

_NONE = np.float32(1e6)
_FAR = 1_000_000

Floats = NDArray[np.float64]
Places = NDArray[np.intp]


class Profiles:
    """The sides of a set of letters, grown by each of ``offsets``; one unit throughout.

    ``upright`` False turns them by a right angle: profiles seen from below and above, for a dot over its stem. With
    ``level`` only what lies wholly below it is seen from above, and what lies wholly above it from below: the arms of
    a T over the letter next to its stem, without the stem.
    """

    def __init__(
        self,
        regions: Sequence[BaseGeometry],
        offsets: Sequence[float],
        upright: bool = True,
        rows: int = ROWS,
        level: float | None = None,
    ) -> None:
        self.offsets = np.array(offsets)
        begin, end, corners, self._step = _ends(regions, upright, rows)
        if level is not None:
            begin, end = np.where(begin < level, _NONE, begin), np.where(end > level, -_NONE, end)
        margin = int(_FORESEEN * max(offsets) / self._step) + 1
        reach = np.full((2, len(regions), begin.shape[1] + 2 * margin), -_NONE, dtype=np.float32)
        reach[0, :, margin:-margin], reach[1, :, margin:-margin] = end, -begin
        self._grown = _grown(reach, self.offsets, self._step)
        """(offsets, 2, letters, rows) reach to the right, and to the left with its sign turned."""
        self._turn_corners(corners, reach, margin, level)
        ink = reach > -_NONE
        self.seen: NDArray[np.bool_] = np.asarray(ink.any(axis=2))
        """(2, letters) whether anything is seen of a letter from its right and from its left."""
        self._aloof = _aloof(ink, self._step)
        """(2, letters, rows) the way along the rows to the next ink: no smaller offset gets there."""

    def _turn_corners(self, corners: Floats, reach: NDArray[np.float32], margin: int, level: float | None) -> None:
        """Grow from the exact corners as well, which lie between the rows."""
        owner, place = corners[0].astype(np.intp), corners[2] + margin
        row = np.rint(place).astype(np.intp)
        for side, sign in enumerate((1, -1)):
            x = sign * corners[1]
            # Corners well within the letter are hidden by the ink on their own row.
            seen = x > reach[side, owner, row] - _HIDDEN * self.offsets[-1]
            if level is not None:
                seen &= x <= sign * level
            middle = (owner * reach.shape[2] + row)[seen, None]
            aside, x = (row - place)[seen, None] * self._step, x[seen, None]
            for grown, offset in zip(self._grown[:, side], self.offsets, strict=True):
                count = int(_FORESEEN * offset / self._step)
                rows = np.arange(-count, count + 1)
                ends = (x + _reach(offset, aside + rows * self._step)).astype(np.float32)
                np.maximum.at(grown.reshape(-1), (middle + rows).ravel(), ends.ravel())

    def needed(
        self, first: Places, second: Places, shift: Floats, widths: Sequence[float], slide: Floats | None = None
    ) -> Floats:
        """Offset at which ``first[k]`` and ``second[k]`` moved by ``shift[k]`` hang together by each of ``widths``.

        ``slide`` moves the second along the rows, to the nearest row. Shape (pairs, widths); very large where all the
        offsets are too small for it.
        """
        rows_moved = None if slide is None else np.rint(slide / self._step).astype(np.intp)
        most = self._grown.shape[3] - 1
        rows = sorted({min(max(1, round(share * w / self._step)), most) for w in widths for share in WINDOWS})
        chord, offset = np.empty((len(first), len(rows))), np.empty((len(first), len(rows)))
        for at in range(0, len(first), CHUNK):
            part = slice(at, at + CHUNK)
            moved = None if rows_moved is None else rows_moved[part]
            bridged = self._bridged(first[part], second[part], shift[part], moved)
            chord[part], offset[part] = self._chords(first[part], bridged, rows)
        return _inverted(chord, offset, widths)

    def _chords(self, first: Places, bridged: NDArray[np.float32], rows: Sequence[int]) -> tuple[Floats, Floats]:
        """For windows of so many row steps: the offset that bridges the best one, and its chord; (pairs, windows)."""
        pair = np.arange(len(first))
        at = np.empty((len(first), len(rows)), dtype=np.intp)
        offset = np.empty((len(first), len(rows)), dtype=np.float32)
        greatest, span = bridged, 1
        for k, size in enumerate(rows):
            while span < size + 1:
                move = min(span, size + 1 - span)
                greatest = np.maximum(greatest[:, :-move], greatest[:, move:])
                span += move
            at[:, k] = np.argmin(greatest, axis=1)
            offset[:, k] = greatest[pair, at[:, k]]
        sizes = np.array(rows)
        last, pair = at + sizes, pair[:, None]
        # A lens ends between two rows.
        tall = sizes + _beyond(bridged, pair, at, -1, offset) + _beyond(bridged, pair, last, 1, offset)
        # It may lean, and then its chord is longer than it is tall.
        level = np.minimum(np.searchsorted(self.offsets, offset), len(self.offsets) - 1)
        aside = self._grown[level, 0, first[:, None], at] - self._grown[level, 0, first[:, None], last]
        lean = np.abs(aside) / (sizes * self._step)
        return tall * self._step * np.hypot(1.0, np.where(lean < _STEEPEST, lean, 0.0)), offset.astype(np.float64)

    def _bridged(self, first: Places, second: Places, shift: Floats, moved: Places | None) -> NDArray[np.float32]:
        """Offset from which each row is bridged, (pairs, rows)."""
        apart: NDArray[np.float32] = np.broadcast_to(
            shift[:, None].astype(np.float32), (len(first), self._grown.shape[3])
        )
        seen: tuple[Places, ...] = (second,)
        if moved is not None:
            row = np.arange(self._grown.shape[3]) - moved[:, None]
            inside = (row >= 0) & (row < self._grown.shape[3])
            seen = second[:, None], np.where(inside, row, 0)
            apart = np.where(inside, apart, _NONE)
        bridged = np.full(apart.shape, self.offsets[0], dtype=np.float32)
        before: NDArray[np.float32] | None = None
        for step, (ends, begins) in zip(np.diff(self.offsets, prepend=0.0), self._grown, strict=True):
            open_ = ends[first]
            open_ += begins[seen]
            np.subtract(apart, open_, out=open_)
            if before is not None:
                # The open ground shrinks about evenly with the offset: this is the share of the step up to the end.
                np.maximum(before, np.float32(1e-6), out=before)
                share = np.minimum(open_, 0)
                np.subtract(before, share, out=share)
                np.divide(before, share, out=before)
                before *= np.float32(step)
                bridged += before
            before = open_
        bridged[open_ > 0] = _NONE
        np.maximum(bridged, self._aloof[0][first], out=bridged)
        np.maximum(bridged, self._aloof[1][seen], out=bridged)
        return bridged


def filled(needed: Floats, first: Places, second: Places) -> Floats:
    """Pairs not measured (NaN) from those measured: what is usual to the first letter's right and the second's left.

    ``needed`` (pairs, widths) are offsets in em; ``first`` and ``second`` number the letters of each pair. Row and
    column means of the square roots, which are nearly additive; ``bench/neck_numbers.py`` prints how nearly.
    """
    root = np.sqrt(np.minimum(needed, MOST_EM))  # what nothing bridges would outweigh all else in a mean
    known = ~np.isnan(root[:, 0])
    if not known.any() or known.all():
        return needed
    mean = root[known].mean(axis=0)
    rest = root[known] - mean
    rows, columns = first[known], second[known]
    size = int(max(first.max(), second.max())) + 1
    row, column = np.zeros((2, size, root.shape[1]))
    for _ in range(4):  # the two means in turns: they settle to a thousandth of an em in three
        for effect, other, own, others in ((row, column, rows, columns), (column, row, columns, rows)):
            effect[:] = 0.0
            np.add.at(effect, own, rest - other[others])
            effect /= np.maximum(np.bincount(own, minlength=size), 1)[:, None]
    usual = np.maximum(mean + row[first] + column[second], 0.0) ** 2
    return np.where(known[:, None], needed, _ascending(usual))


def _ascending(values: Floats) -> Floats:
    """Each value raised to the greatest before it in its row; numpy's own goes row by row, and these are short."""
    for k in range(1, values.shape[1]):
        np.maximum(values[:, k], values[:, k - 1], out=values[:, k])
    return values


def _inverted(chord: Floats, offset: Floats, widths: Sequence[float]) -> Floats:
    """Offset at each of ``widths``, from offsets at chords; both ascend. Between them as the square of the chord."""
    square, offset = _ascending(chord) ** 2, _ascending(np.minimum(offset, _NONE))
    for k in range(2, offset.shape[1]):  # beyond the offsets looked at, the last piece is carried on
        run, rise = square[:, k - 1] - square[:, k - 2], offset[:, k - 1] - offset[:, k - 2]
        carried = offset[:, k - 1] + rise / np.maximum(run, 1e-9) * (square[:, k] - square[:, k - 1])
        offset[:, k] = np.where((offset[:, k] >= _NONE) & (offset[:, k - 1] < _NONE), carried, offset[:, k])
    pair = np.arange(len(chord))
    found = np.empty((len(chord), len(widths)))
    for k, width in enumerate(widths):
        above = np.clip((square < width**2).sum(axis=1), 1, chord.shape[1] - 1)
        low, high = square[pair, above - 1], square[pair, above]
        share = np.maximum((width**2 - low) / np.maximum(high - low, 1e-9), 0.0)
        start = offset[pair, above - 1]
        found[:, k] = start + share * (offset[pair, above] - start)
    return found


def _ends(regions: Sequence[BaseGeometry], upright: bool, rows: int) -> tuple[Floats, Floats, Floats, float]:
    """First and last ink on each row, shape (letters, rows); corners; and the distance of two rows.

    Corners are where an outline turns back along the rows or runs across them: (letter, way across, row) of each.
    """
    shapes = np.empty(len(regions), dtype=object)
    shapes[:] = list(regions)
    (points, ring), home = outline_of(shapes)
    owner = home[ring]
    if not upright:
        points = points[:, ::-1]
    same = np.flatnonzero(ring[1:] == ring[:-1])
    x, y = points[same].T
    run_x, run_y = (points[same + 1] - points[same]).T
    low, high = float(points[:, 1].min()), float(points[:, 1].max())
    step = max(high - low, 1e-9) / rows
    place, rise = (y - low) / step - 0.5, run_y / step
    # An edge crosses row n where least <= n < greatest, as in `gaps`.
    begin = np.ceil(np.minimum(place, place + rise)).astype(np.intp)
    size = np.ceil(np.maximum(place, place + rise)).astype(np.intp) - begin
    edge = np.repeat(np.arange(len(place)), size)
    row = np.arange(len(edge)) + (begin - (np.cumsum(size) - size))[edge]
    across = x[edge] + (row - place[edge]) / rise[edge] * run_x[edge]
    cell = owner[same][edge] * rows + row
    first, last = np.full(len(regions) * rows, float(_NONE)), np.full(len(regions) * rows, -float(_NONE))
    np.minimum.at(first, cell, across)
    np.maximum.at(last, cell, across)
    before = np.arange(len(place)) - 1
    starts = np.flatnonzero(np.diff(ring[same], prepend=-1))
    before[starts] = np.append(starts[1:], len(place)) - 1
    corner = np.flatnonzero(rise * rise[before] <= 0)
    corners = np.stack([owner[same][corner], x[corner], place[corner]])
    return first.reshape(-1, rows), last.reshape(-1, rows), corners, step


def _grown(rows: NDArray[np.float32], offsets: Floats, step: float) -> NDArray[np.float32]:
    """Profiles after growing by each offset: the furthest reach of a disc around any row's end."""
    grown: NDArray[np.float32] = rows + offsets.astype(np.float32)[:, None, None, None]
    for k in range(1, int(_FORESEEN * offsets[-1] / step) + 1):
        first = int(np.searchsorted(_FORESEEN * offsets, k * step))
        for one, offset in zip(grown[first:], offsets[first:], strict=True):
            reach = rows + np.float32(_reach(offset, k * step))
            np.maximum(one[..., k:], reach[..., :-k], out=one[..., k:])
            np.maximum(one[..., :-k], reach[..., k:], out=one[..., :-k])
    return grown


def _reach(offset: float, away: Floats | float) -> Floats:
    """Half the chord of a disc at a distance from its centre; beyond its rim negative, by how much it lacks."""
    square = offset**2 - np.square(away)
    return np.asarray(np.copysign(np.sqrt(np.abs(square)), square))


def _aloof(ink: NDArray[np.bool_], step: float) -> NDArray[np.float32]:
    """Distance of each row from the nearest one with ink, less half a step."""
    place = np.arange(ink.shape[-1])
    below = np.maximum.accumulate(np.where(ink, place, -_FAR), axis=-1)
    above = np.minimum.accumulate(np.where(ink, place, _FAR)[..., ::-1], axis=-1)[..., ::-1]
    rows = np.minimum(place - below, above - place)
    return np.maximum((rows - 0.5) * step, 0.0).astype(np.float32)


def _beyond(bridged: NDArray[np.float32], pair: Places, row: Places, way: int, offset: NDArray[np.float32]) -> Floats:
    """How far ``offset`` gets from a row that it bridges towards the next one, as a share of the step."""
    following = np.clip(row + way, 0, bridged.shape[1] - 1)
    here, there = bridged[pair, row], bridged[pair, following]
    return np.asarray(np.clip((offset - here) / np.maximum(there - here, np.float32(1e-6)), 0.0, 1.0), np.float64)
