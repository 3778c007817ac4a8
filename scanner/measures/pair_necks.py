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
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

ROWS = 128
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

_NONE = np.float32(1e6)

Floats = NDArray[np.float64]
Places = NDArray[np.intp]


class Profiles:
    """The sides of a set of letters, grown by each of ``offsets``; one unit throughout.

    ``upright`` False turns them by a right angle: profiles seen from below and above, for a dot over its stem. With
    ``level`` only what lies wholly below it is seen from above, and what lies wholly above it from below: the arms of
    a T over the letter beside its stem, without the stem.
    """

    def __init__(
        self,
        regions: Sequence[BaseGeometry],
        offsets: Sequence[float],
        upright: bool = True,
        rows: int = ROWS,
        level: float | None = None,
    ) -> None:
        self.offsets = tuple(offsets)
        begin, end, self._step = _ends(regions, upright, rows)
        if level is not None:
            begin, end = np.where(begin < level, _NONE, begin), np.where(end > level, -_NONE, end)
        margin = int(max(offsets) / self._step) + 1
        reach = np.full((2, len(regions), begin.shape[1] + 2 * margin), -_NONE, dtype=np.float32)
        reach[0, :, margin:-margin], reach[1, :, margin:-margin] = end, -begin
        self._grown = np.stack([_grown(reach, o, self._step) for o in offsets])
        """(offsets, 2, letters, rows) reach to the right, and to the left with its sign turned."""

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
        chord, offset = np.empty((len(first), len(rows))), np.empty((len(first), len(rows)))
        greatest, span = bridged, 1
        for k, size in enumerate(rows):
            while span < size + 1:
                move = min(span, size + 1 - span)
                greatest = np.maximum(greatest[:, :-move], greatest[:, move:])
                span += move
            at = np.argmin(greatest, axis=1)
            offset[:, k] = greatest[pair, at]
            # A lens may lean, and then its chord is longer than it is tall.
            level = np.minimum(np.searchsorted(self.offsets, offset[:, k]), len(self.offsets) - 1)
            ends = self._grown[level, 0, first]
            aside = (ends[pair, at] - ends[pair, at + size]).astype(np.float64)
            tall = (size + 0.5) * self._step  # at one end the lens goes on towards the next row, half a row on average
            chord[:, k] = np.hypot(tall, np.where(np.abs(aside) < _STEEPEST * tall, aside, 0.0))
        return chord, offset

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
        bridged = np.full((len(first), self._grown.shape[3]), np.inf, dtype=np.float32)
        last, before = 0.0, None
        for offset, (ends, begins) in zip(self.offsets, self._grown, strict=True):
            open_ = apart - begins[seen]
            open_ -= ends[first]
            if before is None:
                met = np.full_like(open_, offset)
            else:
                # The open ground shrinks about evenly with the offset. In place, for speed.
                np.maximum(before, 0, out=before)
                met = before - open_
                np.maximum(met, np.float32(1e-6), out=met)
                np.divide(before, met, out=met)
                met *= np.float32(offset - last)
                met += np.float32(last)
            met[open_ > 0] = np.inf
            np.minimum(bridged, met, out=bridged)
            last, before = offset, open_
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
    told = np.maximum(mean + row[first] + column[second], 0.0) ** 2
    return np.where(known[:, None], needed, np.maximum.accumulate(told, axis=1))


def _inverted(chord: Floats, offset: Floats, widths: Sequence[float]) -> Floats:
    """Offset at each of ``widths``, from offsets at chords; both ascend. Between them as the square of the chord."""
    square = np.maximum.accumulate(chord, axis=1) ** 2
    offset = np.minimum(np.maximum.accumulate(offset, axis=1), _NONE)  # finite, to be interpolated
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


def _ends(regions: Sequence[BaseGeometry], upright: bool, rows: int) -> tuple[Floats, Floats, float]:
    """First and last ink on each row, shape (letters, rows), and the distance of two rows."""
    shapes = np.empty(len(regions), dtype=object)
    shapes[:] = list(regions)
    points, owner = shapely.get_coordinates(shapes, return_index=True)
    rings, ring_owner = shapely.get_rings(np.asarray(shapely.get_parts(shapes)), return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    _, polygon_owner = shapely.get_parts(shapes, return_index=True)
    owner = polygon_owner[ring_owner[ring]]
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
    return first.reshape(-1, rows), last.reshape(-1, rows), step


def _grown(rows: NDArray[np.float32], offset: float, step: float) -> NDArray[np.float32]:
    """Profiles after growing by ``offset``: the furthest reach of a disc around any row's end."""
    grown: NDArray[np.float32] = rows + np.float32(offset)
    for k in range(1, int(offset / step) + 1):
        reach = rows + np.float32(max(0.0, offset**2 - (k * step) ** 2) ** 0.5)
        np.maximum(grown[..., k:], reach[..., :-k], out=grown[..., k:])
        np.maximum(grown[..., :-k], reach[..., k:], out=grown[..., :-k])
    return grown
