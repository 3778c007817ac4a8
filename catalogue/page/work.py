"""What a run does in a process of its own: a scan, its progress and outcome as JSON, a line each, on standard output.

``python -m catalogue.page.work CATALOGUE PLACE...``; started by ``runs``, which reads the lines:
``{"done": 3, "total": 40}`` after every font, then ``{"result": {...}}`` or ``{"trouble": "one line"}`` or
``{"fault": "the traceback"}``.
"""

from __future__ import annotations

import json
import sys
import traceback
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import Any

from catalogue.errors import LetterholdError


def say(**facts: Any) -> None:
    """One line for the page."""
    print(json.dumps(facts, ensure_ascii=True), flush=True)


def followed(items: Iterable[Any], total: int, label: str) -> Iterable[Any]:
    """Items passed on, with a line before the first and after each."""
    say(done=0, total=total)
    for done, item in enumerate(items, 1):
        yield item
        say(done=done, total=total)


def scan(catalogue: Path, places: Sequence[str]) -> dict[str, Any]:
    """Fonts of folders, files and addresses into a catalogue; the counts."""
    from catalogue.gather.scan import Scan, scan_into
    from scanner.alphabet import read_words
    from scanner.files import place_of

    return scan_into(catalogue, Scan([place_of(p) for p in places], read_words(None)), followed)


def said(work: Callable[[], dict[str, Any]]) -> int:
    """Do the work, say what came of it; returns the exit status: 0, 2 for a person's mistake, 3 for a fault."""
    try:
        say(result=work())
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


def main(arguments: Sequence[str]) -> int:
    """Run one scan."""
    catalogue, *places = arguments
    return said(lambda: scan(Path(catalogue), places))


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
