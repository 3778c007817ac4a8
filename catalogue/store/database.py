"""The catalogue on disk: SQLite, one writer; the only file that knows the schema. Rows are faces."""

from __future__ import annotations

import json
import math
import re
import secrets
import sqlite3
import zlib
from collections.abc import Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from catalogue.errors import LetterholdError
from scanner.coverage import covers, to_bytes
from scanner.files import is_address
from scanner.records import FaceRecord, FileRecord

SCHEMA = 7
APPLICATION_ID = 0x4C48_4C44
"""Marks the file as ours ("LHLD" in ASCII)."""

_CREATE = """
CREATE TABLE file (
  id INTEGER PRIMARY KEY, path TEXT NOT NULL UNIQUE, size INTEGER NOT NULL, mtime_ns INTEGER NOT NULL,
  digest TEXT NOT NULL, settings TEXT NOT NULL, reason TEXT NOT NULL);
CREATE INDEX file_digest ON file (digest);
CREATE TABLE face (
  id INTEGER PRIMARY KEY, file_id INTEGER NOT NULL REFERENCES file (id) ON DELETE CASCADE,
  face_index INTEGER NOT NULL, instance TEXT NOT NULL, coordinates TEXT NOT NULL,
  family TEXT NOT NULL, style TEXT NOT NULL, version TEXT NOT NULL, variable INTEGER NOT NULL,
  letters INTEGER NOT NULL, reason TEXT NOT NULL,
  upem INTEGER, cap_height_em REAL, x_height_em REAL, slant_deg REAL, advances_variation REAL,
  median_stroke_em REAL, thinnest_stroke_em REAL, joining REAL, smallest_counter_em REAL, contextual REAL,
  words TEXT, missing TEXT, notes TEXT,
  spdx TEXT NOT NULL DEFAULT '', sell TEXT NOT NULL DEFAULT 'unknown', verdict TEXT NOT NULL DEFAULT '{}',
  style_group TEXT NOT NULL DEFAULT '', group_support TEXT NOT NULL DEFAULT '', style_features BLOB,
  script TEXT, cap_height_of TEXT, letter_gap_em REAL, seconds REAL NOT NULL, coverage BLOB,
  UNIQUE (file_id, face_index, instance));
CREATE TABLE measure (face_id INTEGER PRIMARY KEY REFERENCES face (id) ON DELETE CASCADE, data BLOB NOT NULL);
CREATE TABLE stamp (value INTEGER NOT NULL);
CREATE TABLE groups_model (text TEXT NOT NULL);
"""

_SCALARS = (
    "upem", "cap_height_em", "x_height_em", "slant_deg", "advances_variation", "median_stroke_em",
    "thinnest_stroke_em", "joining", "smallest_counter_em", "contextual", "letter_gap_em",
)  # fmt: skip
_PACKING = 1
"""Level of zlib: the fastest; it nearly halves a table."""


class CatalogueError(LetterholdError):
    """A catalogue that cannot be used; one line that ends with what to do."""


@dataclass(frozen=True, slots=True)
class Face:
    """One row of the catalogue. Lengths in em."""

    id: int
    path: str
    face_index: int
    instance: str
    coordinates: dict[str, float]
    family: str
    style: str
    version: str
    variable: bool
    letters: int
    reason: str
    upem: int
    cap_height_em: float
    x_height_em: float
    slant_deg: float
    advances_variation: float
    median_stroke_em: float
    thinnest_stroke_em: float
    joining: float
    smallest_counter_em: float
    contextual: float
    """Share of test words drawn otherwise than their letter pairs tell."""
    letter_gap_em: float
    missing: str
    spdx: str
    sell: str
    group: str
    digest: str
    group_support: str = ""
    """What speaks for the group, or why there is none."""
    script: str = ""
    """The script whose letters were measured, by its Unicode name."""
    cap_height_of: str = ""
    """The letters whose tops gave ``cap_height_em``; empty where the face states it, or has none."""

    @property
    def title(self) -> str:
        """Family and style, as a person names the face."""
        return f"{self.family} {self.style}"


class Store:
    """An open catalogue. ``create`` makes a new one where there is none; without it a missing file is an error."""

    def __init__(self, path: Path, create: bool = False) -> None:
        self.path = path
        if not path.exists():
            if not create:
                raise CatalogueError(f"{path}: no catalogue there yet; run 'letterhold scan FOLDER' first")
            path.parent.mkdir(parents=True, exist_ok=True)
        with self.told():
            target = path if create else f"file:{path.absolute().as_posix().replace('?', '%3f')}?mode=ro"
            self._db = sqlite3.connect(target, uri=not create, timeout=10)
            try:
                self._db.execute("PRAGMA foreign_keys = ON")
                # With WAL a power cut may cost the last files, which are then measured again, and nothing more; the
                # writer does not wait for the disk at every file.
                self._db.execute("PRAGMA synchronous = NORMAL")
                self._check(create)
            except BaseException:
                self._db.close()  # nobody else can
                raise

    @contextmanager
    def told(self) -> Iterator[None]:
        """Turn what SQLite raises within into a CatalogueError."""
        try:
            yield
        except sqlite3.Error as cause:
            raise CatalogueError(f"{self.path}: {plain(cause)}") from cause

    def close(self) -> None:
        """Close the file."""
        self._db.close()

    def __enter__(self) -> Store:
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def _check(self, create: bool) -> None:
        (mark,) = self._db.execute("PRAGMA application_id").fetchone()
        (version,) = self._db.execute("PRAGMA user_version").fetchone()
        (tables,) = self._db.execute("SELECT count(*) FROM sqlite_master").fetchone()
        if tables == 0 and mark == 0 and create:
            self._db.execute("PRAGMA journal_mode = WAL")
            # Random, so that what was derived from an earlier catalogue of this name is never taken for this one's.
            marks = f"INSERT INTO stamp VALUES ({secrets.randbits(48)});"
            marks += f"PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {SCHEMA};"
            # One transaction: whoever is stopped here leaves an empty file, which is as good as none.
            self._db.executescript(f"BEGIN; {_CREATE} {marks} COMMIT;")
            return
        if mark != APPLICATION_ID:
            raise CatalogueError(f"{self.path}: not a letterhold catalogue; name another file with --catalogue")
        if version != SCHEMA:
            raise CatalogueError(
                f"{self.path}: made by another version (schema {version}, here {SCHEMA}); move it away and scan again"
            )

    def stamp(self) -> int:
        """A number that changes whenever faces or their measures do: what is derived from them carries it."""
        (value,) = self._db.execute("SELECT value FROM stamp").fetchone()
        return int(value)

    @contextmanager
    def unchanging(self) -> Iterator[None]:
        """Everything read inside comes from one state of the catalogue, whatever a scan writes meanwhile."""
        self._db.execute("BEGIN")
        try:
            yield
        finally:
            self._db.execute("ROLLBACK")

    # ── writing ─────────────────────────────────────────────────────────────────────────────────────────────────

    def known(self) -> dict[str, tuple[int, int, str]]:
        """Size, modification time and settings of every file in the catalogue, by path."""
        rows = self._db.execute("SELECT path, size, mtime_ns, settings FROM file")
        return {path: (size, mtime, settings) for path, size, mtime, settings in rows}

    def put(self, record: FileRecord, settings: str, verdicts: dict[int, dict[str, Any]] | None = None) -> None:
        """Write one file with its faces, replacing what stood there; one transaction, so a stop loses nothing done.

        ``verdicts`` holds the licence verdict of each face index, in its JSON form.
        """
        self.put_rows([rows_of(record, settings, verdicts or {})])

    def put_rows(self, files: Iterable[FileRows]) -> None:
        """The same for files whose rows were made elsewhere, all in one transaction."""
        with self._db:
            self._db.execute("UPDATE stamp SET value = value + 1")
            for rows in files:
                self._put(rows)

    def _put(self, rows: FileRows) -> None:
        kept = dict(
            self._db.execute(
                "SELECT face.face_index || '|' || face.instance, face.id FROM face JOIN file ON file.id = file_id"
                " WHERE path = ?",
                (rows.file["path"],),
            )
        )
        self._db.execute("DELETE FROM file WHERE path = ?", (rows.file["path"],))
        file_id = self._insert("file", rows.file)
        for face in rows.faces:
            # A face keeps its id over a rescan, so that names in scripts and links go on working.
            row = {k: v for k, v in face.items() if k != "data"}
            row |= {"file_id": file_id, "id": kept.get(f"{face['face_index']}|{face['instance']}")}
            face_id = self._insert("face", row)
            if face["data"] is not None:
                self._insert("measure", {"face_id": face_id, "data": face["data"]})

    def _insert(self, table: str, row: Mapping[str, Any]) -> int | None:
        marks = ", ".join("?" * len(row))
        return self._db.execute(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})", (*row.values(),)).lastrowid

    def move(self, old: str, new: str, size: int, mtime_ns: int) -> None:
        """Note that an unchanged file has another path now."""
        with self._db:
            self._db.execute(
                "UPDATE file SET path = ?, size = ?, mtime_ns = ? WHERE path = ?", (new, size, mtime_ns, old)
            )

    def drop(self, paths: Iterable[str]) -> None:
        """Forget files that are gone."""
        gone = [(p,) for p in paths]
        if gone:
            with self._db:
                self._db.execute("UPDATE stamp SET value = value + 1")
                self._db.executemany("DELETE FROM file WHERE path = ?", gone)

    def digests(self) -> dict[str, str]:
        """The digest of every file by path; empty where it could not be read."""
        return dict(self._db.execute("SELECT path, digest FROM file"))

    def indices(self, path: str) -> set[int]:
        """Face indices of one file."""
        rows = self._db.execute("SELECT face_index FROM face JOIN file ON file.id = file_id WHERE path = ?", (path,))
        return {index for (index,) in rows}

    def judge(self, path: str, verdicts: dict[int, dict[str, Any]]) -> None:
        """Replace the licence verdicts of one file's faces."""
        with self._db:
            for index, verdict in verdicts.items():
                self._db.execute(
                    "UPDATE face SET spdx = ?, sell = ?, verdict = ? WHERE face_index = ? AND file_id ="
                    " (SELECT id FROM file WHERE path = ?)",
                    (*_sell(verdict), index, path),
                )

    def put_groups(self, decided: dict[int, tuple[str, str]]) -> None:
        """Write the style group of faces and what speaks for it, by id."""
        with self._db:
            self._db.executemany(
                "UPDATE face SET style_group = ?, group_support = ? WHERE id = ?",
                [(group, support, face_id) for face_id, (group, support) in decided.items()],
            )

    def put_groups_model(self, text: str) -> None:
        """Keep a model of style groups that was fitted to this catalogue; an empty text forgets it."""
        with self._db:
            self._db.execute("DELETE FROM groups_model")
            if text:
                self._db.execute("INSERT INTO groups_model VALUES (?)", (text,))

    # ── reading ─────────────────────────────────────────────────────────────────────────────────────────────────

    def faces(self, measured_only: bool = True) -> list[Face]:
        """Every face, in order of id."""
        where = "WHERE face.reason = ''" if measured_only else ""
        rows = self._db.execute(f"SELECT {_COLUMNS} FROM face JOIN file ON file.id = face.file_id {where} ORDER BY 1")
        return [_face(row) for row in rows]

    def faces_of(self, ids: Iterable[int]) -> dict[int, Face]:
        """Faces by id; an id that is not in the catalogue is left out."""
        query = f"SELECT {_COLUMNS} FROM face JOIN file ON file.id = face.file_id WHERE face.id = ?"
        found = (self._db.execute(query, (int(face_id),)).fetchone() for face_id in ids)
        return {row[0]: _face(row) for row in found if row is not None}

    def chosen(self, sellable: bool = False, groups: Sequence[str] = ()) -> NDArray[np.int64]:
        """Ids of the measured faces that may be sold and are of the style groups, as asked; ascending."""
        where: list[str] = ["reason = ''"]
        values: list[str] = []
        if sellable:
            where.append("sell IN ('yes', 'yes-conditions')")
        if groups:
            where.append(f"style_group IN ({', '.join('?' * len(groups))})")
            values += groups
        rows = self._db.execute(f"SELECT id FROM face WHERE {' AND '.join(where)} ORDER BY id", values)
        return np.array([face_id for (face_id,) in rows], dtype=np.int64)

    def covering(self, text: str) -> NDArray[np.int64]:
        """Ids of the measured faces that map every character of a text, ascending."""
        rows = self._db.execute("SELECT id, coverage FROM face WHERE reason = '' ORDER BY id")
        return np.array([face_id for face_id, runs in rows if covers(runs or b"", text)], dtype=np.int64)

    def facts(self, names: Sequence[str]) -> tuple[NDArray[np.int64], NDArray[np.float64]]:
        """Ids (faces) of all measured faces, ascending, and columns of theirs (names, faces); NaN where empty."""
        rows = self._db.execute(
            f"SELECT face.id, {', '.join(names)} FROM face JOIN measure ON face_id = face.id ORDER BY face.id"
        ).fetchall()
        values = np.array([r[1:] for r in rows], dtype=np.float64).reshape(len(rows), len(names))
        return np.array([r[0] for r in rows], dtype=np.int64), np.ascontiguousarray(values.T)

    def tables(self, at_once: int) -> Iterator[list[bytes]]:
        """Stored tables of all measured faces in the order of their ids, ``at_once`` at a time."""
        cursor = self._db.execute("SELECT data FROM measure ORDER BY face_id")
        while rows := cursor.fetchmany(at_once):
            yield [zlib.decompress(data) for (data,) in rows]

    def features(self, width: int) -> tuple[list[int], NDArray[np.float64]]:
        """Ids of the measured faces, ascending, and their style features, (faces, width); NaN where there are none."""
        rows = self._db.execute("SELECT id, style_features FROM face WHERE reason = '' ORDER BY id").fetchall()
        vectors = np.full((len(rows), width), np.nan)
        for k, (_, data) in enumerate(rows):
            if data is not None and len(data) == 4 * width:
                vectors[k] = np.frombuffer(data, dtype=np.float32)
        return [face_id for face_id, _ in rows], vectors

    def groups_model(self) -> str:
        """The model of style groups fitted to this catalogue; empty when the shipped one holds."""
        row = self._db.execute("SELECT text FROM groups_model").fetchone()
        return str(row[0]) if row else ""

    def words(self, face_id: int) -> list[dict[str, Any]]:
        """Test words of one face with their join curve and necks."""
        (text,) = self._db.execute("SELECT words FROM face WHERE id = ?", (face_id,)).fetchone()
        return list(json.loads(text or "[]"))

    def verdict(self, face_id: int) -> dict[str, Any]:
        """The licence verdict as it was stored."""
        (text,) = self._db.execute("SELECT verdict FROM face WHERE id = ?", (face_id,)).fetchone()
        return dict(json.loads(text))

    def failed(self) -> list[tuple[str, str]]:
        """Files and faces without measures, with the reason."""
        files = self._db.execute("SELECT path, reason FROM file WHERE reason <> '' ORDER BY path").fetchall()
        faces = self._db.execute(
            "SELECT path || '#' || face_index, face.reason FROM face JOIN file ON file.id = file_id"
            " WHERE face.reason <> '' ORDER BY 1"
        ).fetchall()
        return files + faces

    def counts(self) -> dict[str, int]:
        """Files, measured faces and instances, and files without any."""
        one = self._db.execute(
            "SELECT (SELECT count(*) FROM file), (SELECT count(*) FROM face WHERE instance = '' AND reason = ''),"
            " (SELECT count(*) FROM face WHERE instance <> '' AND reason = ''),"
            " (SELECT count(*) FROM file WHERE reason <> '')"
            " + (SELECT count(*) FROM face WHERE reason <> '')"
        ).fetchone()
        return dict(zip(("files", "faces", "instances", "failed"), one, strict=True))

    def find(self, text: str) -> Face:
        """The face a person means: an id, ``Family Style``, a family with one regular face, a path or ``path#index``.

        Raises CatalogueError that lists the choices when it is none or several.
        """
        faces = self.faces()
        if text.isdecimal():
            found = [f for f in faces if f.id == int(text)]
        else:
            found = _by_title(faces, text) or _by_path(faces, text)
        if len(found) == 1:
            return found[0]
        if found:
            choices = "; ".join(f"{f.id} = {f.title}" for f in found[:8])
            raise CatalogueError(f"{text!r} means several faces; use one of these numbers: {choices}")
        import difflib

        called = {f.family.casefold(): f.title for f in reversed(faces)} | {f.title.casefold(): f.title for f in faces}
        near = difflib.get_close_matches(text.casefold(), list(called), n=3, cutoff=0.5)
        hint = f"nearest: {', '.join(dict.fromkeys(called[n] for n in near))}" if near else "see 'letterhold rank NAME'"
        raise CatalogueError(f"no face {text!r} in the catalogue; {hint}")


def _by_title(faces: Sequence[Face], text: str) -> list[Face]:
    wanted = " ".join(text.casefold().split())
    exact = [f for f in faces if f.title.casefold() == wanted]
    if exact:
        # The same face installed twice is one choice.
        return exact[:1] if len({(f.digest, f.face_index, f.instance) for f in exact}) == 1 else exact
    family = [f for f in faces if f.family.casefold() == wanted]
    regular = [f for f in family if f.style.casefold() in ("regular", "book", "normal", "roman")]
    return regular if len(regular) == 1 else family


def _by_path(faces: Sequence[Face], text: str) -> list[Face]:
    path, _, index = text.rpartition("#") if "#" in text else (text, "", "")
    full = path if is_address(path) else str(Path(path).absolute())
    found = [f for f in faces if f.path == full and (not index or str(f.face_index) == index)]
    return [f for f in found if not f.instance] or found


_COLUMNS = (
    "face.id, file.path, face_index, instance, coordinates, family, style, version, variable, letters, face.reason, "
    + ", ".join(_SCALARS)
    + ", missing, spdx, sell, style_group, file.digest, group_support, script, cap_height_of"
)


def _face(row: tuple[Any, ...]) -> Face:
    values = list(row)
    values[4] = json.loads(values[4]) if values[4] != "{}" else {}
    values[8] = bool(values[8])
    for k in range(11, 11 + len(_SCALARS)):
        values[k] = math.nan if values[k] is None else values[k]
    for k in (11 + len(_SCALARS), -2, -1):
        values[k] = values[k] or ""
    return Face(*values)


@dataclass(frozen=True, slots=True)
class FileRows:
    """A file's record in the form of the tables, save the ids and what is decided later."""

    file: dict[str, Any]
    """Columns of ``file``."""
    faces: tuple[dict[str, Any], ...]
    """Columns of ``face``, and under ``data`` the packed table; None where there is nothing."""


FILE_COLUMNS = {"path": str, "size": int, "mtime_ns": int, "digest": str, "settings": str, "reason": str}
FACE_COLUMNS: dict[str, type] = {
    "face_index": int, "instance": str, "coordinates": str, "family": str, "style": str, "version": str,
    "variable": int, "letters": int, "reason": str, "seconds": float, "spdx": str, "sell": str, "verdict": str,
    **dict.fromkeys(_SCALARS, float), "upem": int,
    "words": str, "missing": str, "notes": str, "style_features": bytes, "data": bytes,
    "script": str, "cap_height_of": str, "coverage": bytes,
}  # fmt: skip
"""What ``FileRows`` holds, with its types."""


def is_digest(text: str) -> bool:
    """Whether a text is a SHA-256 in hexadecimal digits: folders are named by it, and a catalogue is but data."""
    return re.fullmatch(r"[0-9a-f]{64}", text) is not None


def rows_of(record: FileRecord, settings: str, verdicts: dict[int, dict[str, Any]]) -> FileRows:
    """A record as rows; pure."""
    file = {
        "path": record.path, "size": record.size, "mtime_ns": record.mtime_ns, "digest": record.digest,
        "settings": settings, "reason": record.reason,
    }  # fmt: skip
    return FileRows(file, tuple(_row(face, verdicts.get(face.face_index, {})) for face in record.faces))


def _row(face: FaceRecord, verdict: dict[str, Any]) -> dict[str, Any]:
    row: dict[str, Any] = dict.fromkeys(FACE_COLUMNS) | {
        "face_index": face.face_index, "instance": face.instance, "coordinates": json.dumps(face.coordinates),
        "family": face.family, "style": face.style, "version": face.version, "variable": int(face.variable),
        "letters": face.letters, "reason": face.reason, "seconds": face.seconds, "coverage": to_bytes(face.covered),
    }  # fmt: skip
    row |= dict(zip(("spdx", "sell", "verdict"), _sell(verdict), strict=True))
    measures = face.measures
    if measures is not None:
        row |= {name: _number(getattr(measures, name)) for name in _SCALARS}
        row |= {
            "words": json.dumps([_rounded(asdict(w)) for w in measures.words]),
            "missing": measures.missing,
            "script": measures.script,
            "cap_height_of": measures.cap_height_of,
            "notes": json.dumps(measures.notes),
            "style_features": np.array(measures.style, dtype=np.float32).tobytes() or None,
            "data": zlib.compress(measures.table.to_bytes(), _PACKING),
        }
    return row


def _sell(verdict: dict[str, Any]) -> tuple[str, str, str]:
    return verdict.get("spdx") or "", verdict.get("verdict", "unknown"), json.dumps(verdict)


def _rounded(word: dict[str, Any]) -> dict[str, Any]:
    return {k: [round(x, 4) for x in v] if isinstance(v, tuple) else v for k, v in word.items()}


def _number(value: float) -> float | None:
    return None if math.isnan(value) else value


def plain(error: sqlite3.Error) -> str:
    """What SQLite means and what to do about it, for people."""
    text = str(error)
    told = {
        "not a database": "not a letterhold catalogue; name another file with --catalogue",
        "unable to open": "cannot be opened for this; name another file with --catalogue",
        "readonly": "may not be written; name another file with --catalogue",
        "locked": "in use by another scan; wait until it is done",
        "full": "the disk is full, what was done is kept; free some space and run the same command again",
        "disk I/O": "the disk does not take or give the data; check it and its free space, then run the command again",
        "malformed": "damaged; run 'letterhold health' to see what is left",
    }
    return next((words for mark, words in told.items() if mark in text), f"{text}; run 'letterhold health'")
