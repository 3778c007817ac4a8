"""Makes ``catalogue/style/style_model.json`` from ``labels.csv`` and the packages it names, the same bytes each time:

    python bench/style_model.py --fonts DIR... [--vectors FILE.npz] [--nested] [--out FILE]

``--vectors`` keeps the measured vectors between runs (measuring 1,144 faces takes some minutes). Prints how well the
model does on families outside training: eight folds, all families that share the first word of their name in one fold.
``--nested`` also chooses the classifier inside each fold, to show that the choice made here is not a lucky one.
"""

from __future__ import annotations

import argparse
import json
import sys
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from sklearn.linear_model import LogisticRegression
from sklearn.metrics import adjusted_mutual_info_score
from sklearn.model_selection import StratifiedGroupKFold
from style_fit import TRAIT_READS, Training, analysis, fit
from style_labels import HERE, SYMBOLS, Labelled, read_labels, vectors_of

from catalogue.style.groups import refusal
from catalogue.style.model import Model, parse_model
from catalogue.style.neighbours import apart, usual_distances
from catalogue.style.vectors import rows
from catalogue.style.words import GROUP_NAMES

FOLDS = 8
OUTER, INNER = 5, 3
"""Folds of the nested cross-validation, which fits some sixty models."""
WANTED = 0.92
"""Share of what is shown that is to be true by eye."""
TEMPERATURES = (1.0, 1.25, 1.5, 1.75, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0)


def training_of(faces: Sequence[Labelled], vectors: np.ndarray) -> Training:
    """Each face by its first and by its second label: a disputed face speaks half for either."""
    groups = np.array([g for f in faces for g in f.groups])
    twice = np.repeat(vectors, 2, axis=0)
    letters = groups != SYMBOLS
    traits = {name: np.array([_seen(f, name) for f in faces]) for name in TRAIT_READS}
    return Training(twice[letters], groups[letters], vectors, traits)


def _seen(face: Labelled, trait: str) -> float:
    one, other = face.traits()
    return float(trait in one) if (trait in one) == (trait in other) else float("nan")


def folds(faces: Sequence[Labelled], count: int = FOLDS) -> list[tuple[np.ndarray, np.ndarray]]:
    """Training and test faces of each fold."""
    warnings.filterwarnings("ignore", "The least populated class", UserWarning)
    split = StratifiedGroupKFold(count, shuffle=True, random_state=1)
    first = [f.groups[0] for f in faces]
    return list(split.split(np.zeros(len(faces)), first, [f.root for f in faces]))


@dataclass(frozen=True)
class Fold:
    """A model and the faces whose families it did not see."""

    model: Model
    test: np.ndarray


def fitted_folds(faces: Sequence[Labelled], vectors: np.ndarray, **how: Any) -> list[Fold]:
    """A model for each fold, fitted to the families of the others."""
    out = []
    for train, test in folds(faces):
        facts = fit(training_of([faces[k] for k in train], vectors[train]), **how)
        out.append(Fold(model_of(facts, vectors[train]), test))
    return out


def cooled(model: Model, temperature: float) -> Model:
    """A model whose discriminant scores are divided by a number, as it is too sure of itself."""
    style = replace(model.style, weights=model.style.weights / temperature, biases=model.style.biases / temperature)
    return replace(model, style=style)


def outside(trained: Sequence[Fold], vectors: np.ndarray) -> np.ndarray:
    """Probabilities of groups of every face, (faces, groups), by a model that did not see its family."""
    groups = np.zeros((len(vectors), len(GROUP_NAMES)))
    for fold in trained:
        groups[fold.test] = fold.model.groups(vectors[fold.test])
    return groups


def traits_outside(trained: Sequence[Fold], vectors: np.ndarray) -> dict[str, np.ndarray]:
    """Probability of each trait of every face, by a model that did not see its family."""
    traits = {name: np.zeros(len(vectors)) for name in TRAIT_READS}
    for fold in trained:
        for name, shares in traits.items():
            shares[fold.test] = fold.model.trait(name, vectors[fold.test])
    return traits


# ── scores ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def purity(groups: np.ndarray, truth: np.ndarray) -> float:
    """Share of faces that have their group's most frequent label."""
    return float(sum(np.unique(truth[groups == g], return_counts=True)[1].max() for g in set(groups)) / len(groups))


def interval(right: int, of: int) -> tuple[float, float]:
    """Wilson's interval (1927) of a share, at 95 %."""
    if not of:
        return 0.0, 1.0
    z, share = 1.96, right / of
    middle = (share + z * z / (2 * of)) / (1 + z * z / of)
    half = z / (1 + z * z / of) * np.sqrt(share * (1 - share) / of + z * z / (4 * of * of))
    return float(middle - half), float(middle + half)


def least_of(shares: np.ndarray, true: np.ndarray, wanted: float = WANTED) -> float | None:
    """The lowest probability from which the wanted share is true; None where there is none for eight faces."""
    order = np.argsort(-shares, kind="stable")
    right = np.cumsum(true[order]) / np.arange(1, len(order) + 1)
    enough = np.flatnonzero((right >= wanted) & (np.arange(len(order)) >= 7))
    return float(shares[order][enough[-1]]) if len(enough) else None


def group_scores(shares: np.ndarray, faces: Sequence[Labelled]) -> dict[str, float]:
    """Agreement with the labels: over faces whose two labels agree, and with either label over all."""
    found = np.array(GROUP_NAMES)[shares.argmax(axis=1)]
    a, b = (np.array([f.groups[k] for f in faces]) for k in (0, 1))
    agreed = a == b
    return {
        "families": float(len(faces)), "agreed": float(agreed.sum()),
        "ami": float(adjusted_mutual_info_score(a[agreed], found[agreed])),
        "purity": purity(found[agreed], a[agreed]), "right": float(np.mean((found == a)[agreed])),
        "right_by_either": float(np.mean((found == a) | (found == b))),
    }  # fmt: skip


def confusion(shares: np.ndarray, faces: Sequence[Labelled]) -> str:
    """Rows: the label both gave; columns: the group by a model that did not see the family."""
    found = np.array(GROUP_NAMES)[shares.argmax(axis=1)]
    truth = np.array([f.groups[0] if f.groups[0] == f.groups[1] else "" for f in faces])
    lines = [" " * 16 + "".join(f"{name[:6]:>7}" for name in GROUP_NAMES)]
    for name in GROUP_NAMES:
        counts = [int(((truth == name) & (found == other)).sum()) for other in GROUP_NAMES]
        lines.append(f"{name:<16}" + "".join(f"{c or '.':>7}" for c in counts))
    return "\n".join(lines)


def trait_lines(traits: dict[str, np.ndarray], faces: Sequence[Labelled]) -> tuple[dict[str, float], list[str]]:
    """The probability from which each trait is shown, and its precision and recall there.

    A trait is true where either label has it, and to be found where both have.
    """
    least, lines = {}, []
    for name, shares in traits.items():
        seen = [f.traits() for f in faces]
        either = np.array([name in one or name in other for one, other in seen])
        both = np.array([name in one and name in other for one, other in seen])
        bound = least_of(shares, either)
        if bound is None:
            lines.append(f"{name:<16} not shown: never right in {WANTED:.0%} of the faces that it is said of")
            continue
        least[name] = max(bound, 0.5)
        shown = shares >= least[name]
        right, found = int((shown & either).sum()), int((shown & both).sum())
        low, high = interval(right, int(shown.sum()))
        r_low, r_high = interval(found, int(both.sum()))
        lines.append(
            f"{name:<16} shown from {least[name]:.2f}: precision {right}/{shown.sum()} = {right / shown.sum():.2f}"
            f" ({low:.2f} to {high:.2f}), recall {found}/{both.sum()} = {found / max(both.sum(), 1):.2f}"
            f" ({r_low:.2f} to {r_high:.2f})"
        )
    return least, lines


def temperature_of(trained: Sequence[Fold], faces: Sequence[Labelled], vectors: np.ndarray) -> float:
    """By how much the analysis is too sure of itself: the divisor of its scores with the least log loss outside."""
    places = [[GROUP_NAMES.index(g) for g in f.groups] for f in faces]
    losses = []
    for t in TEMPERATURES:
        shares = outside([replace(f, model=cooled(f.model, t)) for f in trained], vectors)
        own = [shares[k, pair].mean() for k, pair in enumerate(places)]
        losses.append(-float(np.mean(np.log(np.maximum(own, 1e-9)))))
    return TEMPERATURES[int(np.argmin(losses))]


def neighbour_scores(trained: Sequence[Fold], faces: Sequence[Labelled], vectors: np.ndarray) -> dict[str, float]:
    """Same style among the five nearest, and a sibling among them: another face of the same superfamily and style."""
    same, siblings = [], []
    for fold in trained:
        for k in fold.test.tolist():
            away = apart(vectors, k, fold.model)
            away[k] = np.inf
            near = np.argsort(away, kind="stable")[:5]
            mine = faces[k].groups
            if mine[0] == mine[1]:
                same.append(np.mean([mine[0] in faces[n].groups for n in near]))
            kin = [n for n, f in enumerate(faces) if n != k and f.design == faces[k].design and f.groups[0] == mine[0]]
            if kin:
                siblings.append(bool(set(kin) & set(near.tolist())))
    return {"near_same": float(np.mean(same)), "near_sibling": float(np.mean(siblings))}


def stability(faces: Sequence[Labelled], vectors: np.ndarray, full: Model) -> float:
    """Least share of faces whose group stays when a fifth of the families is left out of the training."""
    found = full.groups(vectors).argmax(axis=1)
    roots = np.array([f.root for f in faces])
    rng = np.random.default_rng(0)
    shares = []
    for _ in range(4):
        out = rng.permutation(np.unique(roots))[: len(np.unique(roots)) // 5]
        kept = ~np.isin(roots, out)
        facts = fit(training_of([f for f, k in zip(faces, kept, strict=True) if k], vectors[kept]))
        shares.append(float(np.mean(parse_model(json.dumps(facts)).groups(vectors).argmax(axis=1) == found)))
    return min(shares)


def nested(faces: Sequence[Labelled], vectors: np.ndarray) -> dict[str, float]:
    """Scores when each fold chooses its classifier by folds of its own training families."""
    choices: dict[str, Callable[[], Any]] = {
        "analysis, Ledoit-Wolf": analysis, "analysis, 0.05": lambda: analysis(0.05),
        "analysis, 0.2": lambda: analysis(0.2), "logistic": lambda: LogisticRegression(C=0.03, max_iter=400),
    }  # fmt: skip
    shares = np.zeros((len(faces), len(GROUP_NAMES)))
    for train, test in folds(faces, OUTER):
        inner, inside = [faces[k] for k in train], vectors[train]
        scores = dict.fromkeys(choices, 0.0)
        for learn, judge in folds(inner, INNER):
            training = _without_traits([inner[k] for k in learn], inside[learn])
            for name, make in choices.items():
                found = parse_model(json.dumps(fit(training, classifier=make))).groups(inside[judge])
                scores[name] += group_scores(found, [inner[k] for k in judge])["right_by_either"] / INNER
        best = max(scores, key=lambda n: scores[n])
        print(f"  chosen inside: {best}", {n: round(s, 3) for n, s in scores.items()}, flush=True)
        facts = fit(_without_traits(inner, inside), classifier=choices[best])
        shares[test] = parse_model(json.dumps(facts)).groups(vectors[test])
    return group_scores(shares, faces)


def _without_traits(faces: Sequence[Labelled], vectors: np.ndarray) -> Training:
    return replace(training_of(faces, vectors), traits={})


# ── making ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def model_of(facts: dict[str, Any], vectors: np.ndarray) -> Model:
    """A model with its usual distances set."""
    model = parse_model(json.dumps(facts))
    facts["usual"] = [float(f"{d:.6g}") for d in usual_distances(vectors, model)]
    return parse_model(json.dumps(facts))


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--fonts", type=Path, nargs="+", default=[Path("/usr/share/fonts")], help="folders of packages")
    parser.add_argument("--vectors", type=Path, help="file that keeps the measured vectors")
    parser.add_argument("--nested", action="store_true", help="nested cross-validation as well")
    parser.add_argument("--out", type=Path, default=HERE / "catalogue" / "style" / "style_model.json")
    options = parser.parse_args()
    everything = read_labels()
    vectors = vectors_of(everything, options.fonts, options.vectors)
    _refusals(everything, vectors)
    letters = [k for k, f in enumerate(everything) if SYMBOLS not in f.groups]
    faces, vectors = [everything[k] for k in letters], vectors[letters]
    trained = fitted_folds(faces, vectors)
    temperature = temperature_of(trained, faces, vectors)
    trained = [replace(f, model=cooled(f.model, temperature)) for f in trained]
    shares = outside(trained, vectors)
    found = np.array(GROUP_NAMES)[shares.argmax(axis=1)]
    print(confusion(shares, faces))
    least, lines = trait_lines(traits_outside(trained, vectors), faces)
    print("\n".join(lines))
    facts = fit(training_of(faces, vectors), temperature)
    true = np.array([g in f.groups for g, f in zip(found, faces, strict=True)])
    facts["sure"] = round(least_of(shares.max(axis=1), true) or 1.0, 3)
    sure = shares.max(axis=1) >= facts["sure"]
    scores = group_scores(shares, faces) | neighbour_scores(trained, faces, vectors)
    scores |= {"sure": float(np.mean(sure)), "right_when_sure": float(np.mean(true[sure]))}
    model = model_of(facts, vectors)
    scores |= {"stability": stability(faces, vectors, model)}
    facts["least"] = {name: round(bound, 3) for name, bound in least.items()}
    facts["scores"] = {name: round(score, 4) for name, score in scores.items()}
    facts["made_from"] = sorted({f.package for f in faces})
    text = json.dumps(facts, ensure_ascii=False, separators=(",", ":")).replace('],"', '],\n"')
    options.out.write_text(text + "\n", encoding="utf-8")
    print(f"temperature {temperature}, sure from {facts['sure']}")
    print(", ".join(f"{k} {v:.3f}" for k, v in scores.items()))
    if options.nested:
        print("nested:", ", ".join(f"{k} {v:.3f}" for k, v in nested(faces, vectors).items()))


def _refusals(faces: Sequence[Labelled], vectors: np.ndarray) -> None:
    """How many faces that are no letters by eye are refused, and how many that are letters."""
    symbols = np.array([f.groups == (SYMBOLS, SYMBOLS) for f in faces])
    letters = np.array([SYMBOLS not in f.groups for f in faces])
    refused = np.array([bool(refusal(r)) for r in rows(vectors)])
    print(f"not letters by eye: {refused[symbols].sum()} of {symbols.sum()} refused")
    print(f"letters by eye: {refused[letters].sum()} of {letters.sum()} refused:"
          f" {', '.join(f.family for f, r, s in zip(faces, refused, letters) if r and s)}")  # fmt: skip


if __name__ == "__main__":
    main()
