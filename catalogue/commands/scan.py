"""``letterhold scan``: fonts into the catalogue, or into partitions to be merged later."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

from catalogue.commands.options import as_json, count, place, place_as_text, print_json, progress
from catalogue.errors import UsageError
from catalogue.gather.scan import Scan, scan_into, scan_to_parts
from catalogue.text import clean
from catalogue.wording import count_of
from scanner.alphabet import read_words
from scanner.usual_folders import usual_folders

MOST_NAMED = 8
"""Folders listed when they are offered."""


def add_arguments(scan: argparse.ArgumentParser) -> None:
    """The options of ``scan``."""
    scan.add_argument(
        "paths",
        nargs="*",
        type=place,
        metavar="PATH",
        help="folders, font files or s3://… addresses; without one the machine's own font folders are offered",
    )
    scan.add_argument(
        "--usual", action="store_true", help="the machine's font folders and installed font packages, without asking"
    )
    scan.add_argument("--workers", type=count, default=0, metavar="N", help="processes to use (default: one a core)")
    scan.add_argument(
        "--cluster", default="", metavar="ADDRESS", help="measure on the workers of the Dask scheduler at this address"
    )
    scan.add_argument(
        "--parts", type=place_as_text, metavar="FOLDER", help="write partitions there, to be merged, and no catalogue"
    )
    scan.add_argument("--words", type=Path, metavar="FILE", help="test words of your own, one a line")
    scan.add_argument("--all-instances", action="store_true", help="every named instance, not only the weights")
    scan.add_argument(
        "--progress", action="store_true", help="report 'progress DONE TOTAL' on standard error, a line a file"
    )
    as_json(scan)


def run(options: argparse.Namespace) -> int:
    """Scan, and report what was found."""
    if options.parts and options.catalogue:
        raise UsageError("--parts writes no catalogue; leave --catalogue out, and give it to 'letterhold merge'")
    scan = Scan(
        [*options.paths, *_usual(options)],
        read_words(options.words),
        options.workers,
        options.all_instances,
        options.cluster,
    )
    shown = _progress_lines if options.progress else progress
    facts = scan_to_parts(options.parts, scan, shown) if options.parts else scan_into(options.catalogue, scan, shown)
    if options.json:
        print_json(facts)
        return 0
    print(
        f"{amount(facts)}: {facts['failed']} failed, {facts['skipped_unchanged']} unchanged, {facts['seconds']:.1f} s"
    )
    for path, reason in facts["reasons"]:
        print(f"  {clean(path, 1000)}: {reason}")
    print(f"next: letterhold merge {facts['parts']}" if options.parts else f"catalogue: {facts['catalogue']}")
    return 0


def _usual(options: argparse.Namespace) -> list[Path]:
    """The machine's own font folders where they are asked for, or where no path is given and a person agrees."""
    if options.paths and not options.usual:
        return []
    found = usual_folders()
    if not found:
        raise UsageError("no fonts are in this machine's usual folders; give a folder: letterhold scan FOLDER")
    fonts = count_of(sum(number for _, number in found), "font")
    if options.usual:
        return [folder for folder, _ in found]
    if not (sys.stdin and sys.stdin.isatty() and sys.stderr.isatty()):
        raise UsageError(
            f"no folder given; type 'letterhold scan FOLDER', or 'letterhold scan --usual' for the {fonts} in"
            f" {count_of(len(found), 'folder')} of this machine and its font packages"
        )
    for folder, number in found[:MOST_NAMED]:
        print(f"{number:>7}  {clean(str(folder), 1000)}", file=sys.stderr)
    if len(found) > MOST_NAMED:
        rest = found[MOST_NAMED:]
        print(f"{sum(number for _, number in rest):>7}  {count_of(len(rest), 'more folder')}", file=sys.stderr)
    print(f"Scan these {fonts}? Type y and Enter: ", end="", file=sys.stderr, flush=True)
    if sys.stdin.readline().strip().casefold() not in ("y", "yes"):
        raise UsageError("nothing was scanned; give a folder: letterhold scan FOLDER")
    return [folder for folder, _ in found]


def amount(facts: dict[str, Any]) -> str:
    """What a catalogue holds, in words."""
    return (
        f"{count_of(facts['faces'], 'face')} and {count_of(facts['instances'], 'instance')}"
        f" in {count_of(facts['files'], 'file')}"
    )


def _progress_lines(items: Iterable[Any], total: int, label: str) -> Iterable[Any]:
    """Progress for another program: a line before the first item and after each."""
    print(f"progress 0 {total}", file=sys.stderr, flush=True)
    for done, item in enumerate(items, 1):
        yield item
        print(f"progress {done} {total}", file=sys.stderr, flush=True)
