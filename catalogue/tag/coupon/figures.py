"""Numbers that come out in print: three squares wide and five high, every stroke one square. Pure.

No two squares of a figure meet in a corner alone, which no solid could be made of.
"""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

HEIGHT = 5
"""Squares from foot to head."""

_ROWS = {
    "0": "### #.# #.# #.# ###", "1": "# # # # #", "2": "### ..# ### #.. ###", "3": "### ..# ### ..# ###",
    "4": "#.# #.# ### ..# ..#", "5": "### #.. ### ..# ###", "6": "### #.. ### #.# ###", "7": "### ..# ..# ..# ..#",
    "8": "### #.# ### #.# ###", "9": "### #.# ### ..# ###", ".": ". . . . #",
}  # fmt: skip
"""From the head down."""

_SPACE = 1
"""Squares between figures."""


def width_of(text: str) -> int:
    """Squares a number takes across.

    >>> width_of(".05"), width_of("1.2")
    (9, 7)
    """
    return sum(len(_ROWS[c].split()[0]) for c in text) + _SPACE * (len(text) - 1)


def figures(text: str, x_mm: float, y_mm: float, square_mm: float) -> BaseGeometry:
    """A number with the middle of its foot at a place."""
    left = x_mm - width_of(text) * square_mm / 2
    boxes = []
    for letter in text:
        rows = _ROWS[letter].split()
        for up, row in enumerate(reversed(rows)):
            for across, mark in enumerate(row):
                if mark == "#":
                    x, y = left + across * square_mm, y_mm + up * square_mm
                    boxes.append(shapely.box(x, y, x + square_mm, y + square_mm))
        left += (len(rows[0]) + _SPACE) * square_mm
    return shapely.union_all(boxes, grid_size=1e-4)
