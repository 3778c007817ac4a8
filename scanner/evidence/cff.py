"""The notice and copyright of a CFF font (Adobe Technical Note 5176), without reading its glyphs."""

from __future__ import annotations

import struct

from scanner.evidence.statement import Evidence


def _cff_entry(data: bytes, at: int, entry: int) -> bytes:
    """One entry of the CFF INDEX at `at` (Adobe Technical Note 5176, section 5); b"" when it has no such entry."""
    count = struct.unpack_from(">H", data, at)[0]
    if not 0 <= entry < count:
        return b""
    size, base = _cff_offset_size(data, at), at + 3
    first, last = (int.from_bytes(data[base + i * size : base + (i + 1) * size], "big") for i in (entry, entry + 1))
    start = base + (count + 1) * size - 1
    return data[start + first : start + last]


def _cff_offset_size(data: bytes, at: int) -> int:
    """Bytes of an offset in the CFF INDEX at `at`: 1 to 4 (Adobe Technical Note 5176, table 2)."""
    size = data[at + 2]
    if not 1 <= size <= 4:
        raise IndexError(at)  # found by fuzzing: 255 bytes make an offset no slice can take
    return size


def _cff_after(data: bytes, at: int) -> int:
    """Offset behind the CFF INDEX at `at`."""
    count = int(struct.unpack_from(">H", data, at)[0])
    if count == 0:
        return at + 2
    size, base = _cff_offset_size(data, at), at + 3
    return base + (count + 1) * size - 1 + int.from_bytes(data[base + count * size : base + (count + 1) * size], "big")


def cff_statements(table: bytes) -> tuple[Evidence, ...]:
    """Notice and Copyright of a CFF top dictionary (Adobe Technical Note 5176, table 9)."""
    if len(table) < 8:
        return ()
    fields = {1: "Notice", 2: "FullName", 3: "FamilyName", 1200: "Copyright"}
    out: list[Evidence] = []
    try:
        tops = _cff_after(table, table[2])
        strings = _cff_after(table, tops)
        for operator, operand in _cff_dict(_cff_entry(table, tops, 0)):
            if operator in fields:  # 391 standard strings come first (Appendix A)
                text = _cff_entry(table, strings, operand - 391).decode("utf-8", "replace")
                out += [Evidence("cff", f"CFF {fields[operator]}", text)] if text else []
    except (IndexError, struct.error):
        return tuple(out)
    return tuple(out)


def _cff_dict(data: bytes) -> list[tuple[int, int]]:
    """(operator, last integer operand) pairs of a CFF DICT; two-byte operators as 1200 + second byte."""
    pairs: list[tuple[int, int]] = []
    at, last = 0, 0
    while at < len(data):
        byte = data[at]
        at += 1
        if byte <= 21:
            if byte == 12 and at < len(data):
                byte, at = 1200 + data[at], at + 1
            pairs.append((byte, last))
        elif byte == 28:
            last, at = int.from_bytes(data[at : at + 2], "big", signed=True), at + 2
        elif byte == 29:
            last, at = int.from_bytes(data[at : at + 4], "big", signed=True), at + 4
        elif byte == 30:
            while at < len(data) and data[at] & 15 != 15 and data[at] >> 4 != 15:
                at += 1
            at += 1
        elif 32 <= byte <= 246:
            last = byte - 139
        elif 247 <= byte <= 254 and at < len(data):
            second, at = data[at], at + 1
            last = (byte - 247) * 256 + second + 108 if byte < 251 else -(byte - 251) * 256 - second - 108
    return pairs
