"""Folders of this machine that may hold fonts, and how many font files each has: counted by name, nothing is opened."""

from __future__ import annotations

import os
import sys
from dataclasses import dataclass
from pathlib import Path

ENDINGS = (".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2")
MOST_LOOKED_AT = 20_000
"""Entries looked at in one folder, so that a whole disk does not keep a person waiting."""
MOST_SHOWN = 200


@dataclass(frozen=True, slots=True)
class Folder:
    """A folder with its fonts."""

    path: Path
    fonts: int
    more: bool
    """Whether counting was given up before its end."""

    @property
    def words(self) -> str:
        """Path and count."""
        count = f"{self.fonts}{' and more' if self.more else ''}"
        return f"{self.path}: {count} font {'file' if count == '1' else 'files'}"


def usual() -> list[Path]:
    """Where systems keep fonts, and the home folder; those that are there."""
    home = Path.home()
    places = {
        "darwin": ("/System/Library/Fonts", "/Library/Fonts", home / "Library" / "Fonts"),
        "win32": (Path(os.environ.get("WINDIR", "C:/Windows")) / "Fonts",
                  home / "AppData" / "Local" / "Microsoft" / "Windows" / "Fonts"),
    }.get(sys.platform, ("/usr/share/fonts", "/usr/local/share/fonts", home / ".local" / "share" / "fonts",
                         home / ".fonts"))  # fmt: skip
    here = [Path(p) for p in (*places, home / "Downloads", home / "Documents", home)]
    return [p for p in here if p.is_dir()]


def counted(folder: Path) -> Folder:
    """A folder with the fonts in it and below; hidden folders are left out."""
    fonts = seen = 0
    for path, inside, files in os.walk(folder):
        inside[:] = [d for d in inside if not d.startswith(".") or Path(path) != Path.home()]
        fonts += sum(f.lower().endswith(ENDINGS) for f in files)
        seen += len(files) + len(inside)
        if seen > MOST_LOOKED_AT:
            return Folder(folder, fonts, True)
    return Folder(folder, fonts, False)


def below(folder: Path) -> list[Path]:
    """Folders in a folder, by name, hidden ones left out. None where it cannot be read."""
    try:
        found = [Path(e.path) for e in os.scandir(folder) if e.is_dir() and not e.name.startswith(".")]
    except OSError:
        return []
    return sorted(found, key=lambda p: p.name.casefold())[:MOST_SHOWN]
