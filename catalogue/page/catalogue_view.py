"""What the page reads: faces, rankings and measurements of one catalogue. The only door to store and ranking.

Faces and their tables are read once and again when the file changes. Rankings are kept for the last few questions,
so that a filter, another stretch of lines or a second person costs no new ranking. All of it may be called from
several threads; what uses opened fonts goes one at a time.
"""

from __future__ import annotations

import math
import os
import threading
import time
from collections import Counter, OrderedDict
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from functools import lru_cache, partial
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.letters import joined
from catalogue.judge.ranking import Ranking
from catalogue.judge.request import Request, Size
from catalogue.store.database import CatalogueError, Face, Store

if TYPE_CHECKING:
    from catalogue.judge.check import Check
    from catalogue.judge.process import Process
    from catalogue.store.columns import Columns

UNITS_PER_EM = 250
"""Grid of the pictures: a sixth of a screen pixel in a line of the ledger, where an em is about 40 pixels."""

KEPT_RANKINGS = 24
KEPT_FACES = 400
"""Opened fonts kept for pictures."""

SELLABLE = ("yes", "yes-conditions")
LETTERS = ("joined", "separate")

Kept = TypeVar("Kept")


@dataclass(frozen=True, slots=True)
class Job:
    """What is asked: a name at a size under a process, on a base offset."""

    name: str
    size: Size
    process: str
    offset_mm: float


@dataclass(frozen=True, slots=True)
class Filters:
    """Which faces to show; empty means all."""

    sell: str = ""
    """"sellable", or one verdict."""
    group: str = ""
    letters: str = ""
    """joined or separate."""
    least_hold: int = 0
    family: str = ""
    """A part of family and style."""


@dataclass(frozen=True, slots=True)
class Line:
    """One face of a listing; lengths in mm, NaN where not known. Without reasons: those take half the time of a row."""

    face: Face
    em_mm: float
    pieces: int
    join_offset_mm: float
    neck_mm: float
    thinnest_stroke_mm: float
    smallest_counter_mm: float
    hold: int
    holds: bool
    known: bool
    """False when the hold was neither predicted nor measured."""
    verified: bool
    """Measured, not predicted."""


@dataclass(frozen=True, slots=True, eq=False)
class Listing:
    """Ranked faces left by the filters, best first. Rows are made for what is shown only."""

    ranking: Ranking
    places: NDArray[np.int64]
    """Places of the ranking that pass the filters."""
    faces: dict[int, Face]
    measured: frozenset[int]
    """Numbers of the faces measured in full, for a name that cannot be predicted; else empty."""
    predicted: bool

    @property
    def ranked(self) -> int:
        """Faces ranked for the name, before the filters."""
        return len(self.ranking)

    @property
    def holding(self) -> int:
        """Faces of the listing that hold."""
        return int(self.ranking.holds[self.places].sum())

    def __len__(self) -> int:
        return len(self.places)

    def lines(self, start: int, stop: int) -> list[Line]:
        """Lines from ``start`` to before ``stop``."""
        r = self.ranking
        found = []
        for k in self.places[start:stop].tolist():
            number = int(r.ids[k])
            measured = number in self.measured
            found.append(
                Line(
                    self.faces[number], float(r.em_mm[k]), int(r.pieces[k]), float(r.join_offset_mm[k]),
                    float(r.neck_mm[k]), float(r.thinnest_stroke_mm[k]), float(r.smallest_counter_mm[k]),
                    int(r.hold[k]), bool(r.holds[k]), self.predicted or measured, measured,
                )
            )  # fmt: skip
        return found

    @property
    def lacking(self) -> int:
        """Faces left out because they lack letters of the name."""
        return self.ranking.left_out

    @property
    def lacking_letters(self) -> str:
        """The letters they lack."""
        return "".join(sorted(self.ranking.lacking))


WORDS_APART_EM = 0.05
"""Distance of words in a picture before the name is measured: 1 mm of 14 mm capitals."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A name in a face as one path, ``UNITS_PER_EM`` to the em, y down; box is left, top, right, bottom."""

    path: str
    box: tuple[int, int, int, int]


@dataclass(frozen=True, slots=True, eq=False)
class _Facts:
    """What the filters ask, one entry a face, in the order of the numbers."""

    ids: NDArray[np.int64]
    sell: NDArray[np.str_]
    joined: NDArray[np.bool_]
    group: NDArray[np.str_]
    titles: tuple[str, ...]


class Last:
    """The last few values by key; for several threads at once."""

    def __init__(self, most: int) -> None:
        self._most = most
        self._values: OrderedDict[Any, Any] = OrderedDict()
        self._lock = threading.Lock()

    def get(self, key: Any, make: Callable[[], Kept]) -> Kept:
        with self._lock:
            if key in self._values:
                self._values.move_to_end(key)
                found: Kept = self._values[key]
                return found
        value = make()
        with self._lock:
            self._values[key] = value
            while len(self._values) > self._most:
                self._values.popitem(last=False)
        return value

    def clear(self) -> None:
        with self._lock:
            self._values.clear()


class Shelf:
    """One catalogue, as the page sees it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.RLock()
        self._fonts = threading.RLock()
        """Held while an opened font is used: HarfBuzz's buffers belong to one thread at a time."""
        self._stamp: tuple[int, ...] = ()
        self._rest_until = 0.0
        self._faces: tuple[Face, ...] = ()
        self._by_id: dict[int, Face] = {}
        self._columns: Columns | None = None
        self._facts = _facts(())
        self._rankings = Last(KEPT_RANKINGS)
        self._listings = Last(4 * KEPT_RANKINGS)
        self._checks = Last(48)
        self._shapers = Last(KEPT_FACES)
        self._pictures = Last(3000)

    # ── the catalogue ───────────────────────────────────────────────────────────────────────────────────────────

    def refresh(self) -> None:
        """Read the catalogue when it is new or has changed. Raises CatalogueError with what to do."""
        from catalogue.store.columns import load_columns

        with self._lock:
            stamp = _stamp(self.path)
            if stamp == self._stamp or time.monotonic() < self._rest_until:
                return
            start = time.monotonic()
            with Store(self.path) as store:
                columns = load_columns(store)
                faces = tuple(store.faces())
            # A scan may have written between the two readings: only faces of both are shown.
            known = set(columns.ids.tolist())
            faces = tuple(f for f in faces if f.id in known)
            self._faces, self._columns, self._facts, self._stamp = faces, columns, _facts(faces), stamp
            self._by_id = {f.id: f for f in faces}
            # While a scan writes, what it has done so far is enough: reading takes a tenth of the time at most.
            self._rest_until = time.monotonic() + 9 * (time.monotonic() - start)
            for kept in (self._rankings, self._listings, self._checks, self._shapers, self._pictures):
                kept.clear()

    @property
    def stamp(self) -> str:
        """Changes whenever the catalogue does."""
        return "-".join(map(str, self._stamp))

    @property
    def faces(self) -> tuple[Face, ...]:
        """Every measured face, by number."""
        self.refresh()
        return self._faces

    def face(self, number: int) -> Face:
        """One face. Raises CatalogueError when the catalogue has none of that number."""
        self.refresh()
        try:
            return self._by_id[number]
        except KeyError:
            raise CatalogueError(f"no face {number} in this catalogue; choose one from the ranking") from None

    def groups(self) -> tuple[str, ...]:
        """Names of the style groups there are."""
        return tuple(sorted({f.group for f in self.faces if f.group}))

    def verdicts(self) -> Counter[str]:
        """How many faces have each sell verdict."""
        return Counter(f.sell for f in self.faces)

    def failed(self) -> list[tuple[str, str]]:
        """Files and faces that could not be measured, with the reason."""
        with Store(self.path) as store:
            return store.failed()

    def stored_verdict(self, face: Face) -> dict[str, Any]:
        """The licence verdict as the scan stored it."""
        with Store(self.path) as store:
            return store.verdict(face.id)

    # ── ranking ─────────────────────────────────────────────────────────────────────────────────────────────────

    def listing(self, job: Job, filters: Filters) -> Listing:
        """Ranked and filtered faces. Raises a ValueError with what to do when the name is none."""
        from scanner.names import check_name

        check_name(job.name)
        self.refresh()
        with self._lock:  # faces, columns and facts of one state
            stamp, by_id, facts, columns = self._stamp, self._by_id, self._facts, self._columns
        assert columns is not None, "refreshed above"

        def ranked() -> tuple[Ranking, frozenset[int], bool]:
            from catalogue.judge.ranking import can_predict, rank

            if can_predict(job.name):
                return rank(columns, request_of(job), facts.ids), frozenset(), True
            return *self._measured(job, list(by_id.values())), False

        ranking, measured, predicted = self._rankings.get((stamp, job), ranked)

        def left() -> Listing:
            keep = _passing(facts, filters)[np.searchsorted(facts.ids, ranking.ids)] if len(ranking) else _NONE
            if filters.least_hold:
                keep &= ranking.hold >= filters.least_hold
            return Listing(ranking, np.flatnonzero(keep), by_id, measured, predicted)

        return self._listings.get((stamp, job, filters), left)

    def _measured(self, job: Job, faces: list[Face]) -> tuple[Ranking, frozenset[int]]:
        """Letters outside the stored alphabet: the first faces that have them are measured, the others only listed."""
        from catalogue.judge.measuring import blank, measure_covering

        request = request_of(job)
        with self._fonts, Store(self.path) as store:
            found = measure_covering(store, request, among=np.array([f.id for f in faces], dtype=np.int64))
        rows = [*found.rows, *map(blank, found.unmeasured)]

        def column(values: list[float | None]) -> NDArray[np.float64]:
            return np.array([math.nan if v is None else v for v in values], dtype=np.float64)

        ranking = Ranking(
            ids=np.array([r.face.id for r in rows], dtype=np.int64), em_mm=column([r.em_mm for r in rows]),
            pieces=np.array([r.pieces for r in rows], dtype=np.int64),
            letter_parts=np.array([r.letter_parts for r in rows], dtype=np.int64),
            join_offset_mm=column([r.join_offset_mm for r in rows]), neck_mm=column([r.neck_mm for r in rows]),
            thinnest_stroke_mm=column([r.thinnest_stroke_mm for r in rows]), thin_share=np.zeros(len(rows)),
            smallest_counter_mm=column([r.smallest_counter_mm for r in rows]),
            hold=np.array([r.hold.hold for r in rows], dtype=np.int64),
            holds=np.array([r.hold.holds for r in rows], dtype=np.bool_), contextual=np.zeros(len(rows)),
            base_offset_mm=job.offset_mm, process=request.process, chained=False,
            asked=len(faces), lacking=dict(found.lacking),
            left_out=found.left_out, unsized=np.array([f.id for f in found.unsized], dtype=np.int64),
        )  # fmt: skip
        return ranking, frozenset(r.face.id for r in found.rows)

    # ── one face ────────────────────────────────────────────────────────────────────────────────────────────────

    def check(self, face: Face, job: Job) -> Check:
        """The full measurement. Raises a ValueError with what to do."""
        from catalogue.judge.check import check_face

        def measured() -> Check:
            with self.alone(face):
                return check_face(face, request_of(job))

        return self._checks.get((self._stamp, face.id, job), measured)

    def picture(self, face: Face, name: str) -> Picture | None:
        """The name's outline, or None when the font is gone or cannot draw it."""
        from scanner.shaping import FontError, Shaper

        def drawn() -> Picture | None:
            try:
                with self.alone(face) as file:
                    if len(name.split()) > 1:
                        return _words_picture(face, name)
                    opened = partial(Shaper.open, file, face.face_index, dict(face.coordinates))
                    place = (face.path, face.face_index, tuple(face.coordinates.items()))
                    path, box = self._shapers.get(place, opened).curves(name, UNITS_PER_EM)
            except (FontError, OSError):
                return None
            return Picture(path, box)

        return self._pictures.get((face.id, name), drawn)

    def like(self, face: Face, most: int) -> list[Face]:
        """The faces that look most like one, nearest first."""
        from catalogue.style.grouping import neighbours

        with Store(self.path) as store:
            found = neighbours(store, face, most)
        return [self._by_id[int(r["face"])] for r in found if int(r["face"]) in self._by_id]

    @contextmanager
    def alone(self, face: Face) -> Iterator[Path]:
        """Where the face's font lies; to be held while opened fonts are used, also outside this file, as by the fit.

        A font of a store is fetched before, for all that is drawn waits while this is held. Raises FontError.
        """
        from catalogue.store.font_cache import font_file

        file = font_file(face)
        with self._fonts:
            yield file


def _words_picture(face: Face, name: str) -> Picture:
    """Several words, nearly as close as ``check`` will set them at the size asked for."""
    from catalogue.judge.check import typesetter
    from catalogue.judge.spacing import set_words
    from catalogue.page.drawing import flat_outline

    setter = typesetter(face)
    upem = setter.shaper.upem
    lettering, _ = set_words(setter, name, WORDS_APART_EM * upem)
    return Picture(*flat_outline(lettering.region, UNITS_PER_EM / upem))


_NONE = np.empty(0, dtype=np.bool_)


def _facts(faces: tuple[Face, ...]) -> _Facts:
    return _Facts(
        np.array([f.id for f in faces], dtype=np.int64), np.array([f.sell for f in faces], dtype=np.str_),
        np.array([joined(f) for f in faces], dtype=np.bool_),
        np.array([f.group for f in faces], dtype=np.str_), tuple(f.title.casefold() for f in faces),
    )  # fmt: skip


def _passing(facts: _Facts, filters: Filters) -> NDArray[np.bool_]:
    """(faces) whether each passes all filters but the one on hold, which asks the ranking."""
    keep = np.ones(len(facts.ids), dtype=np.bool_)
    if filters.sell == "sellable":
        keep &= np.isin(facts.sell, SELLABLE)
    elif filters.sell:
        keep &= facts.sell == filters.sell
    if filters.group:
        keep &= facts.group == filters.group
    if filters.letters:
        keep &= facts.joined == (filters.letters == "joined")
    words = filters.family.casefold().split()
    if words:
        keep &= np.array([all(w in title for w in words) for title in facts.titles], dtype=np.bool_)
    return keep


@lru_cache(maxsize=16)
def process_of(name: str) -> Process:
    """A process profile by name."""
    from catalogue.judge.process import load_process

    return load_process(name)


def request_of(job: Job) -> Request:
    """What the page asks, as every other way in asks it."""
    from catalogue.judge.stack import default_stack

    return Request.of(job.name, job.size, process_of(job.process), default_stack(job.offset_mm))


def _stamp(path: Path) -> tuple[int, ...]:
    """Changes when the catalogue does; its write-ahead log counts too. Raises CatalogueError when it is not there."""
    found: list[int] = []
    for file in (path, path.with_name(path.name + "-wal")):
        try:
            facts = os.stat(file)
        except OSError:
            continue
        found += [facts.st_mtime_ns, facts.st_size]
    if not path.exists():
        raise CatalogueError(f"{path}: no catalogue there yet; scan a folder with fonts first")
    return tuple(found)
