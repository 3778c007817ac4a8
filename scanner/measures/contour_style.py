"""What the contour of the letters says of a style: directions, corners, roughness and the ends of strokes."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from scanner.measures.letter_outlines import AT, NAN, Floats, LetterOutlines, Walk, upright

STEP = 0.03
"""Step along the contour, in cap heights: a quarter of an ordinary stroke."""

CORNER_DEG = 55.0
"""Turning within two steps from which a corner is one."""

END_DEG = 140.0
"""Turning around the end of a stroke; less is a bend. A plain cut turns by 180°."""

POINT_DEG = 105.0
"""Turning of one corner from which an end is a point; a plain cut has two corners of 90°."""

_DIAGONALS = "kvwxyzKMNVWXYZ"
Mask = NDArray[np.bool_]


def contour_numbers(outlines: LetterOutlines, stroke: float) -> dict[str, float]:
    """Directions, corners, roughness and stroke ends of all letters together.

    ``stroke`` is the median stroke in cap heights, NaN when it is not known.
    """
    walked = _Walked(outlines, stroke)
    lean = {"slant": outlines.slant_deg, "stem_share": outlines.lean[1]}
    return walked.directions() | walked.turns() | walked.edges() | _fills(outlines) | lean


class _Walked:
    """The steps along the contour and what each of them is; computed once."""

    def __init__(self, outlines: LetterOutlines, stroke: float) -> None:
        self.outlines = outlines
        self.stroke = stroke if np.isfinite(stroke) and stroke > 0 else NAN
        walk = self.walk = outlines.walk(STEP)
        # A corner is cut by the step it falls into: its turning is spread over two.
        self.pair = walk.turn + walk.turn[walk.following]
        peak = np.abs(self.pair)
        self.top = (peak > np.radians(CORNER_DEG)) & (peak >= peak[walk.before]) & (peak > peak[walk.following])
        self.cornered = np.zeros(len(peak), dtype=bool)
        self.cornered[np.flatnonzero(self.top)] = True
        self.cornered[walk.following[self.top]] = True
        degrees = np.degrees(walk.direction)
        self.upright = _off(degrees, 90 - outlines.slant_deg) < 4
        self.level = _off(degrees, 0) < 4
        self.slanting = np.abs(np.abs(_off(degrees, 0)) - 45) < 15
        self.axis = np.minimum(_off(degrees, 0), _off(degrees, 90)) < 1
        self.plain = _straight(walk)
        self.tight = walk.turn > STEP / (0.8 * self.stroke)
        drawn = np.degrees(np.arctan2(outlines.run[:, 1], outlines.run[:, 0]))
        self.on_axes = np.minimum(_off(drawn, 0), _off(drawn, 90)) < 1
        self.end, self.round, self.point = self._ends()

    def _ends(self) -> tuple[Mask, Mask, Mask]:
        """Steps at the ends of strokes, and which of them are round and pointed (the rest is cut off flat)."""
        walk = self.walk
        none = np.zeros(len(walk.turn), dtype=bool)
        if not np.isfinite(self.stroke):
            return none, none, none
        steps = int(np.clip(round(1.3 * self.stroke / STEP), 2, 24))
        total, sharpest = walk.turn.copy(), np.where(self.top & (self.pair > 0), self.pair, 0.0)
        corner, at = sharpest.copy(), walk.following
        for _ in range(steps):
            total = total + walk.turn[at]
            sharpest = np.maximum(sharpest, corner[at])
            at = walk.following[at]
        bent = total > np.radians(END_DEG)
        end = bent & ~bent[walk.before]  # the first step of each run of steps round one end
        return end, end & (sharpest == 0), end & (sharpest > np.radians(POINT_DEG))

    def directions(self) -> dict[str, float]:
        """How much of the contour runs which way."""
        outlines = self.outlines
        diagonals = np.isin(outlines.owner[self.walk.ring], [AT[c] for c in _DIAGONALS])
        return {
            "straight": float(np.mean(self.plain)),
            "upright": float(np.mean(self.upright)),
            "level": float(np.mean(self.level)),
            "diagonal": float(np.mean(self.slanting)),
            "axis_diagonals": float(np.mean(self.axis[diagonals])) if diagonals.any() else NAN,
            "on_axes": float(outlines.length[self.on_axes].sum() / self._length()),
        }

    def turns(self) -> dict[str, float]:
        """Corners, curves and the ends of strokes."""
        turn = self.walk.turn
        letters = len(np.unique(self.outlines.owner))
        size = np.abs(turn)
        total = max(float(size.sum()), 1e-9)
        convex = (turn > 0) & ~self.cornered
        all_convex = max(float(turn[turn > 0].sum()), 1e-9)
        ends = max(int(self.end.sum()), 1)
        return {
            "corner": float(size[self.cornered].sum() / total),
            "corners": float((self.top & (self.pair > 0)).sum() / letters),
            "notches": float((self.top & (self.pair < 0)).sum() / letters),
            "round_end": float(turn[convex & self.tight].sum() / all_convex),
            "turning": total / (2 * np.pi) / len(self.outlines.start),
            "rough": float(np.log(max(float(self.outlines.drawn_turning.sum()), 1e-9) / total)),
            "ends": float(self.end.sum() / letters),
            "ends_round": float(self.round.sum() / ends),
            "ends_point": float(self.point.sum() / ends),
        }

    def edges(self) -> dict[str, float]:
        """How clean the edges are."""
        turn, outlines = self.walk.turn, self.outlines
        bent = np.abs(turn) > np.radians(2)
        flips = np.sign(turn[bent])
        same = np.diff(self.walk.ring[bent]) == 0
        area = np.abs(outlines.area)
        ink = abs(float(np.where(outlines.outer, area, -area).sum()))
        # Rings so small are no part, dot or counter of a letter.
        specks = float((area < self.stroke**2 / 4).sum())
        return {
            "waves": float(((flips[1:] != flips[:-1]) & same).sum() / self._length()),
            "specks": specks / len(np.unique(outlines.owner)),
            "perimeter": self._length() * self.stroke / max(2 * ink, 1e-9),
        }

    def _length(self) -> float:
        return max(float(self.outlines.length.sum()), 1e-9)


def _fills(outlines: LetterOutlines) -> dict[str, float]:
    """How far the outer shapes of o and O fill their boxes."""
    found = {}
    for letter, name in (("o", "rectangular_o"), ("O", "rectangular_O")):
        mine = np.flatnonzero((outlines.owner == AT[letter]) & outlines.outer)
        found[name] = NAN
        if len(mine):
            one = mine[np.argmax(np.abs(outlines.area[mine]))]
            box = np.ptp(upright(outlines.points[outlines.ring == one], outlines.slant_deg), axis=0)
            found[name] = float(abs(outlines.area[one]) / max(box[0] * box[1], 1e-9))
    return found


def _straight(walk: Walk) -> Mask:
    """Steps whose neighbours on both sides run the same way within 1.5°."""
    gap = (walk.direction[walk.following] - walk.direction + np.pi) % (2 * np.pi) - np.pi
    still: Mask = (np.abs(gap) < np.radians(1.5)) & (np.abs(gap[walk.before]) < np.radians(1.5))
    return still


def _off(degrees: Floats, wanted: float) -> Floats:
    """Angle between undirected lines, 0 to 90."""
    away: Floats = np.abs((degrees - wanted + 90) % 180 - 90)
    return away
