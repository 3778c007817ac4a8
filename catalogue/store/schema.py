"""The tables of a catalogue and the checksums in them; with ``database`` and ``connection`` alone in knowing SQL."""

from __future__ import annotations

import zlib
from collections.abc import Iterable

SCHEMA = 8
"""Version of the tables: raise it with every change of ``CREATE`` or of what a column holds. A catalogue of another
version is refused, with the advice to move it away and scan again."""
APPLICATION_ID = 0x4C48_4C44
"""Marks the file as ours ("LHLD" in ASCII)."""

CREATE = """
CREATE TABLE file (
  id INTEGER PRIMARY KEY, path TEXT NOT NULL UNIQUE, size INTEGER NOT NULL, mtime_ns INTEGER NOT NULL,
  digest TEXT NOT NULL, settings TEXT NOT NULL, reason TEXT NOT NULL,
  faces INTEGER NOT NULL, seal INTEGER NOT NULL);
CREATE INDEX file_digest ON file (digest);
CREATE TABLE face (
  id INTEGER PRIMARY KEY, file_id INTEGER NOT NULL REFERENCES file (id) ON DELETE CASCADE,
  face_index INTEGER NOT NULL, instance TEXT NOT NULL, coordinates TEXT NOT NULL,
  family TEXT NOT NULL, style TEXT NOT NULL, version TEXT NOT NULL, variable INTEGER NOT NULL,
  letters INTEGER NOT NULL, reason TEXT NOT NULL,
  upem INTEGER, cap_height_em REAL, x_height_em REAL, slant_deg REAL, advances_variation REAL,
  median_stroke_em REAL, thinnest_stroke_em REAL, joining REAL, smallest_counter_em REAL, contextual REAL,
  letter_gap_em REAL, missing TEXT, script TEXT, cap_height_of TEXT, seal INTEGER NOT NULL,
  spdx TEXT NOT NULL DEFAULT '', sell TEXT NOT NULL DEFAULT 'unknown',
  style_group TEXT NOT NULL DEFAULT '', group_support TEXT NOT NULL DEFAULT '', decided_seal INTEGER NOT NULL,
  words TEXT, words_seal INTEGER NOT NULL, notes TEXT, style_features BLOB, features_seal INTEGER NOT NULL,
  coverage BLOB, coverage_seal INTEGER NOT NULL,
  verdict TEXT NOT NULL DEFAULT '{}', verdict_seal INTEGER NOT NULL,
  seconds REAL NOT NULL,
  UNIQUE (file_id, face_index, instance));
CREATE TABLE measure (
  face_id INTEGER PRIMARY KEY REFERENCES face (id) ON DELETE CASCADE, data BLOB NOT NULL, seal INTEGER NOT NULL);
CREATE TABLE stamp (value INTEGER NOT NULL, faces INTEGER NOT NULL);
CREATE TABLE groups_model (text TEXT NOT NULL, seal INTEGER NOT NULL);
"""

STATEMENTS = frozenset(statement.strip() for statement in CREATE.split(";") if statement.strip())
"""The statements as SQLite keeps them: a damaged letter in them would give columns another meaning."""

SCALARS = (
    "upem", "cap_height_em", "x_height_em", "slant_deg", "advances_variation", "median_stroke_em",
    "thinnest_stroke_em", "joining", "smallest_counter_em", "contextual", "letter_gap_em",
)  # fmt: skip
"""Numbers of a face; NULL where they were not measured. Each is a field of ``scanner.records.FaceMeasures`` and of
``face.Face``, and a column of ``CREATE``."""

FILE = ("path", "size", "mtime_ns", "digest", "settings", "reason", "faces")
"""Columns that ``file.seal`` covers."""
FACE = (
    "face_index", "instance", "coordinates", "family", "style", "version", "variable", "letters", "reason", *SCALARS,
    "missing", "script", "cap_height_of",
)  # fmt: skip
"""Columns that ``face.seal`` covers."""
DECIDED = ("spdx", "sell", "style_group", "group_support")
"""Columns that ``face.decided_seal`` covers: what is decided again without measuring."""


def seal(*values: object) -> int:
    """Checksum (CRC-32) of values as SQLite gives them back."""
    return zlib.crc32(repr(values).encode("utf-8", "surrogatepass"))


def blob_seal(data: bytes | None) -> int:
    """Checksum of a blob; 0 where there is none."""
    return zlib.crc32(data) if data is not None else 0


def listed(names: Iterable[str], table: str = "") -> str:
    """Columns for a query.

    >>> listed(("path", "size"), "file")
    'file.path, file.size'
    """
    return ", ".join(f"{table}.{name}" if table else name for name in names)
