"""A scanner's record in the form of the catalogue's tables. Pure."""

from __future__ import annotations

import json
import math
import re
import zlib
from collections.abc import Mapping
from dataclasses import asdict, dataclass
from typing import Any, NamedTuple

import numpy as np

from catalogue.store.schema import FACE, SCALARS, seal
from scanner.coverage import to_bytes
from scanner.records import FaceRecord, FileRecord

_PACKING = 1
"""Level of zlib: the fastest; it nearly halves a table."""

FILE_COLUMNS = {"path": str, "size": int, "mtime_ns": int, "digest": str, "settings": str, "reason": str}
FACE_COLUMNS: dict[str, type] = {
    "face_index": int, "instance": str, "coordinates": str, "family": str, "style": str, "version": str,
    "variable": int, "letters": int, "reason": str, "seconds": float, "spdx": str, "sell": str, "verdict": str,
    **dict.fromkeys(SCALARS, float), "upem": int,
    "words": str, "missing": str, "notes": str, "style_features": bytes, "data": bytes,
    "script": str, "cap_height_of": str, "coverage": bytes,
}  # fmt: skip
"""What ``FileRows`` holds, with its types."""


class FileState(NamedTuple):
    """By what a file is known to be unchanged."""

    size: int
    mtime_ns: int
    settings: str
    """Of the scan that measured it."""


@dataclass(frozen=True, slots=True)
class FileRows:
    """A file's record in the form of the tables, without what is decided later."""

    file: dict[str, Any]
    """Columns of ``file``."""
    faces: tuple[dict[str, Any], ...]
    """Columns of ``face``, and under ``data`` the packed table; None where there is nothing. An ``id`` is kept."""


@dataclass(frozen=True, slots=True)
class Sale:
    """What of a licence verdict a face's row holds."""

    spdx: str
    sell: str
    verdict: str
    """The whole verdict as JSON."""

    @classmethod
    def of(cls, verdict: Mapping[str, Any]) -> Sale:
        """From a verdict in its JSON form; an empty one is unknown."""
        return cls(verdict.get("spdx") or "", verdict.get("verdict", "unknown"), json.dumps(dict(verdict)))


def is_digest(text: str) -> bool:
    """Whether a text is a SHA-256 in hexadecimal digits: folders are named by it, and a catalogue is but data."""
    return re.fullmatch(r"[0-9a-f]{64}", text) is not None


def rows_of(record: FileRecord, settings: str, verdicts: dict[int, dict[str, Any]]) -> FileRows:
    """A record as rows; ``verdicts`` holds the licence verdict of each face index, in its JSON form."""
    file = {
        "path": record.path, "size": record.size, "mtime_ns": record.mtime_ns, "digest": record.digest,
        "settings": settings, "reason": record.reason,
    }  # fmt: skip
    return FileRows(file, tuple(_row(face, verdicts.get(face.face_index, {})) for face in record.faces))


def as_stored(row: Mapping[str, Any], columns: Mapping[str, type]) -> dict[str, Any]:
    """Values as SQLite gives them back, so that a checksum of them holds after reading.

    >>> as_stored({"size": 1.0, "x": -0.0, "y": float("nan")}, {"size": int, "x": float, "y": float})
    {'size': 1, 'x': 0.0, 'y': None}
    """
    return {name: _stored(row.get(name), kind) for name, kind in columns.items()}


def _stored(value: Any, kind: type) -> Any:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return None
    return float(value) + 0.0 if kind is float else kind(value)


def _row(face: FaceRecord, verdict: dict[str, Any]) -> dict[str, Any]:
    sale = Sale.of(verdict)
    row: dict[str, Any] = dict.fromkeys(FACE_COLUMNS) | {
        "face_index": face.face_index, "instance": face.instance, "coordinates": json.dumps(face.coordinates),
        "family": face.family, "style": face.style, "version": face.version, "variable": int(face.variable),
        "letters": face.letters, "reason": face.reason, "seconds": face.seconds,
        "coverage": to_bytes(face.covered), "spdx": sale.spdx, "sell": sale.sell, "verdict": sale.verdict,
    }  # fmt: skip
    measures = face.measures
    if measures is not None:
        row |= {name: _number(getattr(measures, name)) for name in SCALARS}
        row |= {
            "words": json.dumps([_rounded(asdict(w)) for w in measures.words]),
            "missing": measures.missing,
            "script": measures.script,
            "cap_height_of": measures.cap_height_of,
            "notes": json.dumps(measures.notes),
            "style_features": np.array(measures.style, dtype=np.float32).tobytes() or None,
            "data": zlib.compress(measures.table.to_bytes(), _PACKING),
        }
    return row


def _rounded(word: dict[str, Any]) -> dict[str, Any]:
    return {k: [round(x, 4) for x in v] if isinstance(v, tuple) else v for k, v in word.items()}


def _number(value: float) -> float | None:
    return None if math.isnan(value) else value


def seals_of(row: Mapping[str, Any]) -> dict[str, int]:
    """Checksums of a face's row that no group was decided for yet."""
    return {
        "seal": seal(*(row[name] for name in FACE)),
        "decided_seal": seal(row["spdx"], row["sell"], "", ""),
        "words_seal": seal(row["words"], row["notes"]),
        "features_seal": seal(row["reason"], row["style_features"]),
        "coverage_seal": seal(row["reason"], row["coverage"]),
        "verdict_seal": seal(row["verdict"]),
    }
