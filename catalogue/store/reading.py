"""Reading a catalogue: every value that is given out has passed its checksum."""

from __future__ import annotations

import json
import math
import sqlite3
import zlib
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Self

import numpy as np
from numpy.typing import NDArray

from catalogue.errors import CatalogueError
from catalogue.permission import MAY_BE_SOLD
from catalogue.store.connection import DAMAGED, reported
from catalogue.store.face import Face, find_face, is_number, is_title
from catalogue.store.rows import FileState
from catalogue.store.schema import DECIDED, FACE, FILE, SCALARS, blob_seal, listed, seal
from scanner.coverage import covers

_FACES = (
    f"SELECT face.id, face.seal, {listed(FACE, 'face')}, decided_seal, {listed(DECIDED)}, file.seal,"
    f" {listed(FILE, 'file')} FROM face JOIN file ON file.id = face.file_id"
)


class Reader:
    """An open catalogue to read from. Each method raises CatalogueError when what it reads is damaged."""

    def __init__(self, path: Path, db: sqlite3.Connection) -> None:
        self.path = path
        self._db = db

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def __enter__(self) -> Self:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def stamp(self) -> int:
        """A number that changes whenever faces or their measures do: what is derived from them carries it."""
        (value,) = self._one("SELECT value FROM stamp")
        self._demand(isinstance(value, int))
        return int(value)

    @contextmanager
    def unchanging(self) -> Iterator[None]:
        """Everything read inside comes from one state of the catalogue, whatever a scan writes meanwhile."""
        if self._db.in_transaction:
            yield
            return
        with reported(self.path):
            self._db.execute("BEGIN")
        try:
            yield
        finally:
            self._db.execute("ROLLBACK")

    # ── faces ───────────────────────────────────────────────────────────────────────────────────────────────────

    def faces(self, measured_only: bool = True) -> list[Face]:
        """Every face, in order of id."""
        with self.unchanging():
            rows = self._rows(f"{_FACES} ORDER BY face.id")
            self._whole(rows)
        return [face for face in map(self._face, rows) if not (measured_only and face.reason)]

    def faces_of(self, ids: Iterable[int]) -> dict[int, Face]:
        """Faces by id; an id that is not in the catalogue is left out."""
        asked = [int(face_id) for face_id in ids]
        with self.unchanging():
            rows = [row for face_id in asked for row in self._rows(f"{_FACES} WHERE face.id = ?", (face_id,))]
            if len(rows) < len(asked):  # gone since the ids were read, or damaged
                self._whole(self._rows(f"{_FACES} ORDER BY face.id"))
        return {row[0]: self._face(row) for row in rows}

    def find(self, text: str) -> Face:
        """The face a person means, as ``find_face``. Raises CatalogueError that lists the choices."""
        with self.unchanging():
            # An id or a whole title is looked up; only what is neither is compared with every face in full.
            ids = [int(text)] if is_number(text) else []
            ids = [k for k in ids if self._rows("SELECT 1 FROM face WHERE id = ?", (k,))] or [
                k for k, *title in self._rows("SELECT id, family, style FROM face") if is_title(text, *title)
            ]
            measured = [face for face in self.faces_of(ids).values() if not face.reason]
            return find_face(measured or self.faces(), text)

    def _face(self, row: tuple[Any, ...]) -> Face:
        face_id, face_seal = row[:2]
        own, row = row[2 : 2 + len(FACE)], row[2 + len(FACE) :]
        decided_seal, decided, row = row[0], row[1 : 1 + len(DECIDED)], row[1 + len(DECIDED) :]
        file_seal, file = row[0], row[1:]
        self._demand((seal(*own), seal(*decided), seal(*file)) == (face_seal, decided_seal, file_seal))
        facts = dict(zip((*FACE, *DECIDED, *FILE), (*own, *decided, *file), strict=True))
        scalars: dict[str, Any] = {name: math.nan if facts[name] is None else facts[name] for name in SCALARS}
        return Face(
            id=face_id, path=facts["path"], face_index=facts["face_index"], instance=facts["instance"],
            coordinates=json.loads(facts["coordinates"]) if facts["coordinates"] != "{}" else {},
            family=facts["family"], style=facts["style"], version=facts["version"], variable=bool(facts["variable"]),
            letters=facts["letters"], reason=own[FACE.index("reason")], **scalars, missing=facts["missing"] or "",
            spdx=facts["spdx"], sell=facts["sell"], group=facts["style_group"], digest=facts["digest"],
            group_support=facts["group_support"], script=facts["script"] or "",
            cap_height_of=facts["cap_height_of"] or "", size=facts["size"], mtime_ns=facts["mtime_ns"],
        )  # fmt: skip

    def chosen(self, sellable: bool = False, groups: Sequence[str] = ()) -> NDArray[np.int64]:
        """Ids of the measured faces that may be sold and are of the style groups, as asked; ascending."""
        with self.unchanging():
            rows = self._rows(f"SELECT id, reason, decided_seal, {listed(DECIDED)} FROM face ORDER BY id")
            self._whole(rows)
        self._demand(all(seal(*decided) == known for _, _, known, *decided in rows))
        found = [
            face_id
            for face_id, reason, _, _, sell, group, _ in rows
            if not reason and (not sellable or sell in MAY_BE_SOLD) and (not groups or group in groups)
        ]
        return np.array(found, dtype=np.int64)

    # ── arrays ──────────────────────────────────────────────────────────────────────────────────────────────────

    def covering(self, text: str) -> NDArray[np.int64]:
        """Ids of the measured faces that map every character of a text, ascending."""
        rows = self._rows("SELECT id, reason, coverage, coverage_seal FROM face ORDER BY id")
        self._whole(rows)
        self._demand(all(seal(reason, runs) == known for _, reason, runs, known in rows))
        found = [face_id for face_id, reason, runs, _ in rows if not reason and covers(runs or b"", text)]
        return np.array(found, dtype=np.int64)

    def facts(self, names: Sequence[str]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        """Ids (faces) of all measured faces, ascending, and numbers of theirs (names, faces); NaN where empty."""
        faces = self.faces()
        values = np.array([[getattr(face, name) for name in names] for face in faces], dtype=np.float64)
        values = values.reshape(len(faces), len(names))
        return np.array([face.id for face in faces], dtype=np.int64), np.ascontiguousarray(values.T)

    def tables(self, at_once: int) -> Iterator[list[bytes]]:
        """Stored tables of all measured faces in the order of their ids, ``at_once`` at a time."""
        with reported(self.path):
            cursor = self._db.execute("SELECT data, seal FROM measure ORDER BY face_id")
            while rows := cursor.fetchmany(at_once):
                self._demand(all(isinstance(data, bytes) and blob_seal(data) == known for data, known in rows))
                yield [zlib.decompress(data) for data, _ in rows]

    def features(self, width: int) -> tuple[list[int], NDArray[np.float64]]:
        """Ids of the measured faces, ascending, and their style features, (faces, width); NaN where there are none."""
        rows = self._rows("SELECT id, reason, style_features, features_seal FROM face ORDER BY id")
        self._whole(rows)
        self._demand(all(seal(reason, data) == known for _, reason, data, known in rows))
        measured = [(face_id, data) for face_id, reason, data, _ in rows if not reason]
        vectors = np.full((len(measured), width), np.nan)
        for k, (_, data) in enumerate(measured):
            if data is not None and len(data) == 4 * width:
                vectors[k] = np.frombuffer(data, dtype=np.float32)
        return [face_id for face_id, _ in measured], vectors

    # ── texts, files and counts ─────────────────────────────────────────────────────────────────────────────────

    def groups_model(self) -> str:
        """The model of style groups fitted to this catalogue; empty when the shipped one holds."""
        rows = self._rows("SELECT text, seal FROM groups_model")
        self._demand(all(seal(text) == known for text, known in rows))
        return rows[0][0] if rows else ""

    def words(self, face_id: int) -> list[dict[str, Any]]:
        """Test words of one face with their join curve and necks."""
        text, notes, known = self._one("SELECT words, notes, words_seal FROM face WHERE id = ?", (face_id,))
        self._demand(seal(text, notes) == known)
        return list(json.loads(text or "[]"))

    def verdict(self, face_id: int) -> dict[str, Any]:
        """The licence verdict as it was stored."""
        text, known = self._one("SELECT verdict, verdict_seal FROM face WHERE id = ?", (face_id,))
        self._demand(seal(text) == known)
        return dict(json.loads(text))

    def failed(self) -> list[tuple[str, str]]:
        """Files and faces without measures, with the reason."""
        files = self._rows("SELECT path, reason FROM file WHERE reason <> '' ORDER BY path")
        faces = self._rows(
            "SELECT path || '#' || face_index, face.reason FROM face JOIN file ON file.id = file_id"
            " WHERE face.reason <> '' ORDER BY 1"
        )
        return files + faces

    def counts(self) -> dict[str, int]:
        """Files, measured faces and instances, and files without any."""
        one = self._one(
            "SELECT (SELECT count(*) FROM file), (SELECT count(*) FROM face WHERE instance = '' AND reason = ''),"
            " (SELECT count(*) FROM face WHERE instance <> '' AND reason = ''),"
            " (SELECT count(*) FROM file WHERE reason <> '')"
            " + (SELECT count(*) FROM face WHERE reason <> '')"
        )
        return dict(zip(("files", "faces", "instances", "failed"), one, strict=True))

    def known(self) -> dict[str, FileState]:
        """State of every file in the catalogue, by path."""
        rows = self._rows(f"SELECT {listed(FILE)}, seal FROM file")
        self._demand(all(seal(*row[:-1]) == row[-1] for row in rows))
        return {path: FileState(size, mtime, settings) for path, size, mtime, _, settings, *_ in rows}

    def digests(self) -> dict[str, str]:
        """The digest of every file by path; empty where it could not be read."""
        return dict(self._rows("SELECT path, digest FROM file"))

    def indices(self, path: str) -> set[int]:
        """Face indices of one file."""
        rows = self._rows("SELECT face_index FROM face JOIN file ON file.id = file_id WHERE path = ?", (path,))
        return {index for (index,) in rows}

    # ── checked reading ─────────────────────────────────────────────────────────────────────────────────────────

    def _rows(self, query: str, values: Sequence[Any] = ()) -> list[Any]:
        with reported(self.path):
            return self._db.execute(query, values).fetchall()

    def _one(self, query: str, values: Sequence[Any] = ()) -> Any:
        found = self._rows(query, values)
        if not found:
            raise self._damaged()
        return found[0]

    def _damaged(self) -> CatalogueError:
        return CatalogueError(f"{self.path}: {DAMAGED}")

    def _demand(self, sound: bool) -> None:
        if not sound:
            raise self._damaged()

    def _whole(self, found: list[Any]) -> None:
        """Raise unless as many faces were read as were written."""
        self._demand(self._one("SELECT faces FROM stamp") == (len(found),))
