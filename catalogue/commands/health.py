"""The self-check on the command line: what is installed, how the catalogue is, and a repair that asks first."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from dataclasses import asdict
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from catalogue.gather.health import Health

Add = Callable[..., argparse.ArgumentParser]


def add_commands(add: Add) -> None:
    """Enter ``health`` among the commands."""
    health = add("health", _health, "check the installation and the catalogue", "health")
    health.add_argument("--repair", action="store_true", help="mend what can be mended; asks before it removes a row")
    health.add_argument("--yes", action="store_true", help="with --repair: do not ask")
    health.add_argument("--json", action="store_true", help="print JSON")


def _health(options: argparse.Namespace) -> int:
    from catalogue.gather.health import examine, mend
    from catalogue.gather.scan import only_scan
    from catalogue.store.database import usual_catalogue

    catalogue = options.catalogue or usual_catalogue()
    found = examine(catalogue)
    mendable = [f for f in found.findings if f.mendable]
    done: list[str] = []
    if options.repair and mendable and (options.yes or _agreed(found)):
        with only_scan(catalogue):
            done = mend(catalogue)
        found = examine(catalogue)
    if options.json:
        print(json.dumps(asdict(found) | {"well": found.well, "done": done}, indent=1, ensure_ascii=False))
    else:
        _print(found, done)
    return 0 if found.well else 1


def _agreed(found: Health) -> bool:
    """Ask at a terminal; elsewhere the answer is no."""
    for finding in (f for f in found.findings if f.mendable):
        print(finding.text, *(f"  {name}" for name in finding.examples), sep="\n", file=sys.stderr)
    if not sys.stdin.isatty():
        print("letterhold: nothing was removed; add --yes to repair", file=sys.stderr)
        return False
    print(
        "Remove these rows and files? A copy of the catalogue is kept. [yes/no] ", end="", file=sys.stderr, flush=True
    )
    return sys.stdin.readline().strip().casefold() == "yes"


def _print(found: Health, done: list[str]) -> None:
    from catalogue.text import clean
    from catalogue.wording import count_of

    print("versions   " + ", ".join(f"{name} {version}" for name, version in found.versions.items()))
    held = f"{count_of(found.files, 'file')}, {count_of(found.faces, 'face')}, {found.size_mb} MB"
    print(f"catalogue  {clean(found.catalogue, 1000)}: {held}")
    print(f"free space {found.free_mb:.0f} MB")
    for line in done:
        print(f"done       {clean(line, 1000)}")
    for finding in found.findings:
        print(f"found      {clean(finding.text, 1000)}")
        for name in finding.examples:
            print(f"           {clean(name, 1000)}")
    if found.well:
        print("all is well")
