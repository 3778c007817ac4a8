"""The prints of a catalogue on disk: a JSON object a line in a file next to it."""

from __future__ import annotations

import json
import os
from dataclasses import dataclass
from pathlib import Path

from catalogue.atomic import write_file
from catalogue.errors import UsageError
from catalogue.tag.printed.outcome import Outcome, from_json

ENDING = ".printed.jsonl"


@dataclass(frozen=True, slots=True)
class Kept:
    """What a file holds."""

    outcomes: tuple[Outcome, ...]
    unreadable: int = 0
    """Lines that hold no print."""


def path_of(catalogue: Path) -> Path:
    """Where the prints of a catalogue are.

    >>> path_of(Path("shop.sqlite")).name
    'shop.sqlite.printed.jsonl'
    """
    return catalogue.with_name(catalogue.name + ENDING)


def read(catalogue: Path) -> Kept:
    """Every print, the oldest first."""
    try:
        data = path_of(catalogue).read_bytes()
    except FileNotFoundError:
        return Kept(())
    lines = [line for line in data.split(b"\n") if line.strip()]
    found = [_outcome(line) for line in lines]
    sound = tuple(o for o in found if o is not None)
    return Kept(sound, len(found) - len(sound))


def _outcome(line: bytes) -> Outcome | None:
    try:
        return from_json(json.loads(line))
    except (ValueError, RecursionError):
        return None


def add(catalogue: Path, outcome: Outcome) -> None:
    """Keep one more. One write at the end of the file: what stands there is never touched."""
    path = path_of(catalogue)
    line = json.dumps(outcome.as_json(), ensure_ascii=True).encode() + b"\n"
    with path.open("ab+") as file:
        if file.tell():
            file.seek(-1, os.SEEK_END)
            if file.read(1) != b"\n":  # the last write was cut off: its rest stays a line of its own
                line = b"\n" + line
        file.write(line)
        file.flush()
        os.fsync(file.fileno())


def take_back(catalogue: Path) -> Outcome:
    """Remove the print that was kept last. Raises UsageError where there is none."""
    path = path_of(catalogue)
    lines = path.read_bytes().split(b"\n") if path.exists() else []
    for k in range(len(lines) - 1, -1, -1):
        found = _outcome(lines[k])
        if found is not None:
            write_file(path, b"\n".join([*lines[:k], *lines[k + 1 :]]))
            return found
    raise UsageError("no print is kept yet; there is nothing to take back")
