"""A sheet of simple shapes in millimetres, y down: what every picture is made of before it becomes SVG or PNG. Pure.

Colours were chosen to stay apart for every kind of colour vision (dark, middle and light steps of one hue for the
layers, orange for what is wrong).
"""

from __future__ import annotations

import unicodedata
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

PAPER, INK, PALE = "#fbfaf6", "#22313f", "#8b97a3"
LAYER_COLOURS = ("#274c77", "#8ab4d8", "#f6efd9")
MARK = "#c2410c"


@dataclass(frozen=True, slots=True)
class Shape:
    """A filled region, in mm on the sheet (y down)."""

    region: BaseGeometry
    fill: str
    edge: str = ""


@dataclass(frozen=True, slots=True)
class Patch:
    """A filled outline without holes: points (n, 2). Many of them cost little."""

    points: NDArray[np.float64]
    fill: str


@dataclass(frozen=True, slots=True)
class Line:
    points: tuple[tuple[float, float], ...]
    colour: str
    width: float


@dataclass(frozen=True, slots=True)
class Circle:
    x: float
    y: float
    radius: float
    colour: str
    width: float
    fill: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    x: float
    y: float
    text: str
    size: float
    colour: str
    anchor: str = "start"


Item = Shape | Patch | Line | Circle | Text


@dataclass(frozen=True, slots=True)
class Scene:
    """A sheet in mm, y down, items in painting order."""

    width: float
    height: float
    title: str
    items: tuple[Item, ...]


def name_items(name: str, drawn: BaseGeometry, x: float, y: float, size: float, anchor: str = "start") -> list[Item]:
    """A name on the sheet: written where the writing font of pictures has its letters, else as ``drawn`` by its face.

    ``drawn`` may be in any unit, y up; it is brought to the height of writing of ``size`` on the baseline ``y``.
    """
    if writable(name) == name or drawn.is_empty:
        return [Text(x, y, name, size, INK, anchor)]
    x0, y0, x1, y1 = drawn.bounds
    scale = min(0.95 * size / (y1 - y0), 12 * size / (x1 - x0))
    left = x - {"start": 0.0, "middle": 0.5, "end": 1.0}[anchor] * scale * (x1 - x0)
    placed = shapely.transform(
        drawn, lambda c: np.column_stack([left + scale * (c[:, 0] - x0), y + 0.15 * size - scale * (c[:, 1] - y0)])
    )
    return [Shape(placed, INK)]


WRITABLE = "’‘“”°…·"
"""Beyond ASCII, what the writing font of PNG pictures (Pillow's own) surely has."""


def writable(text: str) -> str:
    """The text with a plain letter, or a question mark, for each that the writing font lacks.

    >>> writable("Fira Séans 名")
    'Fira Seans ?'
    """

    def plain(letter: str) -> str:
        if letter.isascii() or letter in WRITABLE:
            return letter
        kept = [c for c in unicodedata.normalize("NFKD", letter) if c.isascii()]
        return "".join(kept) or "?"

    return "".join(map(plain, text))
