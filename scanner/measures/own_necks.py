"""A letter's own narrowest passage after growing: what caps the neck of a word, however well its letters meet.

A disc of width w gets from one side of a letter to the other unless a chain of grounds (above, below, counters) stands
in its way with every gap below w: the neck is the way between the ground above and the ground below that keeps its
widest step least. All letters stand in one raster between bars that close the sides; one distance transform an offset
tells for every pixel the nearest ground and how far it is, and where two grounds meet half-way lies a step.

A word's end letters are passed on one side only, up to their seed (the centre of the largest inscribed disc); so steps
left and right of the seed are kept apart. The seed itself must fit a disc too.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.measures.painting import outline_of, painted

PX_PER_EM = 72.0
"""Raster of the grown letters; a step is right within a pixel, 0.014 em, mostly within half of one."""

BAR_PX = 4
"""Width of the bars between the letters."""

_INK_PX, _EDGE_PX = 0.5, 0.2
"""Painted ink reaches half a pixel beyond its outline; measured bias of a step between two pixelled walls."""

Floats = NDArray[np.float64]


def own_necks(regions: Sequence[BaseGeometry], upem: float, offsets_em: Sequence[float]) -> Floats:
    """Neck in em from each letter's seed to its left (0) and its right (1) after each offset: (letters, offsets, 2).

    Regions in font units, none of them empty. Infinite where nothing narrows.
    """
    scale = PX_PER_EM / upem
    shapes = np.empty(len(regions), dtype=object)
    shapes[:] = list(regions)
    boxes = shapely.bounds(shapes) * scale
    inner = np.ceil(boxes[:, 2] - boxes[:, 0]).astype(np.intp)
    start = np.concatenate([[0], np.cumsum(inner + BAR_PX)])
    pad = int(np.ceil(max(offsets_em) * PX_PER_EM)) + 3
    height = int(np.ceil(boxes[:, 3].max() - boxes[:, 1].min())) + 2 * pad
    origins = np.column_stack([start[:-1] + BAR_PX - boxes[:, 0], np.full(len(regions), pad - boxes[:, 1].min())])
    ink = painted((height, int(start[-1]) + BAR_PX), *outline_of(shapes), scale, origins)
    row, column = _seeds(ink, start)
    bars = (start[:, None] + np.arange(BAR_PX)).ravel()
    ink[:, bars] = 1
    away = cv2.distanceTransform(1 - ink, cv2.DIST_L2, cv2.DIST_MASK_5)
    cell = np.repeat(np.arange(len(start)), np.append(inner + BAR_PX, BAR_PX))
    right = np.arange(ink.shape[1]) >= np.append(column, 0)[cell]
    # Without the bars a seed near a side has less ground around it.
    side = np.minimum(column - start[:-1] - BAR_PX, start[1:] - column)
    found = np.full((len(regions), len(offsets_em), 2), np.inf)
    for k, offset in enumerate(offsets_em):
        base = (away <= offset * PX_PER_EM - _INK_PX).astype(np.uint8)
        depth, ground = cv2.distanceTransformWithLabels(
            base, cv2.DIST_L2, cv2.DIST_MASK_5, labelType=cv2.DIST_LABEL_CCOMP
        )
        home = np.full(int(ground.max()) + 1, -1, dtype=np.intp)
        outside = np.flatnonzero(base == 0)
        home[ground.ravel()[outside]] = cell[outside % base.shape[1]]
        narrow = _steps(depth, ground, home, right)
        middle = start[:-1] + BAR_PX + inner // 2
        found[:, k] = _passages(narrow, ground[0, middle], ground[-1, middle])
        fits = 2 * np.minimum(depth[row, column], side + offset * PX_PER_EM)
        found[:, k] = np.minimum(found[:, k], fits[:, None])
    return np.maximum(found - _EDGE_PX, 0.0) / PX_PER_EM


def _seeds(ink: NDArray[np.uint8], start: NDArray[np.intp]) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """Pixel in the middle of each letter's largest inscribed disc: row and column."""
    depth = cv2.distanceTransform(ink, cv2.DIST_L2, cv2.DIST_MASK_5)
    highest = np.argmax(depth, axis=0)
    deep = depth[highest, np.arange(depth.shape[1])]
    column = np.array(
        [a + int(np.argmax(deep[a:b])) for a, b in zip(start[:-1], start[1:], strict=True)], dtype=np.intp
    )
    return highest[column], column


def _steps(
    depth: NDArray[np.float32], ground: NDArray[np.int32], home: NDArray[np.intp], right: NDArray[np.bool_]
) -> list[tuple[int, int, int, float]]:
    """Least way between each two grounds of one letter, left (0) and right (1) of its seed, narrowest first."""
    width = ground.shape[1]
    label, deep = ground.ravel(), depth.ravel()
    keys, ways = [], []
    for stride in (1, width):  # neighbours in a row and in a column; the bars part the rows' ends
        one = np.flatnonzero(label[stride:] != label[:-stride])
        a, b = label[one], label[one + stride]
        same = home[a] == home[b]
        one, a, b = one[same], a[same], b[same]
        keys.append(((np.minimum(a, b).astype(np.int64) << 32) + np.maximum(a, b)) * 2 + right[one % width])
        ways.append(deep[one] + deep[one + stride] + 1)
    key, way = np.concatenate(keys), np.concatenate(ways)
    order = np.lexsort((way, key))
    key, way = key[order], way[order]
    first = np.flatnonzero(np.diff(key, prepend=-1))
    first = first[np.argsort(way[first], kind="stable")]
    pair, side = np.divmod(key[first], 2)
    columns = pair >> 32, pair & 0xFFFFFFFF, side, way[first]
    return list(zip(*(column.tolist() for column in columns), strict=True))


def _passages(steps: list[tuple[int, int, int, float]], above: NDArray[np.int32], below: NDArray[np.int32]) -> Floats:
    """Widest step of the best chain from above to below each letter, on either side; infinite without a chain."""
    found = np.full((len(above), 2), np.inf)
    letter = {int(g): k for k, pair in enumerate(zip(above, below, strict=True)) for g in pair}
    for side in (0, 1):
        home: dict[int, int] = {}

        def root(ground: int, home: dict[int, int] = home) -> int:
            while ground in home:
                ground = home[ground]
            return ground

        for a, b, which, way in steps:
            if which != side:
                continue
            a, b = root(a), root(b)
            if a == b:
                continue
            ends = letter.get(a), letter.get(b)
            if None not in ends and a != b:
                found[ends[0], side] = way
            # The ground above or below stays the root, so that a chain is known by its ends.
            keep, gone = (a, b) if ends[0] is not None else (b, a)
            home[gone] = keep
    return found
