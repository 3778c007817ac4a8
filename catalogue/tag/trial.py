"""One name being fitted: the face as the fit needs it, and what is worth remembering from one setting to the next."""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass, field

import numpy as np
import shapely
from numpy.typing import NDArray

from catalogue.judge.letters import JOINED_SHARE
from catalogue.judge.process import Process
from catalogue.judge.reach import LETTER_THIN_SHARE
from catalogue.judge.request import Request
from catalogue.judge.sizes import LEAST_HEIGHT_EM
from catalogue.judge.spacing import Placed, lines_of
from catalogue.judge.strokes import guessed_thinnest, thinnest_stroke
from catalogue.tag.levers import Setting, Weights
from scanner.lettering import LetteringError, Typesetter
from scanner.measures.counters import holes_of, inscribed_diameters
from scanner.measures.strokes import letter_widths

APERTURE_SAMPLES = 8
"""Channels with fewer places measured are nicks, not openings that make a letter readable."""


@dataclass(frozen=True, slots=True)
class FitFace:
    """A face as the fit needs it."""

    setter: Typesetter
    cap_height_em: float
    """NaN where it has no capitals."""
    joining: float = 0.0
    """Share of small-letter pairs that touch."""
    weights: Weights | None = None
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


@dataclass
class Cut:
    """The face at one weight, and what of the name does not change with size. Lengths in em of the start's capitals."""

    setter: Typesetter
    em: float
    """Font units of one em, scaled so that capitals keep their height over all weights."""
    thinnest_em: float | None
    """Thinnest stroke of the name, as a check finds it."""
    letter_thinnest_em: float | None
    """The least of the letters' own, with ``LETTER_THIN_SHARE`` of the letter below it."""
    openings: NDArray[np.float64]
    """Widths of all counters, apertures (at their median) and gaps between letters."""
    texts: list[list[str]]
    """What the letters stand for, word by word, in the order they are placed."""
    seeds: list[NDArray[np.float64]] = field(default_factory=list)
    """Centres of each letter's parts, from the lower left corner of its box."""


@dataclass
class Trial:
    """A name, a face and a process, with what was found at the settings tried so far."""

    face: FitFace
    request: Request
    reserve_mm: float = 0.0
    """Offset that the base has to have to spare."""
    cuts: dict[tuple[float | None, bool], Cut] = field(default_factory=dict)
    placed: dict[Setting, Placed] = field(default_factory=dict)
    measured: dict[Setting, Measured] = field(default_factory=dict)
    joins: dict[Setting, float] = field(default_factory=dict)

    @property
    def process(self) -> Process:
        """What the printer can do."""
        return self.request.process

    @property
    def lines(self) -> list[list[str]]:
        """Lines of words in visual order."""
        return lines_of(self.request.text)

    def cut(self, setting: Setting) -> Cut:
        """The face at the setting's weight, with or without contextual forms."""
        key = setting.weight, setting.plain
        if key not in self.cuts:
            self.cuts[key] = _cut(self, setting)
        return self.cuts[key]

    @property
    def joined(self) -> bool:
        """Whether the face joins letters in general or in this name: then tracking would tear it."""
        return self.face.joining >= JOINED_SHARE or _is_joined(self)


def _cut(trial: Trial, setting: Setting) -> Cut:
    start, weight, weights = trial.face.setter, setting.weight, trial.face.weights
    setter = start if weight is None or weights is None else weights.at(weight)
    em = float(setter.shaper.upem) * _capitals(setter) / _capitals(start)
    if setting.plain:
        setter = setter.plain
    drawn = [setter.set(word, trial.request.language).letters for line in trial.lines for word in line]
    words = [[letter.region for letter in word] for word in drawn]
    letters = [letter for word in words for letter in word]
    if not letters:
        raise LetteringError(f"the face has none of the letters of {trial.request.text!r}; choose another face")
    inside, channels = letter_widths(letters, setter.shaper.upem)
    guess = guessed_thinnest(inside)
    thinnest = None if guess is None else thinnest_stroke(letters, guess)
    own = [t for a in letters if guess and (t := thinnest_stroke([a], guess, LETTER_THIN_SHARE))]
    holes = inscribed_diameters([h for letter in letters for h in holes_of(letter)], 0.001 * em)
    gaps = [shapely.distance(a, b) for word in words for a, b in zip(word, word[1:], strict=False)]
    apertures = [float(np.median(c.widths)) for c in channels if len(c.widths) >= APERTURE_SAMPLES]
    return Cut(
        setter, em, thinnest / em if thinnest else None, min(own) / em if own else None,
        np.concatenate([holes, np.array(apertures), np.array([g for g in gaps if g > 0])]) / em,
        [[letter.text for letter in word] for word in drawn],
    )  # fmt: skip


def _capitals(setter: Typesetter) -> float:
    """Height of H in em; 1 where the face has none worth the name."""
    drawn = setter.set("H").letters
    height = float(drawn[0].region.bounds[3]) / setter.shaper.upem if drawn else 0.0
    return height if height >= LEAST_HEIGHT_EM else 1.0


def _is_joined(trial: Trial) -> bool:
    """Whether any two neighbouring letters of the name touch, or its script joins letters."""
    if any(unicodedata.bidirectional(c) == "AL" for c in trial.request.text):
        return True
    for line in trial.lines:
        for word in line:
            letters = trial.face.setter.set(word, trial.request.language).letters
            for one, two in zip(letters, letters[1:], strict=False):
                if one.text != two.text and one.region.intersects(two.region):
                    return True
    return False
