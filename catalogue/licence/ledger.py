"""Sell verdicts of many faces as a table for spreadsheets: of a folder, or of the whole catalogue."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Sequence
from typing import Protocol

from catalogue.text import csv_cell

COLUMNS = ("path", "face_index", "family", "style", "spdx", "verdict")


def ledger_csv(rows: Iterable[Sequence[str]]) -> str:
    """CSV with a heading; cells that no spreadsheet takes for a formula."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(COLUMNS)
    writer.writerows([csv_cell(c) for c in row] for row in rows)
    return out.getvalue()


class Judged(Protocol):
    """What of a face a row says; a face of the catalogue has it."""

    @property
    def path(self) -> str: ...
    @property
    def face_index(self) -> int: ...
    @property
    def family(self) -> str: ...
    @property
    def style(self) -> str: ...
    @property
    def spdx(self) -> str: ...
    @property
    def sell(self) -> str:
        """The verdict."""


def row_of(face: Judged) -> tuple[str, ...]:
    """One face of the catalogue under ``COLUMNS``."""
    return face.path, str(face.face_index), face.family, face.style, face.spdx, face.sell
