"""Dropped fonts: kept under the hash of their bytes, in a folder of ours next to the catalogue.

Nothing of a file's own name is used on the disk. What a font says inside is read later, in a worker.
"""

from __future__ import annotations

import hashlib
from collections.abc import Sequence
from pathlib import Path

from catalogue.atomic import write_file
from catalogue.text import clean

MOST_FILES = 40
"""Files taken at once."""
MOST_KEPT = 2000
"""Files kept in the folder of dropped fonts."""
MOST_BYTES = 32 << 20
"""Of one dropped file."""

ENDINGS = {
    b"\x00\x01\x00\x00": ".ttf", b"true": ".ttf", b"OTTO": ".otf", b"ttcf": ".ttc", b"wOFF": ".woff", b"wOF2": ".woff2",
}  # fmt: skip
"""First four bytes of each kind of font file (OpenType 1.9, WOFF 1 and 2), and the ending it gets."""


def folder_of(catalogue: Path) -> Path:
    """Where dropped fonts of a catalogue are kept."""
    return catalogue.parent / "dropped-fonts"


def keep_fonts(files: Sequence[tuple[str, bytes]], folder: Path) -> tuple[list[Path], list[str]]:
    """Write dropped fonts, given as name and bytes; returns their paths, and a sentence for each that was refused."""
    kept: list[Path] = []
    refused: list[str] = []
    folder.mkdir(parents=True, exist_ok=True)
    room = MOST_KEPT - sum(1 for _ in folder.iterdir())
    for number, (name, data) in enumerate(files):
        shown = f"“{clean(name, 60)}”"
        ending = ENDINGS.get(data[:4])
        if number >= MOST_FILES:
            refused.append(f"{shown} was left out: {MOST_FILES} files are the most at once; drop it again.")
        elif ending is None:
            refused.append(f"{shown} is no font file; drop .ttf, .otf, .ttc, .woff or .woff2 files.")
        elif len(data) > MOST_BYTES:
            refused.append(f"{shown} is larger than {MOST_BYTES >> 20} MB; scan its folder instead.")
        else:
            path = folder / f"{hashlib.sha256(data).hexdigest()[:32]}{ending}"
            if not path.exists():
                if room <= 0:
                    refused.append(f"{shown} was left out: {folder} holds {MOST_KEPT} files; clear it out first.")
                    continue
                write_file(path, data)
                room -= 1
            kept.append(path)
    return kept, refused
