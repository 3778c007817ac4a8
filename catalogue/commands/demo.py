"""``letterhold demo``: the demo fonts that came with the install, scanned and ranked for a name."""

from __future__ import annotations

import argparse
import os
import sys
from pathlib import Path

from catalogue.commands.made_rows import made_report
from catalogue.commands.options import as_json, progress
from catalogue.commands.rank import DEFAULT_VERIFY, report
from catalogue.commands.scan import amount
from catalogue.errors import UsageError
from catalogue.folders import demo_catalogue, usual_catalogue
from catalogue.gather.scan import Scan, scan_into
from catalogue.judge.listing import Wanted, listing
from catalogue.judge.made_listing import made_listing
from catalogue.judge.process import load_process
from catalogue.judge.ranking import can_predict
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
    with Store(target) as store:
        if can_predict(asked.name):
            status, best = _as_made(store, asked, options.json)
        else:
            found = listing(store, asked, Wanted(TOP, DEFAULT_VERIFY), progress, workers=os.cpu_count() or 1)
            status, best = report(found, asked, options.json), found.rows[0].face.title if found.rows else "FACE"
    if not options.json:
        _print_next(options.name, best, target)
    return status


def _as_made(store: Store, asked: Request, in_json: bool) -> tuple[int, str]:
    """Exit status, and the face to go on with."""
    from catalogue.tag.fitted import Asked, fitted  # the geometry libraries take a fifth of a second to load

    found = made_listing(store, asked, Wanted(TOP, TOP), Reach())
    found = fitted(found, Asked(asked, Reach(), size_fixed=False), TOP, progress, os.cpu_count() or 1)
    return made_report(found, asked, in_json), found.rows[0].ranked.face.title if found.rows else "FACE"


def _print_next(name: str, face: str, catalogue: Path) -> None:
    where = f" --catalogue {catalogue}" if catalogue != usual_catalogue() else ""
    print(f'\nNext: letterhold check {name} --face "{face}" --picture weak.png{where}')
    print(f"      letterhold page{where}   (browse it in the browser)")
