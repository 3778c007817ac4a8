"""Two checkouts of letterhold side by side: the same commands over the same fonts, and every difference in their JSON.

    python bench/compare_checkouts.py BEFORE AFTER [--fonts FOLDER...] [--faces N] [--names NAME...] [--out FILE]

Each checkout scans the fonts (default: those of the demo packages) into a catalogue of its own and then runs ``rank``,
``check``, ``tag``, ``licence``, ``groups``, ``like`` and ``inspect`` as a person would, in a process of its own. Values
are compared exactly, the place of a row in a list aside. Differences are counted by command and key, with an example;
those that ``MEANT`` lists are shown with their reason. Exit status 1 when others are left.
"""

from __future__ import annotations

import argparse
import fnmatch
import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

ENTRIES = ("catalogue.commands.main", "catalogue.cli")
"""Modules with the entry point, newest first."""

VOLATILE = {"seconds", "catalogue", "files"}
"""Keys that no two runs share: times and paths of this run."""


@dataclass(frozen=True)
class Meant:
    """A difference that was wanted."""

    command: str
    key: str
    """Both with wild cards, as ``*``."""
    reason: str


HOLD = "hold is continuous, and a name holds from 50 points on"
STROKES = "thin strokes are the ink that an opening removes; corners are no thin strokes"
FIRST = "other rows are among the first, which are measured in full"
FITTED = "where strokes are measured by other rules the fit thickens by another length"
NUMBERED = "faces are numbered as they are scanned, one of each family first"
SPACED = "words of a name stand closer, so that the widest line and its size differ"
STYLED = "styles come from labelled families and a fitted model, and a group hangs on the face alone"
READ = "licences are read closed: a verdict rests on other statements"
STRONG = "strength is given in newtons, bending first, in place of a pull"
WORDED = "reasons follow the numbers and are worded in plain English"

MEANT = (
    *(Meant(command, key, HOLD) for command in ("rank", "check", "tag") for key in ("*hold", "*holds", "status")),
    Meant("rank", "order*", HOLD),
    *(Meant("*", key, NUMBERED) for key in ("*face", "*faces", "*faces.*")),
    *(Meant(command, key, STROKES) for command in ("rank", "check") for key in ("*thinnest_stroke_mm", "thin_share")),
    *(Meant("rank", f"rows.*.{key}", FIRST) for key in ("verified", "neck_mm", "smallest_counter_mm")),
    *(Meant(command, "*reasons*", WORDED) for command in ("rank", "check", "tag")),
    *(
        Meant("check", key, SPACED)
        for key in (
            "words_closer_mm", "cap_height_mm", "em_mm", "join_offset_mm", "median_stroke_mm", "smallest_counter_mm",
            "layers.*",
        )
    ),
    *(
        Meant(command, key, STYLED)
        for command in ("rank", "groups", "like", "inspect")
        for key in ("rows", "*group", "*_support", "*label*", "*alike*", "*differs*", "*distance", "*family", "*style")
    ),
    *(Meant("licence", key, READ) for key in ("evidence*", "rules_version", "reasons*")),
    *(Meant("rank", f"rows.*.{key}", FIRST) for key in ("join_offset_mm", "pieces")),
    Meant("tag", "ring_pull_mpa", STRONG),
    *(Meant("tag", key, FITTED) for key in ("changes", "tracking_em", "weight")),
    Meant("check", "pieces", "`pieces` means the base's everywhere; those of the bare letters are `letter_parts`"),
    Meant("check", "weak_spots*", "weak spots stand once for check, picture, page and job sheet"),
    *(
        Meant("tag", key, FITTED)
        for key in (
            "changes.*", "colours.*", "filled_pinholes", "mass_g.*", "neck_mm", "offsets_mm.*", "print_minutes",
            "ring.*", "ring_pull_mpa.*", "size_mm.*", "thicken_mm", "volume_mm3.*", "cap_height_mm",
        )
    ),
)  # fmt: skip

ADDED = "(no such key)"
"""Stands for a key that one side lacks; keys may be added, so one that only AFTER has is no difference."""


@dataclass
class Difference:
    """One key of one command that differs."""

    count: int = 0
    examples: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Checkout:
    """One side of the comparison."""

    root: Path
    work: Path
    """Its own folder for catalogue and files."""

    def run(self, *arguments: str) -> tuple[int, Any]:
        """Exit status and JSON of a command; text where it prints none."""
        module = next(m for m in ENTRIES if self.root.joinpath(*m.split(".")).with_suffix(".py").is_file())
        if arguments[0] == "rank" and (self.root / "catalogue" / "judge" / "made.py").is_file():
            arguments = (*arguments, "--as-set")  # what the order was before there was another
        paths = {**os.environ, "PYTHONPATH": str(self.root)}
        done = subprocess.run(
            [sys.executable, "-m", module, *arguments, "--catalogue", str(self.work / "c.sqlite"), "--json"],
            cwd=self.root, env=paths, capture_output=True, text=True, check=False,
        )  # fmt: skip
        try:
            return done.returncode, json.loads(done.stdout)
        except json.JSONDecodeError:
            return done.returncode, {"text": done.stdout + done.stderr}


def cases(names: Sequence[str], faces: Sequence[str], out: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """Every command with its arguments; ``out`` stands for a folder."""
    for name in names:
        for size in (("--cap-height", "14mm"), ("--x-height", "8mm"), ("--width", "60mm")):
            yield "rank", ("rank", name, *size, "--top", "0", "--verify", "0")
        yield "rank", ("rank", name, "--process", "nozzle-0.25", "--top", "0", "--verify", "10")
        yield "rank", ("rank", name, "--sell", "--group", "joined", "--top", "0", "--verify", "0")
    for number, face in enumerate(faces):
        name = names[number % len(names)]
        yield "check", ("check", name, "--face", face)
        yield "check", ("check", name, "--face", face, "--width", "50mm", "--process", "nozzle-0.6")
        yield "tag", ("tag", name, "--face", face, "--out", f"{out}/{number}")
        yield "licence", ("licence", face)
        yield "like", ("like", face)
        yield "inspect", ("inspect", face)
    yield "groups", ("groups",)


def compared(before: Any, after: Any, key: str = "") -> Iterator[tuple[str, str]]:
    """Keys that differ, with both values; rows of lists are named ``*``."""
    if isinstance(before, dict) and isinstance(after, dict):
        for name in sorted({*before, *after} - VOLATILE):
            yield from compared(before.get(name, ADDED), after.get(name, ADDED), f"{key}.{name}".lstrip("."))
    elif isinstance(before, list) and isinstance(after, list) and len(before) == len(after) and before:
        for one, two in zip(before, after, strict=True):
            yield from compared(one, two, f"{key}.*".lstrip("."))
    elif before not in (after, ADDED):
        yield key, f"{_short(before)} → {_short(after)}"


def _short(value: Any) -> str:
    if isinstance(value, list):
        return f"{len(value)} rows" if value and isinstance(value[0], dict) else json.dumps(value)[:80]
    return json.dumps(value, ensure_ascii=False)[:80]


def _by_face(found: Any) -> Any:
    """Rows of faces by file and index: their order is compared apart, as a key of its own."""
    if isinstance(found, list) and found and isinstance(found[0], dict) and "path" in found[0]:
        rows = {f"{r['path']} {r['family']} {r['style']}": r for r in found}
        return {"order": list(rows), "rows": [rows[name] for name in sorted(rows)]}
    return {"rows": found} if isinstance(found, list) else found


def differences(before: Checkout, after: Checkout, asked: argparse.Namespace) -> dict[tuple[str, str], Difference]:
    """Everything that differs, by command and key."""
    found: dict[tuple[str, str], Difference] = {}

    def compare(command: str, arguments: Sequence[str]) -> tuple[Any, Any]:
        sides = []
        for side in (before, after):
            status, answer = side.run(*(word.replace("OUT", str(side.work)) for word in arguments))
            sides.append({"status": status, "answer": _by_face(answer)})
        for key, values in compared(*sides):
            entry = found.setdefault((command, key.removeprefix("answer.")), Difference())
            entry.count += 1
            entry.examples.append(f"{' '.join(arguments)}: {values}")
        return sides[0]["answer"], sides[1]["answer"]

    compare("scan", ("scan", "--workers", "1", *map(str, asked.fonts)))  # one: faces get the same numbers
    rows, _ = compare("rank", ("rank", asked.names[0], "--top", "0", "--verify", "0"))
    titles = sorted({f"{row['family']} {row['style']}" for row in rows["rows"]})
    faces = titles[:: max(1, len(titles) // asked.faces)]
    for command, arguments in cases(asked.names, faces, "OUT"):
        compare(command, arguments)
        print(".", end="", file=sys.stderr, flush=True)
    print(file=sys.stderr)
    return found


def report(found: dict[tuple[str, str], Difference]) -> tuple[str, int]:
    """The table, and how many differences nobody meant."""
    lines, unmeant = [], 0
    for (command, key), entry in sorted(found.items()):
        wanted = [m for m in MEANT if fnmatch.fnmatch(command, m.command) and fnmatch.fnmatch(key, m.key)]
        unmeant += not wanted
        lines.append(f"{'meant  ' if wanted else 'NOT MEANT'} {command:<8} {key:<40} {entry.count:>6}")
        lines.append(f"          {wanted[0].reason if wanted else entry.examples[0]}")
    lines.append(f"{len(found)} keys differ, {unmeant} of them are not meant")
    return "\n".join(lines), unmeant


def main() -> int:
    """Compare, print, and say whether all was meant."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("before", type=Path)
    parser.add_argument("after", type=Path)
    parser.add_argument("--fonts", type=Path, nargs="+", help="default: the demo packages")
    parser.add_argument("--faces", type=int, default=12, help="faces that are checked and made into tags")
    parser.add_argument("--names", nargs="+", default=["Marlie", "Bo & Kim", "Zoë", "O'Neil-Fjord"])
    parser.add_argument("--out", type=Path, help="write the table there as well")
    asked = parser.parse_args()
    if not asked.fonts:
        sys.path.insert(0, str(asked.after))
        from scanner.installed import demo_folders

        asked.fonts = demo_folders()
    with tempfile.TemporaryDirectory() as folder:
        sides = []
        for name, root in (("before", asked.before), ("after", asked.after)):
            work = Path(folder, name)
            work.mkdir()
            sides.append(Checkout(root.resolve(), work))
        table, unmeant = report(differences(sides[0], sides[1], asked))
    print(table)
    if asked.out:
        asked.out.write_text(table + "\n", encoding="utf-8")
    return 1 if unmeant else 0


if __name__ == "__main__":
    raise SystemExit(main())
