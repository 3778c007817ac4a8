"""Details of a fault of the program, kept in a file for whoever mends it. Nothing leaves the machine."""

from __future__ import annotations

import contextlib
import datetime
import os
import platform
import secrets
import sys
import tempfile
import traceback
from importlib import metadata
from pathlib import Path

from catalogue.folders import state_folder

MOST_KEPT = 20
"""Files kept; older ones are removed."""


def details(error: BaseException) -> str:
    """What happened, on which version, with which command: the traceback and its causes as text."""
    version = "unknown"
    with contextlib.suppress(metadata.PackageNotFoundError):
        version = metadata.version("letterhold")
    now = datetime.datetime.now(datetime.UTC).isoformat(timespec="seconds")
    head = f"letterhold {version}, Python {platform.python_version()}, {platform.platform()}, {now}\n"
    return f"{head}command: {sys.argv}\n\n{''.join(traceback.format_exception(error))}"


def keep_details(error: BaseException) -> Path:
    """Write the details into a new file of the user's state folder; where that cannot be, of the temporary folder."""
    now = datetime.datetime.now(datetime.UTC).strftime("%Y%m%d-%H%M%S")
    name = f"fault-{now}-{secrets.token_hex(2)}.txt"
    text = details(error).encode("utf-8", "backslashreplace")
    for folder in (state_folder(), Path(tempfile.gettempdir())):
        with contextlib.suppress(OSError):
            folder.mkdir(parents=True, exist_ok=True)
            path = folder / name
            handle = os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)  # paths and names are private
            with os.fdopen(handle, "wb") as file:
                file.write(text)
            _remove_old(folder)
            return path
    sys.stderr.write(text.decode())  # no folder takes it: better here than nowhere
    return Path("the lines above")


def _remove_old(folder: Path) -> None:
    with contextlib.suppress(OSError):
        for path in sorted(folder.glob("fault-*.txt"))[:-MOST_KEPT]:
            path.unlink()
