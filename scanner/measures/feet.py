"""Feet of the letters: serifs, exit strokes and the evenness of the stems that stand on them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from scanner.measures.letter_outlines import AT
from scanner.measures.painted_letters import PX_PER_CAP, PaintedLetters, runs

LEAST_OVERHANG = 0.1
"""Overhang over the stem from which a foot has a serif; the flared stems of some sans faces stay below."""


@dataclass(frozen=True, slots=True)
class _Foot:
    letter: str
    left: float
    right: float
    """Overhangs beyond the stem, in pixels."""
    stem: float
    thick: float


_CAPITAL_FEET = {"H": 2, "T": 1, "F": 1, "P": 1, "I": 1}
_SMALL_FEET = {"h": 2, "m": 3, "n": 2, "i": 1, "l": 1, "r": 1}
_LONE = "ilrI"
_TALLEST_SERIF = 0.25
"""Height in which serifs are looked for, in cap heights."""


def feet_numbers(drawn: PaintedLetters) -> dict[str, float]:
    """Serifs and exit strokes: how far the ink at the baseline reaches beyond the stem that stands on it."""
    feet: list[_Foot] = []
    leans: list[float] = []
    for letters, low, high in ((_CAPITAL_FEET, 0.28, 0.40), (_SMALL_FEET, 0.27, 0.37)):
        for letter, count in letters.items():
            tile = drawn.tiles.get(letter)
            if tile is None:
                continue
            bottom = float(drawn.bounds[AT[letter]][1])
            lower, upper = runs(tile[drawn.row(bottom + low)]), runs(tile[drawn.row(bottom + high)])
            if len(lower) != count:
                continue
            if len(upper) == count:
                rise = (high - low) * PX_PER_CAP
                drifts = [(c + d - a - b) / 2 / rise for (a, b), (c, d) in zip(lower, upper, strict=True)]
                leans += np.degrees(np.arctan(drifts)).tolist()
            feet += _feet_of(letter, tile[drawn.row(bottom) :], lower)
    out = _serifs(feet)
    exits = [(f.right - f.left) / f.stem for f in feet if f.letter in "hmnil"]
    if len(exits) >= 4:
        out["exit"] = float(np.median(exits))
    stems = [np.array([f.stem for f in feet if f.letter in group]) for group in ("HTFPI", "hmnilr")]
    if len(stems[0]) >= 3 and len(stems[1]) >= 4:
        out["stem_spread"] = float(np.mean([np.std(s) / np.mean(s) for s in stems]))
    if len(leans) >= 5:
        out["wobble_stem"] = float(np.median(np.abs(np.array(leans) - np.median(leans))))
    return out | _axis(drawn)


def _feet_of(letter: str, tile: NDArray[np.uint8], stems: list[tuple[int, int]]) -> list[_Foot]:
    """The feet of one letter; ``tile`` begins at its bottom, ``stems`` are the runs of ink on a row above."""
    feet = []
    ground = runs(tile[int(0.02 * PX_PER_CAP) : int(0.05 * PX_PER_CAP) + 1].max(axis=0))
    for k, (begin, end) in enumerate(stems):
        under = [g for g in ground if g[0] < end and g[1] > begin]
        if not under:
            continue
        # A serif that runs into the next stem's ends halfway between the two.
        wall_left = (stems[k - 1][1] + begin) / 2 if k else -1e9
        wall_right = (stems[k + 1][0] + end) / 2 if k + 1 < len(stems) else 1e9
        left = begin - max(under[0][0], wall_left)
        right = min(under[-1][1], wall_right) - end
        stem = float(end - begin)
        thick = []
        for over, column in ((left, begin - left / 2), (right, end - 1 + right / 2)):
            if over > LEAST_OVERHANG * stem and over >= 1:
                up = tile[: int(_TALLEST_SERIF * PX_PER_CAP), int(min(max(column, 0), tile.shape[1] - 1))]
                ink = np.flatnonzero(up)
                if len(ink):  # ink up to the top of what was looked at is a wall, no serif
                    thick.append(float(ink[-1] - ink[0] + 1) if ink[-1] < len(up) - 1 else 0.0)
        feet.append(_Foot(letter, left, right, stem, float(np.mean(thick)) if thick else 0.0))
    return feet


def _serifs(feet: list[_Foot]) -> dict[str, float]:
    out: dict[str, float] = {}
    plain = [f for f in feet if f.letter not in _LONE]
    if len(plain) >= 4:
        shorter = np.array([min(f.left, f.right) / f.stem for f in plain])
        longer = np.array([max(f.left, f.right) / f.stem for f in plain])
        thick = [f.thick / f.stem for f in plain if min(f.left, f.right) > LEAST_OVERHANG * f.stem]
        out |= {
            "serif": float(np.median(shorter)),
            "serif_outer": float(np.median(longer)),
            "serif_share": float(np.mean(shorter > LEAST_OVERHANG)),
            "serif_thick": float(np.median(thick)) if len(thick) >= 3 else 0.0,
        }
    lone = [min(f.left, f.right) / f.stem for f in feet if f.letter in _LONE]
    if len(lone) >= 2:
        out["serif_i"] = float(np.median(lone))
    return out


def _axis(drawn: PaintedLetters) -> dict[str, float]:
    """Sides of O over its top and bottom."""
    tile = drawn.tiles.get("O")
    if tile is None:
        return {}
    _, low, _, high = drawn.bounds[AT["O"]].tolist()
    side, column = runs(tile[drawn.row((low + high) / 2)]), runs(tile[:, tile.shape[1] // 2])
    if len(side) < 2 or len(column) < 2:
        return {}
    sides, tops = ((r[0][1] - r[0][0] + r[-1][1] - r[-1][0]) / 2 for r in (side, column))
    return {"contrast_axis": float(np.log(sides / tops))}
