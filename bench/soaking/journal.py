"""Results of tasks, one JSON line each, so that a stopped run goes on; and the report made of them."""

from __future__ import annotations

import json
from collections import defaultdict
from dataclasses import asdict
from pathlib import Path
from typing import Any

from soaking.judge import Fault


def done(path: Path) -> set[str]:
    """Keys of the tasks in the journal; a line cut short by a kill counts as not done."""
    keys: set[str] = set()
    if path.exists():
        whole = []
        for line in path.read_text().splitlines():
            try:
                keys.add(json.loads(line)["task"])
                whole.append(line)
            except (ValueError, KeyError):
                continue
        path.write_text("".join(line + "\n" for line in whole))
    return keys


def line(task: str, commands: int, seconds: float, faults: list[Fault], notes: list[Fault]) -> str:
    """A task's result."""
    row = {"task": task, "commands": commands, "seconds": round(seconds, 2)}
    return json.dumps(row | {"faults": [asdict(f) for f in faults], "notes": [asdict(n) for n in notes]})


def read(path: Path) -> list[dict[str, Any]]:
    """All results."""
    return [json.loads(line) for line in path.read_text().splitlines()] if path.exists() else []


def report(results: list[dict[str, Any]], faces: int, names: int, out: Path) -> int:
    """Writes the faults, one JSON line a group, prints the table and the closing line; how many faults there were."""
    faults = [fault for result in results for fault in result["faults"]]
    notes = [note for result in results for note in result["notes"]]
    with out.open("w") as file:
        for group in _grouped(faults):
            file.write(json.dumps(group, ensure_ascii=False) + "\n")
    commands = sum(result["commands"] for result in results)
    hours = sum(result["seconds"] for result in results) / 3600
    print(f"{len(results)} tasks, {commands} commands, {hours:.1f} h of tasks")
    for title, rows in (("faults", faults), ("no faults, to be looked at", notes)):
        if rows:
            print(f"\n{title}\n{'count':>7} {'faces':>6} {'names':>6}  kind: what")
        for group in _grouped(rows):
            print(f"{group['count']:7} {group['faces']:6} {group['names']:6}  {group['kind']}: {group['what']}")
            print(f"{'':23}{group['command'][:300]}")
    print(f"\nsoak: {len(faults)} faults over {faces} faces x {names} names")
    return len(faults)


def _grouped(rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    groups: dict[tuple[str, str], list[dict[str, Any]]] = defaultdict(list)
    for row in rows:
        groups[row["kind"], row["what"]].append(row)
    made = [
        {
            "kind": kind, "what": what, "count": len(members),
            "faces": len({m["face"] for m in members if m["face"] is not None}),
            "names": len({m["case"] for m in members if m["case"]}),
            "detail": members[0]["detail"], "command": min((m["command"] for m in members), key=len),
            "cases": sorted({m["case"] for m in members if m["case"]})[:12],
            "some_faces": sorted({m["face"] for m in members if m["face"] is not None})[:12],
        }
        for (kind, what), members in groups.items()
    ]  # fmt: skip
    return sorted(made, key=lambda group: (-group["count"], group["kind"]))
