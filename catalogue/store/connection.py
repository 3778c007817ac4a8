"""A connection to a catalogue file, and what SQLite's errors mean in words."""

from __future__ import annotations

import shutil
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from catalogue.errors import CatalogueError
from catalogue.store.schema import APPLICATION_ID
from scanner.workers.scratch import Scratch

BUSY_S = 10
"""Seconds to wait for another writer."""

_MEANING = {
    "not a database": "not a letterhold catalogue; name another file with --catalogue",
    "unable to open": "cannot be opened for this; name another file with --catalogue",
    "readonly": "may not be written; name another file with --catalogue",
    "locked": "in use by another scan; wait until it is done",
    "full": "the disk is full, what was done is kept; free some space and run the same command again",
    "disk I/O": "the disk does not take or give the data; check it and its free space, then run the command again",
}
"""A part of SQLite's message, and what to say instead."""

DAMAGED = "the catalogue is damaged; run 'letterhold health --repair' with it, then scan again"


def plain(error: sqlite3.Error) -> str:
    """What an error of SQLite means and what to do about it; any that is not known comes from damage."""
    return next((words for mark, words in _MEANING.items() if mark in str(error)), DAMAGED)


@contextmanager
def reported(path: Path) -> Iterator[None]:
    """Turn what SQLite raises within into a CatalogueError."""
    try:
        yield
    except (sqlite3.Error, OverflowError, UnicodeDecodeError) as cause:  # damaged names make SQLite's own texts odd
        words = plain(cause) if isinstance(cause, sqlite3.Error) else DAMAGED
        raise CatalogueError(f"{path}: {words}") from cause


def demand_plain(path: Path) -> bool:
    """Whether there is a file. Raises CatalogueError for a folder, a device or a pipe: to open one can block."""
    try:
        mode = path.stat().st_mode
    except FileNotFoundError:
        return False
    except NotADirectoryError as cause:
        raise CatalogueError(f"{path}: lies below a file; name another file with --catalogue") from cause
    if not stat.S_ISREG(mode):
        raise CatalogueError(f"{path}: not a plain file; name another file with --catalogue")
    return True


def connect(path: Path, mode: str) -> sqlite3.Connection:
    """Open a file in mode "ro", "rw" or "rwc" (made where it is not there). Raises CatalogueError.

    Where the folder may not be written, SQLite cannot make the files that a write-ahead log needs. Then the file is
    read as one that nobody changes; with a log that is not empty, a copy of both is.
    """
    with reported(path):
        db = _opened(f"{_address(path)}?mode={mode}")
        try:
            # Asks for the first page: only now does SQLite look at the file.
            db.execute("SELECT count(*) FROM sqlite_master").fetchone()
        except sqlite3.OperationalError as cause:
            db.close()
            if mode != "ro" or not any(mark in str(cause) for mark in ("unable to open", "readonly")):
                raise
            return _unchanging(path)
        except BaseException:
            db.close()
            raise
    return db


def demand_ours(db: sqlite3.Connection, path: Path) -> None:
    """Raise CatalogueError unless the file bears our mark."""
    (mark,) = db.execute("PRAGMA application_id").fetchone()
    if mark != APPLICATION_ID:
        raise CatalogueError(f"{path}: not a letterhold catalogue; name another file with --catalogue")


def _opened(address: str) -> sqlite3.Connection:
    return sqlite3.connect(address, uri=True, timeout=BUSY_S)


def _address(path: Path) -> str:
    return path.absolute().as_uri()


def _unchanging(path: Path) -> sqlite3.Connection:
    log = path.with_name(path.name + "-wal")
    if not log.exists() or log.stat().st_size == 0:
        return _opened(f"{_address(path)}?mode=ro&immutable=1")
    with Scratch() as folder:
        for file in (path, log):
            shutil.copyfile(file, folder / file.name)
        db = _opened(f"{_address(folder / path.name)}?mode=rw")
        db.execute("SELECT count(*) FROM sqlite_master").fetchone()
        memory = sqlite3.connect(":memory:")
        db.backup(memory)
        db.close()
    return memory
