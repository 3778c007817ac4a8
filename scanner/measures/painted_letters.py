"""The letters of a face painted upright, each in a tile of its own, and what is read off the pixels."""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.alphabet import LOWER, UPPER, mean_letters
from scanner.measures.letter_outlines import AT, LETTERS, NAN, LetterOutlines, as_array, median, upright

PX_PER_CAP = 80.0
"""Raster of the letters; an ordinary stroke is ten pixels."""

BOX_PX = 24
"""Side of the square that a letter is brought to before likeness is taken."""

MEAN_PX = 12
"""Side of the mean letters."""

_PAD = 2
_LOW, _HIGH = -0.75, 1.75
"""Height of the painted band, in cap heights."""

_FOLDED = np.array([ord(c.upper()) for c in LETTERS])
Tile = NDArray[np.uint8]
Box = NDArray[np.float32]


class PaintedLetters:
    """The letters painted upright from the wanted rings: row 0 of a tile is the lowest."""

    def __init__(self, outlines: LetterOutlines, rings: NDArray[np.bool_]) -> None:
        self.bounds = outlines.boxes()
        """Boxes of the letters set upright, (letters, 4), in cap heights."""
        live = np.flatnonzero(np.isfinite(self.bounds[:, 0]))
        widths = np.rint(np.minimum(self.bounds[live, 2] - self.bounds[live, 0], 6.0) * PX_PER_CAP).astype(int) + 1
        starts = np.concatenate([[0], np.cumsum(widths + 2 * _PAD)])
        height = int((_HIGH - _LOW) * PX_PER_CAP) + 2 * _PAD
        shift = np.zeros((len(LETTERS), 2))
        shift[live, 0] = starts[:-1] + _PAD - self.bounds[live, 0] * PX_PER_CAP
        shift[live, 1] = _PAD - _LOW * PX_PER_CAP
        points = upright(outlines.points, outlines.slant_deg) * PX_PER_CAP + shift[outlines.owner[outlines.ring]]
        points[:, 1] = np.clip(points[:, 1], 0, height - 1)
        sheet = np.zeros((height, int(starts[-1])), dtype=np.uint8)
        pixels = np.rint(points * 16).astype(np.int32)
        drawn = [ring for ring, wanted in zip(np.split(pixels, outlines.start[1:]), rings.tolist()) if wanted]
        cv2.fillPoly(sheet, drawn, (255,), lineType=cv2.LINE_8, shift=4)
        self.tiles: dict[str, Tile] = {
            LETTERS[k]: sheet[:, a + _PAD : a + _PAD + max(1, w)]
            for k, a, w in zip(live.tolist(), starts[:-1].tolist(), widths.tolist(), strict=True)
        }

    def row(self, y: float) -> int:
        """Row of a height in cap heights."""
        return round(min(max(_PAD + (y - _LOW) * PX_PER_CAP, 0), (_HIGH - _LOW) * PX_PER_CAP))

    def boxed(self) -> dict[str, Box]:
        """Each letter's ink brought to a square of ``BOX_PX``, 0 to 1."""
        found = {}
        for letter, tile in self.tiles.items():
            _, low, _, high = self.bounds[AT[letter]].tolist()
            part = tile[self.row(low) : self.row(high) + 1]
            if part.shape[0] >= 3 and part.shape[1] >= 3:
                square = cv2.resize(part, (BOX_PX, BOX_PX), interpolation=cv2.INTER_AREA)
                found[letter] = square.astype(np.float32) / np.float32(255)
        return found


def runs(line: Tile) -> list[tuple[int, int]]:
    """Begin and end of every run of ink along a line of pixels."""
    ink = np.zeros(len(line) + 2, dtype=bool)
    ink[1:-1] = line > 0
    edges = np.flatnonzero(ink[1:] != ink[:-1]).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))


def likeness(boxes: dict[str, Box]) -> dict[str, float]:
    """Letters against their mirror images, their turned partners and their capitals; the ink's share of the boxes."""

    def like(pairs: Sequence[tuple[str, str]], turn: slice, across: slice) -> list[float]:
        found = []
        for a, b in pairs:
            if a in boxes and b in boxes:
                one, other = boxes[a], boxes[b][turn, across]
                found.append(float(np.minimum(one, other).sum() / max(float(np.maximum(one, other).sum()), 1e-6)))
        return found

    keep, flip = slice(None), slice(None, None, -1)
    own = like([(c, c) for c in "AHMOTUVWXYovwx"], keep, flip)
    turned = like([("n", "u"), ("p", "d"), ("b", "q"), *((c, c) for c in "ZNSXOozsx")], flip, flip)
    paired = like([("b", "d"), ("p", "q")], keep, flip)
    case = like([(c, c.upper()) for c in "abdeghnqrt"], keep, keep)
    fill = {c: float(box.mean()) for c, box in boxes.items()}
    return {
        "mirror": median(np.array(own)),
        "mirror_worst": float(np.quantile(own, 0.1)) if own else NAN,
        "turned": median(np.array(turned)),
        "paired": median(np.array(paired)),
        "case": median(np.array(case)) if len(case) >= 5 else NAN,
        "fill_lower": median(np.array([fill[c] for c in LOWER if c in fill])),
        "fill_upper": median(np.array([fill[c] for c in UPPER if c in fill])),
    }


def legible(boxes: dict[str, Box]) -> float:
    """Share of the letters that look more like their own mean letter than like any other's, case aside."""
    if not boxes:
        return NAN
    own = np.array([_FOLDED[AT[c]] for c in boxes])
    mean = _centred(mean_letters().reshape(len(LETTERS), -1).astype(np.float32))
    nearest = np.argmax(_centred(np.array([small_box(b).ravel() for b in boxes.values()])) @ mean.T, axis=1)
    return float(np.mean(_FOLDED[nearest] == own))


def letter_boxes(letters: Sequence[BaseGeometry]) -> dict[str, Box]:
    """The 52 letters of a face, each set upright and brought to the size of the mean letters."""
    outlines = LetterOutlines(letters, max(float(np.nanmax(shapely.bounds(as_array(letters))[:, 3])), 1.0))
    return {letter: small_box(box) for letter, box in PaintedLetters(outlines, outlines.whole).boxed().items()}


def small_box(box: Box) -> Box:
    """A letter's box at the size of the mean letters."""
    each = BOX_PX // MEAN_PX
    small: Box = box.reshape(MEAN_PX, each, MEAN_PX, each).mean(axis=(1, 3))
    return small


def _centred(rows: Box) -> Box:
    rows = rows - rows.mean(axis=1, keepdims=True)
    length: Box = np.linalg.norm(rows, axis=1, keepdims=True).astype(np.float32)
    rows /= np.maximum(length, np.float32(1e-6))
    return rows
