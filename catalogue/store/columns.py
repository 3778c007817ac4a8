"""The stored measures of all faces as one array, mapped from a file next to the catalogue.

A ranking asks every face for the same few letters and pairs. So the file holds one row a letter or pair and one column
a face: a name reads some hundred rows and leaves the rest on the disk. The catalogue stays the truth: the file carries
its stamp, is made again when the catalogue has changed or a checksum fails, and may be deleted at any time.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import struct
import tempfile
import zlib
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from catalogue.errors import CatalogueError
from catalogue.store.connection import DAMAGED
from catalogue.store.database import Store
from catalogue.store.schema import SCALARS, SCHEMA
from scanner.records import ABSENT, STEP_EM, table_shapes

Array = NDArray[np.float64]

STORED_FACTS = ("cap_height_em", "x_height_em", "contextual", "joining", "sale_order")
FACTS = (*STORED_FACTS, "design")
"""Numbers of a face that a ranking needs besides its table. ``design`` is the least number of the faces whose table and
other measures are the same: files of one design, as TTF, OTF and WOFF2, hinted or not, in several packages."""

_ALIKE = tuple(name for name in SCALARS if name != "upem")
"""Measures that files of one design share besides their tables."""

_MAGIC = b"LHCOLS\0\2"
_HEAD = struct.Struct("<8sIIqQQ")
"""Magic, schema, checksum of the facts, stamp of the catalogue, faces, rows. Then come the facts: ids, numbers of faces
and a checksum for each row; then the rows.
"""
_AT_ONCE = 512
"""Faces turned at a time when the file is made: 8 MB of tables."""


class Columns:
    """Measures of many faces, in the order of ``ids``. Read only."""

    def __init__(
        self,
        ids: NDArray[np.int64],
        facts: NDArray[np.float64],
        rows: NDArray[np.uint16],
        seals: NDArray[np.uint32] | None = None,
        again: Callable[[], Columns] | None = None,
    ) -> None:
        self.ids = ids
        """(faces) numbers in the catalogue, ascending."""
        self._facts = facts
        self._rows = rows
        self._seals = seals
        """(rows) checksums; None where the rows never were in a file."""
        self._again = again
        """Makes the columns again when a checksum fails."""
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
        raw = self._sound(wanted)
        values = np.where(raw == ABSENT, np.nan, raw * STEP_EM)
        return values.reshape(len(places), *rest, len(self.ids))

    def _sound(self, wanted: NDArray[np.intp]) -> NDArray[np.uint16]:
        """Rows as they were written; of a file damaged since, the rows of a new one."""
        raw = self._rows[wanted]
        if self._seals is None or self._again is None or _sealed(raw) == self._seals[wanted].tolist():
            return raw
        fresh = self._again()
        if not np.array_equal(fresh.ids, self.ids):
            raise CatalogueError("the catalogue has changed while it was read; run the command again")
        self._rows, self._seals = fresh._rows, fresh._seals
        return self._rows[wanted]


def _sealed(rows: NDArray[np.uint16]) -> list[int]:
    """Checksum of each row."""
    return [zlib.crc32(row) for row in rows]


def width() -> int:
    """Number of stored values of one face."""
    return sum(int(np.prod(s)) for s in table_shapes().values())


def load_columns(store: Store) -> Columns:
    """The columns of a catalogue; the file next to it is made (again) when it is missing, old or damaged.

    Where it cannot be written (a read-only folder, a full disk) the columns are held in memory instead.
    """
    found = _mapped(store.path, store.stamp())
    return _made(store) if found is None else found


def _made(store: Store) -> Columns:
    try:
        _write(columns_path(store.path), store)
    except OSError:
        return _in_memory(store)
    return _mapped(store.path, store.stamp()) or _in_memory(store)


def _made_again(catalogue: Path) -> Columns:
    with Store(catalogue) as store:
        return _made(store)


def columns_path(catalogue: Path) -> Path:
    """Where the file lies."""
    return catalogue.with_name(catalogue.name + ".columns")


def _mapped(catalogue: Path, stamp: int) -> Columns | None:
    """The columns in the file, None when they are not those of this state of the catalogue or the facts are damaged."""
    path = columns_path(catalogue)
    try:
        if not path.is_file():  # to open a pipe would wait for ever
            return None
        with open(path, "rb") as file:
            head = file.read(_HEAD.size)
            size = os.fstat(file.fileno()).st_size
    except OSError:
        return None
    if len(head) < _HEAD.size:
        return None
    magic, schema, check, found, count, rows = _HEAD.unpack(head)
    if (magic, schema, found, rows) != (_MAGIC, SCHEMA, stamp, width()):
        return None
    ends = _ends(count)
    if size != ends[-1] + 2 * rows * count:
        return None
    if count == 0:
        return _empty()
    data = np.memmap(path, mode="r", dtype=np.uint8)
    if zlib.crc32(data[_HEAD.size : ends[-1]].tobytes()) != check:
        return None
    return Columns(
        data[_HEAD.size : ends[0]].view(np.int64),
        data[ends[0] : ends[1]].view(np.float64).reshape(len(FACTS), count),
        data[ends[2] :].view(np.uint16).reshape(rows, count),
        data[ends[1] : ends[2]].view(np.uint32),
        partial(_made_again, catalogue),
    )


def _ends(count: int) -> list[int]:
    """Where ids, facts and checksums of ``count`` faces end."""
    ids = _HEAD.size + 8 * count
    facts = ids + 8 * len(FACTS) * count
    return [ids, facts, facts + 4 * width()]


def _empty() -> Columns:
    return Columns(np.empty(0, np.int64), np.empty((len(FACTS), 0)), np.empty((width(), 0), np.uint16))


def _write(path: Path, store: Store) -> None:
    with store.unchanging():
        _write_state(path, store)


def _write_state(path: Path, store: Store) -> None:
    stamp = store.stamp()
    ids, facts, alike = _facts(store)
    handle, temporary = tempfile.mkstemp(dir=path.parent, prefix=".letterhold-")
    try:
        with os.fdopen(handle, "wb") as file:
            at = _ends(len(ids))[-1]
            _reserve(file, at + 2 * width() * len(ids))
            seals = np.zeros(width(), np.uint32)
            if len(ids):
                rows = np.memmap(temporary, mode="r+", dtype=np.uint16, offset=at, shape=(width(), len(ids)))
                facts = np.vstack([facts, _designs(ids, alike, _fill(rows, store))])
                seals[:] = _sealed(rows)
                rows.flush()
                del rows
            body = ids.tobytes() + facts.tobytes() + seals.tobytes()
            file.seek(0)
            file.write(_HEAD.pack(_MAGIC, SCHEMA, zlib.crc32(body), stamp, len(ids), width()) + body)
        os.replace(temporary, path)
    except BaseException:
        with contextlib.suppress(OSError):
            os.unlink(temporary)
        raise


def _facts(store: Store) -> tuple[NDArray[np.int64], Array, Array]:
    """Numbers of the faces, their ``STORED_FACTS`` and what is ``_ALIKE`` in files of one design."""
    ids, values = store.facts((*STORED_FACTS, *_ALIKE))
    return ids, values[: len(STORED_FACTS)], values[len(STORED_FACTS) :]


def _fill(rows: NDArray[np.uint16], store: Store) -> list[bytes]:
    """Write the stored tables into an array (rows, faces); returns a digest of each table.

    Raises CatalogueError when they are not as many.
    """
    digests: list[bytes] = []
    for start, block in _blocks(store, rows.shape[1]):
        rows[:, start : start + len(block)] = block.T
        digests += [hashlib.blake2b(table, digest_size=16).digest() for table in block]
    if len(digests) != rows.shape[1]:
        raise CatalogueError(f"{store.path}: {DAMAGED}")
    return digests


def _designs(ids: NDArray[np.int64], alike: Array, digests: Sequence[bytes]) -> Array:
    """(faces) the least number of those with the same table and measures."""
    first: dict[tuple[bytes, bytes], int] = {}
    keys = zip(digests, map(bytes, np.ascontiguousarray(alike.T)), strict=True)
    return np.array([first.setdefault(key, k) for k, key in zip(ids.tolist(), keys, strict=True)], dtype=np.float64)


def _reserve(file: BinaryIO, size: int) -> None:
    """Give the file its size and its place on the disk: a mapped page without one ends the process on a full disk."""
    if hasattr(os, "posix_fallocate") and size:
        file.flush()
        os.posix_fallocate(file.fileno(), 0, size)
    else:
        file.truncate(size)


def _in_memory(store: Store) -> Columns:
    with store.unchanging():
        ids, facts, alike = _facts(store)
        rows = np.empty((width(), len(ids)), np.uint16)
        designs = _designs(ids, alike, _fill(rows, store))
    return Columns(ids, np.vstack([facts, designs]), rows)


def _blocks(store: Store, count: int) -> Iterator[tuple[int, NDArray[np.uint16]]]:
    """Stored tables, some hundred faces at a time: first place and an array (faces, rows)."""
    start = 0
    for tables in store.tables(_AT_ONCE):
        block = np.frombuffer(b"".join(tables), dtype=np.uint16)
        if len(block) != width() * len(tables) or start + len(tables) > count:
            raise CatalogueError(f"{store.path}: {DAMAGED}")
        yield start, block.reshape(len(tables), width())
        start += len(tables)
