"""A whole run: what is not made yet is shared out over processes; then results, contact sheet and plates."""

from __future__ import annotations

import hashlib
import json
import os
import re
from collections.abc import Callable, Generator, Iterable, Sequence
from contextlib import closing
from dataclasses import dataclass
from functools import lru_cache, partial
from pathlib import Path
from typing import Any

from catalogue.atomic import write_file
from catalogue.store.database import Store
from catalogue.tag.making import MADE, clear_unfinished, strangers
from catalogue.tag.orders.finished import sizes_of
from catalogue.tag.orders.folders import folder_names
from catalogue.tag.orders.order import Order, Result
from catalogue.tag.orders.results import results_csv
from catalogue.tag.orders.sheets import Shown, plate_count, sheet_files
from catalogue.tag.orders.shop import Made, OrderError, Shop, Task, for_order, kept_order, make_order
from catalogue.workers import spread

FEW = 3
"""So few different tags are made in this process: starting others takes longer."""

RESULTS = "results.csv"
_SHEETS = ".letterhold-sheets.json"
"""What the sheets of the last run were drawn from."""

_OURS = re.compile(r"results\.csv|contact\.(png|svg)|plate-\d+\.(svg|3mf)|\.letterhold-.*")

STOPPED = "not made, for the run was stopped; run the same command to go on"

Progress = Callable[[Iterable[Any], int, str, str], Iterable[Any]]
"""Wraps the work for a progress bar: items, how many, what, of what."""


@dataclass(frozen=True, slots=True)
class Run:
    """What became of all orders of a file."""

    results: tuple[Result, ...]
    made: int
    """Different tags that were made."""
    kept: int
    """Different tags that an earlier run had made."""
    plates: int
    gone: tuple[str, ...]
    """Folders of orders that are no longer in the file."""


def run_orders(orders: Sequence[Order], shop: Shop, workers: int, progress: Progress) -> Run:
    """Make what is not made yet. When it is stopped, what was done is kept and listed before the stop goes on."""
    names = folder_names(o for o in orders if not o.reason)
    tasks: dict[str, Task] = {}
    for order in orders:
        if not order.reason:
            tasks.setdefault(order.key, Task(order, names[order.key]))
    found: dict[str, Made] = {}
    shop.out.mkdir(parents=True, exist_ok=True)
    try:
        with closing(_all_made(tasks, shop, workers)) as work:
            for key, one in progress(work, len(tasks), "orders", "tag"):
                found[key] = one
    except BaseException:
        _write_results(orders, found | _finished_meanwhile(tasks, found, shop), shop)
        raise
    results = _write_results(orders, found, shop)
    shown = [_Sheet(r.order, found[r.order.key]) for r in results if not r.reason]
    plates = _write_sheets(shown, shop)
    fresh = [m for m in found.values() if m.body is not None and not m.kept]
    kept = sum(m.kept for m in found.values())
    return Run(results, len(fresh), kept, plates, _gone(shop.out, {t.folder for t in tasks.values()}))


def _all_made(tasks: dict[str, Task], shop: Shop, workers: int) -> Generator[tuple[str, Made]]:
    """Every different tag, those of earlier runs first."""
    waiting: dict[str, Task] = {}
    with Store(shop.catalogue) as store:
        for key, task in tasks.items():
            kept = kept_order(store, task, shop)
            if kept is None:
                waiting[key] = task
            else:
                yield key, kept
        count = min(workers or os.cpu_count() or 1, len(waiting))
        if count < 2 or len(waiting) <= FEW:
            for key, task in waiting.items():
                yield key, make_order(store, task, shop)
            return
    keys = list(waiting)
    with closing(spread(partial(_make, shop), [waiting[k] for k in keys], count)) as answers:
        for done in answers:
            yield keys[done.number], done.answer


def _finished_meanwhile(tasks: dict[str, Task], found: dict[str, Made], shop: Shop) -> dict[str, Made]:
    """What workers had finished when they were stopped, and not reported yet; what they had not finished is removed."""
    more: dict[str, Made] = {}
    with Store(shop.catalogue) as store:
        for key, task in tasks.items():
            folder = shop.out / task.folder
            clear_unfinished(folder)
            if key not in found and (folder / MADE).is_file():
                kept = kept_order(store, task, shop)
                if kept is not None:
                    more[key] = kept
    return more


def _make(shop: Shop, task: Task) -> Made:
    return make_order(_store(shop.catalogue), task, shop)


@lru_cache(maxsize=1)
def _store(catalogue: Path) -> Store:
    """The open catalogue of a worker process."""
    return Store(catalogue)


def _write_results(orders: Sequence[Order], found: dict[str, Made], shop: Shop) -> tuple[Result, ...]:
    results = tuple(
        Result(o, reason=o.reason) if o.reason
        else for_order(found[o.key], o) if o.key in found
        else Result(o, reason=STOPPED)
        for o in orders
    )  # fmt: skip
    write_file(shop.out / RESULTS, results_csv(results).encode())
    return results


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One order on the sheets."""

    order: Order
    made: Made


def _write_sheets(sheets: Sequence[_Sheet], shop: Shop) -> int:
    """Contact sheet and plates, unless those of the last run show the same; returns how many plates there are."""
    stamp = _stamp(sheets)
    before = _last_sheets(shop.out)
    if before is not None and before.get("stamp") == stamp:
        return plate_count(before["files"])
    (shop.out / _SHEETS).unlink(missing_ok=True)
    shown = [Shown(s.order, s.made.body, s.made.bed_mm) for s in sheets if s.made.body is not None]
    files = sheet_files(shown)
    for name, data in files.items():
        write_file(shop.out / name, data)
    for path in shop.out.glob("plate-*"):
        if path.name not in files and _OURS.fullmatch(path.name):
            path.unlink()
    write_file(shop.out / _SHEETS, json.dumps({"stamp": stamp, "files": sizes_of(files)}).encode())
    return plate_count(files)


def _stamp(sheets: Sequence[_Sheet]) -> str:
    """Equal only where the same sheets would be drawn."""
    lines = [repr((s.order.order, s.order.quantity, s.made.made, s.made.bed_mm)) for s in sheets]
    return hashlib.sha256("\n".join(lines).encode("utf-8", "backslashreplace")).hexdigest()


def _last_sheets(out: Path) -> dict[str, Any] | None:
    """What the last run wrote down of its sheets; None where a file of them is gone or has another size."""
    try:
        found: dict[str, Any] = json.loads((out / _SHEETS).read_bytes())
        same = all((out / name).stat().st_size == size for name, size in found["files"].items())
    except (OSError, ValueError, KeyError, TypeError, AttributeError):  # it can be drawn again
        return None
    return found if same else None


def _gone(out: Path, wanted: set[str]) -> tuple[str, ...]:
    """Folders that an earlier run finished for orders that are not wanted now."""
    return tuple(sorted(p.parent.name for p in out.glob(f"*/{MADE}") if p.parent.name not in wanted))


def check_out(out: Path) -> None:
    """Raise OrderError unless the folder is new, empty, or holds only what runs write."""
    if out.exists() and not out.is_dir():
        raise OrderError(f"{out}: a file of that name is there; give a folder")
    for path in sorted(out.iterdir()) if out.is_dir() else ():
        if path.is_dir() and not strangers(path):
            continue
        if not _OURS.fullmatch(path.name):
            raise OrderError(f"{out}: holds other files ({path.name}); give a new or empty folder")
