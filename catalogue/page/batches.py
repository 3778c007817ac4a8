"""Batches of orders on disk: the rows, the tags made of them and what became of each; there again tomorrow.

A batch is a folder on the desk: ``batch.json`` (label, day, printer), ``orders.csv``, and ``tags/`` as the command
``orders`` writes it, with ``results.csv`` once a run has ended.
"""

from __future__ import annotations

import csv
import datetime
import io
import json
import re
import secrets
import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from catalogue.atomic import write_file
from catalogue.page import drafts, runs
from catalogue.page.desk import Desk
from catalogue.page.making import zipped
from catalogue.page.runs import Run
from catalogue.tag.making import MADE
from catalogue.text import from_csv_cell
from catalogue.wording import count_of

MOST_ORDERS = 300
"""Rows in a batch of the page; the command has no such limit."""

_KEY = re.compile(r"\d{8}-\d{6}-[0-9a-f]{4}")
_runs: dict[Path, Run] = {}


@dataclass(frozen=True, slots=True)
class Batch:
    """One batch."""

    folder: Path
    label: str
    day: str
    process: str
    count: int
    """Rows."""

    @property
    def tags(self) -> Path:
        """Where its tags are."""
        return self.folder / "tags"

    @property
    def run(self) -> Run | None:
        """Its run under way, or the last one of this server."""
        return _runs.get(self.folder)

    @property
    def busy(self) -> bool:
        """Whether it is being made."""
        return self.run is not None and self.run.running

    def rows(self) -> list[drafts.Row]:
        """Its orders as typed."""
        return list(drafts.read((self.folder / "orders.csv").read_bytes()).rows)

    def ready(self) -> int:
        """Tags that lie there finished."""
        return sum(1 for _ in self.tags.glob(f"*/{MADE}"))

    def results(self) -> list[dict[str, str]]:
        """A row an order, done or not; none while no run has ended."""
        try:
            text = (self.tags / "results.csv").read_text(encoding="utf-8")
        except OSError:
            return []
        return [{k: from_csv_cell(cell) for k, cell in row.items()} for row in csv.DictReader(io.StringIO(text))]


def batches(desk: Desk) -> list[Batch]:
    """Every batch, the newest first."""
    folder = desk.folder / "batches"
    found = (p.name for p in folder.iterdir()) if folder.is_dir() else ()
    names = sorted((name for name in found if _KEY.fullmatch(name)), reverse=True)
    return [b for b in (_read(folder / name) for name in names) if b is not None]


def _read(folder: Path) -> Batch | None:
    try:
        found: dict[str, Any] = json.loads((folder / "batch.json").read_text(encoding="utf-8"))
        return Batch(folder, str(found["label"]), str(found["day"]), str(found["process"]), int(found["count"]))
    except (OSError, ValueError, KeyError, TypeError):
        return None


def create(desk: Desk, rows: Sequence[drafts.Row], process: str) -> Batch:
    """A batch of these rows, not made yet."""
    now = datetime.datetime.now()
    folder = desk.folder / "batches" / f"{now:%Y%m%d-%H%M%S}-{secrets.token_hex(2)}"
    folder.mkdir(parents=True)
    write_file(folder / "orders.csv", drafts.as_csv(rows))
    facts = {
        "label": count_of(len(rows), "order"), "day": f"{now:%Y-%m-%d %H:%M}", "process": process, "count": len(rows)
    }  # fmt: skip
    write_file(folder / "batch.json", json.dumps(facts).encode())
    return Batch(folder, facts["label"], facts["day"], process, len(rows))  # type: ignore[arg-type]


def make(batch: Batch, catalogue: Path, again: str = "") -> Run:
    """Make what is not made yet, and the folder ``again`` in any case. Finished tags that did not change are kept."""
    if again and Path(again).name == again:
        (batch.tags / again / MADE).unlink(missing_ok=True)
    orders = batch.folder / "orders.csv"
    run = runs.start(
        batch.label, runs.WORK, ["orders", str(catalogue), str(orders), str(batch.tags), batch.process]
    )  # fmt: skip
    _runs[batch.folder] = run
    return run


def remove(batch: Batch) -> None:
    """Stop it and throw it away."""
    if batch.run is not None and batch.busy:
        batch.run.stop()
    _runs.pop(batch.folder, None)
    shutil.rmtree(batch.folder, ignore_errors=True)


def together(batch: Batch) -> bytes:
    """Every file of a batch as one zip."""
    files = (p for p in sorted(batch.tags.rglob("*")) if p.is_file())
    return zipped({p.relative_to(batch.tags).as_posix(): p.read_bytes() for p in files})
