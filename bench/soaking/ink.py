"""Letters, seen without the product: HarfBuzz's coverage and shaping, outlines flattened here.

``lacking`` says which letters of a name a face cannot show. ``letters`` gives the ink of each letter as regions in em,
to be found again in what a tag file draws.
"""

from __future__ import annotations

import io
import unicodedata
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pyclipper
import uharfbuzz as hb
from fontTools.ttLib import TTFont
from shapely import union_all
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry

_STEPS = np.linspace(0, 1, 9)[1:]
"""A curve becomes eight chords: 1 % of a letter's area at most."""
_IGNORED = {"\u200b", "\u200c", "\u200d", "\u200e", "\u200f", "\u2060", "\ufeff", "\ufe0e", "\ufe0f", "\u00ad"} | {
    chr(code) for code in (*range(0x202A, 0x202F), *range(0x2066, 0x206A))
}
"""Characters that have no ink by their definition (Unicode: Default_Ignorable_Code_Point, those people type)."""


def wanted(name: str) -> str:
    """The characters of a name that must leave ink."""
    plain = name.replace("\\n", "\n")
    return "".join(letter for letter in plain if not letter.isspace() and letter not in _IGNORED)


@contextmanager
def opened(path: str, index: int) -> Iterator[hb.Font]:
    """The face as HarfBuzz has it; WOFF is unpacked first. Raises what the reader raises for what it cannot read."""
    if Path(path).suffix.lower() in {".woff", ".woff2"}:
        font = TTFont(path)
        font.flavor = None
        unpacked = io.BytesIO()
        font.save(unpacked)
        blob = hb.Blob(unpacked.getvalue())
    else:
        blob = hb.Blob.from_file_path(path)
    yield hb.Font(hb.Face(blob, index))


def lacking(font: hb.Font, name: str) -> str:
    """Letters of the name of which this face shows nothing, or the box for a missing glyph.

    A mark the font draws as part of another glyph is not lacking; nor is a letter covered in its other normal form.
    """
    found: list[str] = []
    for line in name.replace("\\n", "\n").split("\n"):
        if not wanted(line):
            continue
        best: list[str] | None = None
        for text in dict.fromkeys((line, unicodedata.normalize("NFC", line), unicodedata.normalize("NFD", line))):
            lost = _lost(font, text)
            best = lost if best is None or len(lost) < len(best) else best
        found += best or []
    return "".join(dict.fromkeys(found))


def letters(font: hb.Font, line: str, tracking_em: float = 0) -> list[tuple[str, BaseGeometry]]:
    """Each cluster of a line and its ink in em, at the place it has in the line."""
    buffer = _shaped(font, line)
    scale = 1 / font.face.upem
    pen_x, before, went = 0.0, -1, False
    found: dict[int, list[BaseGeometry]] = {}
    for info, position in zip(buffer.glyph_infos, buffer.glyph_positions, strict=True):
        # Tracking lies between letters, not inside of one that several glyphs draw (CSS Text 4, letter-spacing).
        if info.cluster != before:
            pen_x += tracking_em / scale if went else 0
            before, went = info.cluster, False
        went = went or bool(position.x_advance)
        shift = (pen_x + position.x_offset, position.y_offset)
        found.setdefault(info.cluster, []).append(_region(font, info.codepoint, shift, scale))
        pen_x += position.x_advance
    starts = sorted(found)
    ends = [*starts[1:], len(line)]
    return [(line[a:b], union_all(found[a])) for a, b in zip(starts, ends, strict=True)]


def _lost(font: hb.Font, text: str) -> list[str]:
    buffer = _shaped(font, text)
    glyphs: dict[int, list[int]] = {}
    for info in buffer.glyph_infos:
        glyphs.setdefault(info.cluster, []).append(info.codepoint)
    starts = sorted(glyphs)
    lost: list[str] = []
    for a, b in zip(starts, [*starts[1:], len(text)], strict=True):
        letters = wanted(text[a:b])
        if not letters:
            continue
        if 0 in glyphs[a]:
            absent = [letter for letter in letters if not font.get_nominal_glyph(ord(letter))]
            lost += absent or list(letters)
        elif not any(_inked(font, glyph) for glyph in glyphs[a]):
            lost += list(letters)
    return lost


def _inked(font: hb.Font, glyph: int) -> bool:
    extents = font.get_glyph_extents(glyph)
    return extents is not None and extents.width != 0 and extents.height != 0


def _shaped(font: hb.Font, text: str) -> hb.Buffer:
    buffer = hb.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    hb.shape(font, buffer)
    return buffer


def _region(font: hb.Font, glyph: int, shift: tuple[float, float], scale: float) -> BaseGeometry:
    """The glyph's ink by the non-zero rule, moved and scaled to em."""
    contours: list[list[Any]] = []

    def move(x: float, y: float, _data: object) -> None:
        contours.append([(x, y)])

    def line(x: float, y: float, _data: object) -> None:
        contours[-1].append((x, y))

    def conic(cx: float, cy: float, x: float, y: float, _data: object) -> None:
        a, c, b = np.array(contours[-1][-1]), np.array((cx, cy)), np.array((x, y))
        contours[-1] += [tuple((1 - t) ** 2 * a + 2 * t * (1 - t) * c + t * t * b) for t in _STEPS]

    def cubic(ax: float, ay: float, bx: float, by: float, x: float, y: float, _data: object) -> None:
        s, a, b, e = np.array(contours[-1][-1]), np.array((ax, ay)), np.array((bx, by)), np.array((x, y))
        contours[-1] += [
            tuple((1 - t) ** 3 * s + 3 * t * (1 - t) ** 2 * a + 3 * t * t * (1 - t) * b + t**3 * e) for t in _STEPS
        ]

    draw = hb.DrawFuncs()
    draw.set_move_to_func(move)
    draw.set_line_to_func(line)
    draw.set_quadratic_to_func(conic)
    draw.set_cubic_to_func(cubic)
    draw.set_close_path_func(lambda _data: None)
    font.draw_glyph(glyph, draw, None)
    clipper = pyclipper.Pyclipper()
    fine = 1 << 16
    for contour in contours:
        points = [(round((x + shift[0]) * scale * fine), round((y + shift[1]) * scale * fine)) for x, y in contour]
        try:
            clipper.AddPath(points, pyclipper.PT_SUBJECT, True)
        except pyclipper.ClipperException:
            continue
    try:
        tree = clipper.Execute2(pyclipper.CT_UNION, pyclipper.PFT_NONZERO, pyclipper.PFT_NONZERO)
    except pyclipper.ClipperException:
        return MultiPolygon()
    return MultiPolygon([part for node in tree.Childs for part in _polygons(node, fine)]).buffer(0)


def _polygons(node: Any, fine: int) -> list[Polygon]:
    outer = np.array(node.Contour) / fine
    holes = [np.array(child.Contour) / fine for child in node.Childs]
    parts = [Polygon(outer, holes)]
    for hole in node.Childs:
        for island in hole.Childs:
            parts += _polygons(island, fine)
    return parts
