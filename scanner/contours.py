"""Outlines as a font gives them: collected, flattened to chords, or written as an SVG path. Pure arrays and text."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

FLATTEN_EM = 0.0005
"""Largest distance between a curve and its chords, as a fraction of the em: the one flattening tolerance."""

FARTHEST_EM = 64.0
"""A glyph that reaches farther is broken; the widest ligature known to us takes about 15 em (from memory)."""

Coordinates = NDArray[np.float64]

MOST_STEPS = 64
"""Cap on the chords of one curve."""


class Pen:
    """Collects what HarfBuzz draws: control points as flat numbers, six a segment, and where contours start."""

    def __init__(self) -> None:
        self.values: list[float] = []
        self.kinds: list[int] = []
        self.starts: list[int] = []
        """Index into ``kinds`` of each contour's first point."""


MOVE, LINE, QUADRATIC, CUBIC = range(4)
"""Kinds of segments: a move, a straight line, a curve with one control point and one with two."""


def svg_path(points: NDArray[np.int64], kinds: Sequence[int]) -> str:
    """Path commands relative to the point before: about half the length of absolute ones. A letter is left out where
    it is that of the command before."""
    out: list[str] = []
    x = y = 0
    before = MOVE
    for kind, ((ax, ay), (bx, by), (ex, ey)) in zip(kinds, points.tolist(), strict=True):
        letter = " " if kind == before else "Mlqc"[kind]
        before = kind
        if kind == MOVE:
            out.append(f"{'Z' if out else ''}M{ex} {ey}")
        elif kind == LINE:
            out.append(f"{letter}{ex - x} {ey - y}")
        elif kind == QUADRATIC:
            out.append(f"{letter}{ax - x} {ay - y} {ex - x} {ey - y}")
        else:
            out.append(f"{letter}{ax - x} {ay - y} {bx - x} {by - y} {ex - x} {ey - y}")
        x, y = ex, ey
    return "".join(out).replace(" -", "-") + "Z"


def flatten(pen: Pen, tolerance: float) -> tuple[list[Coordinates], NDArray[np.bool_]]:
    """Contours as chords within ``tolerance`` of the curves, and which contours hold coordinates that are no numbers
    or too far away.

    A chord over 1/n of a curve strays by at most |B''| / (8 n²); n is the least that keeps it. All curves of the call
    are evaluated together: each chord end is one row with its own curve and parameter.
    """
    if not pen.starts:
        return [], np.zeros(0, dtype=bool)
    points = np.array(pen.values, dtype=np.float64).reshape(-1, 3, 2)
    kinds = np.array(pen.kinds)
    starts = np.array(pen.starts)
    near = np.abs(points) <= FARTHEST_EM / FLATTEN_EM * tolerance  # false for what is no number too
    broken = np.logical_or.reduceat(~near.all(axis=(1, 2)), starts)
    points = np.nan_to_num(points, nan=0.0, posinf=0.0, neginf=0.0)
    end = points[:, 2]
    begin = np.concatenate([end[:1], end[:-1]])
    a, b = points[:, 0].copy(), points[:, 1].copy()
    quadratic = kinds == QUADRATIC  # raised to the cubic that is the same curve
    a[quadratic] = (begin[quadratic] + 2 * points[quadratic, 0]) / 3
    b[quadratic] = (end[quadratic] + 2 * points[quadratic, 0]) / 3
    bend = 6 * np.maximum(np.hypot(*(begin - 2 * a + b).T), np.hypot(*(a - 2 * b + end).T))
    count = np.clip(np.ceil(np.sqrt(bend / (8 * tolerance)) - 1e-9), 1, MOST_STEPS).astype(np.intp)
    count[kinds <= LINE] = 1
    last = np.cumsum(count)
    owner = np.repeat(np.arange(len(count)), count)
    t = ((np.arange(len(owner)) - (last - count)[owner] + 1) / count[owner])[:, None]
    s = 1 - t
    flat = s**3 * begin[owner] + 3 * s * s * t * a[owner] + 3 * s * t * t * b[owner] + t**3 * end[owner]
    straight = kinds[owner] <= LINE
    flat[straight] = end[owner][straight]
    firsts = (last - count)[starts]
    before = np.concatenate([flat[:1], flat[:-1]])
    before[firsts] = flat[np.concatenate([firsts[1:], [len(flat)]]) - 1]  # a contour's first point follows its last
    keep = np.any(flat != before, axis=1)
    kept_before = np.concatenate([[0], np.cumsum(keep)])
    return np.split(flat[keep], kept_before[firsts[1:]]), broken
