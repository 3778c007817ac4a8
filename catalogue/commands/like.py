"""``letterhold like``: the faces that look most like one."""

from __future__ import annotations

import argparse
import sys

from catalogue.commands.options import FACE_HELP, as_json, count, open_store, print_json
from catalogue.errors import UsageError
from catalogue.style.grouping import neighbours


def add_arguments(like: argparse.ArgumentParser) -> None:
    """The options of ``like``."""
    like.add_argument("face", metavar="FACE", help=FACE_HELP)
    like.add_argument("--top", type=count, default=10, metavar="N", help="rows to show (default 10, 0: all)")
    as_json(like)


def run(options: argparse.Namespace) -> int:
    """Print the neighbours, nearest first."""
    with open_store(options) as store:
        face = store.find(options.face)
        found = neighbours(store, face, options.top or sys.maxsize)
    if not found:
        raise UsageError(f"{face.title} has nothing to be compared with; scan more fonts")
    if options.json:
        print_json(found)
        return 0
    print(f"like {face.title} ({face.group}); 0 is the same drawing, 1 is another style")
    print("of two figures the first is the listed face's")
    for row in found:
        title = f"{row['family']} {row['style']}"
        print(f"{row['distance']:5.2f}  {title[:34]:<34} {row['group']}")
        print(f"       alike in: {', '.join(row['alike']) or 'nothing that stands out'}")
        print(f"       it has: {', '.join(row['differs']) or 'nothing that is much different'}")
    return 0
