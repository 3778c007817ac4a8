"""Files of an address (``s3://bucket/fonts``): asked for, read and written; the only importer of ``fsspec``."""

from __future__ import annotations

import io
import os
import time
from collections.abc import Mapping
from typing import Any

from scanner.evidence import MAX_LISTED
from scanner.reasons import FileError

TRIES = 3
"""Times a store is asked before it counts as away; common practice, no source."""


# ── the library ─────────────────────────────────────────────────────────────────────────────────────────────────────


def check_address(address: str) -> None:
    """Raise FileError for a chained address and for one that bears a password."""
    if "::" in address:
        raise FileError(f"{address}: chained addresses are not read; unpack the fonts and give their folder")
    if ":" in address.partition("://")[2].partition("/")[0].rpartition("@")[0]:
        raise FileError(
            f"{address.partition('://')[0]}://…: a password in the address would be kept with it; leave it out here and"
            " set it where the store's own tools look for it"
        )


def opened(address: str) -> tuple[Any, str]:
    """The store of an address and its name there. Raises FileError."""
    check_address(address)
    try:
        import fsspec
    except ImportError as cause:
        reason = f"{address}: to read a store takes the extra `cluster`; pip install 'letterhold[cluster]'"
        raise FileError(reason) from cause
    try:
        fs, key = fsspec.url_to_fs(address, use_listings_cache=False)
    except ImportError as cause:
        raise FileError(f"{address}: {_line(cause)}; do so on every machine that scans") from cause
    except Exception as cause:  # every store's library raises its own
        raise FileError(f"{address}: cannot be used ({_line(cause)}); check the spelling") from cause
    return fs, str(key)


def asked(address: str, ask: Any) -> Any:
    """What a store answers. Raises FileError when it is away."""
    for attempt in range(TRIES):
        try:
            return ask()
        except FileNotFoundError as cause:
            raise FileError(f"{address}: nothing is there; check the spelling or give another address") from cause
        except Exception as cause:  # every store's library raises its own
            if attempt == TRIES - 1:
                raise FileError(
                    f"{address}: the store does not give it ({_line(cause)}); check the network and your rights, then"
                    " run the same command again: what was done is kept"
                ) from cause
            time.sleep(0.2 * 4**attempt)
    raise AssertionError


def _line(error: BaseException) -> str:
    return " ".join(str(error).split())[:160] or type(error).__name__


# ── folders and files ───────────────────────────────────────────────────────────────────────────────────────────────


def rest(url: str) -> str:
    return url.partition("://")[2].lstrip("/")


def size_of(facts: Mapping[str, Any]) -> int:
    """A file's size as the store gives it, -1 where it gives none."""
    size = facts.get("size")
    return -1 if size is None else int(size)


def entries(fs: Any, folder: str, may_be_shut: bool = False) -> tuple[list[tuple[str, int]], set[str]]:
    """Names and sizes of a folder's files, and the names of its folders; none of one that is shut, if it may be."""

    def listed() -> Any:
        try:
            return fs.ls(folder, detail=True)
        except PermissionError:
            if may_be_shut:  # rights often end at the fonts' own folder
                return []
            raise

    files, folders = [], set()
    for facts in asked(folder, listed)[:MAX_LISTED]:
        name = str(facts["name"]).rstrip("/").rpartition("/")[2]
        if facts.get("type", "file") == "file":
            files.append((name, size_of(facts)))
        else:
            folders.add(name)
    return sorted(files), folders


def names_in(address: str) -> list[str]:
    """Names of the files of one folder, sorted; none where there is no folder yet. Raises FileError."""
    fs, key = opened(address)
    return [n for n, _ in entries(fs, key)[0]] if asked(address, lambda: fs.isdir(key)) else []


class Ranges(io.RawIOBase):
    """A file of our own in a store, of which only what is read is fetched. Whatever is asked of it raises FileError."""

    def __init__(self, address: str) -> None:
        self._address, (self._fs, self._key) = address, opened(address)
        self._size = int(asked(address, lambda: self._fs.info(self._key)["size"]))
        self._at = 0

    def readable(self) -> bool:
        """It is."""
        return True

    def seekable(self) -> bool:
        """It is."""
        return True

    def seek(self, offset: int, whence: int = os.SEEK_SET, /) -> int:
        """Go to a byte, counted from the start, from here or from the end."""
        self._at = (0, self._at, self._size)[whence] + offset
        return self._at

    def read(self, size: int = -1, /) -> bytes:
        """So many bytes, or all that are left."""
        start, end = self._at, self._size if size < 0 else min(self._size, self._at + size)
        if start >= end:
            return b""
        self._at = end
        return bytes(asked(self._address, lambda: self._fs.cat_file(self._key, start=start, end=end)))


def write_whole(address: str, data: bytes) -> None:
    """Write a file of our own. Raises FileError.

    In an object store, as S3, it appears whole or not at all; on a file server a stop may leave a part of it.
    """
    fs, key = opened(address)
    asked(address, lambda: fs.pipe_file(key, data))
