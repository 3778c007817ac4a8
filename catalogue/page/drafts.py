"""The order table while it is filled in: rows as text, kept on the desk; columns as the command ``orders`` reads."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from catalogue.page import links
from catalogue.page.desk import Desk
from catalogue.page.place import Place
from catalogue.store.face import Face
from catalogue.tag.orders import COLUMNS, Order, read_orders, read_table
from catalogue.tag.orders.rows import read_rows
from catalogue.text import clean

NAME = "orders-draft"

Row = dict[str, str]

FIRST: tuple[Row, ...] = ({"order": "1", "name": "Marlie", "face": "best", "quantity": "1"},)
"""What an empty table starts with."""


def rows(desk: Desk) -> list[Row]:
    """The rows as they were left."""
    return [_row(r) for r in desk.read(NAME, []) if isinstance(r, dict)]


def keep(desk: Desk, found: Iterable[Mapping[str, Any]]) -> list[Row]:
    """Keep rows; those without any text are left out. Returns what was kept."""
    kept = [row for row in map(_row, found) if any(row.values())]
    desk.write(NAME, kept)
    return kept


def _row(found: Mapping[str, Any]) -> Row:
    return {c: "" if _empty(found.get(c)) else str(found[c]).strip() for c in COLUMNS}


def _empty(value: Any) -> bool:
    return value is None or value != value


def add(desk: Desk, place: Place, face: Face) -> None:
    """A row for the name of a place in a face, as a customer chose it."""
    there = rows(desk)
    numbers = [int(r["order"]) for r in there if r["order"].isdecimal() and len(r["order"]) < 9]
    size = place.asked.size
    row = {
        "order": str(max(numbers, default=0) + 1), "name": place.asked.text.replace("\n", "\\n"), "face": face.title,
        "cap_height": f"{size.mm:g}mm" if size.kind == "cap-height" else "",
        "width": f"{size.mm:g}mm" if size.kind == "width" else "", "colours": " ".join(place.look.colours),
        "process": place.asked.process.name, "ring": place.look.ring, "quantity": "1", "note": "",
    }  # fmt: skip
    keep(desk, [*there, row])


def as_csv(found: Sequence[Row]) -> bytes:
    """The table as a file that ``letterhold orders`` reads."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS)
    writer.writeheader()
    writer.writerows(found)
    return out.getvalue().encode()


@dataclass(frozen=True, slots=True)
class Table:
    """Rows of a file as typed, and what to know about how it was read."""

    rows: tuple[Row, ...]
    notes: tuple[str, ...] = ()


def read(data: bytes) -> Table:
    """Rows of a CSV file or workbook, the broken ones too. Raises OrdersError when there is no table to read."""
    read_table(data)  # says what is wrong with the table as a whole
    found = read_rows(data)
    names = [c.strip().casefold().replace(" ", "_") for c in found.rows[0].cells]
    return Table(tuple(_row(dict(zip(names, r.cells, strict=False))) for r in found.rows[1:]), found.notes)


def orders(found: Sequence[Row]) -> list[Order]:
    """The rows as orders; what is wrong with one is its reason, a size that cannot be read as well."""
    every = read_orders(as_csv(found)) if found else []
    return [order if order.reason else replace(order, reason=_unread_size(order)) for order in every]


def _unread_size(order: Order) -> str:
    for text in (order.cap_height, order.width):
        if text and links.size_mm(text) is None:
            return f"“{clean(text, 30)}” is no size; write it as 14mm or 0.55in"
    return ""
