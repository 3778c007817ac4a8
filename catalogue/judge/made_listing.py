"""A name over the catalogue as it would be made: every face predicted, in an order worth looking at. Opens no fonts.

The first rows are fitted in full by the room of tags (``tag.fitted``), which this one does not know.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.changes import Changes
from catalogue.judge.craft import Craft, craft_of
from catalogue.judge.designs import one_each, with_files
from catalogue.judge.kin import WEIGHT_AXIS, Kin
from catalogue.judge.lacking import lacking_lines
from catalogue.judge.lines import best_break
from catalogue.judge.listing import Listing, Wanted, among_of
from catalogue.judge.made import Made, made_of
from catalogue.judge.made_order import band_of, folded, ordered
from catalogue.judge.predicted_joins import WORD_SPACE_EM, plain_text
from catalogue.judge.ranking import Ranked, Ranking, rank
from catalogue.judge.reach import Reach
from catalogue.judge.request import Request
from catalogue.judge.sizes import unsized_line
from catalogue.store.columns import Columns, load_columns
from catalogue.store.database import Store
from catalogue.wording import count_of
from scanner.alphabet import character_index
from scanner.measures.features import FEATURES


@dataclass(frozen=True, slots=True)
class MadeRow:
    """One face: the name as set, and as it would be made."""

    ranked: Ranked
    """As set."""
    hold: int
    """As made."""
    holds: bool
    changes: Changes
    cost_mm: float
    craft: int
    others: int
    """Other faces of its family that could stand in for it."""
    why: tuple[str, ...]
    """Why it stands where it stands."""
    fitted: bool = False
    """Whether the hold as made was fitted in full, not predicted."""
    misses: tuple[str, ...] = ()
    """What is still missing after the fit."""

    @property
    def both(self) -> str:
        """Both figures, and what has to be changed."""
        made = ", ".join(self.changes.words) or "nothing to change"
        return f"as set {self.ranked.hold.hold} · as made {self.hold}: {made}"


@dataclass(frozen=True, slots=True)
class MadeListing:
    """The first rows of a name as made."""

    rows: tuple[MadeRow, ...]
    total: int
    """Rows in all: families where they are folded."""
    asked: int
    notes: tuple[str, ...]
    """What was left out and why, a line each."""
    troubles: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()
    """What a person should know of the rows, a line each."""
    predicted: bool = True
    """Whether rows that are not fitted say what the letters' tables predict; else they say what was measured as set."""


@dataclass(frozen=True, slots=True, eq=False)
class MadeName:
    """A name over a catalogue as set and as made, before any order."""

    ranking: Ranking
    made: Made
    kin: Kin
    craft: Craft

    def row(self, place: int, others: int = 0) -> MadeRow:
        """The row of a face, by its place among all faces."""
        made, face = self.made, self.kin.faces[place]
        at = int(np.flatnonzero(self.ranking.ids == face.id)[0])
        row = MadeRow(
            self.ranking.row(at, face), int(made.hold[place]), bool(made.holds[place]), self._changes(place),
            round(float(made.cost_mm[place]), 3), round(float(self.craft.figure[place])), others, (),
        )  # fmt: skip
        return replace(row, why=(*why(row), *self.craft.reasons(place)))

    def _changes(self, k: int) -> Changes:
        made, face = self.made, self.kin.faces[k]
        at, start = made.settings, float(made.start_em_mm[k])
        return Changes(
            float(at.thicken_mm[k]), float(at.base_offset_mm[k]),
            float(at.base_offset_mm[k]) - self.ranking.base_offset_mm, float(at.tracking_em[k]),
            float(at.space_mm[k]), float(at.em_mm[k]) / start, float(at.em_mm[k]) * face.cap_height_em,
            self._weight(k),
        )  # fmt: skip

    def _weight(self, k: int) -> str:
        weights = self.made.weights
        if not weights.moved[k]:
            return ""
        low, high = (self.kin.faces[int(p[k])] for p in (weights.lighter, weights.heavier))
        share = float(weights.share[k])
        ends = [f.coordinates.get(WEIGHT_AXIS) for f in (low, high)]
        if ends[0] is not None and ends[1] is not None:
            return f"{ends[0] + share * (ends[1] - ends[0]):.0f}"
        return f"about {(high if share >= 0.5 else low).style}"


def why(row: MadeRow) -> tuple[str, ...]:
    """Why a row stands where it stands: its band, its craft and what it costs."""
    cost = f"changes add up to {row.cost_mm:.2f} mm" if row.cost_mm else "no change"
    return (f"{WORDS[band_of(row.hold)]} as made", f"craft {row.craft}", cost)


WORDS = {"ample": "ample", "good": "good", "just": "just holds", "not": "does not hold"}
"""Bands in words."""


def made_name(
    columns: Columns, request: Request, reach: Reach, known: tuple[Kin, Craft], among: NDArray[np.int64] | None = None
) -> MadeName:
    """The name in all faces, as set and as made; ``known`` is what the faces of the columns are without a name."""
    kin, craft = known
    return MadeName(rank(columns, request, among), made_of(columns, request, reach, kin), kin, craft)


def known_of(store: Store) -> tuple[Kin, Craft]:
    """What the faces of a catalogue are without a name; worth keeping as long as the catalogue does not change."""
    kin = Kin.of(store.faces())
    ids, features = store.features(len(FEATURES))
    return kin, craft_of(kin.faces, features[np.searchsorted(np.array(ids), kin.ids)])


def made_listing(
    store: Store, request: Request, wanted: Wanted, reach: Reach, order: str = "mixed", columns: Columns | None = None
) -> MadeListing:
    """The first rows for a name whose letters are all in the stored alphabet, predicted.

    As many more than ``wanted.top`` as may leave their place when the first are fitted: none, since rows only move
    within those that are fitted.
    """
    chosen, columns = among_of(store, wanted), columns or load_columns(store)
    name = made_name(columns, request, reach, known_of(store), one_each(columns, chosen))
    among = np.isin(name.kin.ids, name.ranking.ids)
    places = ordered(name.made, name.kin, name.craft, order, among)
    spare = folded(name.kin, name.made, among) if order == "mixed" else np.zeros(len(among), dtype=np.int64)
    shown = places[: wanted.top or None].tolist()
    rows = [name.row(k, int(spare[k])) for k in shown]
    files = with_files([row.ranked for row in rows], store, columns, chosen)
    rows = [replace(row, ranked=ranked) for row, ranked in zip(rows, files, strict=True)]
    ranking = name.ranking
    unsized = tuple(f.title for f in store.faces_of(ranking.unsized).values())
    notes = (
        *lacking_lines(ranking.lacking, ranking.asked, ranking.left_out), unsized_line(unsized, request.size.kind),
    )  # fmt: skip
    holding = int((name.made.holds & among).sum())
    set_holds = int(ranking.holds.sum())
    remark = f"{count_of(len(ranking), 'design')}: {set_holds} hold as set, {holding} as made, as predicted"
    remarks = (remark, *break_line(columns, request))
    return MadeListing(tuple(rows), len(places), ranking.asked, tuple(filter(None, notes)), remarks=remarks)


@dataclass(frozen=True, slots=True, eq=False)
class Fitted:
    """How faces stand that were fitted one by one, (faces) each; see ``made_order.Standing``."""

    hold: NDArray[np.int64]
    cost_mm: NDArray[np.float64]
    able: NDArray[np.bool_]


def measured_listing(found: Listing, known: tuple[Kin, Craft]) -> MadeListing:
    """Rows of a name that no table predicts, measured as set: what they come to as made, ``tag.fitted`` finds out."""
    kin, craft = known
    rows = []
    for ranked in found.rows:
        place = int(np.searchsorted(kin.ids, ranked.face.id))
        figure = round(float(craft.figure[place]))
        row = MadeRow(ranked, ranked.hold.hold, ranked.hold.holds, Changes(), 0.0, figure, 0, ())
        rows.append(replace(row, why=(*why(row), *craft.reasons(place))))
    remark = f"letters of this name are in no table: {count_of(found.total, 'face')} measured as set"
    remarks = (remark,) if rows else ()
    return MadeListing(tuple(rows), found.total, found.asked, found.notes, found.troubles, remarks, predicted=False)


def arranged(found: MadeListing, known: tuple[Kin, Craft], order: str) -> MadeListing:
    """Rows that were all fitted, in one of ``made_order.ORDERS``."""
    kin, craft = known
    places = np.searchsorted(kin.ids, [row.ranked.face.id for row in found.rows])
    every = len(kin.ids)
    at = Fitted(np.zeros(every, dtype=np.int64), np.zeros(every), np.zeros(every, dtype=np.bool_))
    at.hold[places], at.cost_mm[places] = [r.hold for r in found.rows], [r.cost_mm for r in found.rows]
    at.able[places] = True
    by_place = dict(zip(places.tolist(), found.rows, strict=True))
    spare = folded(kin, at, at.able) if order == "mixed" else np.zeros(every, dtype=np.int64)
    shown = ordered(at, kin, craft, order, at.able).tolist()
    rows = tuple(replace(by_place[k], others=int(spare[k])) for k in shown)
    return replace(found, rows=rows, total=found.total - len(found.rows) + len(rows))


def break_line(columns: Columns, request: Request) -> tuple[str, ...]:
    """The best break of a long name in one line, with what it gains over all faces; empty where there is none."""
    index = character_index()
    text = plain_text(request.name)
    if len(request.lines) > 1 or not columns.ids.size or len(text.split()) < 2:
        return ()
    letters = sorted(set(text) - {" "})
    advance = np.nanmedian(columns.take("advance", [(index[c],) for c in letters]), axis=1)
    width = dict(zip(letters, advance.tolist(), strict=True)) | {" ": WORD_SPACE_EM}
    found = best_break(text, lambda part: sum(width[c] for c in part))
    if found is None:
        return ()
    gain = (
        f"letters {1 / found.share:.1f} times as large"
        if request.size.kind == "width"
        else (f"{found.share:.2f} times as wide")
    )
    return (f'in two lines, "{found.typed}", it is {gain}',)


def best_first(rows: tuple[MadeRow, ...]) -> tuple[MadeRow, ...]:
    """Rows after some were fitted: those that turned out in a worse band go behind, all else stays."""
    ranks = {name: k for k, name in enumerate(WORDS)}
    return tuple(sorted(rows, key=lambda r: ranks[band_of(r.hold)]))
