"""The least change that makes a name hold. Pure: a typesetter, a size and a process in, a frozen fit out; mm, y up.

What has to be true: the base is one piece; every neck of it is at least two lines wide; the strokes of the top layer
are at least the least wall; of the openings in and between its letters at least half stay open, so that the name can
be read; holes between letters too small to print open are filled. Counters that may close are reported, not changed.
Where word spaces, tracking and offsets reach that far, the base is also in one piece with ``RESERVE`` less offset:
straight stems that face each other hang together by their whole height as soon as they touch, however thin the seam.

The levers, in the order they are tried:

1. the weight of a variable face, heavier as far as thin strokes need it: its maker's own way to thicken;
2. thickening of the letters, as far as thin strokes still need it;
3. word spaces, narrowed down to the least gap;
4. tracking, at most ``MOST_TRACKING_EM`` tighter, never where letters join;
5. thickening beyond need, at most half the least wall;
6. offsets of base and middle (the middle keeps half the base's), at most ``MOST_OFFSET`` times the start;
7. cap height: larger where strokes are too thin or openings close, smaller where letters stand too far apart.

Each lever goes as far as needed and no further. One that does not suffice stays at its end while the next is tried;
once the name holds, each lever goes back as far as it still does. Offsets count from the
outline of the top layer, thickened or not, so that the steps of the stack keep their look.
"""

from __future__ import annotations

import math
import unicodedata
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.affinity import scale as scaled
from shapely.affinity import translate
from shapely.errors import ShapelyError
from shapely.geometry.base import BaseGeometry

from catalogue.judge.hold import MOST_WITHOUT_HOLD, NECK_LINES, THIN_SHARE, Hold, Reason, Sizes, judge
from catalogue.judge.letters import JOINED_SHARE
from catalogue.judge.process import Process
from catalogue.judge.spacing import lines_of, word_space
from scanner.lettering import LetteringError, Typesetter
from scanner.measures.counters import holes_of, inscribed_diameters
from scanner.measures.joins import join_offset
from scanner.measures.necks import neck, seeds_of
from scanner.measures.strokes import letter_widths
from scanner.regions import inscribed_diameter, offset, polygons_of

MOST_TRACKING_EM = 0.08
"""Tighter than this and letters of most faces run into each other."""

MOST_OFFSET = 2.0
SMALLEST, LARGEST = 0.6, 2.0
"""How far the size may go, as shares of the start."""

LETTER_THIN_SHARE = 0.15
"""Share of one letter's centre line that may be thinner than the least wall: tips and sharp joins."""

LEAN_MM = 0.01
"""Outline points that stray less are dropped: under a step of common printers' axes (0.0125 mm, from memory). That
leaves a third of the points, and all that follows takes a third of the time."""

OPEN_SHARE = 0.5
"""Share of the least gap below which an opening surely fuses (check values: below about 0.3 mm at a 0.4 mm nozzle)."""

MOST_CLOSED = 0.5
"""Share of all openings in and between the letters that may fuse. Over the demo faces none is above it at capitals of
10 mm, one in twenty at 7 mm, five in six at 3.5 mm."""

APERTURE_SAMPLES = 8
"""Channels with fewer places measured are nicks, not openings that tell a letter."""

WEIGHT_STEP = 25.0

TOLERANCE_MM = 0.005
SEED_MM = 0.03
"""How near a seed has to be to the middle of its part."""

RESERVE = 0.25
"""Offset to spare that the levers go for, in line widths: 0.1 mm for a line of 0.45 mm, about what a printed outline
strays (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Levers:
    """What the person fixed; None leaves a lever free."""

    tracking_em: float | None = None
    thicken_mm: float | None = None
    base_offset_mm: float | None = None
    size_fixed: bool = False
    weight: float | None = None
    weight_free: bool = False
    """Whether the weight of a variable face may change; unlike the others this lever has to be set free."""


@dataclass(frozen=True, slots=True)
class Weights:
    """The weight axis of a variable face."""

    start: float
    greatest: float
    at: Callable[[float], Typesetter]
    """The typesetter at a weight."""


@dataclass(frozen=True, slots=True)
class Setting:
    """Where the levers stand."""

    em_mm: float
    space_mm: float
    """Taken out of every word space."""
    tracking_em: float
    thicken_mm: float
    base_offset_mm: float
    weight: float | None = None
    """None where the face has no weight axis."""


@dataclass(frozen=True, slots=True)
class Measured:
    """What a setting gives."""

    pieces: int
    spare_mm: float
    """Offset beyond what joins the letters; below 0 where they come apart."""
    neck_mm: float
    thinnest_stroke_mm: float | None
    thin_share: float
    closed: int
    openings: int
    """Counters, apertures and gaps in and between letters, and how many of them fuse in print."""


@dataclass(frozen=True, slots=True)
class Change:
    """One lever that moved, and what that bought."""

    lever: str
    start: float
    end: float
    unit: str
    bought: str

    @property
    def text(self) -> str:
        if self.lever == "word space":  # told by what is taken out: the space itself differs from face to face
            return f"word space narrower by {self.start - self.end:.4g} {self.unit}: {self.bought}"
        return f"{self.lever} {self.start:.4g} → {self.end:.4g}{self.unit and ' '}{self.unit}: {self.bought}"


@dataclass(frozen=True, slots=True)
class Fit:
    """The lettering as it will be made, its layers in mm, and how it came about."""

    name: str
    setting: Setting
    cap_height_mm: float
    base: BaseGeometry
    middle: BaseGeometry
    top: BaseGeometry
    seeds: NDArray[np.float64]
    """Centres of the letters' parts, shape (n, 2)."""
    measured: Measured
    changes: tuple[Change, ...]
    closing_counters_mm: tuple[float, ...]
    """Widths of the counters of the top layer narrower than the least gap."""
    filled_pinholes: int
    misses: tuple[str, ...]
    """What is still missing; empty when the name holds."""
    hold: Hold

    @property
    def holds(self) -> bool:
        return not self.misses


@dataclass
class _Cut:
    """The face at one weight, and what of the name does not change with size. Lengths in em of the start's capitals."""

    setter: Typesetter
    em: float
    """Font units of one em, scaled so that capitals keep their height over all weights."""
    widths: list[tuple[NDArray[np.float64], float]]
    """Stroke widths of each letter, and its weight in the whole."""
    openings: NDArray[np.float64]
    """Widths of all counters, apertures (at their median) and gaps between letters."""
    seeds: list[NDArray[np.float64]] = field(default_factory=list)
    """Per letter, from the lower left corner of its box."""


@dataclass
class _Job:
    """One name being fitted; remembers what is costly."""

    setter: Typesetter
    name: str
    language: str | None
    process: Process
    weights: Weights | None
    reserve_mm: float = 0.0
    """Offset that the base has to have to spare."""
    cuts: dict[float | None, _Cut] = field(default_factory=dict)
    placed: dict[Setting, list[BaseGeometry]] = field(default_factory=dict)
    measured: dict[Setting, Measured] = field(default_factory=dict)
    joins: dict[Setting, float] = field(default_factory=dict)

    def cut(self, setting: Setting) -> _Cut:
        if setting.weight not in self.cuts:
            self.cuts[setting.weight] = _cut(self, setting.weight)
        return self.cuts[setting.weight]


@contextmanager
def geometry_told() -> Iterator[None]:
    """Turns the geometry library's own complaints, rare as they are, into a line with what to do."""
    try:
        yield
    except ShapelyError as cause:
        raise LetteringError(
            "the outlines of this name defeat the geometry library; choose another face or size"
        ) from cause


@geometry_told()
def fit(
    setter: Typesetter, name: str, em_mm: float, cap_height_em: float, process: Process, levers: Levers,
    start_offset_mm: float = 1.0, language: str | None = None, joining: float = 0.0, weights: Weights | None = None,
) -> Fit:  # fmt: skip
    """Solve the fit. Raises LetteringError when the name cannot be set at all."""
    job = _Job(setter, name, language, process, weights)
    weight = weights.start if weights and levers.weight is None else levers.weight
    start = Setting(
        em_mm, 0.0, levers.tracking_em or 0.0, levers.thicken_mm or 0.0,
        levers.base_offset_mm if levers.base_offset_mm is not None else start_offset_mm, weight,
    )  # fmt: skip
    job.cut(start)
    joined = joining >= JOINED_SHARE or is_joined(setter, name, language)
    order = _levers(job, start, levers, spaced=any(len(line) > 1 for line in lines_of(name)), joined=joined)
    best = _solve(job, start, levers, order)
    if _base_holds(job, best):
        # A reserve is worth a little tracking or offset, but no other size and no heavier letters.
        job.reserve_mm = RESERVE * process.line_width_mm
        if not _base_holds(job, best):
            sized, gentle = replace(start, em_mm=best.em_mm), [v for v in order if v.key != "thicken_mm"]
            spare = _solve(job, sized, replace(levers, size_fixed=True), gentle)
            best = spare if _holds(job, spare) else best
    return _finish(job, start, best, cap_height_em)


def _cut(job: _Job, weight: float | None) -> _Cut:
    setter = job.setter if weight is None or job.weights is None else job.weights.at(weight)
    em = float(setter.shaper.upem) * _capitals(setter) / _capitals(job.setter)
    words = [
        [letter.region for letter in setter.set(word, job.language).letters]
        for line in lines_of(job.name)
        for word in line
    ]
    letters = [letter for word in words for letter in word]
    if not letters:
        raise LetteringError(f"the face has none of the letters of {job.name!r}; choose another face")
    inside, channels = letter_widths(letters, setter.shaper.upem)
    holes = inscribed_diameters([h for letter in letters for h in holes_of(letter)], 0.001 * em)
    gaps = [shapely.distance(a, b) for word in words for a, b in zip(word, word[1:], strict=False)]
    apertures = [float(np.median(c.widths)) for c in channels if len(c.widths) >= APERTURE_SAMPLES]
    return _Cut(
        setter, em, [(w.widths / em, w.length / len(w.widths)) for w in inside if len(w.widths)],
        np.concatenate([holes, np.array(apertures), np.array([g for g in gaps if g > 0])]) / em,
    )  # fmt: skip


def _capitals(setter: Typesetter) -> float:
    """Height of H in em; 1 where the face has none."""
    drawn = setter.set("H").letters
    return float(drawn[0].region.bounds[3]) / setter.shaper.upem if drawn else 1.0


def is_joined(setter: Typesetter, name: str, language: str | None = None) -> bool:
    """Whether any two neighbouring letters of the name touch, or its script joins letters."""
    if any(unicodedata.bidirectional(c) == "AL" for c in name):
        return True
    for line in lines_of(name):
        for word in line:
            letters = setter.set(word, language).letters
            for one, two in zip(letters, letters[1:], strict=False):
                if one.text != two.text and one.region.intersects(two.region):
                    return True
    return False


def filled(region: BaseGeometry, least_gap_mm: float) -> tuple[BaseGeometry, int]:
    """The region without holes too small to print open, and how many were filled.

    >>> from shapely.geometry import box
    >>> plate = box(0, 0, 10, 10).difference(box(1, 1, 1.3, 2)).difference(box(5, 5, 7, 7))
    >>> region, count = filled(plate, 0.5)
    >>> count, round(region.area, 6)
    (1, 96.0)
    """
    small = [h for h in holes_of(region) if offset(h, -least_gap_mm / 2, quad_segs=4).is_empty]
    return (shapely.union_all([region, *small]) if small else region), len(small)


def lean(region: BaseGeometry) -> BaseGeometry:
    """The region without outline points that stray less than ``LEAN_MM``; its topology stays."""
    fast = shapely.simplify(region, LEAN_MM, preserve_topology=False)  # a tenth of the time of the careful one
    same = fast.is_valid and len(polygons_of(fast)) == len(polygons_of(region))
    return fast if same else shapely.simplify(region, LEAN_MM)


def _grown(region: BaseGeometry, distance_mm: float) -> BaseGeometry:
    return lean(offset(region, distance_mm))


# ── lettering ───────────────────────────────────────────────────────────────────────────────────────────────────────


def _letters(job: _Job, setting: Setting) -> list[BaseGeometry]:
    """Letters in mm, lines stacked and centred, the first baseline at y = 0."""
    key = replace(setting, base_offset_mm=0.0)
    if key not in job.placed:
        lines = [_line(job, words, setting) for words in lines_of(job.name)]
        gap = job.process.least_gap_mm + 2 * setting.thicken_mm
        job.placed[key] = _stacked(lines, gap)
    return job.placed[key]


def _line(job: _Job, words: Sequence[str], setting: Setting) -> list[BaseGeometry]:
    cut = job.cut(setting)
    shaper, unit = cut.setter.shaper, setting.em_mm / cut.em
    space = _space_mm(job, setting)
    out: list[BaseGeometry] = []
    x = 0.0
    floor = job.process.least_gap_mm + 2 * setting.thicken_mm
    for word in words:
        lettering = cut.setter.set(word, job.language, setting.tracking_em)
        letters = [scaled(letter.region, unit, unit, origin=(0, 0)) for letter in lettering.letters]
        width = sum(g.advance for g in shaper.shape(word, job.language)) * unit
        shift = x
        if out and letters:
            before, here = shapely.union_all(out), shapely.union_all(letters)
            for _ in range(4):
                short = floor - shapely.distance(before, translate(here, shift))
                if short <= 1e-6:
                    break
                shift += short
        out += [translate(letter, shift) for letter in letters]
        tightened = setting.tracking_em * setting.em_mm * max(0, len(lettering.letters) - 1)
        x = shift + width + tightened + space - setting.space_mm
    return out


def _space_mm(job: _Job, setting: Setting) -> float:
    cut = job.cut(setting)
    return word_space(cut.setter) * setting.em_mm / cut.em


def _stacked(lines: Sequence[list[BaseGeometry]], gap: float) -> list[BaseGeometry]:
    """Each line under the one before, centred, as near as the gap lets it."""
    out = list(lines[0])
    for line in lines[1:]:
        if not line or not out:
            out += line
            continue
        above, here = shapely.union_all(out), shapely.union_all(line)
        left, bottom, right, _ = above.bounds
        x0, _, x1, y1 = here.bounds
        dx = (left + right) / 2 - (x0 + x1) / 2
        far = bottom - y1 - gap  # boxes a gap apart: always enough
        near = far + (above.bounds[3] - bottom) / 2
        for _ in range(18):
            middle = (near + far) / 2
            if shapely.distance(above, translate(here, dx, middle)) >= gap:
                far = middle
            else:
                near = middle
        out += [translate(letter, dx, far) for letter in line]
    return out


# ── measuring ───────────────────────────────────────────────────────────────────────────────────────────────────────


def _base(job: _Job, setting: Setting) -> BaseGeometry:
    region = shapely.union_all(_letters(job, setting))
    grown = _grown(region, setting.thicken_mm + setting.base_offset_mm)
    return filled(grown, job.process.least_gap_mm)[0]


def _seeds(job: _Job, setting: Setting) -> NDArray[np.float64]:
    """Centres of the letters' parts; found once, since a letter only moves and grows."""
    letters, cut = _letters(job, setting), job.cut(setting)
    if not cut.seeds:
        for letter in letters:
            found = seeds_of(polygons_of(letter), SEED_MM)
            cut.seeds.append((found - np.array(letter.bounds[:2])) / setting.em_mm)
    return np.concatenate(
        [np.array(letter.bounds[:2]) + at * setting.em_mm for letter, at in zip(letters, cut.seeds, strict=True)]
    )


def _join_mm(job: _Job, setting: Setting) -> float:
    """Offset, thickening included, from which the letters are in one piece."""
    bare = replace(setting, base_offset_mm=0.0)
    if bare not in job.joins:
        job.joins[bare] = join_offset(shapely.union_all(_letters(job, bare)))
    return job.joins[bare]


def _need_mm(job: _Job) -> float:
    return NECK_LINES * job.process.line_width_mm


def _base_holds(job: _Job, setting: Setting) -> bool:
    """One piece, with offset in reserve, and necks wide enough: one inset answers it, no search."""
    if setting.thicken_mm + setting.base_offset_mm < _join_mm(job, setting) + job.reserve_mm:
        return False
    pieces = polygons_of(_base(job, setting))
    if len(pieces) != 1:
        return False
    shrunk = offset(pieces[0], -(_need_mm(job) / 2 + TOLERANCE_MM), quad_segs=8)
    points = shapely.points(_seeds(job, setting))
    return any(bool(shapely.covers(p, points).all()) for p in polygons_of(shrunk))


def _strokes_hold(job: _Job, setting: Setting) -> bool:
    return _thicken_needed(job, setting) <= setting.thicken_mm + 1e-9


def _closed(job: _Job, setting: Setting) -> int:
    """How many openings in and between the letters fuse in print."""
    left = job.cut(setting).openings * setting.em_mm - 2 * setting.thicken_mm
    return int((left < OPEN_SHARE * job.process.least_gap_mm).sum())


def _reads(job: _Job, setting: Setting) -> bool:
    """Whether strokes are walls and enough openings stay open."""
    return _strokes_hold(job, setting) and _legible(job, setting)


def _legible(job: _Job, setting: Setting) -> bool:
    return _closed(job, setting) <= MOST_CLOSED * len(job.cut(setting).openings)


def _holds(job: _Job, setting: Setting) -> bool:
    return _reads(job, setting) and _base_holds(job, setting)


def _thicken_needed(job: _Job, setting: Setting) -> float:
    """The least thickening, to 0.01 mm, that leaves no more thin stroke than tips and sharp joins."""
    widths = job.cut(setting).widths
    if not widths:
        return 0.0
    values = np.concatenate([w for w, _ in widths])
    weights = np.concatenate([np.full(len(w), weight) for w, weight in widths])
    thin = min(_low(values, weights, THIN_SHARE), *(_low(w, np.ones(len(w)), LETTER_THIN_SHARE) for w, _ in widths))
    short = (job.process.least_wall_mm - thin * setting.em_mm) / 2
    return math.ceil(max(0.0, short) * 100 - 1e-6) / 100


def _low(values: NDArray[np.float64], weights: NDArray[np.float64], share: float) -> float:
    """The largest width with at most ``share`` of the weight below it."""
    order = np.argsort(values)
    below = np.concatenate([[0.0], np.cumsum(weights[order])[:-1]]) / weights.sum()
    return float(values[order][np.flatnonzero(below <= share)[-1]])


def _measure(job: _Job, setting: Setting) -> Measured:
    if setting not in job.measured:
        job.measured[setting] = _measured(job, setting)
    return job.measured[setting]


def _measured(job: _Job, setting: Setting) -> Measured:
    base = _base(job, setting)
    pieces = len(polygons_of(base))
    width = neck(base, _seeds(job, setting), TOLERANCE_MM)[0] if pieces == 1 else 0.0
    cut = job.cut(setting)
    spare = setting.thicken_mm + setting.base_offset_mm - _join_mm(job, setting)
    closed = _closed(job, setting), len(cut.openings)
    if not cut.widths:
        return Measured(pieces, spare, width, None, 0.0, *closed)
    values = np.concatenate([w for w, _ in cut.widths]) * setting.em_mm + 2 * setting.thicken_mm
    weights = np.concatenate([np.full(len(w), weight) for w, weight in cut.widths])
    thin = float(weights[values < job.process.least_wall_mm - 1e-9].sum() / weights.sum())
    return Measured(pieces, spare, width, _low(values, weights, THIN_SHARE), thin, *closed)


# ── solving ─────────────────────────────────────────────────────────────────────────────────────────────────────────


@dataclass(frozen=True, slots=True)
class _Lever:
    name: str
    key: str
    end: float
    step: float


def _levers(job: _Job, start: Setting, fixed: Levers, spaced: bool, joined: bool) -> list[_Lever]:
    free: list[_Lever] = []
    if spaced:
        free.append(_Lever("word space", "space_mm", _space_mm(job, start) + 0.1 * start.em_mm, 0.05))
    if fixed.tracking_em is None and not joined:
        free.append(_Lever("tracking", "tracking_em", -MOST_TRACKING_EM, 0.002))
    if fixed.thicken_mm is None:
        free.append(_Lever("thickening", "thicken_mm", job.process.least_wall_mm / 2, 0.01))
    if fixed.base_offset_mm is None:
        free.append(_Lever("base offset", "base_offset_mm", MOST_OFFSET * start.base_offset_mm, 0.02))
    return free


def _solve(job: _Job, start: Setting, fixed: Levers, order: Sequence[_Lever]) -> Setting:
    def thickened(setting: Setting) -> Setting:
        if fixed.thicken_mm is not None:
            return setting
        needed = min(_thicken_needed(job, setting), job.process.least_wall_mm / 2)
        return replace(setting, thicken_mm=max(setting.thicken_mm, needed))

    now = start
    if job.weights and fixed.weight_free and fixed.weight is None and not _strokes_hold(job, now):
        axis = _Lever("weight", "weight", max(job.weights.start, job.weights.greatest), WEIGHT_STEP)
        now = _least(lambda s: _strokes_hold(job, s), now, axis)
    light = now
    now = thickened(now)
    if not fixed.size_fixed and not _reads(job, now):
        size = _Lever("size", "em_mm", LARGEST * start.em_mm, start.em_mm / 100)
        now = thickened(_least(lambda s: _reads(job, thickened(s)), light, size))
    floor = now
    for lever in order:
        if _base_holds(job, now):
            break
        if abs(lever.end) > abs(getattr(now, lever.key)):
            moved = _least(lambda s: _base_holds(job, s), now, lever)
            now = moved if _legible(job, moved) or not _legible(job, now) else now
    if not fixed.size_fixed and not _base_holds(job, now):
        size = _Lever("size", "em_mm", SMALLEST * start.em_mm, start.em_mm / 100)
        smaller = thickened(_least(lambda s: _base_holds(job, thickened(s)), now, size))
        now = smaller if _holds(job, smaller) else now
    if not _base_holds(job, now):
        return now
    for lever in order:
        begin = getattr(floor, lever.key)
        if getattr(now, lever.key) != begin:
            shorter = replace(lever, end=getattr(now, lever.key))
            back = replace(now, **{lever.key: begin})
            now = back if _holds(job, back) else _least(lambda s: _holds(job, s), back, shorter)
    return now


def _least(good: Callable[[Setting], bool], now: Setting, lever: _Lever) -> Setting:
    """The setting with the lever moved as little as makes it good, or to its end when nothing does."""
    begin = float(getattr(now, lever.key))
    count = max(1, math.ceil(abs(lever.end - begin) / lever.step - 1e-9))
    step = (lever.end - begin) / count if count == 1 else math.copysign(lever.step, lever.end - begin)

    def at(k: int) -> Setting:
        return replace(now, **{lever.key: round(begin + k * step, 6) if k < count else lever.end})

    if not good(at(count)):
        return at(count)
    low, high = 0, count
    while high - low > 1:
        middle = (low + high) // 2
        if good(at(middle)):
            high = middle
        else:
            low = middle
    return at(high)


def _finish(job: _Job, start: Setting, best: Setting, cap_height_em: float) -> Fit:
    letters = _letters(job, best)
    region = shapely.union_all(letters)
    gap = job.process.least_gap_mm
    top, filled_top = _without_pinholes(_grown(region, best.thicken_mm), letters, gap)
    middle, filled_middle = filled(_grown(region, best.thicken_mm + best.base_offset_mm / 2), gap)
    base, filled_base = filled(_grown(region, best.thicken_mm + best.base_offset_mm), gap)
    middle = shapely.union(middle, top)
    base = shapely.union(base, middle)
    measured = _measure(job, best)
    holes = [h for letter in letters for h in holes_of(letter)]
    counters = (inscribed_diameters(holes, TOLERANCE_MM) - 2 * best.thicken_mm).tolist()
    join = max(0.0, _join_mm(job, best) - best.thicken_mm)
    sizes = Sizes(
        join, measured.neck_mm, measured.thinnest_stroke_mm, measured.thin_share, min(counters, default=None),
        best.base_offset_mm,
    )  # fmt: skip
    misses = []
    if measured.pieces != 1:
        misses.append(
            f"base in {measured.pieces} pieces: needs an offset of {join:.2f} mm, has {best.base_offset_mm:.2f} mm"
        )
    elif measured.neck_mm < _need_mm(job):
        misses.append(f"narrowest neck {measured.neck_mm:.2f} mm, {_need_mm(job):.2f} mm needed")
    if not _strokes_hold(job, best):
        more = _thicken_needed(job, best) - best.thicken_mm
        misses.append(f"strokes too thin: {more:.2f} mm more thickening needed")
    hold = judge(sizes, job.process)
    if not _legible(job, best):
        text = (
            f"cannot be read: {measured.closed} of {measured.openings} openings in and between the letters close, and"
            f" letters melt together; {_readable_from(job, start, cap_height_em)}"
        )
        misses.append(text)
        left = min(hold.hold, MOST_WITHOUT_HOLD)
        hold = Hold(left, False, (*hold.reasons, Reason("reading", hold.hold - left, text, True)))
    return Fit(
        job.name, best, cap_height_em * best.em_mm, base, middle, top, _seeds(job, best), measured,
        _changes(job, start, best, cap_height_em), tuple(sorted(round(c, 3) for c in counters if c < gap)),
        filled_top + filled_middle + filled_base, tuple(misses), hold,
    )  # fmt: skip


def _readable_from(job: _Job, start: Setting, cap_height_em: float) -> str:
    """The cap height from which strokes are walls and openings stay open."""

    def reads(em_mm: float) -> bool:
        setting = replace(start, em_mm=em_mm)
        return _legible(job, replace(setting, thicken_mm=max(setting.thicken_mm, _thicken_needed(job, setting))))

    low, high = start.em_mm, 16 * start.em_mm
    if not reads(high):
        return "take another face"
    while high - low > 0.01 * start.em_mm:
        middle = (low + high) / 2
        low, high = (low, middle) if reads(middle) else (middle, high)
    return f"capitals from about {math.ceil(cap_height_em * high * 2) / 2:g} mm on can be read"


def _without_pinholes(top: BaseGeometry, letters: Sequence[BaseGeometry], gap: float) -> tuple[BaseGeometry, int]:
    """Fill the small holes between letters; a letter's own counters stay unless they are specks."""
    own = shapely.union_all([h for letter in letters for h in holes_of(letter)]) if letters else Polygon()
    small = []
    for hole in holes_of(top):
        width = inscribed_diameter(hole, TOLERANCE_MM)
        if width < gap / 4 or (width < gap and not own.intersects(hole)):
            small.append(hole)
    return (shapely.union_all([top, *small]) if small else top), len(small)


def _changes(job: _Job, start: Setting, end: Setting, cap_height_em: float) -> tuple[Change, ...]:
    names = (
        ("weight", "weight", "", 1.0), ("thicken_mm", "thickening", "mm", 1.0), ("space_mm", "word space", "mm", -1.0),
        ("tracking_em", "tracking", "em", 1.0), ("base_offset_mm", "base offset", "mm", 1.0),
        ("em_mm", "cap height", "mm", cap_height_em),
    )  # fmt: skip
    moved = [n for n in names if getattr(start, n[0]) != getattr(end, n[0])]
    changes = []
    now, before = start, _measure(job, start) if moved else None
    for key, label, unit, factor in moved:
        then = replace(now, **{key: getattr(end, key)})
        after = _measure(job, then)
        assert before is not None
        changes.append(
            Change(label, factor * getattr(now, key) or 0.0, factor * getattr(then, key), unit, _bought(before, after))
        )
        now, before = then, after
    return tuple(changes)


def _bought(before: Measured, after: Measured) -> str:
    words = []
    if before.pieces != after.pieces:
        words.append(f"base {before.pieces} → {after.pieces} {'piece' if after.pieces == 1 else 'pieces'}")
    if before.pieces == 1 and abs(after.neck_mm - before.neck_mm) >= 0.005:
        words.append(f"neck {before.neck_mm:.2f} → {after.neck_mm:.2f} mm")
    if before.pieces == after.pieces == 1 and abs(after.spare_mm - before.spare_mm) >= 0.005:
        words.append(f"offset to spare {before.spare_mm:.2f} → {after.spare_mm:.2f} mm")
    elif before.pieces != 1 and after.pieces == 1:
        words.append(f"neck {after.neck_mm:.2f} mm")
    thin, thicker = before.thinnest_stroke_mm, after.thinnest_stroke_mm
    if thin is not None and thicker is not None and abs(thin - thicker) >= 0.005:
        words.append(f"thinnest stroke {thin:.2f} → {thicker:.2f} mm")
    if before.closed != after.closed:
        words.append(f"openings that close {before.closed} → {after.closed} of {after.openings}")
    return ", ".join(words) or "nearer, but nothing crossed its limit yet"
