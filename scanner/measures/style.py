"""Style of a face as a vector of scale-free numbers: what groups and neighbours are made from.

Everything comes from what the scan already holds: the regions of the 52 letters and the face's table. Lengths are
fractions of the cap height or of the median stroke, angles are degrees, the rest are shares. A number that the face
does not give (no small letters, no feet) is NaN. Letters are set upright by the measured slant before they are
painted, so that an italic's stems and symmetry are judged as its upright's are.

The order and the definition of each number stand in ``features.py``.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import cv2
import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from scanner.alphabet import LOWER, QUANTILES, UPPER, mean_letters, pair_index
from scanner.measures.features import FEATURES, RATIOS
from scanner.records import Table

LETTERS = UPPER + LOWER

STEP = 0.03
"""Step along the contour, in cap heights: a quarter of an ordinary stroke."""

PX_PER_CAP = 80.0
"""Raster of the letters; an ordinary stroke is ten pixels."""

LEAST_OVERHANG = 0.1
"""Overhang over the stem from which a foot has a serif; the flared stems of some sans faces stay below."""

LEAST_LEAN = 0.15
"""Share of the steep contour that must agree on a lean, to 3°; directions spread evenly give 0.075."""

BOX_PX = 24
"""Side of the square that a letter is brought to before likeness is taken."""

MEAN_PX = 12
"""Side of the mean letters."""

FILLED_FROM = 0.6
"""Share of hollow letters from which a face is read by its filled shapes as well."""

Floats = NDArray[np.float64]
_PAD = 2
_LOW, _HIGH = -0.75, 1.75
"""Height of the painted band, in cap heights."""

_AT = {c: k for k, c in enumerate(LETTERS)}
_DIAGONALS = "kvwxyzKMNVWXYZ"
_BOWLS = "ABDOPQRabdegopq"
_SOLID = "CEFGHIJKLMNSTUVWXYZcfhijklmnrstuvwxyz"
_NAN = float("nan")
_FOLDED = np.array([ord(c.upper()) for c in LETTERS])


def style_features(
    regions: Sequence[BaseGeometry], advances: Floats, table: Table, upem: float, cap_em: float, x_em: float
) -> NDArray[np.float32]:
    """The vector of one face, in the order of ``FEATURES``; NaN where there is nothing to measure.

    ``regions`` and ``advances`` are those of ``alphabet.CHARACTERS``, in font units, capitals and small letters first;
    ``table`` is the face's table, heights are in em. Without a cap height the ink of the letters stands in for it.
    """
    letters = list(regions[: len(LETTERS)])
    inked = ~shapely.is_empty(_as_array(letters))
    values = dict.fromkeys(FEATURES, _NAN)
    values |= {"capitals": float(inked[:26].sum()), "smalls": float(inked[26:].sum())}
    if not inked.any():
        return np.array(list(values.values()), dtype=np.float32)
    if not (np.isfinite(cap_em) and cap_em > 0):
        cap_em = max(float(np.nanmax([r.bounds[3] for r in letters if not r.is_empty])) / upem, 0.01)
    outline = _Outline(letters, cap_em * upem)
    values |= _proportions(outline, advances[: len(LETTERS)], inked, upem, cap_em, x_em)
    values |= _strokes(table, cap_em)
    values |= _joins(table, x_em)
    values |= _contour(outline, values["stroke"])
    drawn = _Drawn(outline, outline.whole)
    values |= _feet(drawn)
    boxes = drawn.boxed()
    values |= _likeness(boxes)
    values |= _build(letters, inked)
    values["legible"] = _legible(boxes)
    if values["hollow"] > FILLED_FROM:
        values["legible"] = max(values["legible"], _legible(_Drawn(outline, outline.outer).boxed()))
    return np.array([values[name] for name in FEATURES], dtype=np.float32)


class _Outline:
    """All contours of the letters in cap heights, and what every part of the measure asks of them."""

    def __init__(self, letters: Sequence[BaseGeometry], cap: float) -> None:
        polygons, letter = shapely.get_parts(_as_array(letters), return_index=True)
        rings, polygon = shapely.get_rings(polygons, return_index=True)
        points, self.ring = shapely.get_coordinates(rings, return_index=True)
        self.points = points / cap
        self.owner = letter[polygon]
        """Letter of each ring."""
        self.outer = np.diff(polygon, prepend=-1) > 0
        """Whether a ring is the outer one of its polygon, which shapely gives first."""
        self.whole = np.ones(len(self.outer), dtype=bool)
        self.start = np.flatnonzero(np.diff(self.ring, prepend=-1))
        x, y = self.points.T
        run = np.diff(self.points, axis=0, append=self.points[-1:])
        run[np.append(self.start[1:], len(points)) - 1] = 0.0
        self.run = run
        self.length = np.hypot(*run.T)
        cross = x * run[:, 1] - y * run[:, 0]
        self.area = np.add.reduceat(cross, self.start) / 2

    @cached_property
    def slant(self) -> float:
        """Lean of the stems in degrees: the most frequent direction of long edges that lean less than 40°."""
        return self.lean[0]

    @cached_property
    def lean(self) -> tuple[float, float]:
        """Most frequent lean in degrees and the share of all steep contour within 3° of it."""
        up = np.where(self.run[:, 1] < 0, -1.0, 1.0)
        angle = np.degrees(np.arctan2(self.run[:, 0] * up, self.run[:, 1] * up))
        steep = (np.abs(angle) < 40) & (self.length > 0)
        weight = self.length[steep]
        if weight.sum() <= 0:
            return 0.0, _NAN
        # Long edges are stems: they count by their squared length, short ones are pieces of curves.
        counts, _ = np.histogram(angle[steep], bins=160, range=(-40, 40), weights=weight**2)
        smooth = np.convolve(counts, np.hanning(9)[1:-1], mode="same")
        best = -39.75 + 0.5 * int(np.argmax(smooth))
        near = np.abs(angle[steep] - best) < 3
        share = float(weight[near].sum() / self.length.sum())
        if (weight[near] ** 2).sum() < LEAST_LEAN * (weight**2).sum():
            return 0.0, share  # all directions alike: nothing that could lean
        return float(np.average(angle[steep][near], weights=weight[near] ** 2)), share

    def turning(self) -> float:
        """Absolute turning of all contours as they are drawn, in radians."""
        real = self.length > 1e-6
        run, ring = self.run[real], self.ring[real]
        if not len(ring):
            return 0.0
        start = np.flatnonzero(np.diff(ring, prepend=-1))
        following = np.arange(1, len(ring) + 1)
        following[np.append(start[1:], len(ring)) - 1] = start
        after = run[following]
        cross = run[:, 0] * after[:, 1] - run[:, 1] * after[:, 0]
        return float(np.abs(np.arctan2(cross, (run * after).sum(axis=1))).sum())

    def walk(self, step: float) -> tuple[Floats, Floats, NDArray[np.intp], NDArray[np.intp]]:
        """Even steps along every ring: direction and turning of each (radians, convex above 0), its ring, its next."""
        ends = np.cumsum(self.length)
        total = np.add.reduceat(self.length, self.start)
        begin = ends[self.start] - self.length[self.start]
        count = np.maximum(8, np.rint(total / step)).astype(np.intp)
        first = np.cumsum(count) - count
        ring = np.repeat(np.arange(len(count)), count)
        at = begin[ring] + total[ring] * (np.arange(len(ring)) - first[ring] + 0.37) / count[ring]
        place = np.minimum(np.searchsorted(ends, at, side="right"), len(ends) - 1)
        share = (at - (ends[place] - self.length[place])) / np.maximum(self.length[place], 1e-12)
        points = self.points[place] + np.clip(share, 0, 1)[:, None] * self.run[place]
        following = np.arange(1, len(ring) + 1)
        following[first + count - 1] = first
        way = points[following] - points
        direction = np.arctan2(way[:, 1], way[:, 0])
        turn = direction[following] - direction
        turn = (turn + np.pi) % (2 * np.pi) - np.pi
        sign = np.where((self.area > 0) == self.outer, 1.0, -1.0)
        return direction, turn * sign[ring], ring, following


def _proportions(
    outline: _Outline, advances: Floats, inked: NDArray[np.bool_], upem: float, cap_em: float, x_em: float
) -> dict[str, float]:
    upper, lower = slice(0, 26), slice(26, 52)
    advance = np.where(inked & (advances > 0), advances / upem, np.nan)
    box = _boxes(outline, len(inked))
    width = (box[:, 2] - box[:, 0]) * cap_em
    low, high = box[:, 1], box[:, 3]
    has_lower = np.isfinite(advance[lower]).sum() >= 13
    has_upper = np.isfinite(advance[upper]).sum() >= 13
    x = x_em if np.isfinite(x_em) and x_em > 0 else _NAN

    def one(values: Floats, letters: str) -> float:
        return _median(values[[_AT[c] for c in letters]])

    def spread(values: Floats, letters: str) -> float:
        chosen = values[[_AT[c] for c in letters]]
        chosen = chosen[np.isfinite(chosen)]
        return float(np.std(chosen)) if len(chosen) >= 4 else _NAN

    tall, heavy = high - low, width / cap_em
    mean_lower = float(np.nanmean(advance[lower])) if has_lower else _NAN
    mean_upper = float(np.nanmean(advance[upper])) if has_upper else _NAN
    return {
        "x_height": x / cap_em if has_lower else _NAN,
        "ascender": one(high, "bdfhkl"),
        "descender": -one(low, "gjpqy"),
        "width_lower": mean_lower / x,
        "width_upper": mean_upper / cap_em,
        "width_spread_lower": float(np.nanstd(advance[lower])) / mean_lower if has_lower else _NAN,
        "width_spread_upper": float(np.nanstd(advance[upper])) / mean_upper if has_upper else _NAN,
        "width_i_m": float(advance[_AT["i"]] / advance[_AT["m"]]),
        "aspect_o": float(heavy[_AT["o"]] / tall[_AT["o"]]),
        "aspect_O": float(heavy[_AT["O"]] / tall[_AT["O"]]),
        "bearing": _median(1 - width[lower] / advance[lower]),
        "wobble_base": spread(low, "hiklmnrxzAFHIKMNPRTXYZ"),
        "wobble_x": spread(high, "uvwxzmnr"),
        "wobble_cap": spread(high, "BDEFHIKLMNPRTUVWXYZ"),
        "top_t": one(high, "t"),
        "top_f": one(high, "f"),
        "top_dot": one(high, "ij"),
        "depth_j": -one(low, "j"),
        "depth_Q": -one(low, "Q"),
        "over_lower": one(high, "ceo") - one(high, "vxz"),
        "over_upper": one(high, "CGO") - one(high, "EHI"),
        **{name: float(advance[_AT[name[0]]] / advance[_AT[name[-1]]]) for name in RATIOS},
    }


def _strokes(table: Table, cap_em: float) -> dict[str, float]:
    """From the widths that the table keeps of every letter."""
    widths = table.strokes[: len(LETTERS)]
    known = ~np.isnan(widths[:, 0])
    if known.sum() < 8:
        return {}
    shares = np.diff(QUANTILES, prepend=0.0, append=1.0)
    share = (shares[:-1] + shares[1:]) / 2
    values = widths[known].ravel()
    order = np.argsort(values)
    mass = np.cumsum((table.length[: len(LETTERS)][known, None] * share).ravel()[order])
    thin, middle, heavy = np.interp((0.05, 0.5, 0.8), mass / mass[-1], values[order])
    at = {q: k for k, q in enumerate(QUANTILES.tolist())}
    median = widths[:, at[0.5]]
    own = widths[26:, at[0.8]] / np.maximum(widths[26:, at[0.1]], 1e-4)
    return {
        "stroke": float(middle) / cap_em,
        "stroke_hair": float(thin / middle),
        "stroke_heavy": float(heavy / middle),
        "contrast": _median(own),
        "stroke_case": _median(median[:26]) / _median(median[26:]),
        "stroke_spread": float(np.nanstd(median) / np.nanmean(median)),
    }


def _joins(table: Table, x_em: float) -> dict[str, float]:
    small, mixed = _pairs()
    out = {}
    for name, places in (("joined", small), ("joined_capital", mixed)):
        gaps = table.gaps[places]
        gaps = gaps[~np.isnan(gaps)]
        out[name] = float(np.mean(gaps <= 0)) if len(gaps) >= 100 else _NAN
    gaps = table.gaps[small]
    gaps = gaps[~np.isnan(gaps)]
    if len(gaps) >= 100 and np.isfinite(x_em) and x_em > 0:
        low, middle, high = np.quantile(gaps, (0.25, 0.5, 0.75)) / x_em
        out |= {"gap": float(middle), "gap_spread": float(high - low)}
    return out


def _pairs() -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    index = pair_index()
    small = np.array([index[a, b] for a in LOWER for b in LOWER], dtype=np.intp)
    mixed = np.array([index[a, b] for a in UPPER for b in LOWER], dtype=np.intp)
    return small, mixed


def _contour(outline: _Outline, stroke: float) -> dict[str, float]:
    direction, turn, ring, following = outline.walk(STEP)
    letters = len(np.unique(outline.owner))
    size = np.abs(turn)
    total = max(float(size.sum()), 1e-9)
    # A corner is cut by the step it falls into: its turning is spread over two.
    pair = turn + turn[following]
    peak = np.abs(pair)
    before = np.empty_like(following)
    before[following] = np.arange(len(following))
    top = (peak > np.radians(55)) & (peak >= peak[before]) & (peak > peak[following])
    cornered = np.zeros(len(turn), dtype=bool)
    cornered[np.flatnonzero(top)] = True
    cornered[following[top]] = True
    degrees = np.degrees(direction)
    upright = _off(degrees, 90 - outline.slant)
    level = _off(degrees, 0)
    convex = (turn > 0) & ~cornered
    all_convex = max(float(turn[turn > 0].sum()), 1e-9)
    tight = turn > STEP / (0.8 * stroke) if np.isfinite(stroke) and stroke > 0 else np.zeros(len(turn), dtype=bool)
    bent = np.abs(turn) > np.radians(2)
    flips = np.sign(turn[bent])
    same = np.diff(ring[bent]) == 0
    diagonals = np.isin(outline.owner[ring], [_AT[c] for c in _DIAGONALS])
    axis = np.minimum(_off(degrees, 0), _off(degrees, 90))
    drawn = np.degrees(np.arctan2(outline.run[:, 1], outline.run[:, 0]))
    on_axes = np.minimum(_off(drawn, 0), _off(drawn, 90)) < 1
    slanting = np.abs(np.abs(_off(degrees, 0)) - 45) < 15
    plain = _wide(direction, following, before)
    length = float(outline.length.sum())
    fills = {}
    for c in "oO":
        mine = np.flatnonzero((outline.owner == _AT[c]) & outline.outer)
        fills[c] = _NAN
        if len(mine):
            one = mine[np.argmax(np.abs(outline.area[mine]))]
            upright_points = _upright(outline.points[outline.ring == one], outline.slant)
            box = np.ptp(upright_points, axis=0)
            fills[c] = float(abs(outline.area[one]) / max(box[0] * box[1], 1e-9))
    return {
        "straight": float(np.mean(plain)),
        "upright": float(np.mean(upright < 4)),
        "level": float(np.mean(level < 4)),
        "axis_diagonals": float(np.mean(axis[diagonals] < 1)) if diagonals.any() else _NAN,
        "corner": float(size[cornered].sum() / total),
        "corners": float((top & (pair > 0)).sum() / letters),
        "notches": float((top & (pair < 0)).sum() / letters),
        "round_end": float(turn[convex & tight].sum() / all_convex),
        "turning": total / (2 * np.pi) / len(outline.start),
        "waves": float(((flips[1:] != flips[:-1]) & same).sum() / length),
        "rough": float(np.log(max(outline.turning(), 1e-9) / total)),
        "slant": outline.slant,
        "stem_share": outline.lean[1],
        "rectangular_o": fills["o"],
        "rectangular_O": fills["O"],
        "diagonal": float(np.mean(slanting)),
        "on_axes": float(outline.length[on_axes].sum() / max(length, 1e-9)),
    }


def _wide(direction: Floats, following: NDArray[np.intp], before: NDArray[np.intp]) -> NDArray[np.bool_]:
    """Steps whose neighbours on both sides run the same way within 1.5°."""
    gap = (direction[following] - direction + np.pi) % (2 * np.pi) - np.pi
    still: NDArray[np.bool_] = (np.abs(gap) < np.radians(1.5)) & (np.abs(gap[before]) < np.radians(1.5))
    return still


def _off(degrees: Floats, wanted: float) -> Floats:
    """Angle between undirected lines, 0 to 90."""
    away: Floats = np.abs((degrees - wanted + 90) % 180 - 90)
    return away


def _upright(points: Floats, slant: float) -> Floats:
    lean = np.tan(np.radians(slant))
    return np.column_stack([points[:, 0] - lean * points[:, 1], points[:, 1]])


def _boxes(outline: _Outline, count: int) -> Floats:
    """Boxes of the letters set upright, (letters, 4): left, bottom, right, top; NaN without ink."""
    points = _upright(outline.points, outline.slant)
    boxes = np.full((count, 4), np.nan)
    owner = outline.owner[outline.ring]
    begin = np.flatnonzero(np.diff(owner, prepend=-1))
    boxes[owner[begin], :2] = np.minimum.reduceat(points, begin)
    boxes[owner[begin], 2:] = np.maximum.reduceat(points, begin)
    return boxes


@dataclass(frozen=True, slots=True)
class _Foot:
    letter: str
    left: float
    right: float
    """Overhangs beyond the stem, in pixels."""
    stem: float
    thick: float


class _Drawn:
    """The letters painted upright from the wanted rings, each in a tile of its own: row 0 lowest."""

    def __init__(self, outline: _Outline, rings: NDArray[np.bool_]) -> None:
        self.boxes = _boxes(outline, len(LETTERS))
        live = np.flatnonzero(np.isfinite(self.boxes[:, 0]))
        widths = np.rint(np.minimum(self.boxes[live, 2] - self.boxes[live, 0], 6.0) * PX_PER_CAP).astype(int) + 1
        starts = np.concatenate([[0], np.cumsum(widths + 2 * _PAD)])
        height = int((_HIGH - _LOW) * PX_PER_CAP) + 2 * _PAD
        shift = np.zeros((len(LETTERS), 2))
        shift[live, 0] = starts[:-1] + _PAD - self.boxes[live, 0] * PX_PER_CAP
        shift[live, 1] = _PAD - _LOW * PX_PER_CAP
        points = _upright(outline.points, outline.slant) * PX_PER_CAP + shift[outline.owner[outline.ring]]
        points[:, 1] = np.clip(points[:, 1], 0, height - 1)
        sheet = np.zeros((height, int(starts[-1])), dtype=np.uint8)
        pixels = np.rint(points * 16).astype(np.int32)
        drawn = [ring for ring, wanted in zip(np.split(pixels, outline.start[1:]), rings.tolist()) if wanted]
        cv2.fillPoly(sheet, drawn, (255,), lineType=cv2.LINE_8, shift=4)
        self.tiles = {
            LETTERS[k]: sheet[:, a + _PAD : a + _PAD + max(1, w)]
            for k, a, w in zip(live.tolist(), starts[:-1].tolist(), widths.tolist(), strict=True)
        }

    def row(self, y: float) -> int:
        """Row of a height in cap heights."""
        return round(min(max(_PAD + (y - _LOW) * PX_PER_CAP, 0), (_HIGH - _LOW) * PX_PER_CAP))

    def boxed(self) -> dict[str, NDArray[np.float32]]:
        """Each letter's ink brought to a square of ``BOX_PX``, 0 to 1."""
        found = {}
        for letter, tile in self.tiles.items():
            _, low, _, high = self.boxes[_AT[letter]].tolist()
            part = tile[self.row(low) : self.row(high) + 1]
            if part.shape[0] >= 3 and part.shape[1] >= 3:
                square = cv2.resize(part, (BOX_PX, BOX_PX), interpolation=cv2.INTER_AREA)
                found[letter] = square.astype(np.float32) / np.float32(255)
        return found


def _runs(line: NDArray[np.uint8]) -> list[tuple[int, int]]:
    """Begin and end of every run of ink."""
    ink = np.zeros(len(line) + 2, dtype=bool)
    ink[1:-1] = line > 0
    edges = np.flatnonzero(ink[1:] != ink[:-1]).tolist()
    return list(zip(edges[::2], edges[1::2], strict=True))


_CAPITAL_FEET = {"H": 2, "T": 1, "F": 1, "P": 1, "I": 1}
_SMALL_FEET = {"h": 2, "m": 3, "n": 2, "i": 1, "l": 1, "r": 1}
_LONE = "ilrI"
_TALLEST_SERIF = 0.25
"""Height in which serifs are looked for, in cap heights."""


def _feet(drawn: _Drawn) -> dict[str, float]:
    """Serifs and exit strokes: how far the ink at the baseline reaches beyond the stem that stands on it."""
    feet: list[_Foot] = []
    leans: list[float] = []
    for letters, low, high in ((_CAPITAL_FEET, 0.28, 0.40), (_SMALL_FEET, 0.27, 0.37)):
        for letter, count in letters.items():
            tile = drawn.tiles.get(letter)
            if tile is None:
                continue
            bottom = float(drawn.boxes[_AT[letter]][1])
            lower, upper = _runs(tile[drawn.row(bottom + low)]), _runs(tile[drawn.row(bottom + high)])
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
    ground = _runs(tile[int(0.02 * PX_PER_CAP) : int(0.05 * PX_PER_CAP) + 1].max(axis=0))
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


def _axis(drawn: _Drawn) -> dict[str, float]:
    """Sides of O over its top and bottom."""
    tile = drawn.tiles.get("O")
    if tile is None:
        return {}
    _, low, _, high = drawn.boxes[_AT["O"]].tolist()
    side, column = _runs(tile[drawn.row((low + high) / 2)]), _runs(tile[:, tile.shape[1] // 2])
    if len(side) < 2 or len(column) < 2:
        return {}
    sides, tops = ((r[0][1] - r[0][0] + r[-1][1] - r[-1][0]) / 2 for r in (side, column))
    return {"contrast_axis": float(np.log(sides / tops))}


def _likeness(boxes: dict[str, NDArray[np.float32]]) -> dict[str, float]:
    """Letters against their mirror images, their turned partners and their capitals."""

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
        "mirror": _median(np.array(own)),
        "mirror_worst": float(np.quantile(own, 0.1)) if own else _NAN,
        "turned": _median(np.array(turned)),
        "paired": _median(np.array(paired)),
        "case": _median(np.array(case)) if len(case) >= 5 else _NAN,
        "fill_lower": _median(np.array([fill[c] for c in LOWER if c in fill])),
        "fill_upper": _median(np.array([fill[c] for c in UPPER if c in fill])),
    }


def _legible(boxes: dict[str, NDArray[np.float32]]) -> float:
    if not boxes:
        return _NAN
    own = np.array([_FOLDED[_AT[c]] for c in boxes])
    mean = _centred(mean_letters().reshape(len(LETTERS), -1).astype(np.float32))
    nearest = np.argmax(_centred(np.array([small_box(b).ravel() for b in boxes.values()])) @ mean.T, axis=1)
    return float(np.mean(_FOLDED[nearest] == own))


def letter_boxes(letters: Sequence[BaseGeometry]) -> dict[str, NDArray[np.float32]]:
    """The 52 letters of a face, each set upright and brought to the size of the mean letters."""
    outline = _Outline(letters, max(float(np.nanmax(shapely.bounds(_as_array(letters))[:, 3])), 1.0))
    return {letter: small_box(box) for letter, box in _Drawn(outline, outline.whole).boxed().items()}


def _as_array(regions: Sequence[BaseGeometry]) -> NDArray[np.object_]:
    array = np.empty(len(regions), dtype=object)
    array[:] = list(regions)
    return array


def small_box(box: NDArray[np.float32]) -> NDArray[np.float32]:
    """A letter's box at the size of the mean letters."""
    each = BOX_PX // MEAN_PX
    small: NDArray[np.float32] = box.reshape(MEAN_PX, each, MEAN_PX, each).mean(axis=(1, 3))
    return small


def _centred(rows: NDArray[np.float32]) -> NDArray[np.float32]:
    rows = rows - rows.mean(axis=1, keepdims=True)
    length: NDArray[np.float32] = np.linalg.norm(rows, axis=1, keepdims=True).astype(np.float32)
    rows /= np.maximum(length, np.float32(1e-6))
    return rows


def _build(letters: Sequence[BaseGeometry], inked: NDArray[np.bool_]) -> dict[str, float]:
    polygons, letter = shapely.get_parts(_as_array(letters), return_index=True)
    holes = np.bincount(letter, weights=shapely.get_num_interior_rings(polygons), minlength=len(letters))
    ink = np.bincount(letter, weights=shapely.area(polygons), minlength=len(letters))
    filled = np.bincount(
        letter, weights=shapely.area(shapely.polygons(shapely.get_exterior_ring(polygons))), minlength=len(letters)
    )
    # A speck is no part of a letter: it counts from a fiftieth of the letter's ink.
    large = shapely.area(polygons) > ink[letter] / 50
    parts = np.bincount(letter, weights=large, minlength=len(letters))
    bowls = [_AT[c] for c in _BOWLS if inked[_AT[c]]]
    solid = [_AT[c] for c in _SOLID if inked[_AT[c]]]
    whole = [k for k in np.flatnonzero(inked) if LETTERS[k] not in "ij"]
    return {
        "pieces": float(np.mean(parts[whole])) if whole else _NAN,
        "broken": float(np.mean(parts[bowls] >= 2)) if bowls else _NAN,
        "closed": float(np.mean(holes[bowls] >= 1)) if bowls else _NAN,
        "hollow": float(np.mean(holes[solid] >= 1)) if solid else _NAN,
        "hollow_area": float(np.median(1 - ink[solid] / np.maximum(filled[solid], 1e-9))) if solid else _NAN,
    }


def _median(values: Floats) -> float:
    kept = values[np.isfinite(values)]
    return float(np.median(kept)) if len(kept) else _NAN
