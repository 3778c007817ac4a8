"""What the page reads: faces, rankings and measurements of one catalogue. The only door to store and ranking.

Faces and their tables are read once and again when the file changes. Rankings are kept for the last few questions,
so that a filter, another stretch of lines or a second person costs no new ranking. All of it may be called from
several threads; what uses opened fonts goes one at a time.
"""

from __future__ import annotations

import os
import threading
from collections import Counter, OrderedDict
from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from catalogue.ranking import Ranked, Size
from catalogue.store import CatalogueError, Face, Store

if TYPE_CHECKING:
    from catalogue.check import Check
    from catalogue.process import Process

JOINED_SHARE = 0.5
"""Share of touching small-letter pairs from which a face counts as joined, as in the fit."""

MOST_MEASURED = 60
"""Faces measured in full for a name that cannot be predicted; the others are listed without numbers."""

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
class Listing:
    """Ranked faces left by the filters, best first."""

    rows: tuple[Ranked, ...]
    ranked: int
    """Faces ranked for the name, before the filters."""
    lacking: int
    """Faces left out because they lack letters of the name."""
    lacking_letters: str
    predicted: bool
    """False when the name has letters outside the stored alphabet: then only the first faces were measured."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A name in a face as one path, in thousandths of an em, y down; box is left, top, right, bottom."""

    path: str
    box: tuple[int, int, int, int]


@dataclass(frozen=True, slots=True)
class _Ranking:
    rows: tuple[Ranked, ...]
    lacking: int
    letters: str
    predicted: bool


class _Last:
    """The last few values by key; safe for threads."""

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
        self._faces: tuple[Face, ...] = ()
        self._by_id: dict[int, Face] = {}
        self._tables: Any = None
        self._rankings = _Last(KEPT_RANKINGS)
        self._listings = _Last(4 * KEPT_RANKINGS)
        self._checks = _Last(48)
        self._shapers = _Last(KEPT_FACES)
        self._pictures = _Last(3000)

    # ── the catalogue ───────────────────────────────────────────────────────────────────────────────────────────

    def refresh(self) -> None:
        """Read the catalogue when it is new or has changed. Raises CatalogueError with what to do."""
        from catalogue.ranking import Columns

        stamp = _stamp(self.path)
        with self._lock:
            if stamp == self._stamp and self._stamp:
                return
            with Store(self.path) as store:
                faces = tuple(store.faces())
                tables = Columns(store.tables([f.id for f in faces]), len(faces)) if faces else None
            self._faces, self._tables, self._stamp = faces, tables, stamp
            self._by_id = {f.id: f for f in faces}
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
        """Ranked and filtered faces."""
        self.refresh()
        ranking = self._ranking(job)

        def left() -> Listing:
            keep = _passes(filters)
            rows = tuple(r for r in ranking.rows if keep(r))
            return Listing(rows, len(ranking.rows), ranking.lacking, ranking.letters, ranking.predicted)

        return self._listings.get((self._stamp, job, filters), left)

    def _ranking(self, job: Job) -> _Ranking:
        from catalogue.ranking import can_predict
        from scanner.names import check_name

        check_name(job.name)
        make = self._predicted if can_predict(job.name) else self._measured
        return self._rankings.get((self._stamp, job), lambda: make(job))

    def _predicted(self, job: Job) -> _Ranking:
        from catalogue.ranking import missing_letters, rank

        process = process_of(job.process)
        rows = tuple(rank(self._faces, self._tables, job.name, job.size, process, job.offset_mm)) if self._faces else ()
        letters: dict[str, None] = {}
        lacking = 0
        for face in self._faces:
            if face.missing and (missing := missing_letters(face, job.name)):
                lacking += 1
                letters.update(dict.fromkeys(missing))
        return _Ranking(rows, lacking, "".join(letters), True)

    def _measured(self, job: Job) -> _Ranking:
        """Letters outside the stored alphabet: the first faces that have them are measured, the others only listed."""
        import math

        from catalogue.check import typesetter, verify
        from catalogue.hold import Hold
        from catalogue.stack import default_stack

        process, stack = process_of(job.process), default_stack(job.offset_mm)
        done: list[Ranked] = []
        rest: list[Ranked] = []
        letters: dict[str, None] = {}
        lacking = 0
        for face in self._faces:
            try:
                with self._fonts:
                    missing = typesetter(face).missing(job.name)
                    if missing:
                        lacking += 1
                        letters.update(dict.fromkeys(missing))
                        continue
                    em = job.size.mm / face.cap_height_em if face.cap_height_em > 0 else math.nan
                    blank = Ranked(face, em, 0, math.nan, None, None, None, Hold(0, False, ()), False)
                    if len(done) < MOST_MEASURED:
                        done.append(verify(blank, job.name, job.size, process, stack))
                    else:
                        rest.append(blank)
            except ValueError:
                continue  # a font that is gone or cannot set the name has no line
        return _Ranking((*sorted(done, key=lambda r: r.order), *rest), lacking, "".join(letters), False)

    # ── one face ────────────────────────────────────────────────────────────────────────────────────────────────

    def check(self, face: Face, job: Job) -> Check:
        """The full measurement. Raises a ValueError with what to do."""
        from catalogue.check import check_face
        from catalogue.stack import default_stack

        def measured() -> Check:
            with self._fonts:
                return check_face(face, job.name, job.size, process_of(job.process), default_stack(job.offset_mm))

        return self._checks.get((self._stamp, face.id, job), measured)

    def picture(self, face: Face, name: str) -> Picture | None:
        """The name's outline, or None when the font is gone or cannot draw it."""
        from scanner.shaping import FontError, Shaper

        def opened() -> Shaper:
            return Shaper.open(Path(face.path), face.face_index, dict(face.coordinates))

        def drawn() -> Picture | None:
            try:
                with self._fonts:
                    place = (face.path, face.face_index, tuple(face.coordinates.items()))
                    path, box = self._shapers.get(place, opened).curves(name)
            except (FontError, OSError):
                return None
            return Picture(path, box)

        return self._pictures.get((face.id, name), drawn)

    def alone(self) -> threading.RLock:
        """To be held while opened fonts are used outside this file, as the fit does."""
        return self._fonts


def _passes(filters: Filters) -> Callable[[Ranked], bool]:
    tests: list[Callable[[Ranked], bool]] = []
    if filters.sell == "sellable":
        tests.append(lambda r: r.face.sell in SELLABLE)
    elif filters.sell:
        tests.append(lambda r: r.face.sell == filters.sell)
    if filters.group:
        tests.append(lambda r: r.face.group == filters.group)
    if filters.letters:
        joined = filters.letters == "joined"
        tests.append(lambda r: (r.face.joining >= JOINED_SHARE) == joined)
    if filters.least_hold:
        tests.append(lambda r: r.hold.hold >= filters.least_hold)
    words = filters.family.casefold().split()
    if words:
        tests.append(lambda r: all(w in r.face.title.casefold() for w in words))
    return lambda row: all(test(row) for test in tests)


@lru_cache(maxsize=16)
def process_of(name: str) -> Process:
    """A process profile by name."""
    from catalogue.process import load_process

    return load_process(name)


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
