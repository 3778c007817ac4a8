"""Paths to font files: what is read, what is skipped and why. Reads the disk, trusts nothing on it."""

from __future__ import annotations

import os
import stat
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from pathlib import Path

SUFFIXES = frozenset({".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2"})
MAGIC = (b"\x00\x01\x00\x00", b"OTTO", b"true", b"ttcf", b"wOFF", b"wOF2")
"""First four bytes of the font files we read (OpenType and WOFF specifications)."""

MOST_BYTES = 64 * 1024 * 1024
MOST_TABLES = 128
MOST_FACES = 64
MOST_ENTRIES = 200_000


@dataclass(frozen=True, slots=True)
class FontFile:
    """A file that may be a font, as the folder listing gave it."""

    path: Path
    size: int
    mtime_ns: int


class FileError(ValueError):
    """A path that cannot be used; one line that ends with what to do."""


def find_fonts(paths: Iterable[Path]) -> Iterator[FontFile]:
    """Font files under the paths, each once, in a stable order. Links to folders are not followed.

    Raises FileError for a path that is not there.
    """
    seen: set[tuple[int, int]] = set()
    for path in paths:
        try:
            info = path.stat()
        except OSError as cause:
            raise FileError(f"{path}: not found; check the spelling or give another folder") from cause
        if stat.S_ISDIR(info.st_mode):
            found = _walk(path)
        elif stat.S_ISREG(info.st_mode):
            found = iter([path])
        else:
            raise FileError(f"{path}: neither a folder nor a plain file; give a folder with fonts")
        for file in found:
            try:
                entry = file.stat()
            except OSError:
                continue  # gone since the listing
            key = (entry.st_dev, entry.st_ino)
            if key not in seen and stat.S_ISREG(entry.st_mode):
                seen.add(key)
                yield FontFile(file.absolute(), entry.st_size, entry.st_mtime_ns)


def _walk(root: Path) -> Iterator[Path]:
    left = MOST_ENTRIES
    for folder, folders, names in os.walk(root, followlinks=False):
        folders.sort()
        for name in sorted(names):
            left -= 1
            if left < 0:
                raise FileError(f"{root}: more than {MOST_ENTRIES} files; scan its folders one by one")
            if Path(name).suffix.lower() in SUFFIXES:
                yield Path(folder, name)


def read_font(path: Path) -> bytes:
    """The bytes of a plain, bounded font file. Raises FileError with the reason from a closed list."""
    try:
        # O_NONBLOCK: a FIFO that bears a font's name must not block us.
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0))
    except OSError as cause:
        raise FileError("it cannot be opened; check that you may read it") from cause
    with os.fdopen(handle, "rb") as file:
        info = os.fstat(file.fileno())
        if not stat.S_ISREG(info.st_mode):
            raise FileError("it is not a plain file; leave it out")
        if info.st_size == 0:
            raise FileError("it is empty; get the font anew from its source")
        if info.st_size > MOST_BYTES:
            raise FileError(f"it is larger than {MOST_BYTES >> 20} MB; leave it out")
        data = file.read(MOST_BYTES + 1)
    if not data.startswith(MAGIC):
        raise FileError("it is no TTF, OTF, TTC, WOFF or WOFF2 font; leave it out")
    if data[:4] != b"ttcf" and int.from_bytes(data[12:14] if data[:2] == b"wO" else data[4:6], "big") > MOST_TABLES:
        raise FileError(f"it claims more than {MOST_TABLES} tables; get the font anew from its source")
    return data


def face_count(data: bytes) -> int:
    """Faces in a font file: one, or what a collection's header says."""
    if data[:4] != b"ttcf":
        return 1
    count = int.from_bytes(data[8:12], "big")
    if not 0 < count <= MOST_FACES:
        raise FileError(f"it claims {count} faces; get the font anew from its source")
    return count
