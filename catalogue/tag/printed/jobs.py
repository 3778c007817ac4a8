"""Finds the job sheet of a tag by its folder, its file, or an order's number in a folder of orders."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from typing import Any

from catalogue.errors import UsageError
from catalogue.tag.orders.run import RESULTS
from catalogue.text import clean, from_csv_cell

JOB = "job.json"

_MOST_NAMED = 8


def job_facts(target: str, orders: Path | None = None) -> dict[str, Any]:
    """The facts of a tag: ``target`` is its folder or its job.json, or an order in the folder ``orders``.

    Raises UsageError with what to do.
    """
    folder = _folder_of(target, orders) if orders is not None else Path(target)
    path = folder if folder.name == JOB else folder / JOB
    try:
        found = json.loads(path.read_bytes())
    except FileNotFoundError as cause:
        raise UsageError(f"{folder}: no {JOB} there; name the folder of a tag, or an order with --in DIR") from cause
    except (ValueError, RecursionError) as cause:
        raise UsageError(f"{path}: not a job sheet; make the tag again") from cause
    if not isinstance(found, dict) or "hold" not in found:
        raise UsageError(f"{path}: not a job sheet; make the tag again")
    return found


def _folder_of(order: str, orders: Path) -> Path:
    """The folder of an order in a folder of orders."""
    try:
        text = (orders / RESULTS).read_text(encoding="utf-8-sig")
    except (FileNotFoundError, NotADirectoryError) as cause:
        raise UsageError(f"{orders}: no {RESULTS} there; name the folder that 'letterhold orders' wrote") from cause
    except UnicodeDecodeError as cause:
        raise UsageError(f"{orders / RESULTS}: not UTF-8 text; run the orders again") from cause
    rows = [{k: from_csv_cell(v or "") for k, v in row.items() if k} for row in csv.DictReader(io.StringIO(text))]
    found = [r for r in rows if r.get("order") == order]
    if not found:
        known = ", ".join(clean(r.get("order", ""), 20) for r in rows[:_MOST_NAMED])
        raise UsageError(f"no order {clean(order, 40)!r} in {orders}; there are {known}")
    folder = found[0].get("folder", "")
    if not folder or Path(folder).name != folder:
        raise UsageError(f"order {clean(order, 40)} was not made: {clean(found[0].get('reason', ''), 200)}")
    return orders / folder
