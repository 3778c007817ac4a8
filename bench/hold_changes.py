"""Which faces' hold changed most between two versions, with pictures to look at.

Each side is the output of ``letterhold rank NAME --top 0 --verify 9999 --json``, so that any two versions compare:

    letterhold rank Marlie --top 0 --verify 9999 --json > before.json        (the version before, its own catalogue)
    letterhold rank Marlie --top 0 --verify 9999 --json > after.json         (this one)
    python bench/hold_changes.py Marlie before.json after.json --catalogue FILE --pictures DIR
"""

from __future__ import annotations

import argparse
import json
import re
from dataclasses import dataclass
from pathlib import Path
from typing import Any

MOST = 20


@dataclass(frozen=True)
class Change:
    """One face before and after."""

    title: str
    path: str
    before: dict[str, Any]
    after: dict[str, Any]

    @property
    def by(self) -> int:
        return int(self.after["hold"]) - int(self.before["hold"])


def changes(before: Path, after: Path) -> list[Change]:
    """Faces that both sides ranked, the largest change first."""
    sides = [{_key(row): row for row in json.loads(p.read_text(encoding="utf-8"))} for p in (before, after)]
    found = [
        Change(f"{b['family']} {b['style']}", b["path"], b, sides[1][key])
        for key, b in sides[0].items()
        if key in sides[1]
    ]
    return sorted(found, key=lambda c: (-abs(c.by), c.title))


def _key(row: dict[str, Any]) -> tuple[str, str, str]:
    return row["family"], row["style"], Path(row["path"]).name


def report(found: list[Change]) -> None:
    """The changes as a table, and how many crossed the line."""
    for c in found[:MOST]:
        print(f"{c.by:+4}  {c.before['hold']:>3} → {c.after['hold']:<3} {c.title}")
        for sign, row in (("-", c.before), ("+", c.after)):
            print(f"        {sign} {'; '.join(row['reasons']) or 'nothing lost'}")
    up = sum(c.before["hold"] < 50 <= c.after["hold"] for c in found)
    down = sum(c.after["hold"] < 50 <= c.before["hold"] for c in found)
    same = sum(abs(c.by) <= 3 for c in found)
    print(f"{len(found)} faces: {same} within 3 points; {up} hold now, {down} no longer hold")


def draw(found: list[Change], name: str, catalogue: Path, folder: Path) -> None:
    """The check sheets of the faces with the largest change."""
    from catalogue.draw.picture import check_scene, write_picture
    from catalogue.judge.check import check_face
    from catalogue.judge.process import load_process
    from catalogue.judge.request import Request, Size
    from catalogue.judge.stack import default_stack
    from catalogue.store.database import Store

    request = Request.of(name, Size("cap-height", 14.0), load_process("nozzle-0.4"), default_stack())
    folder.mkdir(parents=True, exist_ok=True)
    with Store(catalogue) as store:
        faces = store.faces_of([c.after["face"] for c in found[:MOST]])
    for place, c in enumerate(found[:MOST], 1):
        scene = check_scene(check_face(faces[c.after["face"]], request))
        write_picture(scene, folder / f"{place:02}-{re.sub('[^A-Za-z0-9]+', '-', c.title)}.png")


def main() -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("name")
    parser.add_argument("before", type=Path)
    parser.add_argument("after", type=Path)
    parser.add_argument("--catalogue", type=Path, help="catalogue of this version, for the pictures")
    parser.add_argument("--pictures", type=Path, metavar="DIR")
    options = parser.parse_args()
    found = changes(options.before, options.after)
    report(found)
    if options.pictures and options.catalogue:
        draw(found, options.name, options.catalogue, options.pictures)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
