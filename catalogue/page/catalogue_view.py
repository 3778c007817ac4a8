"""What the page reads: faces, rankings and measurements of one catalogue. The only door to store and ranking.

Faces and their tables are read once and again when the file changes. Rankings are kept for the last few questions,
so that a filter, another stretch of lines or a second person costs no new ranking. All of it may be called from
several threads; what uses fonts goes one at a time.
"""

from __future__ import annotations

import os
import threading
import time
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from catalogue.errors import LetterholdError
from catalogue.judge.ranking import can_predict, rank
from catalogue.judge.request import Request
from catalogue.page.faces import Facts, passing
from catalogue.page.kept import Last
from catalogue.page.listing import PageListing, RankedName
from catalogue.page.measured import measured_name
from catalogue.page.pictures import Picture, Pictures
from catalogue.page.place import Filters, in_one_line
from catalogue.store.database import CatalogueError, Store
from catalogue.store.face import Face
from scanner.names import check_name

if TYPE_CHECKING:
    from catalogue.judge.check import Check
    from catalogue.store.columns import Columns
    from catalogue.style.groups import Decision

KEPT_RANKINGS = 24


class CatalogueView:
    """One catalogue, as the page sees it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._lock = threading.RLock()
        self._fonts = threading.RLock()
        """Held while an opened font is used: HarfBuzz's buffers belong to one thread at a time."""
        self._revision: tuple[int, ...] = ()
        self._rest_until = 0.0
        self._faces: tuple[Face, ...] = ()
        self._by_id: dict[int, Face] = {}
        self._columns: Columns | None = None
        self._facts = Facts.of(())
        self._pictures = Pictures()
        self._rankings = Last(KEPT_RANKINGS)
        self._listings = self._before = Last(4 * KEPT_RANKINGS)
        self._checks = Last(48)
        self._drawn = Last(3000)
        self._styles: dict[int, Decision] = {}
        self._near = Last(64)

    # ── the catalogue ───────────────────────────────────────────────────────────────────────────────────────────

    def refresh(self) -> None:
        """Read the catalogue when it is new or has changed. Raises CatalogueError with what to do."""
        from catalogue.store.columns import load_columns
        from catalogue.style.grouping import styles_of

        with self._lock:
            revision = _revision(self.path)
            if revision == self._revision or time.monotonic() < self._rest_until:
                return
            start = time.monotonic()
            with Store(self.path) as store:
                columns = load_columns(store)
                faces = tuple(store.faces())
                took_s = time.monotonic() - start
                styles = styles_of(store)
            # A scan may have written between the two readings: only faces of both are shown.
            known = set(columns.ids.tolist())
            faces = tuple(_styled(f, styles.get(f.id)) for f in faces if f.id in known)
            self._faces, self._columns, self._facts, self._revision = faces, columns, Facts.of(faces), revision
            self._by_id, self._styles = {f.id: f for f in faces}, styles
            # While a scan writes, what it has done so far is enough: reading takes a tenth of the time at most.
            self._rest_until = time.monotonic() + 9 * took_s
            for kept in (self._rankings, self._checks, self._pictures, self._drawn, self._near):
                kept.clear()
            # Somebody may still look at lines of the state before.
            self._before, self._listings = self._listings, Last(4 * KEPT_RANKINGS)

    @property
    def revision(self) -> str:
        """Changes whenever the catalogue does."""
        return _in_text(self._revision)

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
            raise CatalogueError(f"no face {number} in this catalogue; choose one from the list") from None

    def groups(self) -> tuple[str, ...]:
        """Names of the style groups there are."""
        return tuple(sorted({f.group for f in self.faces if f.group}))

    def styles(self) -> dict[int, Decision]:
        """The style of every measured face, by number."""
        self.refresh()
        return self._styles

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

    def listing(self, asked: Request, filters: Filters, of: str = "") -> PageListing:
        """Ranked and filtered faces for the name in one line. Raises LetteringError when the name is none.

        ``of``: the revision whose lines are looked at. Where it is this one or the one before, its listing is given:
        what is fetched while a scan writes belongs to what is shown.
        """
        asked = in_one_line(asked)
        check_name(asked.name)
        for kept in (self._listings, self._before):
            shown: PageListing | None = kept.find((of, asked, filters))
            if shown is not None:
                return shown
        self.refresh()
        with self._lock:  # faces, columns and facts of one state
            revision, by_id, facts, columns = self._revision, self._by_id, self._facts, self._columns
        assert columns is not None, "refreshed above"

        def ranked() -> RankedName:
            if can_predict(asked.name):
                return RankedName(rank(columns, asked, facts.ids))
            with self._fonts, Store(self.path) as store:
                return measured_name(store, asked, facts.ids)

        said = _in_text(revision)
        name = self._rankings.get((said, asked), ranked)

        def left() -> PageListing:
            keep = passing(facts, filters)[np.searchsorted(facts.ids, name.ranking.ids)]
            if filters.least_hold:
                keep &= name.ranking.hold >= filters.least_hold
            return PageListing(name, np.flatnonzero(keep), by_id, said)

        return self._listings.get((said, asked, filters), left)

    # ── one face ────────────────────────────────────────────────────────────────────────────────────────────────

    def check(self, face: Face, asked: Request) -> Check:
        """The full measurement of the name in one line. Raises a LetterholdError with what to do."""
        from catalogue.judge.check import check_face

        line = in_one_line(asked)

        def measured() -> Check:
            with self.alone(face):
                return check_face(face, line)

        return self._checks.get((self._revision, face.id, line), measured)

    def picture(self, face: Face, name: str) -> Picture | None:
        """The name's outline, or None when the font is gone or cannot draw it."""

        def drawn() -> Picture | None:
            try:
                with self.alone(face) as file:
                    return self._pictures.draw(file, face, name)
            except (LetterholdError, OSError):
                return None

        return self._drawn.get((face.id, name), drawn)

    def like(self, face: Face, most: int) -> list[Face]:
        """The faces that look most like one, nearest first."""
        return [self._by_id[int(r["face"])] for r in self.likeness(face, most)]

    def likeness(self, face: Face, most: int) -> list[dict[str, Any]]:
        """The same with what they have in common and where they part, as ``letterhold like`` lists it."""
        from catalogue.style.grouping import neighbours

        def found() -> list[dict[str, Any]]:
            with Store(self.path) as store:
                return neighbours(store, face, most)

        near: list[dict[str, Any]] = self._near.get((self._revision, face.id, most), found)
        return [row for row in near if int(row["face"]) in self._by_id]

    @contextmanager
    def alone(self, face: Face) -> Iterator[Path]:
        """Where the face's font lies; to be held while opened fonts are used, also outside this file, as by the fit.

        A font of a store is fetched before, for all that is drawn waits while this is held. Raises FontError.
        """
        from catalogue.store.font_cache import font_file

        file = font_file(face)
        with self._fonts:
            yield file


def at_weight(face: Face, weight: float | None) -> Face:
    """The face at another place of its weight axis."""
    return face if weight is None else replace(face, coordinates={**face.coordinates, "wght": weight})


def _in_text(revision: tuple[int, ...]) -> str:
    return "-".join(map(str, revision))


def _styled(face: Face, style: Decision | None) -> Face:
    """The face in the group that the model at hand puts it in, also when an earlier one decided at the scan."""
    return replace(face, group=style.group) if style is not None and style.probability else face


def _revision(path: Path) -> tuple[int, ...]:
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
