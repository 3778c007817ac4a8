"""A name over the catalogue: predicted for every face, measured in full for the first. Opens fonts, not the judging."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import Any

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.hold import Hold
from catalogue.judge.ranking import Ranked, Ranking, can_predict, rank
from catalogue.judge.request import Request
from catalogue.judge.sizes import unsized_line
from catalogue.parallel import each
from catalogue.store.columns import Columns, load_columns
from catalogue.store.database import Face, Store

CONTEXTUAL_FROM = 0.1
"""Share of test words drawn otherwise than in pairs above which a prediction is weak."""

Progress = Callable[[Iterable[Any], int, str], Iterable[Any]]
"""Wraps the work for a progress bar: items, their number, what is done."""


@dataclass(frozen=True, slots=True)
class Listing:
    """The first rows of a ranking."""

    rows: tuple[Ranked, ...]
    total: int
    """Faces ranked in all."""
    left_out: int
    """Faces that lack a letter of the name."""
    lacking: str
    """The letters they lack."""
    troubles: tuple[str, ...]
    """One line for each face that could not be measured."""
    unsized: str = ""
    """How many faces have no letters to be sized by, which, and what to do; empty when all can be sized."""


def plain(items: Iterable[Any], total: int, label: str) -> Iterable[Any]:
    """No progress bar."""
    return items


def listing(
    store: Store,
    asked: Request,
    top: int,
    verify: int,
    sellable: bool = False,
    group: str = "",
    progress: Progress = plain,
    columns: Columns | None = None,
    workers: int = 1,
) -> Listing:
    """The first ``top`` rows (0: all) for a name, the first ``verify`` of them measured in full.

    A name with letters outside the stored alphabet cannot be predicted: then every face that can set it is measured.
    Many faces are measured by so many ``workers``, processes that import the caller's main module.
    """
    among = store.chosen(sellable, _groups(group)) if sellable or group else None
    if not can_predict(asked.name):
        return _measured_only(store, asked, top, among, progress, workers)
    ranking = rank(columns or load_columns(store), asked.name, asked.size, asked.process, asked.base_offset_mm, among)
    rows, troubles = first_rows(ranking, store, asked, top, verify, progress, workers)
    unsized = unsized_line(tuple(f.title for f in store.faces_of(ranking.unsized).values()), asked.size.kind)
    lacking = "".join(sorted(ranking.lacking))
    return Listing(tuple(rows), len(ranking), ranking.left_out, lacking, tuple(troubles), unsized)


def _groups(text: str) -> tuple[str, ...]:
    """The style groups a person means by a name or a label."""
    if not text:
        return ()
    from catalogue.style.groups import matching

    return matching(text)


def first_rows(
    ranking: Ranking, store: Store, asked: Request, top: int, verify: int, progress: Progress = plain, workers: int = 1
) -> tuple[list[Ranked], list[str]]:
    """The first rows of a ranking, the best of them measured in full, and a line for each face that could not be.

    A measured row moves to its true place; whatever then comes into the first ``verify`` is measured too, up to twice
    as many in all. So no more than that many can leave the rows that are looked at. Of the other rows shown, those of
    faces that draw letters otherwise in a word are measured as well: for them letter pairs foretell little.
    """
    wanted = min(len(ranking), max(top or len(ranking), verify) + 2 * verify)
    faces = store.faces_of(ranking.ids[:wanted]) if wanted < len(ranking) else {f.id: f for f in store.faces()}
    rows = [ranking.row(k, faces[i]) for k, i in enumerate(ranking.ids[:wanted].tolist()) if i in faces]
    troubles: list[str] = []
    left = 2 * verify
    shown = top or len(rows)
    while verify:
        head = [k for k, r in enumerate(rows[:verify]) if not r.verified][: max(0, left)]
        weak = [k for k, r in enumerate(rows[:shown]) if not r.verified and r.face.contextual > CONTEXTUAL_FROM]
        waiting = sorted({*head, *weak})
        if not waiting:
            break
        found = each(partial(_in_full, asked), [rows[k] for k in waiting], workers)
        failed = []
        for k, told in zip(progress(waiting, len(waiting), "verifying"), found, strict=True):
            if isinstance(told, str):
                troubles.append(told)
                failed.append(k)
            else:
                rows[k] = told
        left -= len(head)
        rows = sorted((r for k, r in enumerate(rows) if k not in failed), key=lambda r: r.order)
    return rows[: top or None], troubles


def _measured_only(
    store: Store, asked: Request, top: int, among: NDArray[np.int64] | None, progress: Progress, workers: int
) -> Listing:
    faces = [f for f in store.faces() if among is None or f.id in among]
    rows: list[Ranked] = []
    lacking: set[str] = set()
    left_out = 0
    troubles = []
    for told in progress(each(partial(_if_set, asked), faces, workers), len(faces), "measuring"):
        if isinstance(told, Ranked):
            rows.append(told)
        elif isinstance(told, str):
            troubles.append(told)
        else:
            lacking.update(told)
            left_out += 1
    rows.sort(key=lambda r: r.order)
    return Listing(tuple(rows[: top or None]), len(rows), left_out, "".join(sorted(lacking)), tuple(troubles))


def _if_set(asked: Request, face: Face) -> Ranked | str | tuple[str, ...]:
    """A face measured for the name, or the letters it lacks, or the line that says why it could not be."""
    from catalogue.judge.check import typesetter

    try:
        return typesetter(face).missing(asked.name) or _in_full(asked, _blank(face))
    except ValueError as error:
        return str(error)


def _in_full(asked: Request, row: Ranked) -> Ranked | str:
    """The row with the numbers of the full geometry, or the line that says why there are none."""
    from catalogue.judge.check import verify  # the geometry libraries take a fifth of a second to load

    try:
        return verify(row, asked.name, asked.size, asked.process, asked.stack, asked.language)
    except ValueError as error:
        return str(error)


def _blank(face: Face) -> Ranked:
    return Ranked(face, math.nan, 0, 0.0, None, None, None, Hold(0, False, ()), False)
