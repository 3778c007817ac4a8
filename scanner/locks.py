"""Locks on open files that go with the process that holds them, however that ends, on every system."""

from __future__ import annotations

import os
import sys
from contextlib import suppress

import psutil

if sys.platform == "win32":  # pragma: no cover - written for Windows, not run there yet
    import msvcrt
else:
    try:
        import fcntl
    except ImportError:  # a system without either; the tests of the portable engine play one
        fcntl = None  # type: ignore[assignment]


def try_lock(handle: int) -> bool:
    """Lock an open file for this process alone, without waiting; False where another process holds it.

    Raises OSError where the file system knows no locks.
    """
    if sys.platform == "win32":  # pragma: no cover
        try:
            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True
    if fcntl is None:
        return _mark_as_ours(handle)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        return False
    return True


_held: dict[tuple[int, int], int] = {}
"""Handle by which this process has marked a file (device, number) as its own."""


def _mark_as_ours(handle: int) -> bool:
    """Write into the file who holds it: a process by its number and start. Two at the same instant may both succeed."""
    facts = os.fstat(handle)
    file = (facts.st_dev, facts.st_ino)
    os.lseek(handle, 0, os.SEEK_SET)
    with suppress(ValueError, psutil.Error):
        pid, start = os.read(handle, 100).decode("ascii", "replace").split()
        other = int(pid) != os.getpid()
        if psutil.Process(int(pid)).create_time() == float(start) and (other or _still_open(file, handle)):
            return False
    _held[file] = handle
    os.lseek(handle, 0, os.SEEK_SET)
    os.truncate(handle, 0)
    os.write(handle, f"{os.getpid()} {psutil.Process().create_time()!r}".encode())
    return True


def _still_open(file: tuple[int, int], handle: int) -> bool:
    """Whether the handle that holds a file, other than this one, has not been closed."""
    before = _held.get(file, handle)
    with suppress(OSError):
        facts = os.fstat(before)
        return before != handle and (facts.st_dev, facts.st_ino) == file
    return False
