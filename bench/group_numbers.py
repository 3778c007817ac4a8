"""Prints the numbers of the style groups. One command, on the catalogue that ``group_model.py`` scanned:

    python bench/group_numbers.py --catalogue reference.sqlite

Truth for the categories: the package's category word (``fontpkg-*``) or PANOSE where it is set (other fonts); neither
takes part in fitting. Truth for the anchors: ``tests/style_labels.py``, labelled by eye by the makers of this project.
Families are split into halves by the SHA-256 of their names. scikit-learn gives the adjusted mutual information.
"""

from __future__ import annotations

import argparse
import hashlib
import statistics
import sys
import time
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))
sys.path.insert(0, str(Path(__file__).resolve().parent))
sys.path.insert(0, str(Path(__file__).resolve().parent.parent / "tests"))

from group_fonts import categories, panose_category
from sklearn.metrics import adjusted_mutual_info_score
from style_labels import STYLE_OF

from catalogue.store.database import Face, Store
from catalogue.style.groups import ANCHORS, NOT_GROUPED, SAME_DRAWING, apart, decide, fit, irregularity, shipped_model
from scanner.measures.features import FEATURES
from scanner.shaping import Shaper

CATEGORY_OF_STYLE = {
    "plain": "SANS_SERIF", "serif": "SERIF", "slab serif": "SERIF", "monospaced": "MONOSPACE",
    "joined script": "HANDWRITING", "handwriting": "HANDWRITING",
}  # fmt: skip
"""All other styles are DISPLAY."""

_QUALIFIERS = """
    condensed semi narrow display text two 2 tight deca medium light book thin demi caption wide extra bold no2 no3
    std sc small one mini modern classic duo x xl cond segments thick outline solid round
"""
QUALIFIERS = frozenset(_QUALIFIERS.split())
_WEIGHTS = "light thin medium book demi bold extra semi heavy black regular"
WEIGHTS = frozenset(_WEIGHTS.split())
"""Words that tell members of one superfamily apart."""

Labels = np.ndarray


def purity(groups: Labels, truth: Labels) -> float:
    """Share of faces that have their group's most frequent category."""
    return sum(np.unique(truth[groups == g], return_counts=True)[1].max() for g in set(groups)) / len(groups)


def in_half(faces: Sequence[Face]) -> np.ndarray:
    """0 or 1 for each face, by its family's name."""
    return np.array([hashlib.sha256(f.family.encode()).digest()[0] % 2 for f in faces])


def agreement(title: str, groups: Labels, truth: Labels, halves: np.ndarray, vectors: np.ndarray) -> None:
    """Agreement with categories: all, and each half."""
    known = np.flatnonzero((truth != "") & (groups != NOT_GROUPED))
    g, t, h = groups[known], truth[known], halves[known]
    same = nearest_same(vectors[known], t)
    for name, mine in (("all", h >= 0), ("half 1", h == 0), ("half 2", h == 1)):
        if mine.sum() > 10:
            print(
                f"{title}, {name}: {mine.sum()} families in {len(set(g[mine]))} groups, AMI"
                f" {adjusted_mutual_info_score(t[mine], g[mine]):.3f}, purity {purity(g[mine], t[mine]):.3f}, same"
                f" category among the five nearest {same[mine].mean():.3f}"
            )


def nearest_same(vectors: np.ndarray, truth: Labels, count: int = 5) -> np.ndarray:
    """For each face the share of its nearest faces that have its category."""
    out = []
    for k in range(len(vectors)):
        away = apart(vectors, k, shipped_model())
        away[k] = np.inf
        out.append(np.mean(truth[np.argsort(away)[:count]] == truth[k]))
    return np.array(out)


def stability(vectors: np.ndarray, faces: Sequence[Face]) -> None:
    """Agreement of groups when a fifth of the families is left out: frozen, refitted from them, fitted from nothing."""
    full = fit(vectors)
    rng = np.random.default_rng(0)
    frozen, warm, cold = [], [], []
    model = shipped_model()
    for _ in range(8):
        kept = np.sort(rng.permutation(len(vectors))[: int(0.8 * len(vectors))])
        for start, reference, found in ((None, full, cold), (full, full, warm)):
            fresh = fit(vectors[kept], start=start)
            found.append(_same(vectors[kept], fresh, reference))
        frozen.append(_same(vectors[kept], model, model))
    for name, found in (("frozen", frozen), ("refitted from the groups it has", warm), ("fitted anew", cold)):
        print(f"stability without a fifth of the fonts, {name}: mean {np.mean(found):.3f}, least {min(found):.3f}")


def _same(vectors: np.ndarray, one: object, other: object) -> float:
    a, b = ([d.group for d in decide(vectors, m)] for m in (one, other))  # type: ignore[arg-type]
    return float(adjusted_mutual_info_score(a, b))


def anchors(faces: Sequence[Face], groups: Labels) -> None:
    """Precision and recall of each anchor rule on the families labelled by eye that can be grouped at all."""
    seen = np.array([STYLE_OF.get(f.family, "") for f in faces])
    known = seen != ""
    refused = known & (groups == NOT_GROUPED)
    names = ", ".join(f.family for f, r in zip(faces, refused) if r)
    print(f"by eye: {known.sum()} families, {refused.sum()} of them not grouped ({names})")
    for anchor in ANCHORS:
        said, true = known & (groups == anchor.group), known & (seen == anchor.group) & ~refused
        hit = int((said & true).sum())
        wrong = [f"{f.family} ({s})" for f, s, w in zip(faces, seen, said & ~true) if w]
        lost = [f"{f.family} ({g})" for f, g, w in zip(faces, groups, true & ~said) if w]
        print(
            f"anchor {anchor.group}: precision {hit / max(1, said.sum()):.3f}, recall {hit / max(1, true.sum()):.3f}"
            f" of {true.sum()}" + (f"; wrong: {', '.join(wrong)}" if wrong else "")
            + (f"; lost: {', '.join(lost)}" if lost else "")
        )  # fmt: skip


def siblings(faces: Sequence[Face], vectors: np.ndarray) -> None:
    """How often one of the same superfamily is among the five nearest families.

    Weights that pass for families count as one family, and a drawing that comes under several names counts once.
    """
    standard = shipped_model().standard(vectors)
    units: set[str] = set()
    kept: list[int] = []
    for k, face in enumerate(faces):
        unit = " ".join(w for w in face.family.casefold().split() if w not in WEIGHTS)
        if unit not in units and all(np.abs(standard[k] - standard[j]).mean() >= SAME_DRAWING for j in kept):
            units.add(unit)
            kept.append(k)
    members = defaultdict(list)
    for k in kept:
        words = [w for w in faces[k].family.casefold().replace("-", " ").split() if w not in QUALIFIERS]
        members[" ".join(words)].append(k)
    hits, half, missed = [], [], []
    for name, mine in members.items():
        for k in mine if len(mine) > 1 else []:
            away = apart(vectors[kept], kept.index(k), shipped_model())
            near = [kept[j] for j in np.argsort(away)[:6] if kept[j] != k][:5]
            hits.append(bool(set(near) & set(mine)))
            half.append(hashlib.sha256(name.encode()).digest()[0] % 2)
            missed += [] if hits[-1] else [faces[k].family]
    found = np.array(hits)
    by_half = ", ".join(f"{found[np.array(half) == h].mean():.3f} of {half.count(h)}" for h in (0, 1) if h in half)
    print(
        f"a sibling among the five nearest of {len(kept)} families: {found.mean():.3f} of {len(hits)} queries"
        f" (superfamilies in halves: {by_half}); not for {', '.join(missed) or 'none'}"
    )


def cost(faces: Sequence[Face]) -> None:
    """CPU time of the style numbers a face, over the demo packages."""
    import scanner.measuring

    spent: list[float] = []
    real = scanner.measuring.style_features

    def timed(*arguments: object) -> np.ndarray:
        start = time.process_time()
        found = real(*arguments)  # type: ignore[arg-type]
        spent.append(1000 * (time.process_time() - start))
        return found

    scanner.measuring.style_features = timed  # type: ignore[assignment]
    try:
        for face in [f for f in faces if "fontpkg_" in f.path][:40]:
            scanner.measuring.measure(Shaper.open(Path(face.path), face.face_index), ["Marlie"])
    finally:
        scanner.measuring.style_features = real
    print(f"CPU a face: median {statistics.median(spent):.1f} ms, most {max(spent):.1f} ms ({len(spent)} faces)")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--catalogue", type=Path, required=True, help="catalogue scanned by group_model.py")
    options = parser.parse_args()
    with Store(options.catalogue) as store:
        ids, every = store.features(len(FEATURES))
        by_id = store.faces_of(ids)
    one_each: dict[str, int] = {}
    for k in sorted(range(len(ids)), key=lambda k: _order(by_id[ids[k]])):
        if not by_id[ids[k]].instance:
            one_each.setdefault(by_id[ids[k]].family.casefold(), k)
    chosen = list(one_each.values())
    faces, vectors = [by_id[ids[k]] for k in chosen], every[chosen]
    model = shipped_model()
    groups = np.array([d.group for d in decide(vectors, model)])
    halves = in_half(faces)
    words = categories(f.path for f in faces)
    told = np.array([words.get(f.path) or _panose(f) for f in faces])
    packaged = np.array([words.get(f.path, "") for f in faces])
    eye = np.array([
        CATEGORY_OF_STYLE.get(STYLE_OF[f.family], "DISPLAY") if f.family in STYLE_OF else "" for f in faces
    ])  # fmt: skip
    print(f"{len(faces)} families, {(groups != NOT_GROUPED).sum()} grouped")
    agreement("package word or PANOSE", groups, told, halves, vectors)
    agreement("package word only", groups, packaged, halves, vectors)
    agreement("category by eye", groups, eye, halves, vectors)
    anchors(faces, groups)
    siblings(faces, vectors)
    stability(vectors, faces)
    cost(faces)


def _order(face: Face) -> tuple[bool, int, str, str]:
    """Which face stands for its family when several packages have it: one whose package has a category word."""
    return "fontpkg_" not in face.path, irregularity(face.style), face.family, Path(face.path).name


def _panose(face: Face) -> str:
    if "fontpkg_" in face.path:
        return ""
    return panose_category(Shaper.open(Path(face.path), face.face_index).table("OS/2"))


if __name__ == "__main__":
    main()
