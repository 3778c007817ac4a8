"""Bytes of a table, as shops save it, to rows of cells; a row that cannot be read says why.

Comma, semicolon or tab; line ends of every system; UTF-8 with or without a byte order mark, UTF-16, Windows-1252; or a
workbook of a spreadsheet program.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from catalogue.tag.orders.order import OrdersError
from catalogue.tag.orders.row import Row, Rows

MARKS = ",;\t"
MOST_LINE = 20_000
"""Characters of one row."""

MOST_CELL_LINES = 8
"""Lines of one cell: a name of six lines, and room to spare. A quote that is not closed would take all that follows."""

_WORKBOOK, _OLD_WORKBOOK = b"PK\x03\x04", b"\xd0\xcf\x11\xe0"
"""First bytes of a zip (PKWARE APPNOTE 4.3.7) and of a compound file, in which old and protected workbooks come."""

_GUESSED_FROM = 400
"""Bytes looked at for UTF-16 without a byte order mark."""


@dataclass(frozen=True, slots=True)
class _Text:
    text: str
    note: str = ""


def read_rows(data: bytes) -> Rows:
    """Rows of a CSV file or workbook. Raises OrdersError with what to do when there is no table in it."""
    if data.startswith(_OLD_WORKBOOK):
        raise OrdersError("the order file is an old or protected workbook; save it as .xlsx without a password, or CSV")
    if data.startswith(_WORKBOOK):
        from catalogue.tag.orders.workbook import workbook_rows  # its library takes a third of a second to load

        return workbook_rows(data)
    decoded = _decoded(data)
    lines = decoded.text.replace("\r\n", "\n").replace("\r", "\n").split("\n")
    mark = ""
    if lines[0].strip().casefold().startswith("sep=") and len(lines[0].strip()) == 5:
        mark, lines[0] = lines[0].strip()[4], ""  # a line that spreadsheet programs put first
    head = next((line for line in lines if line.strip()), "")
    rows = tuple(_rows(lines, mark or max(MARKS, key=head.count)))
    return Rows(rows, (decoded.note,) if decoded.note else ())


def _decoded(data: bytes) -> _Text:
    encoding = _wide(data)
    try:
        return _Text(data.decode(encoding or "utf-8-sig"))
    except UnicodeDecodeError as cause:
        if encoding:
            raise OrdersError("the order file is broken UTF-16 text; save it as CSV UTF-8") from cause
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError as cause:
        line = data[: cause.start].count(b"\n") + 1
        raise OrdersError(
            f"the order file is neither UTF-8 nor Windows-1252 text (line {line}); save it as CSV UTF-8"
        ) from cause
    return _Text(text, "read as Windows-1252, for it is not UTF-8: look at the accented letters, or save as CSV UTF-8")


def _wide(data: bytes) -> str:
    """The kind of UTF-16, by its mark or by zero bytes in every second place; empty for text of single bytes."""
    if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return "utf-16"
    head = data[: min(_GUESSED_FROM, len(data) // 2 * 2)]
    even, odd = head[::2].count(0), head[1::2].count(0)
    if max(even, odd) * 3 > len(head):  # two of three letters plain: the column names are
        return "utf-16-le" if odd > even else "utf-16-be"
    return ""


def _rows(lines: Sequence[str], mark: str) -> Iterator[Row]:
    at, number, width = 0, 0, 0
    while at < len(lines):
        number += 1
        row, used = _row(lines[at : at + MOST_CELL_LINES], number, mark, width)
        at += used
        if any(c.strip() for c in row.cells):
            width = width or len(row.cells)
            yield row


def _row(lines: Sequence[str], number: int, mark: str, width: int) -> tuple[Row, int]:
    """The row that begins with the first line, and how many lines it takes."""
    first = lines[0]
    if len(first) > MOST_LINE:
        fault = f"the row has {len(first)} characters, {MOST_LINE} are the most; shorten it"
        return Row(number, tuple(first[:MOST_LINE].split(mark)), fault), 1
    if '"' not in first:
        return Row(number, tuple(first.split(mark))), 1
    for count in range(1, len(lines) + 1):
        text = "\n".join(lines[:count])
        cells = _cells(text, mark)
        if cells is not None and not (count > 1 and len(cells) < width and _melted(cells, mark)):
            return Row(number, cells), count
        if text.count('"') % 2 == 0:
            break
    fault = "a quote in it is not closed, so that cells or rows run into one; close it or leave it out"
    return Row(number, tuple(first.replace('"', "").split(mark)), fault), 1


def _melted(cells: Sequence[str], mark: str) -> bool:
    """Whether a cell of several lines looks like rows that ran into one: a quote left open, closed by chance later."""
    return any("\n" in c and mark in c for c in cells)


def _cells(text: str, mark: str) -> tuple[str, ...] | None:
    """Cells of one row; None where its quotes do not add up."""
    try:
        found = list(csv.reader([text], delimiter=mark, strict=True))
    except csv.Error:
        return None
    return tuple(found[0]) if len(found) == 1 else None
