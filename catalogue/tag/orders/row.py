"""Rows of a table, whatever it was saved as."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Row:
    """One row of a table."""

    number: int
    """As a spreadsheet counts, from 1."""
    cells: tuple[str, ...]
    fault: str = ""
    """Why its cells cannot be told apart, ending with what to do; empty for a sound row."""


@dataclass(frozen=True, slots=True)
class Rows:
    """All rows with anything in them, and what to know about how they were read."""

    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()
