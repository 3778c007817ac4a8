"""The sheet a customer chooses from: a name in a few sets of letters, each with a letter of its own. No jargon. Pure.

A sheet is A5 across, 210 × 148 mm, to read on a telephone and to print; all tags on it have one scale.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.affinity import affine_transform

from catalogue.draw.picture import INK, PALE, Item, Line, Scene, Shape, Text, png, writable
from catalogue.page.hanging import Hanging
from catalogue.text import clean

WIDTH_MM, HEIGHT_MM = 210.0, 148.0
MARGIN_MM, HEAD_MM, FOOT_MM, LABEL_MM = 9.0, 17.0, 10.0, 9.0
MOST_TAGS = 6
LARGEST = 2.6
"""A tag is drawn at most this much larger than it is."""
EDGE = "#7d8791"
LETTERS = "ABCDEF"


@dataclass(frozen=True, slots=True)
class Choice:
    """One tag to choose."""

    tag: Hanging
    note: str
    """What is said under its letter: size and, where the shop wants it, the price."""


def sheet_scene(name: str, choices: Sequence[Choice], shop: str = "") -> Scene:
    """The sheet of up to ``MOST_TAGS`` tags."""
    shown = list(choices[:MOST_TAGS])
    grid = max((_grid(shown, columns) for columns in (1, 2, 3)), key=lambda g: g.scale)
    shown_name = clean(name, 60)
    title = f"Which {shown_name} shall it be?" if writable(shown_name) == shown_name else "Which one shall it be?"
    items: list[Item] = [Text(MARGIN_MM, 12.0, title, 7.0, INK)]
    if shop:
        items.append(Text(WIDTH_MM - MARGIN_MM, 12.0, clean(shop, 50), 4.0, INK, "end"))
    for k, choice in enumerate(shown):
        x, y = MARGIN_MM + grid.wide * (k % grid.columns), HEAD_MM + grid.tall * (k // grid.columns)
        items += _cell(choice, LETTERS[k], grid, (x, y))
    items.append(Text(MARGIN_MM, HEIGHT_MM - 4.5, "Answer with a letter. Colours on a screen differ a little from the"
                      " plastic.", 3.2, INK))  # fmt: skip
    return Scene(WIDTH_MM, HEIGHT_MM, title, tuple(items))


@dataclass(frozen=True, slots=True)
class _Grid:
    """Cells of a sheet and the one scale at which every tag fits its cell."""

    columns: int
    wide: float
    tall: float
    scale: float


def _grid(shown: Sequence[Choice], columns: int) -> _Grid:
    rows = -(-len(shown) // columns)
    wide = (WIDTH_MM - 2 * MARGIN_MM) / columns
    tall = (HEIGHT_MM - HEAD_MM - FOOT_MM) / rows
    boxes = [c.tag.box for c in shown]
    widest, tallest = max(b[2] - b[0] for b in boxes), max(b[3] - b[1] for b in boxes)
    return _Grid(columns, wide, tall, min(LARGEST, (wide - 6) / widest, (tall - LABEL_MM - 5) / tallest))


def _cell(choice: Choice, letter: str, grid: _Grid, corner: tuple[float, float]) -> list[Item]:
    (x, y), scale = corner, grid.scale
    left, top, right, bottom = choice.tag.box
    dx = x + (grid.wide - scale * (right - left)) / 2 - scale * left
    dy = y + 2 + (grid.tall - LABEL_MM - 4 - scale * (bottom - top)) / 2 - scale * top
    items: list[Item] = []
    for _, colour, region in choice.tag.layers:
        placed = affine_transform(region, (scale, 0, 0, scale, dx, dy))
        items.append(Shape(shapely.simplify(placed, 0.02), colour, EDGE))
    foot = y + grid.tall - 3.5
    items.append(Line(((x + 2, y + grid.tall), (x + grid.wide - 2, y + grid.tall)), PALE, 0.2))
    items.append(Text(x + 4, foot, letter, 8.0, INK))
    items.append(Text(x + grid.wide - 4, foot - 0.6, choice.note, 3.4, INK, "end"))
    return items


def pdf(scene: Scene) -> bytes:
    """The sheet as a PDF page of its size, drawn as its PNG is."""
    from PIL import Image

    picture = Image.open(io.BytesIO(png(scene))).convert("RGB")
    out = io.BytesIO()
    picture.save(out, "PDF", resolution=picture.width / scene.width * 25.4)
    return out.getvalue()
