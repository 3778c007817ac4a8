"""Where a machine keeps its fonts: what a scan offers that was given no folder. Pure but for ``usual_folders``.

Folders of Linux: XDG base directory specification and fontconfig's defaults (``~/.fonts``). Of macOS: Apple's archived
"Font Handling" document. Of Windows: the known folder FOLDERID_Fonts, and since Windows 10 1809 a user's own fonts.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path, PurePath, PurePosixPath, PureWindowsPath

from scanner.files import find_fonts
from scanner.installed import demo_folders


def font_folders(platform: str, home: str, environment: Mapping[str, str]) -> list[PurePath]:
    """Usual font folders of a system (``sys.platform``), the person's own first, whether there or not.

    >>> [str(f) for f in font_folders("darwin", "/Users/ada", {})]
    ['/Users/ada/Library/Fonts', '/Library/Fonts', '/System/Library/Fonts']
    """
    if platform == "win32":
        windows = PureWindowsPath(environment.get("SYSTEMROOT") or "C:\\Windows")
        own = PureWindowsPath(environment.get("LOCALAPPDATA") or PureWindowsPath(home, "AppData", "Local"))
        return [own / "Microsoft" / "Windows" / "Fonts", windows / "Fonts"]
    own_home = PurePosixPath(home)
    if platform == "darwin":
        tops = [own_home / "Library", PurePosixPath("/Library"), PurePosixPath("/System/Library")]
        return [top / "Fonts" for top in tops]
    data = environment.get("XDG_DATA_HOME") or str(own_home / ".local" / "share")
    shared = (environment.get("XDG_DATA_DIRS") or "/usr/local/share:/usr/share").split(":")
    # The specification has relative paths ignored.
    tops = [PurePosixPath(top) for top in dict.fromkeys([data, *shared]) if top.startswith("/")]
    return [own_home / ".fonts", *(top / "fonts" for top in tops)]


def usual_folders() -> list[tuple[Path, int]]:
    """Folders of this machine, and of installed font packages, that hold fonts, and how many each adds."""
    own = [Path(f) for f in font_folders(sys.platform, os.path.expanduser("~"), os.environ)]
    seen: set[str] = set()
    found = []
    for folder in [*filter(os.path.isdir, own), *demo_folders()]:
        fonts = {file.name for file in find_fonts([folder])} - seen
        seen |= fonts
        if fonts:
            found.append((folder, len(fonts)))
    return found
