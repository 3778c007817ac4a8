"""The stored measures of all faces as one array, mapped from a file beside the catalogue.

A ranking asks every face for the same few letters and pairs. So the file holds one row a letter or pair and one column
a face: a name reads some hundred rows and leaves the rest on the disk. The catalogue stays the truth: the file carries
its stamp, is made again when the catalogue has changed, and may be deleted at any time.
"""

from __future__ import annotations

import contextlib
import os
import struct
import tempfile
from collections.abc import Iterator, Sequence
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from catalogue.store.database import SCHEMA, Store
from scanner.records import ABSENT, STEP_EM, table_shapes

Array = NDArray[np.float64]

FACTS = ("cap_height_em", "x_height_em", "contextual")
"""Numbers of a face that a ranking needs beside its table."""

_MAGIC = b"LHCOLS\0\0"
_HEAD = struct.Struct("<8sIIqQQ")
"""Magic, schema, spare, stamp of the catalogue, faces, rows."""
_AT_ONCE = 512
"""Faces turned at a time when the file is made: 8 MB of tables."""


class Columns:
    """Measures of many faces, in the order of ``ids``. Read only."""

    def __init__(self, ids: NDArray[np.int64], facts: NDArray[np.float64], rows: NDArray[np.uint16]) -> None:
        self.ids = ids
        """(faces) numbers in the catalogue, ascending."""
        self._facts = facts
        self._rows = rows
        self._start: dict[str, int] = {}
        at = 0
        for name, shape in table_shapes().items():
            self._start[name] = at
            at += int(np.prod(shape))

    def __len__(self) -> int:
        return len(self.ids)

    def fact(self, name: str) -> Array:
        """(faces) one of ``FACTS``; NaN where it was not measured."""
        return np.asarray(self._facts[FACTS.index(name)])

    def take(self, name: str, places: Sequence[tuple[int, ...]]) -> Array:
        """Values in em, shape (places, *rest, faces); NaN where nothing is stored.

        A place gives the leading indices into the array of that name; the indices left over form ``rest``.
        """
        shape = table_shapes()[name]
        depth = len(places[0]) if places else 1
        rest = shape[depth:]
        run = int(np.prod(rest))
        starts = [self._start[name] + int(np.ravel_multi_index(p, shape[:depth])) * run for p in places]
        wanted = np.array([s + k for s in starts for k in range(run)], dtype=np.intp)
        raw = self._rows[wanted]
        values = np.where(raw == ABSENT, np.nan, raw * STEP_EM)
        return values.reshape(len(places), *rest, len(self.ids))


def width() -> int:
    """Number of stored values of one face."""
    return sum(int(np.prod(s)) for s in table_shapes().values())


def load_columns(store: Store) -> Columns:
    """The columns of a catalogue; the file beside it is made (again) when it is missing or old.

    Where it cannot be written (a read-only folder, a full disk) the columns are held in memory instead.
    """
    path = columns_path(store.path)
    stamp = store.stamp()
    found = _mapped(path, stamp)
    if found is not None:
        return found
    try:
        _write(path, store)
    except OSError:
        return _in_memory(store)
    return _mapped(path, store.stamp()) or _in_memory(store)


def columns_path(catalogue: Path) -> Path:
    """Where the file lies."""
    return catalogue.with_name(catalogue.name + ".columns")


def _mapped(path: Path, stamp: int) -> Columns | None:
    try:
        with open(path, "rb") as file:
            head = file.read(_HEAD.size)
            size = os.fstat(file.fileno()).st_size
    except OSError:
        return None
    if len(head) < _HEAD.size:
        return None
    magic, schema, _, found, count, rows = _HEAD.unpack(head)
    facts_at = _HEAD.size + 8 * count
    rows_at = facts_at + 8 * len(FACTS) * count
    if (magic, schema, found, rows) != (_MAGIC, SCHEMA, stamp, width()) or size != rows_at + 2 * rows * count:
        return None
    if count == 0:
        return _empty()
    data = np.memmap(path, mode="r", dtype=np.uint8)
    return Columns(
        data[_HEAD.size : facts_at].view(np.int64),
        data[facts_at:rows_at].view(np.float64).reshape(len(FACTS), count),
        data[rows_at:].view(np.uint16).reshape(rows, count),
    )


def _empty() -> Columns:
    return Columns(np.empty(0, np.int64), np.empty((len(FACTS), 0)), np.empty((width(), 0), np.uint16))


def _write(path: Path, store: Store) -> None:
    with store.unchanging():
        _write_state(path, store)


def _write_state(path: Path, store: Store) -> None:
    stamp = store.stamp()
    ids, facts = store.facts(FACTS)
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".letterhold-")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(_HEAD.pack(_MAGIC, SCHEMA, 0, stamp, len(ids), width()))
            file.write(ids.tobytes())
            file.write(facts.tobytes())
            at = file.tell()
            _reserve(file, at + 2 * width() * len(ids))
        if len(ids):
            rows = np.memmap(temporary, mode="r+", dtype=np.uint16, offset=at, shape=(width(), len(ids)))
            for start, block in _blocks(store, len(ids)):
                rows[:, start : start + len(block)] = block.T
            rows.flush()
            del rows
        os.replace(temporary, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise


def _reserve(file: BinaryIO, size: int) -> None:
    """Give the file its size and its place on the disk: a mapped page without one ends the process on a full disk."""
    if hasattr(os, "posix_fallocate") and size:
        file.flush()
        os.posix_fallocate(file.fileno(), 0, size)
    else:
        file.truncate(size)


def _in_memory(store: Store) -> Columns:
    with store.unchanging():
        ids, facts = store.facts(FACTS)
        rows = np.empty((width(), len(ids)), np.uint16)
        for start, block in _blocks(store, len(ids)):
            rows[:, start : start + len(block)] = block.T
    return Columns(ids, facts, rows)


def _blocks(store: Store, count: int) -> Iterator[tuple[int, NDArray[np.uint16]]]:
    """Stored tables, some hundred faces at a time: first place and an array (faces, rows)."""
    start = 0
    for tables in store.tables(_AT_ONCE):
        block = np.frombuffer(b"".join(tables), dtype=np.uint16)
        if len(block) != width() * len(tables) or start + len(tables) > count:
            raise ValueError("the stored measures are of another version; move the catalogue away and scan again")
        yield start, block.reshape(len(tables), width())
        start += len(tables)
