"""What a folder of a finished order remembers of it: ``made.json``, written last of all its files.

A folder without it, or with a file that is gone or has another size, is made again.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from catalogue.atomic import write_file
from catalogue.tag.making import MADE
from catalogue.tag.orders.body import Body, packed, unpacked


@dataclass(frozen=True, slots=True)
class Finished:
    """A finished order."""

    asked: str
    """Digest of what was asked for: order, font or catalogue, process, formats."""
    made: str
    """Digest of what was made, on which font."""
    face_id: int
    hold: int
    mass_g: float
    body: Body


def keep(folder: Path, done: Finished, files: Mapping[str, int]) -> None:
    """Write down that the folder is finished; ``files`` are names and sizes."""
    found = {
        "asked": done.asked, "made": done.made, "face": done.face_id, "hold": done.hold, "mass_g": done.mass_g,
        "files": dict(files), "tag": packed(done.body),
    }  # fmt: skip
    write_file(folder / MADE, json.dumps(found, ensure_ascii=False).encode())


def finished_in(folder: Path) -> Finished | None:
    """What an earlier run finished in a folder; None where it did not, or something has happened to its files."""
    try:
        found: dict[str, Any] = json.loads((folder / MADE).read_bytes())
        if any((folder / name).stat().st_size != size for name, size in found["files"].items()):
            return None
        return Finished(
            str(found["asked"]), str(found["made"]), int(found["face"]), int(found["hold"]), float(found["mass_g"]),
            unpacked(found["tag"]),
        )  # fmt: skip
    except Exception:  # whatever is wrong with a file that can be made again
        return None


def sizes_of(files: Mapping[str, bytes]) -> dict[str, int]:
    """Sizes of files by name."""
    return {name: len(data) for name, data in files.items()}
