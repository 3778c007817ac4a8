"""The catalogue on disk: SQLite, one writer. Rows are faces."""

from __future__ import annotations

import secrets
import sqlite3
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

from catalogue.errors import CatalogueError
from catalogue.store.connection import connect, demand_ours, demand_plain, reported
from catalogue.store.face import Face
from catalogue.store.reading import Reader
from catalogue.store.rows import FACE_COLUMNS, FILE_COLUMNS, FileRows, Sale, as_stored, rows_of, seals_of
from catalogue.store.schema import APPLICATION_ID, CREATE, FILE, SCHEMA, STATEMENTS, blob_seal, listed, seal
from scanner.records import FileRecord

__all__ = ["CatalogueError", "Face", "Store"]


class Store(Reader):
    """An open catalogue. ``create`` makes a new one where there is none; without it a missing file is an error."""

    def __init__(self, path: Path, create: bool = False) -> None:
        if not demand_plain(path):
            if not create:
                raise CatalogueError(f"{path}: no catalogue there yet; run 'letterhold scan FOLDER' first")
            path.parent.mkdir(parents=True, exist_ok=True)
        super().__init__(path, connect(path, "rwc" if create else "ro"))
        try:
            with reported(path):
                self._db.execute("PRAGMA foreign_keys = ON")
                # With WAL a power cut may cost the last files, which are then measured again, and nothing more; the
                # writer does not wait for the disk at every file.
                self._db.execute("PRAGMA synchronous = NORMAL")
                self._check(create)
        except BaseException:
            self._db.close()  # nobody else can
            raise

    def finish(self) -> None:
        """Put the write-ahead log into the file, so that it stands alone."""
        with reported(self.path):
            self._db.execute("PRAGMA wal_checkpoint(TRUNCATE)")
            self._db.execute("PRAGMA journal_mode = DELETE")

    def _check(self, create: bool) -> None:
        (mark,) = self._db.execute("PRAGMA application_id").fetchone()
        (version,) = self._db.execute("PRAGMA user_version").fetchone()
        (tables,) = self._db.execute("SELECT count(*) FROM sqlite_master").fetchone()
        if tables == 0 and mark == 0 and create:
            self._db.execute("PRAGMA journal_mode = WAL")
            # Random, so that what was derived from an earlier catalogue of this name is never taken for this one's.
            marks = f"INSERT INTO stamp VALUES ({secrets.randbits(48)}, 0);"
            marks += f"PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {SCHEMA};"
            # One transaction: whoever is stopped here leaves an empty file, which is as good as none.
            self._db.executescript(f"BEGIN; {CREATE} {marks} COMMIT;")
            return
        demand_ours(self._db, self.path)
        if version != SCHEMA:
            raise CatalogueError(
                f"{self.path}: made by another version (schema {version}, here {SCHEMA}); move it away and scan again"
            )
        self._demand({sql for (sql,) in self._rows("SELECT sql FROM sqlite_master") if sql} == STATEMENTS)

    @contextmanager
    def _writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction."""
        with reported(self.path), self._db:
            yield self._db

    def put(self, record: FileRecord, settings: str, verdicts: dict[int, dict[str, Any]] | None = None) -> None:
        """Write one file with its faces, replacing what stood there; one transaction, so a stop loses nothing done.

        ``verdicts`` holds the licence verdict of each face index, in its JSON form.
        """
        self.put_rows([rows_of(record, settings, verdicts or {})])

    def put_rows(self, files: Iterable[FileRows]) -> None:
        """Write files whose rows were made elsewhere, all in one transaction."""
        with self._writing() as db:
            db.execute("UPDATE stamp SET value = value + 1")
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
        file = as_stored(rows.file, FILE_COLUMNS) | {"faces": len(rows.faces)}
        file_id = self._insert("file", file | {"seal": seal(*(file[name] for name in FILE))})
        for face in rows.faces:
            row = as_stored(face, FACE_COLUMNS)
            data = row.pop("data")
            # A face keeps its id over a rescan, so that names in scripts and links go on working.
            face_id = face.get("id") or kept.get(f"{row['face_index']}|{row['instance']}")
            face_id = self._insert("face", row | seals_of(row) | {"file_id": file_id, "id": face_id})
            if data is not None:
                self._insert("measure", {"face_id": face_id, "data": data, "seal": blob_seal(data)})
        self._db.execute("UPDATE stamp SET faces = faces + ?", (len(rows.faces) - len(kept),))

    def _insert(self, table: str, row: Mapping[str, Any]) -> int | None:
        marks = ", ".join("?" * len(row))
        return self._db.execute(f"INSERT INTO {table} ({', '.join(row)}) VALUES ({marks})", (*row.values(),)).lastrowid

    def move(self, old: str, new: str, size: int, mtime_ns: int) -> None:
        """Note that an unchanged file has another path now."""
        file = dict(zip(FILE, self._one(f"SELECT {listed(FILE)} FROM file WHERE path = ?", (old,)), strict=True))
        file |= {"path": new, "size": size, "mtime_ns": mtime_ns}
        with self._writing() as db:
            db.execute(
                "UPDATE file SET path = ?, size = ?, mtime_ns = ?, seal = ? WHERE path = ?",
                (new, size, mtime_ns, seal(*file.values()), old),
            )

    def drop(self, paths: Iterable[str]) -> None:
        """Forget files that are gone."""
        gone = [(p,) for p in paths]
        if not gone:
            return
        with self._writing() as db:
            count = "(SELECT count(*) FROM face WHERE file_id = (SELECT id FROM file WHERE path = ?))"
            db.execute("UPDATE stamp SET value = value + 1")
            db.executemany(f"UPDATE stamp SET faces = faces - {count}", gone)
            db.executemany("DELETE FROM file WHERE path = ?", gone)

    def judge(self, path: str, verdicts: dict[int, dict[str, Any]]) -> None:
        """Replace the licence verdicts of one file's faces."""
        faces = self._rows(
            "SELECT face.id, face_index, style_group, group_support FROM face JOIN file ON file.id = file_id"
            " WHERE path = ?",
            (path,),
        )
        with self._writing() as db:
            db.execute("UPDATE stamp SET value = value + 1")
            for face_id, index, group, support in faces:
                sale = Sale.of(verdicts[index])
                db.execute(
                    "UPDATE face SET spdx = ?, sell = ?, verdict = ?, decided_seal = ?, verdict_seal = ? WHERE id = ?",
                    (
                        sale.spdx, sale.sell, sale.verdict, seal(sale.spdx, sale.sell, group, support),
                        seal(sale.verdict), face_id,
                    ),
                )  # fmt: skip

    def put_groups(self, decided: dict[int, tuple[str, str]]) -> None:
        """Write the style group of faces and what speaks for it, by id."""
        sold = self._rows("SELECT id, spdx, sell FROM face")
        with self._writing() as db:
            db.executemany(
                "UPDATE face SET style_group = ?, group_support = ?, decided_seal = ? WHERE id = ?",
                [
                    (*decided[face_id], seal(spdx, sell, *decided[face_id]), face_id)
                    for face_id, spdx, sell in sold
                    if face_id in decided
                ],
            )

    def put_groups_model(self, text: str) -> None:
        """Keep a model of style groups that was fitted to this catalogue; an empty text forgets it."""
        with self._writing() as db:
            db.execute("DELETE FROM groups_model")
            if text:
                db.execute("INSERT INTO groups_model VALUES (?, ?)", (text, seal(text)))
