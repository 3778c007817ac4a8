"""Tables of a font file, read by a bounded reader: never the whole font, and no fault of a file is an error.

A font that cannot be read gives no tables: hostile files are expected here.
"""

from __future__ import annotations

import os
import stat
import struct
import zlib
from pathlib import Path

MAX_TABLES = 128  # tables in a font; real fonts stay below 64 (shared/hostile-fonts.md: reject above 128)
MAX_NAME_TABLE = 256 * 1024  # bytes; offsets and lengths are 16 bit, so no sound table is larger than about 192 KiB
MAX_CFF_HEAD = 256 * 1024  # bytes of the CFF table read for its notice, which stands in its first indexes
MAX_META = 64 * 1024  # bytes of a `meta` table; common practice, no source
MAX_SFNT = 64 * 1024 * 1024  # unpacked size of a WOFF2 that is still opened, in bytes
MOST = {"name": MAX_NAME_TABLE, "CFF ": MAX_CFF_HEAD, "OS/2": 78, "meta": MAX_META}
"""Tables with words in them, and the bytes that are read of each."""


def word_tables(path: Path, face_index: int = 0) -> dict[str, bytes]:
    """The tables of one face that can hold words; {} for a font that cannot be read."""
    try:
        fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)  # O_NONBLOCK: a FIFO named .ttf would block
    except OSError:
        return {}
    try:
        if not stat.S_ISREG(os.fstat(fd).st_mode):
            return {}
        magic = os.pread(fd, 4, 0)
        if magic == b"wOF2":
            return {tag: data[: MOST[tag]] for tag, data in _woff2_tables(fd).items()}
        places = _table_places(fd, magic, face_index)
        return {tag: _table(fd, places, tag, most) for tag, most in MOST.items() if tag in places}
    except (OSError, ValueError, struct.error, zlib.error, IndexError):
        return {}
    finally:
        os.close(fd)


def web_metadata(path: Path) -> str:
    """The metadata block of a WOFF or WOFF2 file (WOFF 1.0 section 7, WOFF 2.0 section 6), as XML; "" for none."""
    try:
        with path.open("rb") as file:
            head = file.read(48)
            if len(head) < 48 or head[:4] not in (b"wOFF", b"wOF2"):
                return ""
            offset, packed, size = struct.unpack_from(">LLL", head, 24 if head[:4] == b"wOFF" else 28)
            if not packed or size > MAX_META * 16 or packed > MAX_META * 16:
                return ""
            file.seek(offset)
            data = file.read(packed)
        if head[:4] == b"wOFF":
            return zlib.decompressobj().decompress(data, MAX_META * 16).decode("utf-8", "replace")
        import brotli  # loaded only for such a block

        return str(brotli.decompress(data)[: MAX_META * 16].decode("utf-8", "replace"))
    except Exception:  # brotli raises its own kind for broken input
        return ""


def _table_places(fd: int, magic: bytes, face_index: int) -> dict[str, tuple[int, int, int]]:
    """Offset, stored length and unpacked length of each table of one face."""
    start = 0
    if magic == b"ttcf":
        count = struct.unpack(">L", os.pread(fd, 12, 0)[8:12])[0]
        if face_index >= min(count, 4096):
            return {}
        start = struct.unpack(">L", os.pread(fd, 4, 12 + 4 * face_index))[0]
    if magic == b"wOFF":
        count = min(struct.unpack(">H", os.pread(fd, 2, 12))[0], MAX_TABLES)
        raw = os.pread(fd, 20 * count, 44)
        rows = [struct.unpack(">4sLLLL", raw[i : i + 20]) for i in range(0, len(raw) - 19, 20)]
        return {tag.decode("latin-1"): (offset, packed, size) for tag, offset, packed, size, _ in rows}
    count = min(struct.unpack(">H", os.pread(fd, 2, start + 4))[0], MAX_TABLES)
    raw = os.pread(fd, 16 * count, start + 12)
    plain = [struct.unpack(">4sLLL", raw[i : i + 16]) for i in range(0, len(raw) - 15, 16)]
    return {tag.decode("latin-1"): (offset, size, size) for tag, _, offset, size in plain}


def _table(fd: int, tables: dict[str, tuple[int, int, int]], tag: str, most: int) -> bytes:
    """At most `most` bytes of a table, unpacked; b"" when it is absent."""
    if tag not in tables:
        return b""
    offset, packed, size = tables[tag]
    raw = os.pread(fd, min(packed, most), offset)
    return zlib.decompressobj().decompress(raw, most) if packed < size else raw


def _woff2_tables(fd: int) -> dict[str, bytes]:
    """WOFF2 packs all tables in one stream, so fontTools unpacks it, once its declared size is bearable."""
    if struct.unpack(">L", os.pread(fd, 4, 16))[0] > MAX_SFNT:
        return {}
    try:
        from fontTools.ttLib import TTFont

        from scanner.webfont import check_woff2

        with os.fdopen(os.dup(fd), "rb") as file:
            check_woff2(file.read(MAX_SFNT))
            file.seek(0)
            reader = TTFont(file, lazy=True).reader
            return {tag: reader[tag] for tag in MOST if tag in reader}
    except Exception:  # fontTools and brotli raise many kinds for broken input
        return {}
