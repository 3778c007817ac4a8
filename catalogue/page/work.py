"""What a run does in a process of its own: a scan or a batch of orders, reported in JSON lines on standard output.

``python -m catalogue.page.work scan CATALOGUE PLACE...`` or ``orders CATALOGUE FILE FOLDER PROCESS``; started by
``runs``, which reads the lines: ``{"done": 3, "total": 40}`` after every font or tag, then ``{"result": {...}}`` or
``{"trouble": "one line"}`` or ``{"fault": "the traceback"}``.
"""

from __future__ import annotations

import json
import signal
import sys
import traceback
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

from catalogue.errors import LetterholdError

FORMATS = ("3mf", "svg")
"""What is written of every order."""


def say(**facts: Any) -> None:
    """One line for the page."""
    print(json.dumps(facts, ensure_ascii=True), flush=True)


def followed(items: Iterable[Any], total: int, label: str, unit: str = "") -> Iterable[Any]:
    """Items passed on, with a line before the first and after each."""
    say(done=0, total=total)
    for done, item in enumerate(items, 1):
        yield item
        say(done=done, total=total)


def scan(catalogue: str, *places: str) -> dict[str, Any]:
    """Fonts of folders, files and addresses into a catalogue; the counts."""
    from catalogue.gather.scan import Scan, scan_into
    from scanner.alphabet import read_words
    from scanner.files import place_of

    return scan_into(Path(catalogue), Scan([place_of(p) for p in places], read_words(None)), followed)


def orders(catalogue: str, file: str, folder: str, process: str) -> dict[str, Any]:
    """The tags of a file of orders into a folder; how many were made and kept."""
    from catalogue.tag.orders import read_orders
    from catalogue.tag.orders.run import run_orders
    from catalogue.tag.orders.shop import Shop

    shop = Shop(Path(catalogue), Path(folder), process, FORMATS)
    run = run_orders(read_orders(Path(file).read_bytes()), shop, 0, followed)
    return {"made": run.made, "kept": run.kept, "plates": run.plates}


WORK: dict[str, Callable[..., dict[str, Any]]] = {"scan": scan, "orders": orders}


def main(arguments: Sequence[str]) -> int:
    """Do the work, say what came of it; returns the exit status: 0, 2 for a person's mistake, 3 for a fault."""
    signal.signal(signal.SIGTERM, signal.default_int_handler)  # what was done is put down first
    try:
        say(result=WORK[arguments[0]](*arguments[1:]))
    except KeyboardInterrupt:
        return 2
    except LetterholdError as error:
        say(trouble=str(error))
        return 2
    except OSError as error:
        where = f"{error.filename}: " if error.filename else ""
        say(trouble=f"{where}{(error.strerror or str(error)).lower()}; check the path, its rights and the free space")
        return 2
    except Exception:
        say(fault=traceback.format_exc())
        return 3
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
