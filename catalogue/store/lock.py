"""The lock of a catalogue: one scan at a time."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from catalogue.errors import CatalogueError
from catalogue.store.connection import demand_plain
from scanner.locks import try_lock

_SAFELY = getattr(os, "O_CLOEXEC", 0) | getattr(os, "O_NOFOLLOW", 0)
"""Not handed on to children, no link followed; systems that know neither open files so anyway."""


@contextmanager
def only_scan(target: Path) -> Iterator[None]:
    """Hold the lock file next to a catalogue: two scans at once would measure everything twice.

    Readers, such as the page, are not kept out. The lock goes with the process that holds it, however that ends; the
    empty file stays. Raises CatalogueError when another scan holds it or the folder cannot be written.
    """
    demand_plain(target)
    path = target.with_name(target.name + ".lock")
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        handle = os.open(path, os.O_RDWR | os.O_CREAT | _SAFELY, 0o644)
    except OSError as cause:
        reason = (cause.strerror or "not possible").lower()
        raise CatalogueError(f"{target}: cannot be written ({reason}); name another file with --catalogue") from cause
    try:
        if not try_lock(handle):
            raise CatalogueError(f"{target}: another scan is writing it; wait until that one is done")
        yield
    finally:
        os.close(handle)
