"""The style groups of a catalogue: decided after a scan, fitted anew on request, and asked for neighbours."""

from __future__ import annotations

import json
from typing import Any

import numpy as np
from numpy.typing import NDArray

from catalogue.store.database import Face, Store
from catalogue.style.groups import Model, apart, decide_families, fit, leading, parse_model, shipped_model
from catalogue.style.likeness import alike, differs
from scanner.measures.features import FEATURES


def model_of(store: Store) -> Model:
    """The model a catalogue's groups are decided by: its own when it was refitted, else the shipped one."""
    own = store.groups_model()
    return parse_model(own) if own else shipped_model()


def regroup(store: Store) -> None:
    """Decide the group of every measured face and store it."""
    ids, vectors = store.features(len(FEATURES))
    faces = store.faces()
    decided = decide_families([f.family for f in faces], [f.style for f in faces], vectors, model_of(store))
    store.put_groups({i: (d.group, d.support) for i, d in zip(ids, decided, strict=True)})


def refit(store: Store) -> None:
    """Fit the groups to the catalogue's own faces, one a family, beginning at the groups that come with the tool.

    Raises ValueError when there are too few.
    """
    _, vectors = store.features(len(FEATURES))
    faces = store.faces()
    leaders = leading([f.family for f in faces], [f.style for f in faces], [True] * len(faces))
    regular = sorted(set(leaders))
    model = fit(vectors[regular], shipped_model(), sorted({faces[k].family for k in regular}))
    store.put_groups_model(json.dumps(model.as_json()))
    regroup(store)


AT_ONCE = 64
"""Faces read from the store at a time while looking for neighbours."""


def neighbours(store: Store, face: Face, count: int) -> list[dict[str, Any]]:
    """The faces most like one, nearest first: one of each other family, no second copy of the same drawing."""
    ids, vectors = store.features(len(FEATURES))
    which = ids.index(face.id)
    measured: NDArray[np.bool_] = np.any(np.isfinite(vectors), axis=1)
    if not measured[which]:
        return []
    model = model_of(store)
    away = apart(vectors, which, model)
    order = [k for k in np.argsort(away, kind="stable").tolist() if measured[k]]
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
