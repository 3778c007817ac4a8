"""Letters of a name at a setting, placed in mm: words in lines, lines under each other. The first baseline at y = 0."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import shapely
from shapely.affinity import scale as scaled
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from catalogue.judge.spacing import Placed, stacked, word_space
from catalogue.tag.levers import Setting
from catalogue.tag.trial import Trial

_PLACING_STEPS = 4
"""Moves of a word away from the one before; each goes by what is still missing, so more bring nothing."""


def letters_at(trial: Trial, setting: Setting) -> list[BaseGeometry]:
    """Letters in mm, lines stacked and centred."""
    return placed_at(trial, setting).letters


def placed_at(trial: Trial, setting: Setting) -> Placed:
    """Letters with the baselines of their lines."""
    key = replace(setting, base_offset_mm=0.0, bridged=())
    if key not in trial.placed:
        first, lines = 0, []
        for words in trial.lines:
            lines.append(_line(trial, words, setting, first))
            first += len(lines[-1])
        gap = least_distance_mm(trial, setting)
        trial.placed[key] = stacked(lines, gap, setting.nearer_mm, setting.line_spacing_mm)
    return trial.placed[key]


def space_mm(trial: Trial, setting: Setting) -> float:
    """The face's own word space."""
    cut = trial.cut(setting)
    return word_space(cut.setter) * setting.em_mm / cut.em


def least_distance_mm(trial: Trial, setting: Setting) -> float:
    """Between words and between lines, so that the least gap is left in the top layer, thickened or not."""
    return trial.process.least_gap_mm + 2 * setting.thicken_mm


def _line(trial: Trial, words: Sequence[str], setting: Setting, first: int) -> list[BaseGeometry]:
    """Letters of one line; ``first`` is the number of its first letter over all lines."""
    cut = trial.cut(setting)
    language, unit = trial.request.language, setting.em_mm / cut.em
    space = space_mm(trial, setting)
    out: list[BaseGeometry] = []
    x = 0.0
    for word in words:
        lettering = cut.setter.set(word, language, setting.tracking_em)
        letters = [scaled(letter.region, unit, unit, origin=(0, 0)) for letter in lettering.letters]
        width = sum(g.advance for g in cut.setter.shaper.shape(word, language)) * unit
        shift = x + _short(out, letters, x, least_distance_mm(trial, setting))
        nearer = _nearer(setting, first + len(out), len(letters))
        out += [translate(letter, shift - back) for letter, back in zip(letters, nearer, strict=True)]
        tightened = setting.tracking_em * setting.em_mm * max(0, len(lettering.letters) - 1)
        x = shift + width + tightened - max(nearer, default=0.0) + space - setting.space_mm
    return out


def _nearer(setting: Setting, first: int, count: int) -> list[float]:
    """How far each letter of a word moves back for the gaps closed before it in the word."""
    return [sum(c.em for c in setting.closings if first <= c.after < first + k) * setting.em_mm for k in range(count)]


def _short(before: Sequence[BaseGeometry], letters: Sequence[BaseGeometry], x: float, least: float) -> float:
    """How much farther than ``x`` a word has to move to keep the least distance from what stands before it."""
    if not before or not letters:
        return 0.0
    left, here = shapely.union_all(before), shapely.union_all(letters)
    shift = x
    for _ in range(_PLACING_STEPS):
        short = least - shapely.distance(left, translate(here, shift))
        if short <= 1e-6:
            break
        shift += short
    return shift - x
