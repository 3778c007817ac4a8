"""What a shop keeps from day to day, next to its catalogue: JSON files in one folder, each written whole or not at all.

A file that cannot be read is set aside under another name and reported once; nothing is thrown away.
"""

from __future__ import annotations

import json
import threading
from functools import lru_cache
from pathlib import Path
from typing import Any

from catalogue.atomic import write_file

REST_S = 1.0
"""What changes with every key is written when it has rested that long."""


class Desk:
    """The folder of one catalogue's shop."""

    def __init__(self, folder: Path) -> None:
        self.folder = folder
        self.notices: list[str] = []
        """Lines to show once."""
        self._lock = threading.Lock()
        self._waiting: dict[str, threading.Timer] = {}

    def read(self, name: str, otherwise: Any) -> Any:
        """What was kept under a name, or ``otherwise`` when there is nothing or it is of another kind."""
        path = self._path(name)
        try:
            found = json.loads(path.read_text(encoding="utf-8"))
        except FileNotFoundError:
            return otherwise
        except (OSError, ValueError):
            self._set_aside(path)
            return otherwise
        return found if isinstance(found, type(otherwise)) else otherwise

    def write(self, name: str, value: Any) -> None:
        """Keep a value under a name."""
        with self._lock:
            self.folder.mkdir(parents=True, exist_ok=True)
            write_file(self._path(name), (json.dumps(value, ensure_ascii=False, indent=1) + "\n").encode())

    def write_soon(self, name: str, value: Any) -> None:
        """Keep the last of several values that come quickly one after the other."""
        with self._lock:
            if name in self._waiting:
                self._waiting[name].cancel()
            timer = threading.Timer(REST_S, self._write_later, (name, value))
            timer.daemon = True
            self._waiting[name] = timer
            timer.start()

    def _write_later(self, name: str, value: Any) -> None:
        try:
            self.write(name, value)
        except (ValueError, OSError) as error:  # nobody waits for it: a read-only folder is no reason to stop
            self.notices.append(f"what you set is not kept until tomorrow: {error}")

    def _path(self, name: str) -> Path:
        return self.folder / f"{name}.json"

    def _set_aside(self, path: Path) -> None:
        kept = path.with_suffix(".damaged")
        try:
            path.replace(kept)
        except OSError:
            kept = path
        self.notices.append(f"{path.name} could not be read; it is kept as {kept}, and its list starts empty")


@lru_cache(maxsize=4)
def desk_of(catalogue: Path) -> Desk:
    """The desk of a catalogue: one for all who look at it."""
    return Desk(catalogue.absolute().parent / "desk")
