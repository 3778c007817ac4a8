"""The styles of a catalogue: decided after a scan, and asked for neighbours and for the faces of a style."""

from __future__ import annotations

from typing import Any

import numpy as np

from catalogue.store.database import Face, Store
from catalogue.style.groups import Decision, decide, meant, refusal, supported
from catalogue.style.likeness import alike, differs
from catalogue.style.model import shipped_model
from catalogue.style.neighbours import apart
from catalogue.style.vectors import rows
from scanner.measures.features import FEATURES


def regroup(store: Store) -> None:
    """Decide the group of every measured face and store it."""
    ids, vectors = store.features(len(FEATURES))
    decided = decide(vectors, shipped_model())
    store.put_groups({i: (d.group, supported(d)) for i, d in zip(ids, decided, strict=True)})


def styles_of(store: Store) -> dict[int, Decision]:
    """The style of every measured face by id, as its measures say now."""
    ids, vectors = store.features(len(FEATURES))
    return dict(zip(ids, decide(vectors, shipped_model()), strict=True))


def faces_of_style(store: Store, text: str) -> frozenset[int]:
    """Ids of the faces of a group or with a trait that a person named. Raises UnknownStyle that lists the names."""
    wanted = meant(text)
    return frozenset(i for i, decision in styles_of(store).items() if wanted.holds(decision))


AT_ONCE = 64
"""Faces read from the store at a time while looking for neighbours."""


def neighbours(store: Store, face: Face, count: int) -> list[dict[str, Any]]:
    """The faces most like one, nearest first: one of each other family, no second copy of the same drawing.

    Faces that cannot be grouped (symbols, few letters, not measured) are no neighbours of any.
    """
    ids, vectors = store.features(len(FEATURES))
    which = ids.index(face.id)
    able = np.array([not refusal(row) for row in rows(vectors)])
    if not able[which]:
        return []
    model = shipped_model()
    away = apart(vectors, which, model)
    order = [k for k in np.argsort(away, kind="stable").tolist() if able[k]]
    seen = {face.family.casefold()}
    found: list[dict[str, Any]] = []
    for start in range(0, len(order), AT_ONCE):
        faces = store.faces_of([ids[k] for k in order[start : start + AT_ONCE]])
        for k in order[start : start + AT_ONCE]:
            other = faces[ids[k]]
            if len(found) == count:
                return found
            if other.family.casefold() in seen or other.digest == face.digest:
                continue
            seen.add(other.family.casefold())
            found.append({
                "face": other.id, "family": other.family, "style": other.style, "distance": round(float(away[k]), 4),
                "group": other.group, "alike": alike(vectors[which], vectors[k], model),
                "differs": differs(vectors[which], vectors[k], model),
            })  # fmt: skip
    return found
