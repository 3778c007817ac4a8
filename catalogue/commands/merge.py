"""``letterhold merge``: the partitions of ``scan --parts`` into the catalogue."""

from __future__ import annotations

import argparse

from catalogue.commands.options import as_json, place_as_text, print_json, progress
from catalogue.commands.scan import amount
from catalogue.folders import default_catalogue
from catalogue.gather.partitions import merge_parts
from catalogue.wording import count_of


def add_arguments(merge: argparse.ArgumentParser) -> None:
    """The options of ``merge``."""
    merge.add_argument("parts", type=place_as_text, metavar="FOLDER", help="folder or address with the partitions")
    as_json(merge)


def run(options: argparse.Namespace) -> int:
    """Merge, and report how much."""
    facts = merge_parts(options.parts, options.catalogue or default_catalogue(), progress)
    if options.json:
        print_json(facts)
        return 0
    print(
        f"{count_of(facts['merged'], 'file')} of {count_of(facts['partitions'], 'partition')} merged,"
        f" {facts['seconds']:.1f} s; {amount(facts)}"
    )
    print(f"catalogue: {facts['catalogue']}")
    return 0
