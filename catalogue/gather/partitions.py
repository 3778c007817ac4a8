"""Partitions: records as Parquet files that many writers lay into one folder or store, and their merging; the only
importer of ``pyarrow``.

A partition holds the rows of some files in the very form of the catalogue's tables, one row a face (a file without
faces has one row too), so that merging only copies. Each appears whole, in a store as far as that one sees to it, under
a name of its own that begins with the time, so a later record of a file comes after an earlier one. A batch that a
cluster does twice gives two partitions with the same rows; merging takes each file once.
"""

from __future__ import annotations

import io
import os
import secrets
import time
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from pathlib import Path
from typing import Any

from catalogue.atomic import write_file
from catalogue.errors import CatalogueError
from catalogue.store.database import Store
from catalogue.store.lock import only_scan
from catalogue.store.rows import FACE_COLUMNS, FILE_COLUMNS, FileRows, FileState, is_digest, rows_of
from catalogue.store.rules import rules
from catalogue.store.schema import SCHEMA
from catalogue.style.grouping import regroup
from scanner.files import is_address
from scanner.records import FileRecord

ENDING = ".parquet"
_FILE = "file_"
"""Before the names of a file's columns."""
_SCHEMA = b"letterhold"
"""Key of the schema's number in a partition."""
_RULES = b"letterhold rules"
"""Key of the version of the measures and of the licence rules."""


def write_part(records: Sequence[FileRecord], settings: str, parts: str) -> list[FileRecord]:
    """Write one partition into a folder or an address; the records without their measures."""
    arrow, parquet = _library()
    rows = []
    for record in records:
        made = rows_of(record, settings, record.verdicts)
        file = {f"{_FILE}{name}": value for name, value in made.file.items()}
        rows += [file | face for face in made.faces or (dict.fromkeys(FACE_COLUMNS),)]
    out = io.BytesIO()
    parquet.write_table(
        arrow.Table.from_pylist(rows, schema=_schema(arrow)), out, compression="zstd", write_page_checksum=True
    )
    name = f"{time.time_ns():020d}-{secrets.token_hex(4)}{ENDING}"
    if is_address(parts):
        from scanner.workers.stores import write_whole

        write_whole(f"{parts.rstrip('/')}/{name}", out.getvalue())
    else:
        os.makedirs(parts, exist_ok=True)
        write_file(Path(parts, name), out.getvalue())
    return [replace(r, faces=tuple(replace(f, measures=None) for f in r.faces), verdicts={}) for r in records]


def known_in(parts: str) -> dict[str, FileState]:
    """State of every file in the partitions, by path; of several records that of the one written last."""
    columns = [f"{_FILE}{name}" for name in ("path", *FileState._fields)]
    known = {}
    for name in _names(parts):
        for path, *state in zip(*_read(parts, name, columns).to_pydict().values(), strict=True):
            known[path] = FileState(*state)
    return known


def merge_parts(parts: str, catalogue: Path, progress: Any = None) -> dict[str, Any]:
    """Put every partition into a catalogue; returns its counts. Files that it holds in the same state are skipped.

    Of several records of a file in the partitions the one written last counts. It replaces the catalogue's, unless that
    one has the same settings and a newer time of the file. Stores give no times that can be compared: there the
    partition's counts. Raises CatalogueError when there are no partitions or one cannot be used, as one measured under
    other rules; what was merged before it stays.
    """
    start = time.monotonic()
    names = _names(parts)
    if not names:
        raise CatalogueError(f"{parts}: no partitions there; write some with 'letterhold scan FOLDER --parts {parts}'")
    with only_scan(catalogue), Store(catalogue, create=True) as store:
        latest = known_in(parts)
        known = store.known()
        merged = 0
        for name in progress(names, len(names), "merging") if progress else names:
            new = list(_new(_files(_read(parts, name)), latest, known, f"{parts.rstrip('/')}/{name}"))
            if new:
                store.put_rows(new)
            merged += len(new)
        regroup(store)
        counts: dict[str, Any] = store.counts()
    return counts | {
        "merged": merged, "partitions": len(names), "seconds": round(time.monotonic() - start, 2),
        "catalogue": str(catalogue),
    }  # fmt: skip


def _new(
    files: Iterable[FileRows], latest: Mapping[str, FileState], known: dict[str, FileState], where: str
) -> Iterator[FileRows]:
    """What a partition holds that the catalogue has not; it is then noted in ``known``."""
    for rows in files:
        digest, path = rows.file["digest"], rows.file["path"]
        if digest and not is_digest(digest):  # a file that could not be read has none
            raise CatalogueError(f"{where}: holds a malformed digest; remove it and scan again")
        state = FileState(*(rows.file[name] for name in FileState._fields))
        if latest[path] == state != known.get(path) and not _outdated(path, state, known.get(path)):
            known[path] = state
            yield rows


def _outdated(path: str, state: FileState, there: FileState | None) -> bool:
    """Whether the catalogue has the file as it was later."""
    if there is None or is_address(path) or state.settings != there.settings:
        return False
    return state.mtime_ns < there.mtime_ns


def _files(table: Any) -> Iterator[FileRows]:
    """Files with their faces, in the order of a partition."""
    for _, group in groupby(table.to_pylist(), key=lambda row: row[f"{_FILE}path"]):
        rows = list(group)
        file = {name: rows[0][f"{_FILE}{name}"] for name in FILE_COLUMNS}
        faces = [{name: row[name] for name in FACE_COLUMNS} for row in rows if row["face_index"] is not None]
        yield FileRows(file, tuple(faces))


def _names(parts: str) -> list[str]:
    if is_address(parts):
        from scanner.workers.stores import names_in

        found = names_in(parts)
    else:
        found = sorted(os.listdir(parts)) if os.path.isdir(parts) else []
    return [n for n in found if n.endswith(ENDING)]


def _read(parts: str, name: str, columns: list[str] | None = None) -> Any:
    """One partition as a table, all of it or some columns."""
    arrow, parquet = _library()
    place = f"{parts.rstrip('/')}/{name}"
    try:
        if is_address(parts):
            from scanner.workers.stores import Ranges

            source: Any = Ranges(place)
        else:
            source = place
        with parquet.ParquetFile(
            source, pre_buffer=True, page_checksum_verification=True
        ) as file:  # what lies together is one question to a store
            schema, marks = file.schema_arrow, _schema(arrow).metadata
            found = {key: (schema.metadata or {}).get(key, b"none") for key in marks}
            if found == marks and schema.equals(_schema(arrow)):
                return file.read(columns)
    except (arrow.ArrowException, OSError) as cause:
        raise CatalogueError(f"{place}: cannot be read as a partition; remove it and scan again") from cause
    key = next((key for key in marks if found[key] != marks[key]), _SCHEMA)
    what = "made by another version (schema" if key == _SCHEMA else "measured under other rules (version"
    raise CatalogueError(f"{place}: {what} {_short(found[key])}, here {_short(marks[key])}); remove it and scan again")


def _short(mark: bytes) -> str:
    return mark.decode("ascii", "replace")[:20]


def _schema(arrow: Any) -> Any:
    types = {str: arrow.string(), int: arrow.int64(), float: arrow.float64(), bytes: arrow.binary()}
    fields = [arrow.field(f"{_FILE}{name}", types[kind], nullable=False) for name, kind in FILE_COLUMNS.items()]
    fields += [arrow.field(name, types[kind]) for name, kind in FACE_COLUMNS.items()]
    return arrow.schema(fields, metadata={_SCHEMA: str(SCHEMA).encode(), _RULES: rules().encode()})


def _library() -> tuple[Any, Any]:
    try:
        import pyarrow
        import pyarrow.parquet
    except ImportError as cause:
        raise CatalogueError("partitions need the extra `cluster`; pip install 'letterhold[cluster]'") from cause
    return pyarrow, pyarrow.parquet
