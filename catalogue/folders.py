"""Where letterhold keeps its files in the user's home; the only importer of ``platformdirs``.

On Linux these are the folders of the XDG base directory specification, elsewhere those of the system.
"""

from __future__ import annotations

from pathlib import Path

from platformdirs import PlatformDirs

_DIRS = PlatformDirs("letterhold", appauthor=False)


def data_folder() -> Path:
    """Catalogues and dropped fonts: what is kept until the person removes it."""
    return _DIRS.user_data_path


def cache_folder() -> Path:
    """Copies of fonts from a store: may be deleted at any time."""
    return _DIRS.user_cache_path


def process_folder() -> Path:
    """Process profiles of the person's own printers, a TOML file each."""
    return data_folder() / "processes"


def state_folder() -> Path:
    """Details of faults of the program."""
    return _DIRS.user_state_path


def default_catalogue() -> Path:
    """The person's own catalogue."""
    return data_folder() / "catalogue.sqlite"


def demo_catalogue() -> Path:
    """The catalogue of the demo fonts."""
    return data_folder() / "demo.sqlite"


def usual_catalogue() -> Path:
    """What is read when no catalogue is named: the person's own, or the demo's while there is no other."""
    own, demo = default_catalogue(), demo_catalogue()
    return demo if demo.exists() and not own.exists() else own
