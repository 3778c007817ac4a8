"""A system without POSIX's processes, played: what Windows lacks is taken from our own modules, and only from them.

``LETTERHOLD_ENGINE=portable pytest`` runs the suite so. The workers' processes are started with the same hook by a
``sitecustomize.py`` that stands on their path.
"""

from __future__ import annotations

import atexit
import builtins
import os
import shutil
import signal
import sys
import tempfile
from collections.abc import Mapping, Sequence
from pathlib import Path
from types import ModuleType

MODULES = frozenset({"fcntl", "resource", "pwd", "grp", "termios"})
OURS = ("scanner", "catalogue")

_import = builtins.__import__


def _without(
    name: str,
    globals: Mapping[str, object] | None = None,
    locals: Mapping[str, object] | None = None,
    fromlist: Sequence[str] | None = (),
    level: int = 0,
) -> ModuleType:
    home = str((globals or {}).get("__name__", ""))
    if name in MODULES and home.split(".")[0] in OURS:
        raise ImportError(f"No module named {name!r} on the system that is played here")
    return _import(name, globals, locals, fromlist or (), level)


def install() -> None:
    """Take them away in this process."""
    builtins.__import__ = _without  # type: ignore[assignment]
    for module, name in ((os, "fork"), (signal, "setitimer")):
        if hasattr(module, name):
            delattr(module, name)


def install_in_children() -> None:
    """And in every Python process that this one starts."""
    folder = Path(tempfile.mkdtemp(prefix="without-posix-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    lines = ["import sys", f"sys.path.append({str(Path(__file__).parent)!r})", "import without_posix"]
    (folder / "sitecustomize.py").write_text("\n".join([*lines, "without_posix.install()", ""]))
    sys.path.insert(0, str(folder))
    os.environ["PYTHONPATH"] = os.pathsep.join([str(folder), os.environ.get("PYTHONPATH", "")]).rstrip(os.pathsep)
