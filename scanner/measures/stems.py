"""Stems read off the painted letters: parallel strokes (inline, outline, stripes) and how even a stroke is along
itself (a brush swells, a hand wavers)."""

from __future__ import annotations

import numpy as np

from scanner.measures.letter_outlines import AT, NAN, median
from scanner.measures.painted_letters import PaintedLetters, runs

STEMS = {
    "H": (2, 0.62, 0.85), "I": (1, 0.3, 0.7), "T": (1, 0.2, 0.6), "F": (1, 0.1, 0.3), "P": (1, 0.1, 0.3),
    "E": (1, 0.2, 0.4), "L": (1, 0.4, 0.7), "U": (2, 0.5, 0.8), "Y": (1, 0.1, 0.3),
    "i": (1, 0.2, 0.45), "l": (1, 0.3, 0.7), "r": (1, 0.1, 0.3), "h": (2, 0.15, 0.35), "n": (2, 0.15, 0.35),
    "m": (3, 0.15, 0.35), "u": (2, 0.3, 0.5), "f": (1, 0.1, 0.4), "t": (1, 0.25, 0.45),
}  # fmt: skip
"""Stems of a letter, and between which heights over its foot (in cap heights) a level line crosses nothing else."""

BARS = {"H": 1, "T": 1, "L": 1, "F": 2, "E": 3}
"""Bars of a letter that an upright line right of its stem crosses."""

_LINES_A_STEM = 5
_LEAST_RUNS = 3


def stem_numbers(drawn: PaintedLetters) -> dict[str, float]:
    """Parallel strokes and the evenness of single ones, over all letters."""
    crossed = {c: _crossings(drawn, c) for c in STEMS if c in drawn.tiles}
    lines = {c: median(np.array([len(r) for r in rows], dtype=float)) / STEMS[c][0] for c, rows in crossed.items()}
    across = [_bars(drawn, c) / n for c, n in BARS.items() if c in drawn.tiles]
    swell, bend = _evenness(crossed)
    return {
        "lines": _mean_beyond(list(lines.values())),
        "lines_across": median(np.array(across)) if len(across) >= _LEAST_RUNS else NAN,
        "stem_swell": swell,
        "stem_bend": bend,
    }


def _crossings(drawn: PaintedLetters, letter: str) -> list[list[tuple[int, int]]]:
    """Runs of ink along a few level lines between the letter's heights."""
    _, low, high = STEMS[letter]
    bottom = float(drawn.bounds[AT[letter]][1])
    heights = np.linspace(bottom + low, bottom + high, _LINES_A_STEM)
    return [runs(drawn.tiles[letter][drawn.row(float(y))]) for y in heights]


def _bars(drawn: PaintedLetters, letter: str) -> float:
    """Median number of runs along upright lines in the right half of a letter; left of the stem for T."""
    tile = drawn.tiles[letter]
    places = (0.15, 0.25, 0.35) if letter == "T" else (0.45, 0.55, 0.65)
    columns = [tile[:, min(int(p * tile.shape[1]), tile.shape[1] - 1)] for p in places]
    return float(np.median([len(runs(c)) for c in columns]))


def _mean_beyond(lines: list[float]) -> float:
    """Mean number of lines a stem; 1 for a plain face, 2 for an outline. NaN for too few letters."""
    return float(np.mean(np.minimum(lines, 6.0))) if len(lines) >= _LEAST_RUNS else NAN


def _evenness(crossed: dict[str, list[list[tuple[int, int]]]]) -> tuple[float, float]:
    """Medians of the spread of a stem's width along itself and of its middle's distance from a straight line.

    Both over the stem's width. Only letters whose every line crosses as many runs as the letter has stems count.
    """
    swells, bends = [], []
    for letter, rows in crossed.items():
        if any(len(r) != STEMS[letter][0] for r in rows):
            continue
        for stem in range(STEMS[letter][0]):
            begin, end = np.array([r[stem] for r in rows], dtype=float).T
            width = end - begin
            middle = (begin + end) / 2
            at = np.arange(len(middle), dtype=float)
            straight = np.polynomial.polynomial.polyfit(at, middle, 1)
            away = middle - np.polynomial.polynomial.polyval(at, straight)
            # A pixel's rounding is no wavering.
            swells.append(max(float(np.std(width)) - 0.3, 0.0) / max(float(width.mean()), 1.0))
            bends.append(max(float(np.std(away)) - 0.3, 0.0) / max(float(width.mean()), 1.0))
    if len(swells) < _LEAST_RUNS:
        return NAN, NAN
    return float(np.mean(swells)), float(np.mean(bends))
