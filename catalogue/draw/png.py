"""Scenes as PNG: painted with OpenCV, written with Pillow's own font."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import shapely
from numpy.typing import NDArray

from catalogue.draw.scene import PAPER, Circle, Item, Line, Patch, Scene, Shape, Text, writable
from catalogue.errors import LetterholdError
from scanner.regions import polygons_of

PX_PER_MM = 10
MOST_PX = 2400
_SHIFT = 6
"""Binary places of a pixel in OpenCV's coordinates."""


def png(scene: Scene) -> bytes:
    """The scene as a PNG at ``PX_PER_MM`` pixels a millimetre, fewer where it would be wider than ``MOST_PX``."""
    import cv2

    px = min(PX_PER_MM, MOST_PX / scene.width)
    row = np.tile(np.array(_bgr(PAPER), dtype=np.uint8), (1, int(scene.width * px), 1))
    sheet = np.repeat(row, int(scene.height * px), axis=0)
    for item in scene.items:
        _paint(sheet, item, px)
    # Run lengths suit flat colours: a third of the time of the usual strategy, a sixth larger.
    done, data = cv2.imencode(".png", sheet, [cv2.IMWRITE_PNG_STRATEGY, cv2.IMWRITE_PNG_STRATEGY_RLE])
    if not done:
        raise LetterholdError("the picture cannot be written as PNG; write it as SVG")
    return bytes(data)


def _paint(sheet: NDArray[np.uint8], item: Item, px: float) -> None:
    import cv2

    def fixed(points: NDArray[np.float64]) -> NDArray[np.int32]:
        # OpenCV counts from pixel centres, the sheet from its corner.
        return np.rint((points * px - 0.5) * (1 << _SHIFT)).astype(np.int32)

    def fill(rings: list[NDArray[np.int32]], colour: str) -> None:
        cv2.fillPoly(sheet, rings, _bgr(colour), cv2.LINE_AA, _SHIFT)

    def draw(rings: list[NDArray[np.int32]], closed: bool, colour: str, width_mm: float) -> None:
        wide = max(1, round(width_mm * px))
        cv2.polylines(sheet, rings, closed, _bgr(colour), wide, cv2.LINE_AA, _SHIFT)

    if isinstance(item, Patch):
        rings = [fixed(item.points)]
        fill(rings, item.fill)
        draw(rings, True, item.fill, 0.0)
    elif isinstance(item, Shape):
        found = [r for p in polygons_of(item.region) for r in (p.exterior, *p.interiors)]
        outlines = [shapely.get_coordinates(r)[:-1] for r in found]
        rings = [fixed(points) for points in outlines]
        if rings and item.edge:
            fill(rings, item.fill)
            draw(rings, True, item.edge, 0.08)
        elif rings:
            _fill_finely(sheet, [points * px for points in outlines], item.fill)
    elif isinstance(item, Line):
        draw([fixed(np.array(item.points))], False, item.colour, item.width)
    elif isinstance(item, Circle):
        centre = tuple(fixed(np.array([item.x, item.y])).tolist())
        radius = round(item.radius * px * (1 << _SHIFT))
        if item.fill:
            cv2.circle(sheet, centre, radius, _bgr(item.fill), cv2.FILLED, cv2.LINE_AA, _SHIFT)
        if item.width:
            wide = max(1, round(item.width * px))
            cv2.circle(sheet, centre, radius, _bgr(item.colour), wide, cv2.LINE_AA, _SHIFT)
    else:
        _write(sheet, item, px)


_FINE = 8
"""Parts of a pixel's side that a fine filling distinguishes."""


def _fill_finely(sheet: NDArray[np.uint8], outlines: list[NDArray[np.float64]], colour: str) -> None:
    """Fill by the share of each pixel that is covered: OpenCV's own fills widen a shape by half a pixel all round,
    which closes the counters of small writing. Outlines in pixels, row 0 at the top."""
    import cv2

    every = np.concatenate(outlines)
    low = np.maximum(np.floor(every.min(axis=0)).astype(int), 0)
    high = np.minimum(np.ceil(every.max(axis=0)).astype(int) + 1, [sheet.shape[1], sheet.shape[0]])
    if (high <= low).any():
        return
    width, height = (high - low).tolist()
    mask = np.zeros((height * _FINE, width * _FINE), dtype=np.uint8)
    rings = [np.rint(((points - low) * _FINE - 0.5) * (1 << _SHIFT)).astype(np.int32) for points in outlines]
    cv2.fillPoly(mask, rings, (255,), cv2.LINE_8, _SHIFT)
    share = cv2.resize(mask, (width, height), interpolation=cv2.INTER_AREA)[..., None] / 255.0
    there = sheet[low[1] : high[1], low[0] : high[0]]
    there[:] = np.rint(there * (1 - share) + np.array(_bgr(colour)) * share).astype(np.uint8)


def _write(sheet: NDArray[np.uint8], item: Text, px: float) -> None:
    """Blend a text into the sheet; what lies outside is cut."""
    from PIL import Image, ImageDraw, ImageFont

    font, words = ImageFont.load_default(max(1.0, item.size * px)), writable(item.text)
    x0, y0, x1, y1 = (int(np.floor(v)) for v in font.getbbox(words, anchor="ls"))
    wide, tall = x1 - x0 + 2, y1 - y0 + 2
    mask = Image.new("L", (max(1, wide), max(1, tall)))
    ImageDraw.Draw(mask).text((-x0, -y0), words, fill=255, font=font, anchor="ls")
    length = font.getlength(words)
    left = round(item.x * px - {"start": 0.0, "middle": length / 2, "end": length}[item.anchor]) + x0
    top = round(item.y * px) + y0
    ink = np.asarray(mask)[max(0, -top) : sheet.shape[0] - top, max(0, -left) : sheet.shape[1] - left, None] / 255.0
    place = sheet[max(0, top) : max(0, top) + ink.shape[0], max(0, left) : max(0, left) + ink.shape[1]]
    place[:] = np.rint(place * (1 - ink) + np.array(_bgr(item.colour)) * ink)


@lru_cache(maxsize=256)
def _bgr(colour: str) -> tuple[int, int, int]:
    """OpenCV's order."""
    return int(colour[5:7], 16), int(colour[3:5], 16), int(colour[1:3], 16)
