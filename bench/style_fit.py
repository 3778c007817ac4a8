"""Fits the model of styles to labelled vectors with scikit-learn, and hands back plain numbers.

Pipeline: missing numbers take the median, Yeo-Johnson power transform, clip, shrinkage discriminant analysis between
styles (Ledoit-Wolf); multinomial logistic regression between groups that differ by degree (weight, width, thickness
of serifs) and for each trait. Nested cross-validation (``style_model.py --nested``) finds other shrinkages and
logistic regression within a point of it, so the plain choice stands.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from sklearn.discriminant_analysis import LinearDiscriminantAnalysis
from sklearn.impute import SimpleImputer
from sklearn.linear_model import LogisticRegression
from sklearn.pipeline import make_pipeline
from sklearn.preprocessing import PowerTransformer

from catalogue.style.model import Scale
from catalogue.style.vectors import COMPARED, PLACES

STYLE_OF_GROUP = {
    "slab serif": "serifs", "serif": "serifs",
    "sans serif": "sans", "rounded sans": "sans", "condensed sans": "sans", "heavy sans": "sans",
}  # fmt: skip
"""Groups that differ by degree: they are one style to the discriminant analysis."""

FINER = {
    "sans": (
        "stroke", "fill_lower", "fill_upper", "width_lower", "width_upper", "aspect_o", "aspect_O", "ends_round",
        "round_end", "corner", "gap",
    ),
    "serifs": ("serif_thick", "contrast", "serif_share", "stroke_hair", "serif", "contrast_axis", "stroke"),
}  # fmt: skip
"""What those degrees are read from."""

_WIDTH = ("width_lower", "width_upper", "aspect_o", "aspect_O", "bearing", "gap")
_WEIGHT = ("stroke", "fill_lower", "fill_upper", "hollow_area")
_CASE = ("case", "x_height", "stroke_case", "ascender")
TRAIT_READS = {
    "all capitals": _CASE, "small capitals": _CASE,
    "serifs": ("serif", "serif_outer", "serif_share", "serif_i", "serif_thick", "exit", "corners"),
    "narrow": _WIDTH, "wide": _WIDTH, "bold": _WEIGHT,
    "parallel lines": ("lines", "lines_across", "hollow", "hollow_area", "perimeter", "pieces"),
}  # fmt: skip
"""What each fitted trait is read from; "one width" and "slanted" are rules. Labelled too, and right too seldom to be
shown at any bound: light strokes, formal and brush among scripts, high contrast, round ends, worn edges, parts cut
through, uneven letters, joins outside scripts."""

AXES = 8
DIGITS = 6
"""Significant digits that are kept: the same numbers on machines whose last bits differ."""


@dataclass(frozen=True)
class Training:
    """Vectors with their labels; ``groups`` may hold a face twice, once by each label."""

    vectors: np.ndarray
    groups: np.ndarray
    trait_vectors: np.ndarray
    traits: dict[str, np.ndarray]
    """1 where both saw a trait, 0 where none did; NaN where they differ."""


def analysis(shrinkage: str | float = "auto") -> LinearDiscriminantAnalysis:
    """The discriminant analysis between styles."""
    return LinearDiscriminantAnalysis(solver="eigen", shrinkage=shrinkage)


def fit(training: Training, temperature: float = 1.0, classifier: Callable[[], Any] | None = None) -> dict[str, Any]:
    """All numbers of a model but its thresholds, in the form that ``parse_model`` reads."""
    scale = _scale(training.vectors)
    standard = standardised(scale, training.vectors)
    style = np.array([STYLE_OF_GROUP.get(g, g) for g in training.groups])
    between = (classifier or analysis)().fit(standard, style)
    finer = {}
    for name, reads in FINER.items():
        mine = style == name
        finer[name] = _logistic(standard[mine], training.groups[mine], reads)
    traits = {}
    trait_standard = standardised(scale, training.trait_vectors)
    for name, seen in training.traits.items():
        known = np.isfinite(seen)
        traits[name] = _logistic(trait_standard[known], seen[known].astype(int), TRAIT_READS[name])
    by_axes = between if hasattr(between, "scalings_") else analysis().fit(standard, style)
    axes = by_axes.scalings_[:, :AXES]
    axes = axes * np.sign(axes[np.abs(axes).argmax(axis=0), np.arange(axes.shape[1])])
    facts = {
        "compared": list(COMPARED), "scale": scale,
        "style": _facts(COMPARED, between, temperature), "finer": finer, "traits": traits,
        "least": {}, "sure": 0.0, "axes": axes, "usual": [1.0, 1.0, 1.0], "made_from": [], "scores": {},
    }  # fmt: skip
    rounded: dict[str, Any] = _rounded(facts)
    return rounded


def _scale(vectors: np.ndarray) -> dict[str, np.ndarray]:
    values = np.where(np.isfinite(vectors[:, PLACES]), vectors[:, PLACES], np.nan)
    imputer, power = SimpleImputer(strategy="median"), PowerTransformer()
    filled = make_pipeline(imputer, power).fit(values)[0].transform(values)
    inner = power._scaler
    return {
        "middle": imputer.statistics_, "low": filled.min(axis=0), "high": filled.max(axis=0),
        "power": power.lambdas_, "mean": inner.mean_, "spread": inner.scale_,
    }  # fmt: skip


def standardised(scale: dict[str, Any], vectors: np.ndarray) -> np.ndarray:
    """Vectors by a scale, as the model itself does it."""
    return Scale(**{k: np.array(v) for k, v in scale.items()}).standard(vectors)


def _logistic(standard: np.ndarray, classes: np.ndarray, reads: Sequence[str]) -> dict[str, Any]:
    places = [COMPARED.index(name) for name in reads]
    fitted = LogisticRegression(C=1.0, max_iter=3000).fit(standard[:, places], classes)
    return _facts(reads, fitted, 1.0)


def _facts(reads: Sequence[str], fitted: Any, temperature: float) -> dict[str, Any]:
    weights, biases = fitted.coef_ / temperature, fitted.intercept_ / temperature
    if len(weights) == 1:  # two classes share one row of weights
        weights, biases = np.vstack([0 * weights, weights]), np.append(0.0, biases)
    return {
        "reads": list(reads), "classes": [str(c) for c in fitted.classes_], "weights": weights, "biases": biases,
    }  # fmt: skip


def _rounded(value: Any) -> Any:
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    if isinstance(value, np.ndarray):
        return _rounded(value.tolist())
    if isinstance(value, (list, tuple)):
        return [_rounded(v) for v in value]
    return float(f"{value:.{DIGITS}g}") if isinstance(value, float) else value
