"""The words of a font's `name` table (OpenType 1.9), each record of it."""

from __future__ import annotations

import struct
from pathlib import Path
from typing import NamedTuple

from scanner.evidence.sfnt import word_tables
from scanner.evidence.statement import Evidence

MAX_NAMES = 2000  # name records; common practice, no source
NAME_IDS = (13, 14, 0, 7, 10, 5, 3, 8, 9, 11, 12, 19, 1, 2, 4, 16, 17, 18, 21, 22, 25, 6)
"""Ids that can carry words, in the order in which they are quoted; 1, 2, 4, 16 and 17 because "Demo" and "Personal use"
stand in names. Read by closed rules every one, so that nothing hides in an unusual place."""


class NameRow(NamedTuple):
    """One name record."""

    platform: int
    encoding: int
    language: int
    name_id: int
    raw: bytes
    text: str


_MAC = {0: "mac_roman", 1: "shift_jis", 2: "big5", 3: "euc_kr", 6: "mac_greek", 7: "mac_cyrillic", 25: "gb2312"}
_WIN = {2: "shift_jis", 3: "gbk", 4: "big5", 5: "euc_kr"}


def _decode(raw: bytes, platform: int, encoding: int) -> str:
    """Text of a name record (OpenType 1.9 `name`), lenient: broken bytes become U+FFFD."""
    if platform == 1:
        return raw.decode(_MAC.get(encoding, "mac_roman"), "replace")
    if platform == 3 and encoding in _WIN and b"\0" not in raw:
        return raw.decode(_WIN[encoding], "replace")
    if len(raw) > 3 and all(32 <= byte < 127 or byte in b"\r\n\t" for byte in raw):
        return raw.decode("ascii")  # seen: ASCII stored where UTF-16 belongs; it would read as Chinese
    return raw.decode("utf-16-be", "replace")


def name_rows(table: bytes, wanted: tuple[int, ...] = ()) -> list[NameRow]:
    """Records of a name table (of the `wanted` ids), at most MAX_NAMES."""
    if len(table) < 6:
        return []
    _, count, storage = struct.unpack(">HHH", table[:6])
    rows = []
    for row in range(min(count, MAX_NAMES, (len(table) - 6) // 12)):
        platform, encoding, language, name_id, length, offset = struct.unpack_from(">6H", table, 6 + 12 * row)
        if wanted and name_id not in wanted:
            continue
        raw = table[storage + offset : storage + offset + length]
        rows.append(NameRow(platform, encoding, language, name_id, raw, _decode(raw, platform, encoding)))
    return rows


def name_statements(table: bytes) -> tuple[Evidence, ...]:
    """Statements in a `name` table, each text once, in the order of NAME_IDS."""
    found: dict[tuple[int, str], str] = {}
    first: set[tuple[int, int, int, int]] = set()
    for row in name_rows(table, NAME_IDS):
        text = row.text.strip(" \0\r\n\t")
        if text:
            key = (row.platform, row.encoding, row.language, row.name_id)
            again = ", repeated" if key in first else ""  # seen: names of features that carry a wrong id
            first.add(key)
            place = f"name {row.name_id}{again} (platform {row.platform}, language 0x{row.language:04x})"
            found.setdefault((row.name_id, text), place)
    ordered = sorted(found.items(), key=lambda item: NAME_IDS.index(item[0][0]))
    return tuple(Evidence("name", place, text) for (_, text), place in ordered)


def read_names(path: Path, face_index: int = 0) -> tuple[NameRow, ...]:
    """Every name record of a face; () for a font that cannot be read."""
    try:
        return tuple(name_rows(word_tables(path, face_index).get("name", b"")))
    except (ValueError, struct.error, IndexError):
        return ()


def family_and_style(path: Path, face_index: int = 0) -> tuple[str, str]:
    """What a face calls itself: name IDs 16 and 17 before 1 and 2, US English first; "" when it cannot be read."""
    best: dict[int, str] = {}
    for row in read_names(path, face_index):
        english = (row.platform, row.language) == (3, 0x409)
        if row.name_id in (1, 2, 16, 17) and row.text.strip() and (row.name_id not in best or english):
            best[row.name_id] = row.text.strip()
    return best.get(16, best.get(1, "")), best.get(17, best.get(2, ""))
