"""The model of styles: numbers that were fitted once to labelled faces, and what they say of any face.

Everything here is a function of one face's own vector and of frozen numbers, so adding a face never changes another.
``bench/style_model.py`` makes ``style_model.json`` from ``labels.csv`` and the packages it names; nothing is learnt
from a user's catalogue, and no learning library is needed to read the numbers.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache
from importlib import resources
from typing import Any

import numpy as np
from numpy.typing import NDArray

from catalogue.style.vectors import COMPARED, PLACES, Vectors
from catalogue.style.words import GROUP_NAMES, TRAIT_NAMES

CLIP = 4.0
"""Standard deviations beyond which a number counts no further."""


SAME_DECIMALS = 7
"""Decimals to which scores and probabilities are kept."""


@dataclass(frozen=True, slots=True)
class Scale:
    """Brings each compared number to a bell curve: power transform of Yeo and Johnson (2000), mean and spread.

    All arrays are (compared,).
    """

    middle: NDArray[np.float64]
    """Stands in for a number that is not known."""
    low: NDArray[np.float64]
    high: NDArray[np.float64]
    """Ends of what was seen when fitting; a number beyond counts as the end."""
    power: NDArray[np.float64]
    mean: NDArray[np.float64]
    spread: NDArray[np.float64]

    def standard(self, vectors: Vectors) -> Vectors:
        """Compared numbers (faces, compared) in standard deviations; none is missing."""
        values = vectors[:, PLACES]
        values = np.clip(np.where(np.isfinite(values), values, self.middle), self.low, self.high)
        standard: Vectors = np.clip((_powered(values, self.power) - self.mean) / self.spread, -CLIP, CLIP)
        return standard


def _powered(values: Vectors, power: NDArray[np.float64]) -> Vectors:
    """Yeo and Johnson, A new family of power transformations (Biometrika 87, 2000), equation 2.1."""
    up, down = np.maximum(values, 0.0), np.maximum(-values, 0.0)
    # At a power of 0 above zero and of 2 below, the limit is the logarithm.
    flat, steep = np.abs(power) < 1e-9, np.abs(power - 2) < 1e-9
    above = np.where(flat, np.log1p(up), ((up + 1) ** np.where(flat, 1.0, power) - 1) / np.where(flat, 1.0, power))
    over = np.where(steep, 1.0, 2 - power)
    below = np.where(steep, -np.log1p(down), -((down + 1) ** over - 1) / over)
    return np.where(values >= 0, above, below)


@dataclass(frozen=True, slots=True)
class Classifier:
    """A linear classifier over some of the compared numbers."""

    reads: NDArray[np.intp]
    """Places of the numbers it reads."""
    classes: tuple[str, ...]
    weights: NDArray[np.float64]
    """(classes, reads)."""
    biases: NDArray[np.float64]

    def probabilities(self, standard: Vectors) -> Vectors:
        """Probability of each class, (faces, classes)."""
        scores = standard[:, self.reads] @ self.weights.T + self.biases
        # The last bits of a product hang on how many faces are asked for at once: they are cut off.
        scores = np.round(scores, SAME_DECIMALS)
        scores = np.exp(scores - scores.max(axis=1, keepdims=True))
        shares: Vectors = np.round(scores / scores.sum(axis=1, keepdims=True), SAME_DECIMALS)
        return shares


@dataclass(frozen=True, slots=True)
class Model:
    """All that is frozen."""

    scale: Scale
    style: Classifier
    """Between styles; some of them stand for several groups."""
    finer: Mapping[str, Classifier]
    """Between the groups that one style stands for, by the style's name."""
    traits: Mapping[str, Classifier]
    """Of each trait, by name; its second class is that a face has it."""
    least: Mapping[str, float]
    """Probability from which a trait is shown. A trait that was not right often enough has none and is not shown."""
    sure: float
    """Probability of a group below which it is called not sure."""
    axes: NDArray[np.float64]
    """(compared, axes) directions in which labelled styles lie apart: neighbours are found along them."""
    usual: NDArray[np.float64]
    """Median distances between two faces along the axes, by their style's numbers and by their details."""
    made_from: tuple[str, ...]
    """Packages of the labelled faces."""
    scores: Mapping[str, float]
    """How well it did on families outside training."""

    def groups(self, vectors: Vectors) -> Vectors:
        """Probability of each of ``GROUP_NAMES``, (faces, groups)."""
        standard = self.scale.standard(vectors)
        out = np.zeros((len(vectors), len(GROUP_NAMES)))
        coarse = self.style.probabilities(standard)
        for k, style in enumerate(self.style.classes):
            if style in self.finer:
                finer = self.finer[style]
                for j, group in enumerate(finer.classes):
                    share = finer.probabilities(standard)[:, j]
                    out[:, GROUP_NAMES.index(group)] += coarse[:, k] * share
            else:
                out[:, GROUP_NAMES.index(style)] += coarse[:, k]
        return np.round(out, SAME_DECIMALS - 1)

    def trait(self, name: str, vectors: Vectors) -> NDArray[np.float64]:
        """Probability that each face has a trait."""
        share: NDArray[np.float64] = self.traits[name].probabilities(self.scale.standard(vectors))[:, 1]
        return share


def parse_model(text: str) -> Model:
    """A model from its stored form. Raises ValueError when it was made for other numbers or words."""
    facts: dict[str, Any] = json.loads(text)
    if tuple(facts["compared"]) != COMPARED or not set(facts["traits"]) <= set(TRAIT_NAMES):
        raise ValueError("style_model.json was made for other measures; run python bench/style_model.py")
    scale = Scale(*(np.array(facts["scale"][k]) for k in ("middle", "low", "high", "power", "mean", "spread")))
    return Model(
        scale, _classifier(facts["style"]), {k: _classifier(v) for k, v in facts["finer"].items()},
        {k: _classifier(v) for k, v in facts["traits"].items()}, facts["least"], facts["sure"],
        np.array(facts["axes"]), np.array(facts["usual"]), tuple(facts["made_from"]), facts["scores"],
    )  # fmt: skip


def _classifier(facts: dict[str, Any]) -> Classifier:
    reads = np.array([COMPARED.index(name) for name in facts["reads"]])
    return Classifier(reads, tuple(facts["classes"]), np.array(facts["weights"]), np.array(facts["biases"]))


@lru_cache(maxsize=1)
def shipped_model() -> Model:
    """The model that comes with the project."""
    return parse_model(resources.files("catalogue.style").joinpath("style_model.json").read_text(encoding="utf-8"))
