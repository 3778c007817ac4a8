"""The first rows of a name as made, fitted in full: what was predicted of them is put right. Opens fonts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial

from catalogue.errors import LetterholdError
from catalogue.judge.changes import Changes
from catalogue.judge.listing import Wanted, listing
from catalogue.judge.made_listing import (
    MadeListing,
    MadeRow,
    arranged,
    best_first,
    known_of,
    made_listing,
    measured_listing,
    why,
)
from catalogue.judge.made_order import band_of
from catalogue.judge.measuring import in_full
from catalogue.judge.ranking import Ranked, can_predict
from catalogue.judge.reach import Reach
from catalogue.judge.request import Request
from catalogue.parallel import Progress, each, in_silence
from catalogue.store.database import Store
from catalogue.tag.fit import Fit
from catalogue.tag.levers import Levers
from catalogue.tag.making import fit_face
from catalogue.wording import count_of

FEW = 12
"""Rows below which they are fitted here: a fit takes four times what a measurement does, and a process starts in the
time of some five (``parallel.FEW``)."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a row is fitted for; goes to every worker."""

    request: Request
    reach: Reach
    size_fixed: bool

    @property
    def levers(self) -> Levers:
        """The levers that the fit may move."""
        return Levers.within(self.reach, self.request.base_offset_mm, self.size_fixed)


def as_made(
    store: Store, asked: Asked, wanted: Wanted, order: str, progress: Progress = in_silence, workers: int = 1
) -> MadeListing:
    """The first rows of a name as made, of which the first ``wanted.verify`` are fitted in full.

    Faces of a name that no table predicts are measured as set, and those that are shown are all fitted.
    """
    if can_predict(asked.request.name):
        found = made_listing(store, asked.request, wanted, asked.reach, order)
        return fitted(found, asked, wanted.verify, progress, workers)
    known = known_of(store)
    found = measured_listing(listing(store, asked.request, wanted, progress, workers=workers), known)
    return arranged(fitted(found, asked, len(found.rows), progress, workers), known, order)


def fitted(
    found: MadeListing, asked: Asked, first: int, progress: Progress = in_silence, workers: int = 1
) -> MadeListing:
    """The listing with its first rows measured and fitted in full; what then turned out worse goes behind."""
    head, rest = found.rows[:first], found.rows[first:]
    if not head:
        return found
    fits = each(partial(one, asked), list(head), workers, FEW)
    rows: list[MadeRow] = []
    troubles: list[str] = list(found.troubles)
    for result in progress(fits, len(head), "fitting"):
        if isinstance(result, MadeRow):
            rows.append(result)
        else:
            troubles.append(result)
    line = f"fitted in full: {count_of(len(rows), 'row')}"
    remarks = (*found.remarks, line + (_other_than_predicted(head, rows) if found.predicted else ""))
    return replace(
        found, rows=(*best_first(tuple(rows)), *rest), troubles=tuple(troubles), remarks=remarks,
        total=found.total - len(head) + len(rows),
    )  # fmt: skip


def one(asked: Asked, row: MadeRow) -> MadeRow | str:
    """A row measured as set and fitted; a line where it could not be."""
    measured = row.ranked if row.ranked.verified else in_full(asked.request, row.ranked)
    if isinstance(measured, str):
        return measured
    if not isinstance(measured, Ranked):
        return f"{row.ranked.face.title} lacks {' '.join(measured)}; it was left out"
    try:
        solved = fit_face(row.ranked.face, asked.request, asked.levers)
    except LetterholdError as error:
        return str(error)
    return _with(replace(row, ranked=replace(measured, also=row.ranked.also)), solved)


def _with(row: MadeRow, solved: Fit) -> MadeRow:
    changes = changes_of(solved, row.ranked.em_mm)
    done = replace(
        row, hold=solved.hold.hold, holds=solved.holds, changes=changes,
        cost_mm=cost_mm(solved, row.ranked.em_mm), fitted=True, misses=solved.misses,
    )  # fmt: skip
    return replace(done, why=(*why(done), *row.why[len(why(row)) :]))


def changes_of(solved: Fit, start_em_mm: float) -> Changes:
    """What the fit changed of a name that started at ``start_em_mm``."""
    at, asked_mm = solved.setting, solved.request.base_offset_mm
    weights = [c for c in solved.changes if c.lever == "weight"]
    return Changes(
        at.thicken_mm, at.base_offset_mm, at.base_offset_mm - asked_mm, at.tracking_em, at.space_mm,
        at.em_mm / start_em_mm, solved.cap_height_mm, f"{weights[0].end:.0f}" if weights else "",
    )  # fmt: skip


def cost_mm(solved: Fit, start_em_mm: float) -> float:
    """How far the tag is from what was asked for, as ``judge.made.cost_mm``."""
    at = solved.setting
    moves = (
        at.thicken_mm, abs(at.base_offset_mm - solved.request.base_offset_mm), abs(at.tracking_em) * at.em_mm,
        at.space_mm, abs(at.em_mm - start_em_mm),
    )  # fmt: skip
    return round(sum(moves), 3)


def _other_than_predicted(predicted: Sequence[MadeRow], rows: Sequence[MadeRow]) -> str:
    """Which of the rows that were fitted turned out in another band."""
    before = {r.ranked.face.id: r.hold for r in predicted}
    off = [r for r in rows if band_of(r.hold) != band_of(before[r.ranked.face.id])]
    if not off:
        return "; all as predicted"
    named = ", ".join(f"{r.ranked.face.title} ({before[r.ranked.face.id]} predicted, {r.hold} fitted)" for r in off[:3])
    more = f" and {len(off) - 3} more" if len(off) > 3 else ""
    return f"; other than predicted: {named}{more}"
