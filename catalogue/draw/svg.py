"""Scenes as SVG in millimetres: text in, text out. Pure."""

from __future__ import annotations

from html import escape

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from catalogue.draw.scene import PAPER, Circle, Item, Line, Patch, Scene, Shape
from catalogue.text import clean
from scanner.regions import polygons_of


def svg(scene: Scene) -> str:
    """The scene as SVG in millimetres; texts are cleaned and escaped."""
    out = [
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{scene.width:.3f}mm" height="{scene.height:.3f}mm"'
        f' viewBox="0 0 {scene.width:.3f} {scene.height:.3f}" role="img" font-family="sans-serif">',
        f"<title>{escape(clean(scene.title))}</title>",
        f'<rect width="100%" height="100%" fill="{PAPER}"/>',
    ]
    return "\n".join([*out, *map(_drawn, scene.items), "</svg>\n"])


def _drawn(item: Item) -> str:
    """One item as an element."""
    if isinstance(item, Patch):
        # A thin edge of its own colour closes the seam to its neighbour.
        return f'<path fill="{item.fill}" stroke="{item.fill}" stroke-width="0.08" d="{_ring(item.points)}"/>'
    if isinstance(item, Shape):
        edge = f' stroke="{item.edge}" stroke-width="0.08"' if item.edge else ""
        return f'<path fill="{item.fill}"{edge} fill-rule="evenodd" d="{path_data(item.region)}"/>'
    if isinstance(item, Line):
        points = " ".join(f"{x:.3f},{y:.3f}" for x, y in item.points)
        return f'<polyline points="{points}" fill="none" stroke="{item.colour}" stroke-width="{item.width:.3f}"/>'
    if isinstance(item, Circle):
        return (
            f'<circle cx="{item.x:.3f}" cy="{item.y:.3f}" r="{item.radius:.3f}" fill="{item.fill or "none"}"'
            f' stroke="{item.colour}" stroke-width="{item.width:.3f}"/>'
        )
    return (
        f'<text x="{item.x:.3f}" y="{item.y:.3f}" font-size="{item.size:.3f}" fill="{item.colour}"'
        f' text-anchor="{item.anchor}">{escape(clean(item.text))}</text>'
    )


def path_data(region: BaseGeometry) -> str:
    """SVG path data of a region, three decimals; holes by the even-odd rule."""
    rings = [r for p in polygons_of(region) for r in (p.exterior, *p.interiors)]
    return "".join(_ring(shapely.get_coordinates(r)[:-1]) for r in rings)


def _ring(points: NDArray[np.float64]) -> str:
    # One format for the whole outline takes a third of the time of one a point.
    return "M" + ("%.3f %.3fL" * len(points) % tuple(points.ravel().tolist()))[:-1] + "Z"
