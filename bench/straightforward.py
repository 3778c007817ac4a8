"""The straightforward way to measure a face, to compare with: a library for every step, one glyph and word at a time.

Outlines through fontTools pens with curves flattened by fixed steps, union in shapely, pieces and their distances,
neck by repeated insets, strokes from scikit-image's medial axis of the rastered word. 12 words, no pair table.
"""

from __future__ import annotations

import itertools
from io import BytesIO
from typing import Any

import numpy as np
import shapely
from fontTools.pens.basePen import BasePen
from fontTools.ttLib import TTFont
from numpy.typing import NDArray
from shapely import Polygon, affinity
from shapely.geometry.base import BaseGeometry
from skimage.draw import polygon2mask
from skimage.morphology import medial_axis

STEPS = 12
"""Chords a curve."""

PX_PER_EM = 160.0
NECK_MARGIN_EM = 0.03


class FlatPen(BasePen):  # type: ignore[misc]
    """Contours with their curves cut into ``STEPS`` chords."""

    def __init__(self, glyphs: Any) -> None:
        super().__init__(glyphs)
        self.rings: list[list[tuple[float, float]]] = []

    def _moveTo(self, p0: tuple[float, float]) -> None:
        self.rings.append([p0])

    def _lineTo(self, p1: tuple[float, float]) -> None:
        self.rings[-1].append(p1)

    def _curveToOne(self, p1: tuple[float, float], p2: tuple[float, float], p3: tuple[float, float]) -> None:
        p0 = self.rings[-1][-1]
        for k in range(1, STEPS + 1):
            t = k / STEPS
            s = 1 - t
            x, y = (
                s**3 * a + 3 * s * s * t * b + 3 * s * t * t * c + t**3 * d
                for a, b, c, d in zip(p0, p1, p2, p3, strict=True)
            )
            self.rings[-1].append((x, y))


def glyph_region(glyphs: Any, name: str) -> BaseGeometry:
    """Contours that wind like the largest are added, the others taken away."""
    pen = FlatPen(glyphs)
    glyphs[name].draw(pen)
    rings = [Polygon(r) for r in pen.rings if len(r) > 2]
    if not rings:
        return Polygon()
    outward = max(rings, key=lambda r: float(r.area)).exterior.is_ccw
    solid = shapely.unary_union([r.buffer(0) for r in rings if r.exterior.is_ccw == outward])
    holes = shapely.unary_union([r.buffer(0) for r in rings if r.exterior.is_ccw != outward])
    return solid.difference(holes)


def set_word(font: TTFont, word: str) -> BaseGeometry:
    """Glyphs side by side by their advances, in one union."""
    glyphs, names = font.getGlyphSet(), font.getBestCmap()
    x = 0.0
    letters = []
    for character in word:
        name = names[ord(character)]
        letters.append(affinity.translate(glyph_region(glyphs, name), x))
        x += glyphs[name].width
    return shapely.unary_union(letters)


def parts_of(region: BaseGeometry) -> list[BaseGeometry]:
    """Its polygons."""
    return [g for g in shapely.get_parts(region).tolist() if g.geom_type == "Polygon"]


def join_distance(parts: list[BaseGeometry]) -> float:
    """Longest edge of the spanning tree: the distance at which the parts become one."""
    home = list(range(len(parts)))
    longest = 0.0
    edges = sorted((a.distance(b), i, j) for (i, a), (j, b) in itertools.combinations(enumerate(parts), 2))
    for length, i, j in edges:
        if home[i] != home[j]:
            longest = length
            home = [home[i] if h == home[j] else h for h in home]
    return longest


def neck_width(base: BaseGeometry, parts: list[BaseGeometry], tolerance: float) -> float:
    """Twice the inset at which some part's seed comes off."""
    seeds = [shapely.get_point(shapely.maximum_inscribed_circle(p), 0) for p in parts]
    low, high = 0.0, max(base.bounds[2] - base.bounds[0], base.bounds[3] - base.bounds[1])
    high = min(high, max(2 * shapely.length(shapely.maximum_inscribed_circle(p)) for p in parts))
    while high - low > tolerance:
        middle = (low + high) / 2
        if any(all(p.covers(s) for s in seeds) for p in parts_of(base.buffer(-middle, quad_segs=16))):
            low = middle
        else:
            high = middle
    return 2 * low


def stroke_widths(region: BaseGeometry, upem: float) -> NDArray[np.float64]:
    """Widths along the medial axis of the rastered region, in font units."""
    scale = PX_PER_EM / upem
    left, low, right, high = region.bounds
    size = (int((high - low) * scale) + 4, int((right - left) * scale) + 4)
    mask = np.zeros(size, dtype=bool)
    for part in parts_of(region):
        for ring, solid in ((part.exterior, True), *((h, False) for h in part.interiors)):
            pixels = (np.array(ring.coords)[:, ::-1] - (low, left)) * scale + 2
            mask = mask | polygon2mask(size, pixels) if solid else mask & ~polygon2mask(size, pixels)
    axis, distance = medial_axis(mask, return_distance=True)
    widths: NDArray[np.float64] = 2 * distance[axis] / scale
    return widths


def measure_face(data: bytes, words: list[str]) -> list[tuple[float, int, float, float]]:
    """Of each word: join distance, holes, neck and thin end of the strokes, as fractions of the em."""
    font = TTFont(BytesIO(data), fontNumber=0)
    upem = float(font["head"].unitsPerEm)
    found = []
    for word in words:
        if any(ord(c) not in font.getBestCmap() for c in word):
            continue
        region = set_word(font, word)
        parts = parts_of(region)
        join = join_distance(parts)
        base = region.buffer(join / 2 + NECK_MARGIN_EM * upem, quad_segs=16)
        neck = neck_width(base, parts, 0.001 * upem)
        thin = float(np.quantile(stroke_widths(region, upem), 0.05))
        found.append((join / upem, sum(len(p.interiors) for p in parts), neck / upem, thin / upem))
    return found
