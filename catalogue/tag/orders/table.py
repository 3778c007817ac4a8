"""Orders of a table's rows: every cell looked at, every row that cannot be made says why."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from catalogue.tag.backing import BACKINGS
from catalogue.tag.colours import DEFAULT_COLOURS
from catalogue.tag.orders.order import BEST, COLUMNS, MOST_QUANTITY, Order, OrdersError
from catalogue.tag.orders.row import Row
from catalogue.tag.orders.rows import read_rows
from catalogue.tag.ring_places import END
from catalogue.text import clean, starts_formula

MOST_ROWS, MOST_BYTES = 5000, 4 * 1024 * 1024

MOST_CELL = 1500
"""Characters of a cell: a name of six lines of 200, and room to spare."""

MOST_PIECES = 20_000
"""Pieces of all orders of a file: some 2,000 plates."""

_DIGITS = 9
"""Digits of a quantity that are worth reading as a number."""

_SIGNS = {"note": "=@＝＠"}
"""What a cell must not start with, where that differs from all starts of a formula: notes may begin with a dash."""


@dataclass(frozen=True, slots=True)
class OrderTable:
    """All orders of a file, and what to know about how it was read."""

    orders: tuple[Order, ...]
    notes: tuple[str, ...] = ()


def read_orders(data: bytes) -> list[Order]:
    """Orders of a file's bytes. Raises OrdersError only when there is no table to read.

    >>> [o.name for o in read_orders(b"name;face\\nZo\\xc3\\xab;best\\n")]
    ['Zoë']
    """
    return list(read_table(data).orders)


def read_table(data: bytes) -> OrderTable:
    """Orders of a CSV file's or workbook's bytes. Raises OrdersError only when there is no table to read."""
    if len(data) > MOST_BYTES:
        raise OrdersError(f"the order file is larger than {MOST_BYTES >> 20} MB; split it")
    found = read_rows(data)
    columns = _columns(found.rows[0] if found.rows else Row(1, ()))
    if len(found.rows) - 1 > MOST_ROWS:
        raise OrdersError(f"the order file has {len(found.rows) - 1} rows; {MOST_ROWS} are the most, split it")
    return OrderTable(_within_pieces([_order(row, columns) for row in found.rows[1:]]), found.notes)


def _columns(head: Row) -> tuple[str, ...]:
    if head.fault:
        raise OrdersError(f"the order file's first row: {head.fault}")
    names = tuple(c.strip().casefold().replace(" ", "_") for c in head.cells)
    if "name" not in names:
        raise OrdersError(f"the order file has no column 'name'; its first row names columns of {', '.join(COLUMNS)}")
    for k, name in enumerate(names):
        if name and name not in COLUMNS:
            raise OrdersError(f"column {clean(name, 40)!r} is not known; use {', '.join(COLUMNS)}")
        if name and name in names[:k]:
            first = names.index(name) + 1
            raise OrdersError(f"row {head.number} has column {name!r} twice, at {first} and {k + 1}; keep one of them")
    return names


def _within_pieces(orders: Sequence[Order]) -> tuple[Order, ...]:
    """Rows beyond the most pieces of a file are not made."""
    out, pieces = [], 0
    for order in orders:
        pieces += order.quantity
        if pieces > MOST_PIECES and not order.reason:
            reason = f"the file asks for more than {MOST_PIECES} pieces by here; split it"
            order, pieces = replace(order, quantity=0, reason=reason), pieces - order.quantity
        out.append(order)
    return tuple(out)


def _order(row: Row, columns: Sequence[str]) -> Order:
    cells = {name: cell.strip() for name, cell in zip(columns, row.cells, strict=False) if name}
    number = cells.get("order") or str(row.number - 1)
    name, face, note = cells.get("name", "").replace("\\n", "\n"), cells.get("face") or BEST, cells.get("note", "")
    colours = re.split(r"[\s,/|]+", cells.get("colours") or " ".join(DEFAULT_COLOURS))
    reason = row.fault or _fault(row, columns, cells, colours)
    if reason:
        kept = [text[:MOST_CELL] for text in (number, name, face, note)]
        return Order(row.number, kept[0], kept[1], kept[2], quantity=0, note=kept[3], reason=reason)
    return Order(
        row.number, number, name, face, cells.get("cap_height", ""), cells.get("width", ""),
        (colours[0], colours[1], colours[2]), cells.get("process", ""), cells.get("ring") or END,
        int(cells.get("quantity") or 1), note, "", cells.get("behind", "").casefold(),
        cells.get("by_hand", "").casefold(), cells.get("line_spacing", ""),
    )  # fmt: skip


def _fault(row: Row, columns: Sequence[str], cells: Mapping[str, str], colours: Sequence[str]) -> str:
    """What is wrong with a row, ending with what to do; empty for a sound one."""
    long = next((k for k, c in cells.items() if len(c) > MOST_CELL), "")
    if any(c.strip() for c in row.cells[len(columns) :]):
        return "more cells than columns; put cells that hold a comma in quotes"
    if long:
        return f"cell {long!r} has {len(cells[long])} characters, {MOST_CELL} are the most; shorten it"
    if any(starts_formula(c, _SIGNS.get(k)) for k, c in cells.items()):
        return "a cell starts like a formula; write plain text"
    if not cells.get("name"):
        return "no name; fill the cell"
    quantity = cells.get("quantity") or "1"
    if not (quantity.isdecimal() and len(quantity) <= _DIGITS and 1 <= int(quantity) <= MOST_QUANTITY):
        return f"quantity {clean(quantity, 20)!r} is no whole number from 1 to {MOST_QUANTITY}; correct it"
    if len(colours) != 3:
        return "colours are three, for base, middle and top; write them as navy sky cream"
    if cells.get("cap_height") and cells.get("width"):
        return "both cap_height and width are given; keep one"
    behind = cells.get("behind", "").casefold()
    if behind and behind not in BACKINGS:
        return f"behind is {clean(behind, 20)!r}; write {' or '.join(BACKINGS)}, or leave the cell empty"
    return ""
