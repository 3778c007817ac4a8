"""Paths to font files: what is read, what is skipped and why. Reads the disk, trusts nothing on it."""

from __future__ import annotations

import errno
import os
import re
import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import islice
from pathlib import Path
from typing import TypeVar
from urllib.parse import unquote

from scanner.reasons import MOST_BYTES, MOST_FACES, MOST_TABLES, FileError, Reason

__all__ = [
    "MOST_ENTRIES", "SUFFIXES", "Beside", "FileError", "FontFile", "Source", "batches", "face_count",
    "find_fonts", "is_address", "place_of", "read_font", "shown_path",
]  # fmt: skip

SUFFIXES = frozenset({".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2"})
MAGIC = (b"\x00\x01\x00\x00", b"OTTO", b"true", b"ttcf", b"wOFF", b"wOF2")
"""First four bytes of the font files we read (OpenType and WOFF specifications)."""

T = TypeVar("T")

_READ = os.O_RDONLY | sum(getattr(os, name, 0) for name in ("O_NONBLOCK", "O_CLOEXEC", "O_BINARY"))
"""As bytes, without waiting, not handed on to children: what of these a system knows."""

MOST_ENTRIES = 200_000
_ADDRESS = re.compile(r"[A-Za-z][A-Za-z0-9+.-]+://")


@dataclass(frozen=True, slots=True)
class Beside:
    """What a folder of a store holds that may say a font's licence."""

    folder: str
    notes: tuple[tuple[str, int], ...]
    """Names below the folder, and sizes (-1: unknown), of files that may speak of a licence."""
    fonts: tuple[str, ...]
    """Names of the fonts in it."""


@dataclass(frozen=True, slots=True)
class Source:
    """Where a font comes from that is no file of this machine."""

    url: str
    root: str
    """The address that was given: nothing above it is looked at, unless it is the font's own."""
    beside: tuple[Beside, ...]


@dataclass(frozen=True, slots=True)
class FontFile:
    """An entry that may be a font, as the folder listing gave it; its size and time are 0 where it gives none."""

    path: Path
    """Of a font in a store: where its copy lies, once there is one."""
    size: int
    mtime_ns: int
    """Of a font in a store: a number that changes when the store says that it has changed."""
    source: Source | None = None

    @property
    def name(self) -> str:
        """The path or address under which a catalogue keeps it."""
        return self.source.url if self.source else shown_path(self.path)


def batches(items: Iterable[T], size: int) -> Iterator[tuple[T, ...]]:
    """The items in their order, so many at a time; they are asked for only as batches are taken.

    >>> list(batches("abcde", 2))
    [('a', 'b'), ('c', 'd'), ('e',)]
    """
    left = iter(items)
    while batch := tuple(islice(left, size)):
        yield batch


def is_address(text: str) -> bool:
    """Whether a text names a place in a store and not a path.

    >>> is_address("s3://bucket/fonts"), is_address("C:/fonts"), is_address("/mnt/fonts")
    (True, False, False)
    """
    return bool(_ADDRESS.match(text))


def place_of(text: str) -> Path | str:
    """What a person gave to be read: a path, or the address of a store as text.

    >>> place_of("fonts/a.ttf"), place_of("s3://bucket/fonts"), place_of("file:///srv/my%20fonts")
    (PosixPath('fonts/a.ttf'), 's3://bucket/fonts', PosixPath('/srv/my fonts'))
    """
    if text.lower().startswith("file://"):
        return Path(unquote(text[7:]))
    return text if is_address(text) else Path(text)


def find_fonts(paths: Iterable[Path]) -> Iterator[FontFile]:
    """Entries with a font's ending under the paths, each file once, in a stable order.

    Links to folders are not followed, so no loop is; a link to a file counts as that file. What is no plain file, and a
    folder that cannot be listed, come along: reading them says why they are no fonts. Raises FileError for a path
    that is not there.
    """
    seen: set[tuple[int, int]] = set()
    for path in paths:
        try:
            info = path.stat()
        except (OSError, ValueError) as cause:
            raise FileError(f"{shown_path(path)}: not found; check the spelling or give another folder") from cause
        if stat.S_ISDIR(info.st_mode):
            found = _walk(path)
        elif stat.S_ISREG(info.st_mode):
            found = iter([path])
        else:
            raise FileError(f"{shown_path(path)}: neither a folder nor a plain file; give a folder with fonts")
        for file in found:
            try:
                entry = file.stat()
            except OSError as cause:  # gone since the listing, a link that leads nowhere, a path beyond the limit
                if _too_long(cause) or os.path.lexists(file):
                    yield FontFile(file.absolute(), 0, 0)
                continue
            key = (entry.st_dev, entry.st_ino)
            if key not in seen:
                seen.add(key)
                plain = stat.S_ISREG(entry.st_mode)
                yield FontFile(file.absolute(), *((entry.st_size, entry.st_mtime_ns) if plain else (0, 0)))


def _walk(root: Path) -> Iterator[Path]:
    left = MOST_ENTRIES
    waiting = [str(root)]  # no recursion: folders may lie a thousand deep
    while waiting:
        folder = waiting.pop()
        deeper = []
        try:
            entries = _entries(folder, left + 1)
        except OSError:
            yield Path(folder)
            continue
        left -= len(entries)
        if left < 0:
            raise FileError(f"{shown_path(root)}: more than {MOST_ENTRIES} entries; scan its folders one by one")
        for name, is_folder in entries:
            if is_folder:
                deeper.append(os.path.join(folder, name))
            elif os.path.splitext(name)[1].lower() in SUFFIXES:
                yield Path(folder, name)
        waiting += reversed(deeper)


def _entries(folder: str, most: int) -> list[tuple[str, bool]]:
    """Names in a folder, sorted, and whether each is a folder. Raises OSError."""
    try:
        with os.scandir(folder) as listing:
            return sorted((e.name, e.is_dir(follow_symlinks=False)) for _, e in zip(range(most), listing))
    except OSError as cause:
        if not (_too_long(cause) and os.scandir in os.supports_fd):
            raise
    handle = _folder_handle(folder)
    try:
        with os.scandir(handle) as listing:
            return sorted((e.name, e.is_dir(follow_symlinks=False)) for _, e in zip(range(most), listing))
    finally:
        os.close(handle)


def _folder_handle(folder: str) -> int:
    """An open folder whose path is longer than the system takes: reached from the top, folder by folder."""
    handle = os.open("/", os.O_RDONLY | os.O_DIRECTORY)
    for name in os.path.abspath(folder).split("/")[1:]:
        try:
            below = os.open(name, os.O_RDONLY | os.O_DIRECTORY, dir_fd=handle)
        finally:
            os.close(handle)
        handle = below
    return handle


def _too_long(cause: OSError) -> bool:
    return cause.errno == errno.ENAMETOOLONG


def shown_path(path: Path | str) -> str:
    """A path as text that can be stored and printed: bytes that are no UTF-8 stand as escapes.

    >>> shown_path("caf\\udce9.ttf")
    'caf\\\\udce9.ttf'
    """
    return str(path).encode("utf-8", "backslashreplace").decode("utf-8")


def read_font(path: Path) -> bytes:
    """The bytes of a plain, bounded font file. Raises FileError with a reason from the closed list."""
    if shown_path(path) != str(path):
        raise FileError(Reason.PATH)
    try:
        _demand_plain(os.stat(path))  # before it is opened: to open a device can do something
        # O_NONBLOCK: should it have become a FIFO by now, it must not block us.
        handle = os.open(path, _READ)
    except OSError as cause:
        raise FileError(_why_shut(path, cause)) from cause
    with os.fdopen(handle, "rb") as file:
        before = os.fstat(file.fileno())
        _demand_plain(before)
        if before.st_size == 0:
            raise FileError(Reason.EMPTY)
        if before.st_size > MOST_BYTES:
            raise FileError(Reason.LARGE)
        try:
            data = file.read(MOST_BYTES + 1)
        except OSError as cause:
            raise FileError(Reason.UNREAD) from cause
        after = os.fstat(file.fileno())
    if len(data) != after.st_size or before.st_mtime_ns != after.st_mtime_ns:
        raise FileError(Reason.CHANGING)
    if not data.startswith(MAGIC):
        raise FileError(Reason.NO_FONT)
    if data[:4] != b"ttcf":
        tables = int.from_bytes(data[12:14] if data[:2] == b"wO" else data[4:6], "big")
        if not 0 < tables <= MOST_TABLES:
            raise FileError(Reason.TABLES)
    return data


def _demand_plain(info: os.stat_result) -> None:
    if stat.S_ISDIR(info.st_mode):
        raise FileError(Reason.FOLDER)  # only folders that could not be listed come this far
    if not stat.S_ISREG(info.st_mode):
        raise FileError(Reason.NOT_PLAIN)


def _why_shut(path: Path, cause: OSError) -> Reason:
    if _too_long(cause):
        return Reason.LONG
    if isinstance(cause, FileNotFoundError):
        return Reason.DANGLING if os.path.lexists(path) else Reason.GONE
    if path.is_symlink() and not os.path.exists(path):
        return Reason.DANGLING  # a loop of links
    return Reason.SHUT


def check_tables(data: bytes, face_index: int) -> None:
    """Raise FileError unless one face of a collection claims a bearable number of tables."""
    if data[:4] == b"ttcf":
        start = int.from_bytes(data[12 + 4 * face_index :][:4], "big")
        if not 0 < int.from_bytes(data[start + 4 : start + 6], "big") <= MOST_TABLES:
            raise FileError(Reason.TABLES)


def face_count(data: bytes) -> int:
    """Faces in a font file: one, or what a collection's header says."""
    if data[:4] != b"ttcf":
        return 1
    count = int.from_bytes(data[8:12], "big")
    if not 0 < count <= MOST_FACES:
        raise FileError(Reason.FACES)
    return count
