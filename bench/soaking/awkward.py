"""The short run: awkward fonts by name, scanned into a catalogue of their own, and the names that hurt them.

``awkward.txt`` lists font files by their names, the package that carries each, and why. Files that are not installed
are counted and skipped; the fonts of ``odd_fonts`` are made on the spot, so that the worst cases are always there.
"""

from __future__ import annotations

import json
import random
import site
import sys
from pathlib import Path

from soaking.child import Outcome, forked
from soaking.odd_fonts import write_odd_fonts
from soaking.world import World

NAMES: list[str] = [
    "plain", "one thin letter", "accents", "apostrophe", "typographic apostrophe", "letters and digits", "two lines",
    "two words", "thirty letters", "spaces only", "emoji", "heart", "decomposed", "mathematical letters", "Hebrew",
    "Hebrew and Latin", "Arabic", "Greek", "Devanagari", "Tamil", "Lao", "Burmese", "Tibetan", "Chinese", "katakana",
    "Korean", "hyphen first", "zero width",
]  # fmt: skip
"""Cases of ``names.NAMES``: one of each sort of trouble."""


def scanned(catalogue: Path, work: Path) -> list[Outcome]:
    """Scans the awkward fonts into ``catalogue`` where it is not there yet; what the scan did."""
    if catalogue.exists():
        return []
    odd = catalogue.with_suffix(".odd-fonts")  # not in the work folder: the catalogue outlives ``--fresh``
    write_odd_fonts(odd)
    listed = [line.split("\t") for line in _list().splitlines() if line and not line.startswith("#")]
    wanted = {name for name, *_ in listed}
    roots = [Path("/usr/share/fonts"), *sorted(Path("/usr/share").glob("fonts-*"))]
    packages = dict.fromkeys([*sys.path, *site.getsitepackages()])
    roots += [Path(folder) for folder in packages if "site-packages" in folder]
    there: dict[str, Path] = {}
    for root in roots:
        for path in sorted(root.rglob("*")) if root.is_dir() else ():
            if path.name in wanted and path.is_file():
                there.setdefault(path.name, path.resolve())
    absent = sorted({package for name, package, *_ in listed if name not in there})
    print(f"{len(there)} of {len(wanted)} awkward files installed; not found of: {', '.join(absent) or '-'}")
    files = [str(path) for path in there.values()] + [str(path) for path in sorted(odd.iterdir())]
    outcome = forked(["scan", *files, "--catalogue", str(catalogue), "--json"], work / "home", 600)
    counts = json.loads(outcome.stdout or "{}")
    print(f"scanned: {counts}")
    if outcome.status != 0 or counts.get("files") != len(files):
        print(outcome.stderr, file=sys.stderr)
    return []


def pairs(world: World, faces: list[int]) -> list[tuple[str, int]]:
    """Each face with one name it covers and one it does not; the same every time."""
    draw = random.Random(13)
    chosen: list[tuple[str, int]] = []
    for face in faces:
        for able in (True, False):
            cases = [case for case in NAMES if (world.lacks[case].get(face) == "") == able and case != "spaces only"]
            if cases and (able or draw.random() < 0.4):
                chosen.append((draw.choice(cases), face))
        if world.faces[face].path.endswith("odd-apostrophe.ttf"):
            chosen.append(("apostrophe", face))
    return list(dict.fromkeys(chosen))


def _list() -> str:
    return Path(__file__).with_name("awkward.txt").read_text()
