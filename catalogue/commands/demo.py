"""``letterhold demo``: the demo fonts that came with the install, scanned and ranked for a name."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from catalogue.commands.made_rows import made_report
from catalogue.commands.options import as_json, progress
from catalogue.commands.scan import amount
from catalogue.errors import UsageError
from catalogue.folders import demo_catalogue, usual_catalogue
from catalogue.gather.scan import Scan, scan_into
from catalogue.judge.listing import Wanted
from catalogue.judge.made_order import ORDERS
from catalogue.judge.process import load_process
from catalogue.judge.reach import Reach
from catalogue.judge.request import DEFAULT_CAP_HEIGHT_MM, Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.database import Store
from catalogue.wording import count_of
from scanner.alphabet import read_words
from scanner.installed import demo_folders
from scanner.names import check_name

DEMO_NAME = "Marlie"
TOP = 12


def add_arguments(demo: argparse.ArgumentParser) -> None:
    """The options of ``demo``."""
    demo.add_argument("name", nargs="?", default=DEMO_NAME, metavar="NAME")
    as_json(demo)


def run(options: argparse.Namespace) -> int:
    """Scan, rank, and say what to do next."""
    check_name(options.name)
    folders = demo_folders()
    if not folders:
        raise UsageError("the demo fonts are not installed; run: pip install 'letterhold[demo]'")
    target = options.catalogue or demo_catalogue()
    print(f"scanning the fonts of {count_of(len(folders), 'installed package')} ...", file=sys.stderr)
    facts = scan_into(target, Scan(folders, read_words(None)), progress)
    if not options.json:
        print(f"{amount(facts)}, {facts['seconds']:.0f} s\n")
    size = Size("cap-height", DEFAULT_CAP_HEIGHT_MM)
    asked = Request.of(options.name, size, load_process("nozzle-0.4"), default_stack())
    from catalogue.tag.fitted import Asked, as_made  # the geometry libraries take a fifth of a second to load

    with Store(target) as store:
        fit = Asked(asked, Reach(), size_fixed=False)
        found = as_made(store, fit, Wanted(TOP, TOP), ORDERS[0], progress, os.cpu_count() or 1)
    status = made_report(found, asked, options.json)
    best = found.rows[0].ranked.face.title if found.rows else "FACE"
    if not options.json:
        _print_next(options.name, best, target)
    return status


def _print_next(name: str, face: str, catalogue: Path) -> None:
    where = f" --catalogue {catalogue}" if catalogue != usual_catalogue() else ""
    print(f'\nNext: letterhold check {name} --face "{face}" --picture weak.png{where}')
    print(f"      letterhold page{where}   (browse it in the browser)")
