"""Many tags at once: a table of orders in; a folder an order, results, a contact sheet and plates out.

``rows`` and ``workbook`` read what shops save (CSV of any habit, .xlsx) into rows; ``table`` makes orders of rows;
``shop`` makes one order; ``finished`` remembers what was made, so that a second run fits nothing again; ``sheets``
draws all tags of a run; ``folders`` names the orders' folders.

Columns, by name in the first row, in any order: ``order`` (default: the row number), ``name``, ``face`` (or "best": the
first of the ranking that holds and may be sold), ``cap_height`` or ``width``, ``colours`` (three, parted by spaces or
slashes), ``process``, ``ring``, ``behind`` (plate or bar), ``by_hand`` and ``line_spacing`` as ``tag`` takes them,
``quantity``, ``note``. A broken row is reported and the rest goes on.

Decisions, 2026-11:

- Orders run in processes of their own, one different tag a task; equal orders are made once.
- A folder is finished when its ``made.json``, written last, carries the same request on the same font and every file
  named in it is there with its size. It also keeps the tag's regions, so that sheets are drawn without a new fit.
- A row that says "best" is chosen again when the catalogue has changed, not before.
- A customer's text stays as it is for the letters on the tag; wherever it is shown it is cleaned first.
"""

from __future__ import annotations

from catalogue.tag.orders.folders import folder_name, folder_names
from catalogue.tag.orders.order import COLUMNS, MOST_QUANTITY, Order, OrdersError, Result
from catalogue.tag.orders.plates import Place, plate
from catalogue.tag.orders.results import results_csv
from catalogue.tag.orders.table import MOST_BYTES, MOST_ROWS, OrderTable, read_orders, read_table

__all__ = [
    "COLUMNS",
    "MOST_BYTES",
    "MOST_QUANTITY",
    "MOST_ROWS",
    "Order",
    "OrderTable",
    "OrdersError",
    "Place",
    "Result",
    "folder_name",
    "folder_names",
    "plate",
    "read_orders",
    "read_table",
    "results_csv",
]
