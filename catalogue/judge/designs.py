"""One line a design: files with the same letters are shown once in a ranking, with the files under it. Pure.

The licence stays one of each file: the best-licensed of those that were asked for stands for its design.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.ranking import Ranked
from catalogue.store.columns import Columns
from catalogue.store.database import Store


def one_each(columns: Columns, among: NDArray[np.int64] | None = None) -> NDArray[np.int64]:
    """Numbers of the faces that stand for their designs, ascending: of the faces ``among``, or of all."""
    places = _asked(columns, among)
    design, sale = columns.fact("design")[places], columns.fact("sale_order")[places]
    order = np.lexsort((columns.ids[places], sale, design))
    first = np.diff(design[order], prepend=-1.0) != 0
    return np.asarray(np.sort(columns.ids[places[order[first]]]))


def with_files(
    rows: Sequence[Ranked], store: Store, columns: Columns, among: NDArray[np.int64] | None = None
) -> tuple[Ranked, ...]:
    """The rows, each with the other faces ``among`` of its design: the best-licensed first, then by number."""
    places = _asked(columns, among)
    design = columns.fact("design")[places].astype(np.int64)
    by_id = dict(zip(columns.ids[places].tolist(), design.tolist(), strict=True))
    shown = {by_id[row.face.id] for row in rows if row.face.id in by_id}
    several = np.flatnonzero(np.isin(design, sorted(shown)))
    members: dict[int, list[int]] = defaultdict(list)
    for place in several.tolist():
        members[int(design[place])].append(int(columns.ids[places[place]]))
    faces = store.faces_of(k for ids in members.values() if len(ids) > 1 for k in ids)
    found = []
    for row in rows:
        others = [faces[k] for k in members.get(by_id.get(row.face.id, -1), ()) if k != row.face.id and k in faces]
        found.append(replace(row, also=tuple(sorted(others, key=lambda f: (f.sale_order, f.id)))))
    return tuple(found)


def _asked(columns: Columns, among: NDArray[np.int64] | None) -> NDArray[np.intp]:
    """Places of the faces asked."""
    return np.arange(len(columns)) if among is None else np.flatnonzero(np.isin(columns.ids, among))
