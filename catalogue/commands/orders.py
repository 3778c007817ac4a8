"""The ``orders`` command: a table of orders to a folder a tag, with results, a contact sheet and plates."""

from __future__ import annotations

import argparse
import sys
from collections import Counter
from importlib import resources
from pathlib import Path

from catalogue.atomic import write_file
from catalogue.commands.ending import ending_soon
from catalogue.commands.options import catalogue_of, count, length_or_zero, print_json, progress
from catalogue.errors import UsageError
from catalogue.folders import demo_catalogue
from catalogue.judge.process import load_process
from catalogue.store.database import Store
from catalogue.tag.exports.files import FORMATS, formats_of
from catalogue.tag.orders import COLUMNS, MOST_BYTES, OrderTable, Result, read_table
from catalogue.tag.orders.run import Run, check_out, run_orders
from catalogue.tag.orders.shop import Shop
from catalogue.text import clean
from catalogue.wording import CAUTION, count_of

MOST_GONE = 8
"""Folders of orders that are gone that are named; the others are counted."""


def add_arguments(orders: argparse.ArgumentParser) -> None:
    """The options of ``orders``."""
    orders.add_argument(
        "file",
        type=Path,
        nargs="?",
        metavar="FILE",
        help=f".csv or .xlsx with some of the columns {', '.join(COLUMNS)}",
    )
    orders.add_argument("--demo", action="store_true", help="take the 40 orders of an invented shop; see --save-demo")
    orders.add_argument("--save-demo", type=Path, metavar="OUT.csv", help="write these orders as a file to start from")
    orders.add_argument("--out", type=Path, metavar="DIR", help="folder to write into")
    orders.add_argument("--process", default="nozzle-0.4", metavar="NAME", help="process where a row names none")
    orders.add_argument(
        "--formats", default="3mf,svg", metavar="LIST", help=f"any of {','.join(FORMATS)} (default: 3mf,svg)"
    )
    orders.add_argument(
        "--bed", type=length_or_zero, metavar="LENGTH", help="side of a square bed (default: the process's own bed)"
    )
    orders.add_argument("--workers", type=count, default=0, metavar="N", help="processes to use (default: one a core)")
    orders.add_argument("--json", action="store_true", help="print a row an order as JSON")


def demo_csv() -> bytes:
    """Forty orders of Harbour Finch Goods, a shop that does not exist, in faces of the demo."""
    return resources.files("catalogue.tag").joinpath("demo_orders.csv").read_bytes()


def run(options: argparse.Namespace) -> int:
    """Make what is not made yet, then the results, the contact sheet and the plates."""
    if options.save_demo:
        write_file(options.save_demo, demo_csv())
        print(f"40 orders written to {options.save_demo}; next: letterhold orders {options.save_demo} --out shop")
        return 0
    shop, table = _shop(options), _table(options)
    Store(shop.catalogue).close()  # a catalogue that is not there is reported before anything is made
    with ending_soon():
        found = run_orders(table.orders, shop, options.workers, progress)
    if options.json:
        print_json([_row(r) for r in found.results])
    else:
        _print_run(found, shop.out)
    for line in (*table.notes, *filter(None, [_gone_line(found.gone)])):
        print(f"letterhold: {clean(line, 400)}", file=sys.stderr)
    return 1 if any(r.reason for r in found.results) else 0


def _shop(options: argparse.Namespace) -> Shop:
    """What all orders share; everything a person can mistake is looked at before a file is read."""
    if not options.out:
        raise UsageError("no folder to write into; give --out DIR")
    if bool(options.file) == options.demo:
        raise UsageError("give a FILE.csv or .xlsx of orders, or --demo for the orders of an invented shop")
    formats = formats_of(options.formats)
    load_process(options.process)
    check_out(options.out)
    catalogue = catalogue_of(options)
    if options.demo and not options.catalogue:
        catalogue = demo_catalogue()
        if not catalogue.is_file():
            raise UsageError("the demo fonts are not scanned yet; run: letterhold demo")
    return Shop(catalogue.absolute(), options.out, options.process, formats, options.bed)


def _table(options: argparse.Namespace) -> OrderTable:
    if options.demo:
        return read_table(demo_csv())
    with options.file.open("rb") as file:
        table = read_table(file.read(MOST_BYTES + 1))
    if not table.orders:
        raise UsageError(f"{options.file}: no orders in it; add a row under the column names")
    return table


def _row(result: Result) -> dict[str, object]:
    return {
        "order": clean(result.order.order), "done": not result.reason, "face": clean(result.face_shown),
        "folder": result.folder, "reason": clean(result.reason, 400),
    }  # fmt: skip


def _print_run(found: Run, out: Path) -> None:
    done = [r for r in found.results if not r.reason]
    pieces = sum(r.order.quantity for r in done)
    print(
        f"{len(done)} of {count_of(len(found.results), 'order')} done, {count_of(pieces, 'piece')}:"
        f" {count_of(found.made, 'tag')} made, {found.kept} kept from an earlier run,"
        f" {count_of(found.plates, 'plate')}; see {out}"
    )
    chosen = Counter(r.face for r in done if r.order.takes_best)
    if chosen:
        print("  best chose " + ", ".join(f"{clean(f)} for {count_of(n, 'order')}" for f, n in chosen.most_common()))
    for r in found.results:
        if r.reason:
            print(f"  row {r.order.row}, order {clean(r.order.order, 40)}: {clean(r.reason, 400)}")
    if done:
        ready = "plate-1.3mf is" if found.plates == 1 else f"plate-1.3mf to plate-{found.plates}.3mf are"
        print(f"  contact.png shows all tags, results.csv lists them, {ready} ready to slice")
        print(CAUTION)


def _gone_line(gone: tuple[str, ...]) -> str:
    """Folders of orders that are no longer in the file; empty when there are none."""
    if not gone:
        return ""
    more = f" and {len(gone) - MOST_GONE} more" if len(gone) > MOST_GONE else ""
    names = ", ".join(gone[:MOST_GONE])
    return f"{count_of(len(gone), 'folder')} of orders no longer in the file: {names}{more}; delete what is not needed"
