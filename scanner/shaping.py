"""Text and face in, placed glyphs and their outlines out, in font units: the only importer of uharfbuzz.

Outlines come from HarfBuzz too: over thousands of broken fonts it neither crashed nor hung, which FreeType did.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import uharfbuzz as hb
from numpy.typing import NDArray

FLATTEN_EM = 0.0005
"""Largest distance between a curve and its chords, as a fraction of the em: the one flattening tolerance."""

MOST_POINTS = 20_000
"""Cap on one glyph's flattened points; the largest of 3,294 real fonts has 15,230."""

Coordinates = NDArray[np.float64]


class FontError(ValueError):
    """A font that cannot be used; the message is one line and ends with what to do."""


@dataclass(frozen=True, slots=True)
class PlacedGlyph:
    """One glyph of a shaped text, in font units from the start of the line."""

    glyph: int
    cluster: int
    """Index of the first character this glyph stands for."""
    x: float
    y: float
    advance: float


class Shaper:
    """One face at one place of its variation axes, ready to set text.

    ``coordinates`` are design-space axis values by tag; axes left out stay at their default.
    """

    def __init__(self, data: bytes, face_index: int = 0, coordinates: dict[str, float] | None = None) -> None:
        try:
            blob = hb.Blob(data)
            self._face = hb.Face(blob, face_index)
            self._font = hb.Font(self._face)
        except (hb.HarfBuzzError, MemoryError, ValueError) as cause:
            raise FontError("HarfBuzz cannot open this face; get the font anew from its source") from cause
        if self._face.glyph_count == 0:
            raise FontError("this is no font with glyphs; get the font anew from its source")
        if self._head_upem() == 0:
            # HarfBuzz would silently take 1000, and every size would be wrong.
            raise FontError("the font states no units per em; get the font anew from its source")
        self.upem: int = int(self._face.upem)
        self.coordinates = dict(coordinates or {})
        if coordinates:
            self._font.set_variations(coordinates)
        self._buffer = hb.Buffer()
        self._pen = _Pen()
        self._rings: dict[int, tuple[Coordinates, ...]] = {}

    @classmethod
    def open(cls, path: Path, face_index: int = 0, coordinates: dict[str, float] | None = None) -> Shaper:
        """Read a font file (TTF, OTF, TTC, OTC, WOFF, WOFF2) from disk."""
        return cls(sfnt_bytes(path.read_bytes()), face_index, coordinates)

    @property
    def has_outlines(self) -> bool:
        """True when the face carries glyf, CFF or CFF2 outlines."""
        return bool({"glyf", "CFF ", "CFF2"} & set(self._face.table_tags))

    @property
    def table_tags(self) -> frozenset[str]:
        """Tags of the tables in the file."""
        return frozenset(self._face.table_tags)

    @property
    def unicodes(self) -> NDArray[np.uint32]:
        """Sorted code points the face maps."""
        return np.fromiter(self._face.unicodes, dtype=np.uint32)

    def table(self, tag: str) -> bytes:
        """Raw bytes of one table, empty when it is not there."""
        data = self._face.reference_table(tag).data
        return bytes(data) if data else b""

    def has(self, character: str) -> bool:
        """Whether the face maps this character."""
        return bool(self._font.get_nominal_glyph(ord(character)))

    def name(self, name_id: int) -> str:
        """One entry of the name table in English, or empty."""
        return str(self._face.get_name(name_id) or "")

    def axes(self) -> tuple[tuple[str, float, float, float], ...]:
        """Variation axes: tag, least, default, greatest."""
        return tuple((a.tag, a.min_value, a.default_value, a.max_value) for a in self._face.axis_infos)

    def named_instances(self) -> tuple[tuple[str, dict[str, float]], ...]:
        """Named instances: style name and axis values."""
        tags = [a.tag for a in self._face.axis_infos]
        found = []
        for instance in self._face.named_instances:
            label = self._face.get_name(instance.subfamily_name_id) or ""
            found.append((str(label), dict(zip(tags, map(float, instance.design_coords), strict=False))))
        return tuple(found)

    def metric(self, tag: str) -> float:
        """A metric in font units by its OpenType tag (``cpht``, ``xhgt``), 0 when the face has none."""
        return float(self._font.get_metric_position(getattr(hb.OTMetricsTag, _METRICS[tag])) or 0)

    def shape(self, text: str, language: str | None = None) -> tuple[PlacedGlyph, ...]:
        """Set one line with the face's kerning, ligatures, joins and attachment; right to left where the script is."""
        buffer = self._buffer
        buffer.reset()
        buffer.add_str(text)
        buffer.guess_segment_properties()
        if language:
            buffer.language = language
        try:
            hb.shape(self._font, buffer)
        except MemoryError as cause:  # HarfBuzz's own work limit, not a shortage of memory
            raise FontError("shaping this text takes too long in this face; choose another face") from cause
        placed = []
        x = y = 0.0
        for info, position in zip(buffer.glyph_infos or (), buffer.glyph_positions or (), strict=True):
            placed.append(
                PlacedGlyph(
                    info.codepoint, info.cluster, x + position.x_offset, y + position.y_offset, position.x_advance
                )
            )
            x += position.x_advance
            y += position.y_advance
        return tuple(placed)

    def rings(self, glyph: int) -> tuple[Coordinates, ...]:
        """Closed contours of a glyph, curves flattened: arrays of shape (n, 2) in font units, first point not repeated."""
        rings = self._rings.get(glyph)
        if rings is None:
            self._pen.contours.clear()
            self._font.draw_glyph(glyph, _draw_funcs(), self._pen)
            tolerance = FLATTEN_EM * self.upem
            rings = tuple(r for r in (_flatten(c, tolerance) for c in self._pen.contours) if len(r) >= 3)
            if sum(map(len, rings)) > MOST_POINTS:
                raise FontError(f"glyph {glyph} has more than {MOST_POINTS} points; use a simpler face")
            if not all(np.isfinite(r).all() for r in rings):
                raise FontError(f"glyph {glyph} has coordinates that are no numbers; get the font anew")
            self._rings[glyph] = rings
        return rings

    def _head_upem(self) -> int:
        head = self._face.reference_table("head").data
        return int.from_bytes(head[18:20], "big") if head and len(head) >= 20 else 0


_METRICS = {"cpht": "CAP_HEIGHT", "xhgt": "X_HEIGHT"}

_Segment = tuple[float, ...]


class _Pen:
    """Collects the drawn contours: each a list of segments (end point last)."""

    def __init__(self) -> None:
        self.contours: list[list[_Segment]] = []


@lru_cache(maxsize=1)
def _draw_funcs() -> Any:
    funcs = hb.DrawFuncs()
    funcs.set_move_to_func(lambda x, y, pen: pen.contours.append([(x, y)]))
    funcs.set_line_to_func(lambda x, y, pen: pen.contours[-1].append((x, y)))
    funcs.set_quadratic_to_func(lambda cx, cy, x, y, pen: pen.contours[-1].append((cx, cy, x, y)))
    funcs.set_cubic_to_func(lambda ax, ay, bx, by, x, y, pen: pen.contours[-1].append((ax, ay, bx, by, x, y)))
    funcs.set_close_path_func(lambda pen: None)
    return funcs


@lru_cache(maxsize=64)
def _steps(count: int) -> NDArray[np.float64]:
    return np.arange(1, count + 1, dtype=np.float64) / count


def _flatten(contour: list[_Segment], tolerance: float) -> Coordinates:
    """Chords within ``tolerance`` of the curve: a chord over 1/n of a curve strays by at most |B''| / (8 n²)."""
    points: list[Any] = []
    at_x, at_y = contour[0]
    run: list[tuple[float, float]] = [(at_x, at_y)]
    for segment in contour[1:]:
        x, y = segment[-2:]
        if len(segment) == 2:
            run.append((x, y))
        else:
            if len(segment) == 4:
                cx, cy = segment[:2]
                bend = 2 * math.hypot(at_x - 2 * cx + x, at_y - 2 * cy + y)
            else:
                ax, ay, bx, by = segment[:4]
                bend = 6 * max(
                    math.hypot(at_x - 2 * ax + bx, at_y - 2 * ay + by), math.hypot(ax - 2 * bx + x, ay - 2 * by + y)
                )
            t = _steps(min(64, max(1, math.ceil(math.sqrt(bend / (8 * tolerance))))))[:, None]
            s = 1 - t
            if len(segment) == 4:
                curve = s * s * (at_x, at_y) + 2 * s * t * (cx, cy) + t * t * (x, y)
            else:
                curve = (
                    s**3 * (at_x, at_y) + 3 * s * s * t * (ax, ay) + 3 * s * t * t * (bx, by) + t**3 * (x, y)
                )
            points += [run, curve] if run else [curve]
            run = []
        at_x, at_y = x, y
    if run:
        points.append(run)
    flat: Coordinates = np.concatenate([np.asarray(p, dtype=np.float64).reshape(-1, 2) for p in points])
    keep = np.any(flat != np.roll(flat, 1, axis=0), axis=1)
    return flat[keep]


UNPACKED_MOST = 64 * 1024 * 1024
"""Bytes a WOFF or WOFF2 may unpack to."""


def sfnt_bytes(data: bytes) -> bytes:
    """The font as plain sfnt bytes: WOFF and WOFF2 unpacked within a bound, all else as it is."""
    magic = data[:4]
    if magic not in (b"wOFF", b"wOF2"):
        return data
    if int.from_bytes(data[16:20], "big") > UNPACKED_MOST:
        raise FontError(f"it claims to unpack to more than {UNPACKED_MOST >> 20} MB; get the font anew")
    from io import BytesIO

    from fontTools.ttLib import TTFont, TTLibError

    try:
        font = TTFont(BytesIO(data), lazy=True)
        font.flavor = None
        out = BytesIO()
        font.save(out, reorderTables=False)
    except (TTLibError, ImportError, ValueError, AssertionError, IndexError, KeyError) as cause:
        raise FontError("the web font cannot be unpacked; get the font anew from its source") from cause
    return out.getvalue()
