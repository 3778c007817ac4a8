"""A name over the catalogue: predicted for every face, measured in full for the first. Opens fonts; judges nothing."""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.designs import one_each, with_files
from catalogue.judge.hold import LEAST_THAT_HOLDS
from catalogue.judge.lacking import lacking_lines
from catalogue.judge.letters import predictions_weak
from catalogue.judge.measuring import MOST_MEASURED, in_full, measure_covering
from catalogue.judge.ranking import Ranked, Ranking, can_predict, rank
from catalogue.judge.request import Request
from catalogue.judge.sizes import unsized_line
from catalogue.parallel import Progress, each, in_silence
from catalogue.store.columns import Columns, load_columns
from catalogue.store.database import Store

NEAR_THE_LINE = 15
"""Points from what holds within which a shown row is always measured: predictions miss by more in one case of a hundred
(``bench/hold_predicted.py``)."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which faces a listing is made of, and how many of them are shown and measured."""

    top: int
    """Rows to show; 0 shows all."""
    verify: int
    """The first rows to measure in full."""
    sellable: bool = False
    """Only faces whose goods may be sold."""
    group: str = ""
    """Only faces of this style group, by name or label; empty takes all."""


@dataclass(frozen=True, slots=True)
class Listing:
    """The first rows of a ranking."""

    rows: tuple[Ranked, ...]
    total: int
    """Designs ranked in all."""
    asked: int
    """Designs asked: those ranked, and those left out for a reason that ``notes`` gives."""
    notes: tuple[str, ...]
    """What was left out and why, a line each: letters that faces lack, faces without a height, a bound."""
    troubles: tuple[str, ...]
    """One line for each face that could not be measured."""


@dataclass(frozen=True, slots=True)
class FirstRows:
    """The first rows of a ranking, as far as they could be measured."""

    rows: tuple[Ranked, ...]
    troubles: tuple[str, ...]
    lacking: tuple[tuple[str, ...], ...]
    """For each face that was found to lack letters when it was set: which."""


def listing(
    store: Store,
    request: Request,
    wanted: Wanted,
    progress: Progress = in_silence,
    columns: Columns | None = None,
    workers: int = 1,
) -> Listing:
    """The first rows for a name, one a design, the best of them measured in full.

    A name with letters outside the stored alphabet cannot be predicted: then the faces that have its letters are
    measured, at most ``MOST_MEASURED`` or as many as are to be verified. Many faces are measured in ``workers``
    processes, which import the caller's main module. ``columns`` are read from the store where they are not given.
    """
    among = among_of(store, wanted)
    if not can_predict(request.name):
        return _measured_only(store, request, wanted, among, progress, workers)
    columns = columns or load_columns(store)
    ranking = rank(columns, request, one_each(columns, among))
    first = first_rows(ranking, store, request, wanted, progress, workers)
    rows = with_files(first.rows, store, columns, among)
    lacking = Counter(ranking.lacking)
    for letters in first.lacking:
        lacking.update(letters)
    left_out = ranking.left_out + len(first.lacking)
    unsized = tuple(f.title for f in store.faces_of(ranking.unsized).values())
    notes = (*lacking_lines(lacking, ranking.asked, left_out), unsized_line(unsized, request.size.kind))
    total = len(ranking) - len(first.lacking)
    return Listing(rows, total, ranking.asked, tuple(filter(None, notes)), first.troubles)


def among_of(store: Store, wanted: Wanted) -> NDArray[np.int64] | None:
    """Numbers of the faces to ask; None for all."""
    if not wanted.sellable and not wanted.group:
        return None
    chosen = store.chosen(wanted.sellable)
    if not wanted.group:
        return chosen
    from catalogue.style.grouping import faces_of_style  # the style model takes a tenth of a second to load

    return chosen[np.isin(chosen, sorted(faces_of_style(store, wanted.group)))]


def first_rows(
    ranking: Ranking,
    store: Store,
    request: Request,
    wanted: Wanted,
    progress: Progress = in_silence,
    workers: int = 1,
) -> FirstRows:
    """The first rows of a ranking, the best of them measured in full.

    A measured row moves to its true place; whatever then comes into the first ``wanted.verify`` is measured too, up to
    twice as many in all. So no more than that many can leave the rows that are looked at. Of the other rows shown,
    those that may lie on the wrong side of what holds are measured as well, those of faces that use contextual
    alternates, for which letter pairs predict little, and all where the tables do not know a pair of the name.
    """
    rows = _predicted_rows(ranking, store, wanted)
    verify = min(wanted.verify, wanted.top or wanted.verify)
    shown = wanted.top or len(rows)
    troubles: list[str] = []
    lacking: list[tuple[str, ...]] = []
    left = 2 * verify
    while verify:
        head = [k for k, r in enumerate(rows[:verify]) if not r.verified][: max(0, left)]
        weak = [k for k, r in enumerate(rows[:shown]) if not r.verified and (not ranking.chained or _doubtful(r))]
        waiting = sorted({*head, *weak})
        if not waiting:
            break
        found = each(partial(in_full, request), [rows[k] for k in waiting], workers)
        gone = set()
        for k, result in zip(progress(waiting, len(waiting), "verifying"), found, strict=True):
            if isinstance(result, Ranked):
                rows[k] = result
                continue
            gone.add(k)
            if isinstance(result, str):
                troubles.append(result)
            else:
                lacking.append(result)
        left -= len(head)
        rows = sorted((r for k, r in enumerate(rows) if k not in gone), key=lambda r: r.order)
    return FirstRows(tuple(rows[: wanted.top or None]), tuple(troubles), tuple(lacking))


def _doubtful(row: Ranked) -> bool:
    """Whether a prediction is too weak to be shown, or too near to what holds to be believed."""
    return predictions_weak(row.face) or abs(row.hold.hold - LEAST_THAT_HOLDS) <= NEAR_THE_LINE


def _predicted_rows(ranking: Ranking, store: Store, wanted: Wanted) -> list[Ranked]:
    """As many predicted rows as can come into view."""
    most = min(len(ranking), max(wanted.top or len(ranking), wanted.verify) + 2 * wanted.verify)
    faces = store.faces_of(ranking.ids[:most]) if most < len(ranking) else {f.id: f for f in store.faces()}
    return [ranking.row(k, faces[i]) for k, i in enumerate(ranking.ids[:most].tolist()) if i in faces]


def _measured_only(
    store: Store,
    request: Request,
    wanted: Wanted,
    among: NDArray[np.int64] | None,
    progress: Progress,
    workers: int,
) -> Listing:
    found = measure_covering(store, request, max(MOST_MEASURED, wanted.verify), among, progress, workers)
    notes = (
        *lacking_lines(found.lacking, found.asked, found.left_out),
        unsized_line(tuple(f.title for f in found.unsized), request.size.kind),
        found.bound_line(),
    )
    rows = found.rows[: wanted.top or None]
    return Listing(rows, len(found.rows), found.asked, tuple(filter(None, notes)), found.troubles)
