"""Text and face in, placed glyphs and their outlines out, in font units: the only importer of uharfbuzz.

Outlines come from HarfBuzz too: over thousands of broken fonts it neither crashed nor hung, which FreeType did.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from copy import copy
from dataclasses import dataclass
from functools import lru_cache
from itertools import chain
from operator import attrgetter
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import uharfbuzz as hb
from numpy.typing import NDArray

from scanner.contours import CUBIC, FLATTEN_EM, LINE, MOVE, QUADRATIC, Coordinates, Pen, flatten, svg_path
from scanner.reasons import MOST_POINTS as MOST_POINTS
from scanner.reasons import FontError as FontError
from scanner.reasons import Reason


@dataclass(frozen=True, slots=True)
class PlacedGlyph:
    """One glyph of a shaped text, in font units from the start of the line."""

    glyph: int
    cluster: int
    """Index of the first character this glyph stands for."""
    x: float
    y: float
    advance: float


@dataclass(frozen=True, slots=True)
class ShapedTexts:
    """Many texts shaped one by one, as flat arrays over all their glyphs, in font units."""

    start: NDArray[np.intp]
    """(texts) index of each text's first glyph."""
    size: NDArray[np.intp]
    """(texts) number of its glyphs."""
    glyph: NDArray[np.int64]
    """(glyphs) glyph ids."""
    place: Coordinates
    """(glyphs, 2) origin of each glyph from the start of its line."""
    advance: NDArray[np.int64]
    """(texts) width of the line."""


class Axis(NamedTuple):
    """One axis of a variable face, in design-space values."""

    tag: str
    least: float
    default: float
    greatest: float


class Box(NamedTuple):
    """A box of whole numbers, y down."""

    left: int
    top: int
    right: int
    bottom: int


class Curves(NamedTuple):
    """A text as one SVG path, and the box of its control points."""

    path: str
    box: Box


_PARTING = "\ufdd0"
"""A noncharacter: Unicode promises that it never stands for anything, so no font kerns or joins it."""

_WITH_FLAGS = (
    hb.BufferSerializeFormat.TEXT,
    hb.BufferSerializeFlags.GLYPH_FLAGS
    | hb.BufferSerializeFlags.NO_CLUSTERS
    | hb.BufferSerializeFlags.NO_POSITIONS
    | hb.BufferSerializeFlags.NO_GLYPH_NAMES,
)

_LATIN_ENDS = 0x250

_PLAIN = {"liga": False, "clig": False, "dlig": False, "calt": False}
"""Features that change a letter for its neighbours' sake alone; what a script needs (``rlig``, ``ccmp``, the joining
forms) stays. Registered feature tags of OpenType."""


@lru_cache(maxsize=8)
def _in_one_line(texts: tuple[str, ...]) -> tuple[NDArray[np.intp], str, NDArray[np.intp]]:
    """Places of the Latin texts, those texts in one line with partings, and their lengths; the same for every face."""
    places = [k for k, text in enumerate(texts) if _is_latin(text)]
    line = _PARTING.join(["", *(texts[k] for k in places), ""])
    return np.array(places, dtype=np.intp), line, np.array([len(texts[k]) for k in places], dtype=np.intp)


def _is_latin(text: str) -> bool:
    """Whether HarfBuzz takes the text for Latin: it holds a Latin letter, and below U+0250 all else has no script."""
    return all(ord(c) < _LATIN_ENDS for c in text) and any(c.isalpha() and c != "µ" for c in text)


class Shaper:
    """One face at one place of its variation axes, ready to set text.

    ``coordinates`` are design-space axis values by tag; axes left out stay at their default.
    """

    def __init__(self, data: bytes, face_index: int = 0, coordinates: dict[str, float] | None = None) -> None:
        try:
            self._face = hb.Face(hb.Blob(data), face_index)
            if self._face.glyph_count == 0 and data[:4] == b"ttcf":
                # HarfBuzz refuses every face of a collection in which one is broken; alone a sound one opens.
                self._face = hb.Face(hb.Blob(_alone(data, face_index)), 0)
            self._font = hb.Font(self._face)
        except (hb.HarfBuzzError, MemoryError, ValueError) as cause:
            raise FontError(Reason.UNREADABLE) from cause
        if self._face.glyph_count == 0:
            raise FontError(Reason.NO_GLYPHS)
        if not 16 <= (stated := self._head_upem()) <= 16384:  # the OpenType `head` table's range
            # HarfBuzz would silently take 1000, and every size would be wrong.
            raise FontError(Reason.EM if stated else Reason.NO_EM)
        self.upem: int = int(self._face.upem)
        self.coordinates = dict(coordinates or {})
        if coordinates:
            self._font.set_variations(coordinates)
        self._features: dict[str, bool] = {}
        self._buffer = hb.Buffer()
        self._rings: dict[int, tuple[Coordinates, ...]] = {}
        self._pens: dict[int, Pen] = {}

    @classmethod
    def open(cls, path: Path, face_index: int = 0, coordinates: dict[str, float] | None = None) -> Shaper:
        """Read a font file (TTF, OTF, TTC, OTC, WOFF, WOFF2) from disk."""
        return cls(sfnt_bytes(path.read_bytes()), face_index, coordinates)

    def plain(self) -> Shaper:
        """The same face set without ligatures and contextual forms; shares the outlines met so far."""
        other = copy(self)
        other._features = _PLAIN
        return other

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

    def axes(self) -> tuple[Axis, ...]:
        """Variation axes; none of a static face."""
        return tuple(Axis(a.tag, a.min_value, a.default_value, a.max_value) for a in self._face.axis_infos)

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
        self._shape(text, language)
        buffer = self._buffer
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

    def shape_many(self, texts: Sequence[str]) -> ShapedTexts:
        """Set many short texts, each as if it stood alone, into flat arrays.

        Latin texts go through HarfBuzz in one buffer, parted by a character no font maps. Where HarfBuzz does not call
        the place before or after a text unsafe to break, it promises that the text alone gives the same glyphs; the
        few others are set alone.
        """
        parted, line, length = _in_one_line(tuple(texts))
        glyph, move, begin, end, safe = self._shape_parted(line, length)
        start = np.zeros(len(texts), dtype=np.intp)
        size = np.zeros(len(texts), dtype=np.intp)
        start[parted[safe]], size[parted[safe]] = begin[safe], (end - begin)[safe]
        glyphs: list[int] = []
        moves: list[tuple[int, int, int, int]] = []
        for k in np.setdiff1d(np.arange(len(texts)), parted[safe]).tolist():
            self._shape(texts[k])
            own = self._buffer.glyph_infos or ()
            start[k], size[k] = len(glyph) + len(glyphs), len(own)
            glyphs += [info.codepoint for info in own]
            moves += [position.position for position in self._buffer.glyph_positions or ()]
        glyph = np.concatenate([glyph, np.array(glyphs, dtype=np.int64)])
        # A position is x_offset, y_offset, x_advance, y_advance. Whole numbers, so the running sums are exact.
        move = np.concatenate([move, np.array(moves, dtype=np.int64).reshape(-1, 4)])
        run = np.concatenate([np.zeros((1, 2), dtype=np.int64), np.cumsum(move[:, 2:], axis=0)])
        # From here on in the order of the texts, the partings left out.
        chosen = np.repeat(start - (np.cumsum(size) - size), size) + np.arange(size.sum())
        at = run[chosen] - np.repeat(run[start], size, axis=0) + move[chosen, :2]
        width = (run[start + size] - run[start])[:, 0]
        return ShapedTexts(np.cumsum(size) - size, size, glyph[chosen], at.astype(np.float64), width)

    def _shape_parted(
        self, line: str, length: NDArray[np.intp]
    ) -> tuple[NDArray[np.int64], NDArray[np.int64], NDArray[np.intp], NDArray[np.intp], NDArray[np.bool_]]:
        """Texts in one line: glyphs, moves, each text's first and end glyph, and whether it may be cut there."""
        nothing = np.zeros(len(length), dtype=np.intp)
        unknown = np.empty(0, np.int64), np.empty((0, 4), np.int64), nothing, nothing, nothing.astype(bool)
        try:
            self._shape(line)
        except FontError:  # the line as a whole asks for too much
            return unknown
        infos = self._buffer.glyph_infos or ()
        cluster = np.fromiter(map(attrgetter("cluster"), infos), np.intp, len(infos))
        glyph = np.fromiter(map(attrgetter("codepoint"), infos), np.int64, len(infos))
        moves = chain.from_iterable(map(attrgetter("position"), self._buffer.glyph_positions or ()))
        move = np.fromiter(moves, np.int64, 4 * len(infos)).reshape(-1, 4)
        first = np.cumsum(length + 1) - length  # a parting stands before the first text as well
        begin, end = np.searchsorted(cluster, first), np.searchsorted(cluster, first + length)
        # Flags as HarfBuzz writes them, "glyph#flags|glyph": read one by one each would be an object.
        written = np.frombuffer(self._buffer.serialize(self._font, *_WITH_FLAGS).encode(), dtype=np.uint8)
        bars = np.flatnonzero(written == ord("|"))
        flagged = np.zeros(len(bars) + 1, dtype=bool)
        flagged[np.searchsorted(bars, np.flatnonzero(written == ord("#")))] = True
        if len(flagged) != len(infos) or (np.diff(cluster) < 0).any():
            return unknown
        whole = (begin < end) & (end < len(cluster))
        safe = whole & ~flagged[begin * whole] & ~flagged[end * whole]
        return glyph, move, begin, end, safe

    def _shape(self, text: str, language: str | None = None) -> None:
        """Set a text into the buffer."""
        self._buffer.reset()
        self._buffer.add_str(text)
        self._buffer.guess_segment_properties()
        if language:
            self._buffer.language = language
        try:
            hb.shape(self._font, self._buffer, self._features)
        except MemoryError as cause:  # HarfBuzz's own work limit, not a shortage of memory
            raise FontError(Reason.SHAPING) from cause

    def rings(self, glyph: int) -> tuple[Coordinates, ...]:
        """Closed contours of a glyph, curves flattened: arrays (n, 2) in font units, first point not repeated."""
        if glyph not in self._rings:
            self.draw([glyph])
        return self._rings[glyph]

    def draw(self, glyphs: Iterable[int]) -> None:
        """Fetch the contours of many glyphs at once: one flattening pass a face (8 ms; 80 ms one by one).

        Raises FontError for a glyph with too many points or with coordinates that are no numbers.
        """
        wanted = [g for g in dict.fromkeys(glyphs) if g not in self._rings]
        pen = Pen()
        contours_at = [0]
        for glyph in wanted:
            self._font.draw_glyph(glyph, _draw_funcs(), pen)
            contours_at.append(len(pen.starts))
        rings, broken = flatten(pen, FLATTEN_EM * self.upem)
        for glyph, a, b in zip(wanted, contours_at, contours_at[1:], strict=False):
            if broken[a:b].any():
                raise FontError(Reason.COORDINATES)
            kept = tuple(r for r in rings[a:b] if len(r) >= 3)
            if sum(map(len, kept)) > MOST_POINTS:
                raise FontError(Reason.POINTS)
            self._rings[glyph] = kept

    def curves(self, text: str, units_per_em: int, language: str | None = None) -> Curves:
        """The text as one SVG path with its curves as they are, on a whole-number grid, y down, and its control box.

        For pictures only: overlapping contours stay, to be filled by the non-zero rule. Raises FontError.
        """
        parts: list[str] = []
        points: list[NDArray[np.int64]] = []
        factor = units_per_em / self.upem
        for placed in self.shape(text, language):
            pen = self._pens.get(placed.glyph)
            if pen is None:
                pen = Pen()
                self._font.draw_glyph(placed.glyph, _draw_funcs(), pen)
                if len(pen.kinds) > MOST_POINTS:
                    raise FontError(Reason.POINTS)
                self._pens[placed.glyph] = pen
            if not pen.kinds:
                continue
            flat = np.array(pen.values, dtype=np.float64).reshape(-1, 3, 2)
            if not np.isfinite(flat).all() or np.abs(flat).max() > 1e6:
                raise FontError(Reason.COORDINATES)
            moved = np.rint((flat + (placed.x, placed.y)) * (factor, -factor)).astype(np.int64)
            points.append(moved.reshape(-1, 2))
            parts.append(svg_path(moved, pen.kinds))
        if not points:
            return Curves("", Box(0, 0, 0, 0))
        every = np.concatenate(points)
        return Curves("".join(parts), Box(*every.min(axis=0).tolist(), *every.max(axis=0).tolist()))

    def _head_upem(self) -> int:
        head = self._face.reference_table("head").data
        return int.from_bytes(head[18:20], "big") if head and len(head) >= 20 else 0


def _alone(data: bytes, face_index: int) -> bytes:
    """A collection's bytes with one face in its header (OpenType, TTC header); the tables stay where they are."""
    start = data[12 + 4 * face_index :][:4]
    return data[:8] + b"\0\0\0\1" + start + data[16:]


_METRICS = {"cpht": "CAP_HEIGHT", "xhgt": "X_HEIGHT"}


@lru_cache(maxsize=1)
def _draw_funcs() -> Any:
    def move(x: float, y: float, pen: Pen) -> None:
        pen.starts.append(len(pen.kinds))
        pen.kinds.append(MOVE)
        pen.values += (x, y, x, y, x, y)

    def line(x: float, y: float, pen: Pen) -> None:
        pen.kinds.append(LINE)
        pen.values += (x, y, x, y, x, y)

    def quadratic(cx: float, cy: float, x: float, y: float, pen: Pen) -> None:
        pen.kinds.append(QUADRATIC)
        pen.values += (cx, cy, cx, cy, x, y)

    def cubic(*given: Any) -> None:  # three points and the pen
        *points, pen = given
        pen.kinds.append(CUBIC)
        pen.values += points

    funcs = hb.DrawFuncs()
    funcs.set_move_to_func(move)
    funcs.set_line_to_func(line)
    funcs.set_quadratic_to_func(quadratic)
    funcs.set_cubic_to_func(cubic)
    funcs.set_close_path_func(lambda pen: None)
    return funcs


def sfnt_bytes(data: bytes) -> bytes:
    """The font as plain sfnt bytes: WOFF and WOFF2 unpacked within a bound, all else as it is."""
    if data[:4] not in (b"wOFF", b"wOF2"):
        return data
    from scanner.webfont import unpack

    return unpack(data)
