"""The table of results: a row for each order, made or not."""

from __future__ import annotations

import csv
import io
from collections.abc import Sequence

from catalogue.tag.orders.order import Result
from catalogue.text import csv_cell

RESULT_COLUMNS = ("order", "name", "face", "quantity", "done", "hold", "size_mm", "mass_g", "folder", "reason", "note")


def results_csv(results: Sequence[Result]) -> str:
    """A row for each order, done or not; no cell is a formula or holds what a terminal obeys."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(RESULT_COLUMNS)
    for r in results:
        writer.writerow([csv_cell(c) if isinstance(c, str) else c for c in _cells(r)])
    return out.getvalue()


def _cells(result: Result) -> tuple[str | int, ...]:
    order = result.order
    name = order.name.replace("\n", "\\n")
    head = (order.order, name, result.face_shown, order.quantity or "")
    if result.reason:
        return (*head, "no", "", "", "", result.folder, result.reason, order.note)
    size = " x ".join(f"{v:.1f}" for v in result.size_mm)
    return (*head, "yes", result.hold, size, f"{result.mass_g:.2f}", result.folder, "", order.note)
