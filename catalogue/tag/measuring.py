"""What a setting gives: whether the base holds, whether letters are walls and can be read, and the numbers."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from catalogue.judge.hold import NECK_LINES, stray_mm
from catalogue.judge.process import Process
from catalogue.judge.reach import MOST_CLOSED, OPEN_SHARE
from catalogue.judge.strokes import thin_share
from catalogue.tag.backing import behind
from catalogue.tag.bridges import LINK_MM, Bridge, base_width_mm, bridges_of, drawn
from catalogue.tag.layout import letters_at
from catalogue.tag.levers import Setting
from catalogue.tag.parts import parts_of
from catalogue.tag.shapes import TOLERANCE_MM, filled, grown, lean
from catalogue.tag.trial import Measured, Trial
from scanner.measures.joins import join_offset
from scanner.measures.necks import neck, seeds_of
from scanner.regions import offset, polygons_of

SEED_MM = 0.03
"""How near a seed has to be to the middle of its part."""


def ground_at(trial: Trial, setting: Setting) -> BaseGeometry:
    """What the base is grown from: the letters, with a plate or bar behind them where one is asked for."""
    letters = letters_at(trial, setting)
    if not setting.backing:
        return shapely.union_all(letters)
    return shapely.union_all([*letters, behind(setting.backing, letters, len(trial.lines), setting.em_mm)])


def base_at(trial: Trial, setting: Setting) -> BaseGeometry:
    """The base: letters thickened and offset, bridges, small holes filled."""
    return based(trial, setting)[0]


def based(trial: Trial, setting: Setting) -> tuple[BaseGeometry, int]:
    """The base, and how many small holes of it were filled."""
    wide = grown(ground_at(trial, setting), setting.thicken_mm + setting.base_offset_mm)
    if setting.bridged:
        wide = lean(shapely.union(wide, drawn(bridges_at(trial, setting), base_width_mm(trial.process))))
    return filled(wide, trial.process.opening_mm)


def middled(trial: Trial, setting: Setting) -> tuple[BaseGeometry, int]:
    """The middle layer before the top is laid into it, and how many small holes of it were filled."""
    wide = grown(shapely.union_all(letters_at(trial, setting)), setting.thicken_mm + setting.base_offset_mm / 2)
    if setting.bridged:
        wide = lean(shapely.union(wide, drawn(bridges_at(trial, setting), trial.process.least_wall_mm)))
    return filled(wide, trial.process.opening_mm)


def bridges_at(trial: Trial, setting: Setting) -> tuple[Bridge, ...]:
    """The bridges of a setting, at their places."""
    return bridges_of(parts_of(trial, setting), setting.bridged, trial.process) if setting.bridged else ()


def homes_at(trial: Trial, setting: Setting) -> NDArray[np.intp]:
    """For each part of the letters the number of the piece it hangs on once the base is shrunk by half a neck; -1 for
    none."""
    shrunk = polygons_of(_shrunk(trial, base_at(trial, setting)))
    points = shapely.points(seeds_at(trial, setting))
    if not shrunk:
        return np.full(len(points), -1, dtype=np.intp)
    on = np.stack([shapely.covers(p, points) for p in shrunk])
    return np.where(on.any(axis=0), on.argmax(axis=0), -1)


def _shrunk(trial: Trial, base: BaseGeometry) -> BaseGeometry:
    return offset(base, -(neck_needed_mm(trial.process) / 2 + TOLERANCE_MM), quad_segs=8)


def seeds_at(trial: Trial, setting: Setting) -> NDArray[np.float64]:
    """Centres of the letters' parts; found once, since a letter only moves and grows."""
    letters, cut = letters_at(trial, setting), trial.cut(setting)
    if not cut.seeds:
        for letter in letters:
            found = seeds_of(polygons_of(letter), SEED_MM)
            cut.seeds.append((found - np.array(letter.bounds[:2])) / setting.em_mm)
    return np.concatenate(
        [np.array(letter.bounds[:2]) + at * setting.em_mm for letter, at in zip(letters, cut.seeds, strict=True)]
    )


def join_mm(trial: Trial, setting: Setting) -> float:
    """Offset, thickening included, from which the letters are in one piece."""
    bare = replace(setting, base_offset_mm=0.0)
    if bare not in trial.joins:
        links = drawn(bridges_at(trial, bare), LINK_MM)
        trial.joins[bare] = join_offset(shapely.union(ground_at(trial, bare), links))
    return trial.joins[bare]


def neck_needed_mm(process: Process) -> float:
    """The least neck of a base."""
    return NECK_LINES * process.line_width_mm


def base_holds(trial: Trial, setting: Setting) -> bool:
    """One piece, with offset in reserve, and necks wide enough: one inset answers it, no search."""
    if setting.thicken_mm + setting.base_offset_mm < join_mm(trial, setting) + trial.reserve_mm:
        return False
    pieces = polygons_of(base_at(trial, setting))
    if len(pieces) != 1:
        return False
    points = shapely.points(seeds_at(trial, setting))
    return any(bool(shapely.covers(p, points).all()) for p in polygons_of(_shrunk(trial, pieces[0])))


def thinnest_mm(trial: Trial, setting: Setting) -> float | None:
    """Thinnest stroke of the top layer, as a check finds it; None for a name without strokes."""
    thinnest = trial.cut(setting).thinnest_em
    return None if thinnest is None else thinnest * setting.em_mm + 2 * setting.thicken_mm


def strokes_hold(trial: Trial, setting: Setting, reserve_mm: float = 0.0) -> bool:
    """Whether the strokes of the top layer are walls, with a reserve of width."""
    thinnest = thinnest_mm(trial, setting)
    return thinnest is None or thinnest >= trial.process.least_wall_mm + reserve_mm - 1e-6


def legible(trial: Trial, setting: Setting) -> bool:
    """Whether enough openings in and between the letters stay open."""
    return _closed(trial, setting) <= MOST_CLOSED * len(trial.cut(setting).openings)


def reads(trial: Trial, setting: Setting) -> bool:
    """Whether strokes are walls and enough openings stay open."""
    return strokes_hold(trial, setting) and legible(trial, setting)


def holds(trial: Trial, setting: Setting) -> bool:
    """Whether nothing is missing."""
    return reads(trial, setting) and base_holds(trial, setting)


def thicken_needed(trial: Trial, setting: Setting) -> float:
    """The least thickening, to 0.01 mm, that makes the strokes walls; 0 where they are.

    Where letters have to be thickened, by so much more as a printed outline strays, and until no single letter has
    hairlines.
    """
    cut = trial.cut(setting)
    if cut.thinnest_em is None or cut.letter_thinnest_em is None:
        return 0.0
    short = trial.process.least_wall_mm - min(cut.thinnest_em, cut.letter_thinnest_em) * setting.em_mm
    if short <= 1e-6:
        return 0.0
    return math.ceil((short + stray_mm(trial.process)) / 2 * 100 - 1e-6) / 100


def measure(trial: Trial, setting: Setting) -> Measured:
    """The numbers of a setting, worked out once."""
    if setting not in trial.measured:
        trial.measured[setting] = _measured(trial, setting)
    return trial.measured[setting]


def _measured(trial: Trial, setting: Setting) -> Measured:
    base = base_at(trial, setting)
    pieces = len(polygons_of(base))
    width = neck(base, seeds_at(trial, setting), TOLERANCE_MM)[0] if pieces == 1 else 0.0
    cut = trial.cut(setting)
    spare = setting.thicken_mm + setting.base_offset_mm - join_mm(trial, setting)
    closed = _closed(trial, setting), len(cut.openings)
    thin = thin_share(letters_at(trial, setting), trial.process.least_wall_mm - 2 * setting.thicken_mm)
    return Measured(pieces, spare, width, thinnest_mm(trial, setting), thin, *closed)


def _closed(trial: Trial, setting: Setting) -> int:
    """How many openings in and between the letters fuse in print."""
    left = trial.cut(setting).openings * setting.em_mm - 2 * setting.thicken_mm
    return int((left < OPEN_SHARE * trial.process.opening_mm).sum())
