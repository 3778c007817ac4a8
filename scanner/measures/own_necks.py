"""What a letter's own shape leaves of the neck: its narrowest passage after growing, and what holds its dot.

However well two letters meet, the neck of a word is no wider than the widest disc that can be moved from the middle of
a letter (the centre of its largest inscribed disc) to the side where it meets its neighbour; and a word's end letters
are passed on one side only. A dot hangs on to its stem (``pair_necks``), but with wide offsets a neighbour's shoulder
holds it as well, and the widest disc that gets from dot to stem past that neighbour says how well.

All shapes stand in one raster. A disc of radius e can be moved about where the distance to the ground is
above e, so what hangs together there are connected components; each shape has its own e, and all are halved towards
their answers at once. From one offset to the next most passages grow by just twice the step, which one look confirms.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.measures.painting import outline_of, painted

PX_PER_EM = 64.0
"""Raster of the grown shapes. Offsets of whole pixels let straight walls grow alike from one to the next."""

SIDE_EM = 0.15
"""A disc has come to the side of a letter where its centre is so near to the letter's end."""

_FINE_PX = 0.4
"""Radius is searched to this."""

_SEEN_PX = 0.8
"""Added to a width: what the search stays below on average, and what pixels lose of a width (dumbbells of known waist,
upright and turned, in ``tests/test_necks_foretold.py``)."""

_WALL_PX, _NEVER = 0.5, 1e9

Floats = NDArray[np.float64]
Places = NDArray[np.intp]
Flags = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Dotted:
    """A dotted letter next to a neighbour: both together, and the letter's two parts in the same place."""

    region: BaseGeometry
    stem: BaseGeometry
    dot: BaseGeometry


def own_necks(
    letters: Sequence[BaseGeometry], dotted: Sequence[Dotted], upem: float, offsets_em: Sequence[float]
) -> tuple[Floats, Floats]:
    """Necks in em after each offset: from each letter's middle to its left (0) and its right (1), shape (letters,
    offsets, 2), and from each dot to its stem, shape (dotted, offsets).

    Regions in font units, none of them empty. At most the disc that fits in the middle, or in the dot.
    """
    count = len(letters)
    walled = np.arange(count + len(dotted)) < count
    sheet = _Sheet([*letters, *(d.region for d in dotted)], walled, upem, max(offsets_em))
    across, up = sheet.middles()
    reach = round(SIDE_EM * PX_PER_EM)
    begin, end = sheet.begin[:count], sheet.end[:count]
    # What gets from the middle to a side passes the border of its strip, unless it starts there.
    borders = np.stack([np.minimum(begin + reach, across[:count]), np.maximum(end - 1 - reach, across[:count])])
    # Without the walls a middle near a side has less ground around it.
    room = np.full(len(walled), _NEVER)
    room[:count] = np.minimum(across[:count] - begin, end - across[:count])
    goals = np.full((len(walled), 2, 3), -1, dtype=np.intp)  # which column, from and to which row of it
    goals[:count, :, 0], goals[:count, :, 1], goals[:count, :, 2] = borders.T, 0, sheet.ink.shape[1]
    if dotted:
        parts = np.array([[d.stem, d.dot] for d in dotted], dtype=object)
        low_x, low_y, high_x, high_y = np.moveaxis(sheet.pixels(shapely.bounds(parts), count), -1, 0)
        across[count:], up[count:] = (low_x + high_x)[:, 1] / 2, (low_y + high_y)[:, 1] / 2
        # The lower half of the stem, along its middle.
        goals[count:, 0] = np.column_stack([low_x + high_x, 2 * low_y, low_y + high_y])[:, ::2] / 2
    found = sheet.passages(across, up, goals, room, offsets_em)
    return found[:count], found[count:, :, 0]


@dataclass(frozen=True, slots=True)
class _Ways:
    """From where to where each shape is asked to be passable."""

    across: Places
    """(shapes) place of the start along the sheet."""
    up: Places
    """(shapes) and up."""
    places: Places
    """(shapes, 2) place along the sheet of the goals to the left and to the right."""
    heights: Flags
    """(shapes, 2, rows) which pixels of that column are goals."""
    side: Places
    """(columns) 0 left of the start of the shape there, 1 right of it."""


class _Sheet:
    """Shapes in one raster, along its first axis; up is its second. Between them ground, or solid where ``walled``."""

    def __init__(self, regions: Sequence[BaseGeometry], walled: Flags, upem: float, most_em: float) -> None:
        shapes = np.empty(len(regions), dtype=object)
        shapes[:] = list(regions)
        self._scale = PX_PER_EM / upem
        boxes = shapely.bounds(shapes) * self._scale
        inner = np.ceil(boxes[:, 2] - boxes[:, 0]).astype(np.intp)
        pad = int(np.ceil(most_em * PX_PER_EM)) + 1
        between = np.append(np.where(walled, pad, 2 * pad), 2 * pad)  # what grows from one shape stays off the next
        start = np.concatenate([[0], np.cumsum(inner + between[:-1])])
        height = int(np.ceil(boxes[:, 3].max() - boxes[:, 1].min())) + 2 * pad + 2
        self.begin, self.end = start[:-1] + between[:-1], start[1:]
        """First and last but one place of each shape along the sheet."""
        self._origins = np.column_stack([self.begin - boxes[:, 0], np.full(len(shapes), pad + 1 - boxes[:, 1].min())])
        (points, ring), owner = outline_of(shapes)
        size = int(start[-1] + between[-1]), height
        self.ink = painted(size, (points[:, ::-1], ring), owner, self._scale, self._origins[:, ::-1])
        self._cell = np.repeat(np.arange(len(start)), np.append(inner + between[:-1], between[-1]))
        """Which shape a place belongs to, with the space before it; one more for the space after the last."""
        self._away = cv2.distanceTransform(1 - self.ink, cv2.DIST_L2, cv2.DIST_MASK_5)
        self._wall = np.append(walled, walled[-1:])[self._cell]
        self._wall &= np.arange(size[0]) < np.append(self.begin, size[0])[self._cell]
        self._away[self._wall] = 0

    def pixels(self, boxes: Floats, first: int) -> Floats:
        """Boxes (left, low, right, high), shape (shapes, n, 4), of the shapes from the ``first`` on, in pixels."""
        return np.asarray(boxes * self._scale + np.tile(self._origins[first:], 2)[:, None])

    def middles(self) -> tuple[Places, Places]:
        """Pixel in the middle of each shape's largest inscribed disc."""
        depth = cv2.distanceTransform(self.ink, cv2.DIST_L2, cv2.DIST_MASK_5)
        ends = zip(self.begin.tolist(), self.end.tolist(), strict=True)
        up, across = np.array([cv2.minMaxLoc(depth[a:b])[3] for a, b in ends], dtype=np.intp).T
        return across + self.begin, up

    def passages(self, across: Places, up: Places, goals: Places, room: Floats, offsets_em: Sequence[float]) -> Floats:
        """Widest disc, in em, that gets from each shape's start to its goals after each offset: (shapes, offsets, 2).

        ``goals`` (shapes, 2, 3): for ways to the left and the right a place along the sheet, and from and to which
        pixel up; negative where nothing is asked. A way is as narrow on either side of its start as the search for that
        side says. ``room`` is the ground around each start, in pixels.
        """
        count = len(room)
        found = np.zeros((count, len(offsets_em), 2))
        places, asked, rows = goals[:, :, 0], goals[:, :, 0] >= 0, np.arange(self.ink.shape[1])
        heights = (rows >= goals[:, :, 1, None]) & (rows <= goals[:, :, 2, None])
        side = np.where(asked[:, 1], across, len(self.ink))
        side = (np.arange(len(self.ink)) >= np.append(side, 0)[self._cell]).astype(np.intp)
        ways = _Ways(across, up, places, heights, side)
        low, before = np.zeros((count, 2)), 0.0
        for k, offset in enumerate(np.array(offsets_em) * PX_PER_EM):
            base = (self._away <= offset - _WALL_PX).astype(np.uint8)
            depth = cv2.distanceTransform(base, cv2.DIST_L2, cv2.DIST_MASK_5)
            most = np.where(asked, np.minimum(depth[across, up], room + offset)[:, None] - 1e-3, 0.0)
            low, high = np.minimum(np.where(low > 0, low + offset - before, 0.0), most), most.copy()
            before = offset
            tried = np.minimum(low + _FINE_PX, most) if k else (low + high) / 2
            unsure = np.arange(count)
            while len(unsure):
                there = self._there(depth, tried, unsure, ways)
                low[unsure] = np.where(there, tried[unsure], low[unsure])
                high[unsure] = np.where(there, high[unsure], tried[unsure])
                tried = (low + high) / 2
                unsure = unsure[(high[unsure] - low[unsure] > 1.01 * _FINE_PX).any(axis=1)]
            found[:, k] = np.where(low > 0, np.minimum(2 * low + _SEEN_PX, 2 * most), 0.0)
        return found / PX_PER_EM

    def _there(self, depth: NDArray[np.float32], radius: Floats, shapes: Places, ways: _Ways) -> Flags:
        """Whether discs of ``radius`` (all shapes, 2) get from start to goals; (chosen shapes, 2)."""
        kept: slice | Places = slice(None)
        if len(shapes) < len(radius):
            chosen = np.zeros(len(radius) + 1, dtype=np.bool_)
            chosen[shapes] = True
            kept = np.flatnonzero(chosen[self._cell])
        least = np.append(radius, [[_NEVER, _NEVER]], axis=0)[self._cell[kept], ways.side[kept]].astype(np.float32)
        least[self._wall[kept]] = _NEVER
        free = (depth[kept] > least[:, None]).astype(np.uint8)
        _, label = cv2.connectedComponents(free, connectivity=8, ltype=cv2.CV_32S)
        moved = np.zeros(len(self.ink), dtype=np.intp)
        moved[kept] = np.arange(len(label))
        home = label[moved[ways.across[shapes]], ways.up[shapes]][:, None, None]
        return np.asarray(((label[moved[ways.places[shapes]]] == home) & (home > 0) & ways.heights[shapes]).any(axis=2))
