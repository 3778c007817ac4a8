"""What can still be read of a damaged catalogue."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from catalogue.errors import CatalogueError
from catalogue.store.connection import connect, demand_ours, demand_plain, reported
from catalogue.store.reading import Reader
from catalogue.store.rows import FACE_COLUMNS, FILE_COLUMNS, FileRows, seals_of
from catalogue.store.schema import FILE, STATEMENTS, blob_seal, listed, seal

_SEALS = ("seal", "words_seal", "features_seal", "coverage_seal", "verdict_seal")


class Salvage(Reader):
    """A catalogue of any version that may be damaged, open to read.

    Raises CatalogueError when there is none, when it is not ours, or when nothing in it can be read.
    """

    def __init__(self, path: Path) -> None:
        if not demand_plain(path):
            raise CatalogueError(f"{path}: no catalogue there yet; run 'letterhold scan FOLDER' first")
        super().__init__(path, connect(path, "ro"))
        self.lost: list[str] = []
        """Paths, or where those cannot be read numbers, of files that ``files`` left out."""
        try:
            with reported(path):
                demand_ours(self._db, path)
        except BaseException:
            self.close()
            raise

    def version(self) -> int:
        """Number of the schema."""
        return int(self._one("PRAGMA user_version")[0])

    def broken_structure(self) -> bool:
        """Whether tables are missing, or SQLite finds pages or indices that do not belong together."""
        try:
            if {sql for (sql,) in self._rows("SELECT sql FROM sqlite_master") if sql} != STATEMENTS:
                return True
            return bool(self._one("PRAGMA integrity_check(1)") != ("ok",))
        except CatalogueError:
            return True

    def counts_agree(self) -> bool:
        """Whether there are as many faces as were written, and the model of the groups is sound."""
        try:
            self.groups_model()
            return bool(self._one("SELECT faces FROM stamp") == self._one("SELECT count(*) FROM face"))
        except CatalogueError:
            return False

    def files(self) -> Iterator[FileRows]:
        """Every file whose rows and blobs all pass their checksums, with the ids of its faces."""
        faces = self._faces_by_file()
        ids = self._ids("file")
        self.lost += [f"file {file_id}" for file_id in sorted(set(faces) - set(ids))]
        for file_id in ids:
            name = f"file {file_id}"
            try:
                found = self._rows(f"SELECT {listed(FILE)}, seal FROM file WHERE id = ?", (file_id,))
                if not found:
                    continue
                *values, known = found[0]
                self._demand(seal(*values) == known)
                file = dict(zip(FILE, values, strict=True))
                name = file["path"]
                own = faces.get(file_id, [])
                self._demand(file["faces"] == len(own))
                rows = FileRows({n: file[n] for n in FILE_COLUMNS}, tuple(map(self._face_row, own)))
            except CatalogueError:
                self.lost.append(name)
            else:
                yield rows

    def _faces_by_file(self) -> dict[int, list[int]]:
        found: dict[int, list[int]] = defaultdict(list)
        for face_id in self._ids("face"):
            try:
                for (file_id,) in self._rows("SELECT file_id FROM face WHERE id = ?", (face_id,)):
                    found[file_id].append(face_id)
            except CatalogueError:
                continue  # its file then lacks a face
        return found

    def _face_row(self, face_id: int) -> dict[str, Any]:
        names = [name for name in FACE_COLUMNS if name != "data"]
        values = self._one(f"SELECT {listed(_SEALS)}, {listed(names)} FROM face WHERE id = ?", (face_id,))
        row = dict(zip(names, values[len(_SEALS) :], strict=True))
        seals = seals_of(row)
        self._demand(list(values[: len(_SEALS)]) == [seals[name] for name in _SEALS])
        blobs = self._rows("SELECT data, seal FROM measure WHERE face_id = ?", (face_id,))
        self._demand(len(blobs) == (not row["reason"]))
        self._demand(all(isinstance(data, bytes) and blob_seal(data) == known for data, known in blobs))
        return row | {"id": face_id, "data": blobs[0][0] if blobs else None}

    def _ids(self, table: str) -> list[int]:
        """Ids of a table; of a damaged one those that can be reached from either end, and every number between."""
        reached: set[int] = set()
        whole = True
        for order in ("ASC", "DESC"):
            try:
                with reported(self.path):
                    for (row_id,) in self._db.execute(f"SELECT id FROM {table} NOT INDEXED ORDER BY id {order}"):
                        reached.add(row_id)
            except CatalogueError:
                whole = False
        if whole or not reached:
            return sorted(reached)
        return list(range(max(0, min(reached)), min(max(reached), max(0, min(reached)) + MOST_IDS) + 1))


MOST_IDS = 1_000_000
"""Numbers tried in a damaged table: a damaged number may be any."""
