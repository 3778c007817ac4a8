"""The door to pictures for the rooms that follow: scenes, the check's sheet, and scenes as files."""

from __future__ import annotations

from pathlib import Path

from catalogue.atomic import write_file
from catalogue.draw.check_sheet import check_scene
from catalogue.draw.png import png
from catalogue.draw.scene import (
    INK,
    LAYER_COLOURS,
    MARK,
    PALE,
    PAPER,
    Circle,
    Item,
    Line,
    Patch,
    Scene,
    Shape,
    Text,
    name_items,
    writable,
)
from catalogue.draw.svg import path_data, svg
from catalogue.errors import LetterholdError
from catalogue.judge.weak_spots import KINDS
from catalogue.judge.weak_spots import gravest as numbered

__all__ = [
    "INK", "KINDS", "LAYER_COLOURS", "MARK", "PALE", "PAPER", "Circle", "Item", "Line", "Patch", "Scene", "Shape",
    "Text", "check_scene", "name_items", "numbered", "path_data", "png", "svg", "writable", "write_picture",
]  # fmt: skip


def write_picture(scene: Scene, path: Path) -> None:
    """Write SVG or PNG by the file's ending; nothing half-written is left under the name."""
    kind = path.suffix.lower()
    if kind not in (".svg", ".png"):
        raise LetterholdError(f"{path}: a picture is .svg or .png; give the file one of these endings")
    write_file(path, svg(scene).encode() if kind == ".svg" else png(scene))
