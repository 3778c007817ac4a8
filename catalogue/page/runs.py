"""Work in a process of its own: a scan or a batch of orders, with its progress. One scan at a time a catalogue.

Streamlit's process must not scan: workers are started by spawning, which imports ``__main__`` again. So the command
itself runs, as a person would start it, and its output is read.
"""

from __future__ import annotations

import hashlib
import json
import os
import subprocess
import sys
import threading
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

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


@dataclass
class Run:
    """A command under way; fields are read by the page while a thread fills them."""

    label: str
    process: subprocess.Popen[str]
    done: int = 0
    total: int = 0
    status: int | None = None
    result: Any = None
    told: str = ""
    """The last line of its errors."""

    @property
    def running(self) -> bool:
        """Whether it is still at work."""
        return self.status is None

    def stop(self) -> None:
        """End it; what was done is kept."""
        if self.process.poll() is None:
            self.process.terminate()


def start(label: str, arguments: Sequence[str]) -> Run:
    """Start a command of ours with ``--json``; its answer becomes ``result``."""
    environment = os.environ | {"PYTHONUNBUFFERED": "1", "PYTHONIOENCODING": "utf-8"}
    process = subprocess.Popen(
        [sys.executable, "-m", "catalogue.commands.main", *arguments], stdin=subprocess.DEVNULL, stdout=subprocess.PIPE,
        stderr=subprocess.PIPE, text=True, encoding="utf-8", errors="replace", env=environment,
    )  # fmt: skip
    run = Run(label, process)
    threading.Thread(target=_follow, args=(run,), daemon=True).start()
    return run


def _follow(run: Run) -> None:
    said: list[str] = []
    with run.process as process:  # closes the pipes at the end
        assert process.stdout is not None and process.stderr is not None
        reader = threading.Thread(target=lambda out: said.append(out.read()), args=(process.stdout,), daemon=True)
        reader.start()
        for line in process.stderr:
            words = line.split()
            if len(words) == 3 and words[0] == "progress" and words[1].isdecimal() and words[2].isdecimal():
                run.done, run.total = int(words[1]), int(words[2])
            elif line.strip():
                run.told = line.strip().removeprefix("letterhold: ")
        reader.join()
    try:
        run.result = json.loads(said[0]) if said and said[0].strip() else None
    except json.JSONDecodeError:
        run.result = None
    run.status = run.process.returncode


# ── scans ───────────────────────────────────────────────────────────────────────────────────────────────────────────

_scans: dict[Path, Run] = {}
_starting = threading.Lock()


def scan(catalogue: Path, places: Sequence[Path | str], label: str) -> Run:
    """Scan paths and addresses into a catalogue. Raises ValueError when a scan of it is under way."""
    with _starting:
        run = _scans.get(catalogue)
        if run is not None and run.running:
            raise ValueError("a scan is under way in this catalogue; wait for it or stop it first")
        arguments = ["scan", "--json", "--progress", "--catalogue", str(catalogue)]
        run = start(label, [*arguments, "--", *map(str, places)])
        _scans[catalogue] = run
        return run


def last_scan(catalogue: Path) -> Run | None:
    """The scan under way or the last one of this server."""
    return _scans.get(catalogue)


# ── dropped fonts ───────────────────────────────────────────────────────────────────────────────────────────────────


def dropped_folder(catalogue: Path) -> Path:
    """Where dropped fonts are kept: beside the catalogue, in the user's data folder."""
    return catalogue.parent / "dropped-fonts"


def keep_fonts(files: Sequence[tuple[str, bytes]], folder: Path) -> tuple[list[Path], list[str]]:
    """Write dropped fonts under the hash of their bytes; returns their paths and a sentence for each that was refused.

    Nothing of a file's own name is used on the disk. What a font says inside is read later, in a worker.
    """
    from catalogue.atomic import write_file
    from catalogue.text import clean

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
