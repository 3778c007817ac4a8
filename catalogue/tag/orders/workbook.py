"""Rows of the first sheet of an .xlsx workbook (ECMA-376). The only file that knows openpyxl."""

from __future__ import annotations

import datetime
import io
import warnings
import zipfile
from collections.abc import Iterable

from openpyxl import load_workbook

from catalogue.tag.orders.order import OrdersError
from catalogue.tag.orders.row import Row, Rows

MOST_UNPACKED = 64 << 20
"""Bytes a workbook may unpack to; more is no table of orders."""

MOST_SHEET_ROWS, MOST_SHEET_COLUMNS = 20_000, 64
"""What is looked at of a sheet, however large it says it is."""


def workbook_rows(data: bytes) -> Rows:
    """Rows with anything in them. Raises OrdersError for what is no workbook."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as package:
            if sum(entry.file_size for entry in package.infolist()) > MOST_UNPACKED:
                raise OrdersError(f"the workbook unpacks to more than {MOST_UNPACKED >> 20} MB; save it as CSV UTF-8")
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # parts it does not know, such as lists of allowed values
            book = load_workbook(io.BytesIO(data), read_only=True, data_only=True)
            sheet = book.worksheets[0]
            cells = sheet.iter_rows(max_row=MOST_SHEET_ROWS, max_col=MOST_SHEET_COLUMNS, values_only=True)
            rows = [(number, _texts(row)) for number, row in enumerate(cells, 1)]
    except OrdersError:
        raise
    except Exception as cause:  # a damaged workbook makes the library raise whatever its parts do
        raise OrdersError("the workbook cannot be read; open it and save it again as .xlsx, or as CSV UTF-8") from cause
    notes = (f"the first sheet of {len(book.worksheets)} was read: {book.sheetnames[0]}",)
    sound = tuple(Row(number, row) for number, row in rows if any(c.strip() for c in row))
    return Rows(sound, notes if len(book.worksheets) > 1 else ())


def _texts(values: Iterable[object]) -> tuple[str, ...]:
    cells = [_text(v) for v in values]
    while cells and not cells[-1].strip():
        cells.pop()
    return tuple(cells)


def _text(value: object) -> str:
    """A cell as a person reads it.

    >>> _text(None), _text(2.0), _text(0.5), _text("Zoë")
    ('', '2', '0.5', 'Zoë')
    """
    if value is None:
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    if isinstance(value, datetime.datetime) and not value.time():
        return value.date().isoformat()
    return str(value)
