"""Temporary folders that the next start clears away when the process that made them ended without doing so.

A living process holds a lock on a file in its folder, and the lock goes with the process however that ends, with the
machine too. So a folder that bears our name, belongs to this user and has that file with a free lock is ours and left
over. Whatever lacks one of these is left alone.
"""

from __future__ import annotations

import os
import re
import shutil
import stat
import sys
import tempfile
import weakref
from contextlib import suppress
from functools import cache
from pathlib import Path
from types import TracebackType

from scanner.locks import try_lock

_LOCK = ".letterhold-in-use"
_CLOSED_IN_CHILDREN = getattr(os, "O_CLOEXEC", 0)
_NAME = re.compile(r"\.?letterhold-[a-z0-9_]{8}")


class Scratch:
    """A new folder in ``parent`` (none: the system's temporary one), gone with this object or at its closing.

    >>> with Scratch() as folder:
    ...     _ = (folder / "a.txt").write_text("a")
    >>> folder.exists()
    False
    """

    def __init__(self, parent: Path | None = None) -> None:
        home = Path(tempfile.gettempdir()) if parent is None else parent
        clear_left(home)
        while True:
            self.path = Path(tempfile.mkdtemp(prefix=".letterhold-" if parent else "letterhold-", dir=home))
            handle = os.open(self.path / _LOCK, os.O_RDWR | os.O_CREAT | os.O_EXCL | _CLOSED_IN_CHILDREN, 0o600)
            if try_lock(handle) and (self.path / _LOCK).exists():
                break
            os.close(handle)  # a process that clears away found it before it was locked: another one
        self._end = weakref.finalize(self, _remove, self.path, handle)

    def close(self) -> None:
        """Remove it."""
        self._end()

    def __enter__(self) -> Path:
        return self.path

    def __exit__(self, kind: type[BaseException] | None, error: BaseException | None, at: TracebackType | None) -> None:
        self.close()


def _remove(folder: Path, handle: int) -> None:
    if sys.platform == "win32":  # an open file cannot be removed there
        os.close(handle)
        shutil.rmtree(folder, ignore_errors=True)
    else:
        shutil.rmtree(folder, ignore_errors=True)
        os.close(handle)


@cache
def clear_left(home: Path) -> None:
    """Remove what dead processes left in a folder; once a process."""
    with suppress(OSError):
        for entry in os.scandir(home):
            if _NAME.fullmatch(entry.name):
                _clear(Path(entry.path))


def _clear(folder: Path) -> None:
    """Remove one folder if it is ours and left over."""
    with suppress(OSError):  # gone, another user's, or in use
        facts = folder.lstat()
        if not stat.S_ISDIR(facts.st_mode) or (hasattr(os, "geteuid") and facts.st_uid != os.geteuid()):
            return
        handle = os.open(folder / _LOCK, os.O_RDWR | _CLOSED_IN_CHILDREN | getattr(os, "O_NOFOLLOW", 0))
        try:
            left_over = try_lock(handle)
        except BaseException:
            os.close(handle)
            raise
        if left_over:
            _remove(folder, handle)
        else:
            os.close(handle)
