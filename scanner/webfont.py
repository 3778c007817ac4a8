"""WOFF and WOFF2 to plain sfnt bytes, never more of them than the file claims, nor more than a bound."""

from __future__ import annotations

import zlib
from io import BytesIO

from scanner.reasons import MOST_BYTES, MOST_TABLES, FontError, Reason

_WOFF_HEADER, _WOFF_ROW = 44, 20
_WOFF2_HEADER = 48


def unpack(data: bytes) -> bytes:
    """The sfnt inside a WOFF (W3C WOFF 1.0) or WOFF2 (W3C WOFF 2.0) file. Raises FontError with a listed reason."""
    if int.from_bytes(data[16:20], "big") > MOST_BYTES:
        raise FontError(Reason.UNPACKED)
    if not 0 < int.from_bytes(data[12:14], "big") <= MOST_TABLES:
        raise FontError(Reason.TABLES)
    return _woff(data) if data[:4] == b"wOFF" else _woff2(data)


def _woff(data: bytes) -> bytes:
    count = int.from_bytes(data[12:14], "big")
    rows = [data[_WOFF_HEADER + k * _WOFF_ROW :][:_WOFF_ROW] for k in range(count)]
    if len(rows[-1]) < _WOFF_ROW:
        raise FontError(Reason.PACKED)
    fields = [[int.from_bytes(row[i : i + 4], "big") for i in range(4, 20, 4)] for row in rows]
    if sum(size for _, _, size, _ in fields) > MOST_BYTES:
        raise FontError(Reason.UNPACKED)
    power = 1 << (count.bit_length() - 1)
    head = data[4:8] + b"".join(
        n.to_bytes(2, "big") for n in (count, power * 16, power.bit_length() - 1, (count - power) * 16)
    )
    at = len(head) + 16 * count
    directory = [head]
    tables = []
    for row, (offset, packed, size, check) in sorted(zip(rows, fields, strict=True)):
        raw = data[offset : offset + packed]
        if packed < size:
            try:
                raw = zlib.decompressobj().decompress(raw, size + 1)
            except zlib.error as cause:
                raise FontError(Reason.PACKED) from cause
        if len(raw) > size:
            raise FontError(Reason.UNPACKED)
        if len(raw) < size:
            raise FontError(Reason.PACKED)
        directory.append(row[:4] + check.to_bytes(4, "big") + at.to_bytes(4, "big") + size.to_bytes(4, "big"))
        tables.append(raw + bytes(-size % 4))
        at += size + -size % 4
    return b"".join(directory + tables)


def check_woff2(data: bytes) -> None:
    """Raise FontError when the packed tables are not within what the directory and the bound allow.

    fontTools unpacks first and compares afterwards, which is too late for a bomb.
    """
    import brotli

    at = _WOFF2_HEADER
    claimed = 0
    try:
        for _ in range(int.from_bytes(data[12:14], "big")):
            flags = data[at]
            at += 5 if flags & 0x3F == 0x3F else 1
            size, at = _base128(data, at)
            # glyf (10) and loca (11) are transformed in version 0, every other table in versions above 0.
            if (flags >> 6 == 0) if flags & 0x3F in (10, 11) else (flags >> 6 != 0):
                size, at = _base128(data, at)
            claimed += size
    except IndexError as cause:
        raise FontError(Reason.PACKED) from cause
    if claimed > MOST_BYTES:
        raise FontError(Reason.UNPACKED)
    if data[4:8] == b"ttcf":
        return  # a directory of faces follows; fontTools does not open these
    packed = data[at : at + int.from_bytes(data[20:24], "big")]
    try:
        if len(brotli.Decompressor().process(packed, output_buffer_limit=claimed + 1)) > claimed:
            raise FontError(Reason.UNPACKED)
    except brotli.error as cause:
        raise FontError(Reason.PACKED) from cause


def _base128(data: bytes, at: int) -> tuple[int, int]:
    """UIntBase128 of WOFF2 section 4.1: value and the offset behind it. Raises IndexError where it does not end.

    >>> _base128(bytes([0x81, 0x00]), 0)
    (128, 2)
    """
    value = 0
    for k in range(5):
        byte = data[at + k]
        value = value << 7 | byte & 0x7F
        if byte < 0x80:
            return value, at + k + 1
    raise IndexError(at)


def _woff2(data: bytes) -> bytes:
    check_woff2(data)
    from fontTools.ttLib import TTFont

    try:
        font = TTFont(BytesIO(data), lazy=True)
        font.flavor = None
        out = BytesIO()
        font.save(out, reorderTables=False)
    except MemoryError:
        raise
    except Exception as cause:  # fontTools raises many kinds for broken input
        raise FontError(Reason.PACKED) from cause
    return out.getvalue()
