"""The floor: the bare library calls that the scan's result needs, nothing kept, nothing judged.

HarfBuzz shapes every pair and word in one reused buffer and gives the outlines; GEOS makes one union a word and takes
one distance a pair (prepared, moved in bulk); OpenCV makes one distance transform a word. No measure comes of it.
"""

from __future__ import annotations

from collections.abc import Sequence

import cv2
import numpy as np
import shapely
import uharfbuzz as hb
from shapely.geometry.base import BaseGeometry

PX_PER_EM = 160.0
STEPS = 6
"""Chords a curve."""


class Pen:
    """Closed contours with their curves cut into ``STEPS`` chords."""

    def __init__(self) -> None:
        self.rings: list[list[tuple[float, float]]] = []

    def move(self, x: float, y: float, _: object) -> None:
        self.rings.append([(x, y)])

    def line(self, x: float, y: float, _: object) -> None:
        self.rings[-1].append((x, y))

    def quadratic(self, ax: float, ay: float, x: float, y: float, _: object) -> None:
        u, v = self.rings[-1][-1]
        for k in range(1, STEPS + 1):
            t = k / STEPS
            a, b, c = (1 - t) ** 2, 2 * t * (1 - t), t * t
            self.rings[-1].append((a * u + b * ax + c * x, a * v + b * ay + c * y))

    def cubic(self, ax: float, ay: float, bx: float, by: float, x: float, y: float, _: object) -> None:
        u, v = self.rings[-1][-1]
        for k in range(1, STEPS + 1):
            t = k / STEPS
            a, b, c, d = (1 - t) ** 3, 3 * t * (1 - t) ** 2, 3 * t * t * (1 - t), t**3
            self.rings[-1].append((a * u + b * ax + c * bx + d * x, a * v + b * ay + c * by + d * y))


def bare_calls(data: bytes, words: Sequence[str], pairs: Sequence[str]) -> None:
    """All library calls for one face."""
    face = hb.Face(hb.Blob(data))
    font = hb.Font(face)
    buffer = hb.Buffer()
    shaped = []
    for text in (*pairs, *words):
        buffer.reset()
        buffer.add_str(text)
        buffer.guess_segment_properties()
        hb.shape(font, buffer)
        x = 0
        placed = []
        for info, position in zip(buffer.glyph_infos or (), buffer.glyph_positions or (), strict=True):
            placed.append((info.codepoint, x + position.x_offset, position.y_offset))
            x += position.x_advance
        shaped.append(placed)
    regions = {glyph: _region(font, glyph) for glyph in {g for placed in shaped for g, _, _ in placed}}
    two = [p for p in shaped[: len(pairs)] if len(p) == 2]
    first = np.array([regions[p[0][0]] for p in two], dtype=object)
    second = np.array([regions[p[1][0]] for p in two], dtype=object)
    shift = np.array([(p[1][1] - p[0][1], p[1][2] - p[0][2]) for p in two], dtype=float)
    coordinates, owner = shapely.get_coordinates(second, return_index=True)
    second = shapely.set_coordinates(second.copy(), coordinates + shift[owner])
    shapely.prepare(first)
    shapely.distance(first, second)
    for placed in shaped[len(pairs) :]:
        _word([(regions[g], x, y) for g, x, y in placed], float(face.upem))


def _region(font: hb.Font, glyph: int) -> BaseGeometry:
    pen = Pen()
    funcs = hb.DrawFuncs()
    funcs.set_move_to_func(pen.move)
    funcs.set_line_to_func(pen.line)
    funcs.set_quadratic_to_func(pen.quadratic)
    funcs.set_cubic_to_func(pen.cubic)
    funcs.set_close_path_func(lambda _: None)
    font.draw_glyph(glyph, funcs, None)
    rings = [r for r in pen.rings if len(r) > 2]
    if not rings:
        return shapely.Polygon()
    polygons = shapely.polygons([shapely.linearrings(r) for r in rings])
    return shapely.make_valid(shapely.multipolygons(polygons))


def _word(placed: list[tuple[BaseGeometry, float, float]], upem: float) -> None:
    letters = [shapely.affinity.translate(region, x, y) for region, x, y in placed if not region.is_empty]
    if not letters:
        return
    region = shapely.union_all(letters)
    left, low, right, high = region.bounds
    scale = PX_PER_EM / upem
    sheet = np.zeros((int((high - low) * scale) + 4, int((right - left) * scale) + 4), dtype=np.uint8)
    rings = shapely.get_rings(shapely.get_parts(region))
    points = [((shapely.get_coordinates(r) - (left, low)) * scale + 2).astype(np.int32) for r in rings]
    cv2.fillPoly(sheet, points, (1,))
    cv2.distanceTransform(sheet, cv2.DIST_L2, cv2.DIST_MASK_5)
