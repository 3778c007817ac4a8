"""The fonts that come as Python packages: what a first scan reads where no folder is given."""

from __future__ import annotations

from importlib import metadata
from pathlib import Path
from typing import Any


def demo_folders() -> list[Path]:
    """Folders of the font packages installed next to this tool (distributions named ``fontpkg-*``)."""
    folders: dict[str, Path] = {}
    for distribution in metadata.distributions():
        name = (distribution.metadata["Name"] or "").lower()
        if name.startswith("fontpkg-"):
            folder: Any = distribution.locate_file(name.replace("-", "_"))
            folders[name] = Path(str(folder))
    return [folders[name] for name in sorted(folders) if folders[name].is_dir()]
