"""``letterhold health``: what is installed, how the catalogue is, and a repair that asks first."""

from __future__ import annotations

import argparse
import sys
from dataclasses import asdict, replace

from catalogue.commands.options import as_json, catalogue_of, print_json, progress
from catalogue.gather.health import Health, compare_engines, examine, mend
from catalogue.store.lock import only_scan
from catalogue.text import clean
from catalogue.wording import count_of


def add_arguments(health: argparse.ArgumentParser) -> None:
    """The options of ``health``."""
    health.add_argument("--repair", action="store_true", help="mend what can be mended; asks before it removes a row")
    health.add_argument("--yes", action="store_true", help="with --repair: do not ask")
    health.add_argument("--fonts", action="store_true", help="also compare every face with a second engine's drawing")
    as_json(health)


def run(options: argparse.Namespace) -> int:
    """Look, mend where that was asked for and agreed to, and report."""
    catalogue = catalogue_of(options)
    found = examine(catalogue)
    mendable = [f for f in found.findings if f.mendable]
    done: list[str] = []
    if options.repair and mendable and (options.yes or _agreed(found)):
        with only_scan(catalogue):
            done = mend(catalogue)
        found = examine(catalogue)
    if options.fonts:
        found = replace(found, findings=(*found.findings, *compare_engines(catalogue, progress)))
    if options.json:
        print_json(asdict(found) | {"well": found.well, "done": done})
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
