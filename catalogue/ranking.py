"""A name over the whole catalogue: predicted from the stored tables, all faces at once. Pure.

A name is a chain of pairs: its join offset is half the longest of the gaps of its adjacent letters and of the gaps
between each letter's own loose parts. The neck is read from the face's neck curve at the offset left over after the
join. Both are predictions; ``check`` measures.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.hold import Hold, Sizes, judge
from catalogue.process import Process
from catalogue.store import Face
from scanner.alphabet import DOTTED, NEIGHBOURS, QUANTILES, character_index, pair_index
from scanner.records import ABSENT, BIAS_EM, NECK_MARGINS_EM, STEP_EM, table_shapes

Array = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Size:
    """How large the name is to be: by cap height, x-height or whole width, in mm."""

    kind: str
    mm: float

    def __post_init__(self) -> None:
        if self.kind not in ("cap-height", "x-height", "width"):
            raise ValueError(f"unknown size {self.kind!r}; use cap-height, x-height or width")


@dataclass(frozen=True, slots=True)
class Ranked:
    """One face with its prediction (or full measurement, when verified) for the name; lengths in mm."""

    face: Face
    em_mm: float
    pieces: int
    join_offset_mm: float
    neck_mm: float | None
    thinnest_stroke_mm: float | None
    smallest_counter_mm: float | None
    hold: Hold
    verified: bool

    @property
    def order(self) -> tuple[float, float, float, str, int]:
        """Best first: hold, then the margin of the join, then the stouter stroke."""
        return (-self.hold.hold, self.join_offset_mm, -(self.thinnest_stroke_mm or 0), self.face.title, self.face.id)


class Columns:
    """Stored tables of many faces as one array, read without copying."""

    def __init__(self, data: bytes, count: int) -> None:
        flat = np.frombuffer(data, dtype=np.uint16)
        width = sum(int(np.prod(s)) for s in table_shapes().values())
        if len(flat) != width * count:
            raise ValueError("the stored measures are of another version; move the catalogue away and scan again")
        rows = flat.reshape(count, width)
        self._parts: dict[str, NDArray[np.uint16]] = {}
        at = 0
        for name, shape in table_shapes().items():
            size = int(np.prod(shape))
            self._parts[name] = rows[:, at : at + size].reshape(count, *shape)
            at += size

    def take(self, name: str, places: Sequence[int]) -> Array:
        """Values in em at the places, shape (faces, places, ...); NaN where nothing is stored."""
        raw = self._parts[name][:, list(places)]
        return np.where(raw == ABSENT, np.nan, raw * STEP_EM)

    def whole(self, name: str) -> Array:
        """All values of one array in em, shape (faces, ...)."""
        raw = self._parts[name]
        return np.where(raw == ABSENT, np.nan, raw * STEP_EM)


def missing_letters(face: Face, name: str) -> list[str]:
    """Letters of the name that the face is known to lack."""
    return [c for c in dict.fromkeys(name) if c in face.missing]


def can_predict(name: str) -> bool:
    """Whether every letter of the name is in the stored alphabet (else only ``check`` can tell)."""
    index = character_index()
    return all(c in index or c == " " for c in name) and bool(name.strip())


def rank(
    faces: Sequence[Face], columns: Columns, name: str, size: Size, process: Process, base_offset_mm: float
) -> list[Ranked]:
    """Predicted ranking, best first; ``columns`` holds the tables of ``faces`` in the same order."""
    if not faces:
        return []
    text = unicodedata.normalize("NFC", " ".join(name.split()))
    index = character_index()
    places = [index[c] for c in text if c != " "]
    gaps = _gaps(columns, text)
    own = _own_joins(columns, text)
    longest = np.maximum(
        np.nanmax(gaps, axis=1, initial=0.0) if gaps.shape[1] else np.zeros(len(faces)),
        np.nanmax(np.nan_to_num(own), axis=1, initial=0.0),
    )
    em = _em_mm(faces, columns, text, places, size, base_offset_mm)
    join = longest / 2 * em
    strokes = columns.take("strokes", places)
    thin, share = _thin(strokes, columns.take("length", places), process.least_wall_mm / em)
    counters = columns.take("counter", places)
    smallest = np.min(np.where(np.isnan(counters), np.inf, counters), axis=1)
    edges = np.concatenate([gaps, np.where(own > 0, own, np.nan)], axis=1) * em[:, None]
    pieces = 1 + np.sum(edges > 2 * base_offset_mm, axis=1)
    ranked = []
    for k, face in enumerate(faces):
        if not np.isfinite(em[k]) or missing_letters(face, text):
            continue
        neck = _neck(face, (base_offset_mm - join[k]) / em[k])
        sizes = Sizes(
            join_offset_mm=float(join[k]),
            neck_mm=None if neck is None else neck * float(em[k]),
            thinnest_stroke_mm=_or_none(thin[k] * em[k]),
            thin_share=float(share[k]),
            smallest_counter_mm=_or_none(smallest[k] * em[k]),
            base_offset_mm=base_offset_mm,
        )
        ranked.append(
            Ranked(
                face, float(em[k]), int(pieces[k]), sizes.join_offset_mm, sizes.neck_mm, sizes.thinnest_stroke_mm,
                sizes.smallest_counter_mm, judge(sizes, process), False,
            )
        )  # fmt: skip
    return sorted(ranked, key=lambda r: r.order)


def _gaps(columns: Columns, text: str) -> Array:
    """Gaps of adjacent letters, (faces, pairs). A word space adds its advance between the ink ends of its letters."""
    known = pair_index()
    index = character_index()
    found: list[Array] = []
    for a, b in zip(text, text[1:], strict=False):
        pair = (a, b) if (a, b) in known else (_plain(a), _plain(b))
        if pair in known:
            found.append(columns.take("gaps", [known[pair]])[:, 0])
        elif a != " " and b != " ":
            found.append(_ink_gap(columns, index[a], index[b], 0.0))
    for a, space, b in zip(text, text[1:], text[2:], strict=False):
        if space == " ":
            found.append(_ink_gap(columns, index[a], index[b], WORD_SPACE_EM))
    return np.stack(found, axis=1) if found else np.empty((len(columns.take("advance", [0])), 0))


def _own_joins(columns: Columns, text: str) -> Array:
    """What it takes to join each letter's loose parts, (faces, letters): an i-dot may reach a neighbour sooner."""
    letters = [c for c in text if c != " "]
    own = columns.take("own_join", [character_index()[c] for c in letters])
    dots = columns.whole("dotted_edges")
    at = -1
    for before, letter, after in zip(f" {text}", text, f"{text[1:]} "):
        at += letter != " "
        if letter in DOTTED:
            d = DOTTED.index(letter)
            for side, neighbour in enumerate((before, after)):
                n = NEIGHBOURS.find(neighbour)
                if n >= 0:
                    own[:, at] = np.fmin(own[:, at], dots[:, side, d, n])
    return own


WORD_SPACE_EM = 0.25
"""Word space assumed in predictions (a quarter em, trade habit); ``check`` uses the face's own."""


def _ink_gap(columns: Columns, first: int, second: int, between: float) -> Array:
    """Distance of the letters' boxes: the advance left after the first's ink, plus the second's left bearing."""
    advance = columns.take("advance", [first])[:, 0]
    right = columns.take("right", [first])[:, 0] - BIAS_EM
    left = columns.take("left", [second])[:, 0] - BIAS_EM
    gap: Array = np.maximum(0.0, advance - right + between + left)
    return gap


def _plain(character: str) -> str:
    return unicodedata.normalize("NFD", character)[0]


def _em_mm(
    faces: Sequence[Face], columns: Columns, text: str, places: Sequence[int], size: Size, base_offset_mm: float
) -> Array:
    """Millimetres of one em for each face; NaN where the face cannot be sized that way."""
    if size.kind == "width":
        advance = np.nansum(columns.take("advance", places), axis=1) + WORD_SPACE_EM * text.count(" ")
        room = size.mm - 2 * base_offset_mm
        return np.where((advance > 0) & (room > 0), room / np.maximum(advance, 1e-9), np.nan)
    key = "cap_height_em" if size.kind == "cap-height" else "x_height_em"
    heights = np.array([getattr(f, key) for f in faces], dtype=np.float64)
    return np.where(heights > 0.01, size.mm / np.maximum(heights, 0.01), np.nan)


def _thin(strokes: Array, length: Array, least_em: Array) -> tuple[Array, Array]:
    """5th percentile of the name's stroke widths, and the share of length below ``least_em``; NaN and 0 if unknown."""
    shares = np.diff(QUANTILES, prepend=0.0, append=1.0)
    weight = (shares[:-1] + shares[1:]) / 2
    count = len(strokes)
    values = strokes.reshape(count, -1)
    mass = (np.nan_to_num(length)[:, :, None] * weight).reshape(count, -1)
    mass = np.where(np.isnan(values), 0.0, mass)
    total = np.maximum(mass.sum(axis=1), 1e-12)
    order = np.argsort(values, axis=1)
    cumulated = np.cumsum(np.take_along_axis(mass, order, axis=1), axis=1) / total[:, None]
    at = np.argmax(cumulated >= 0.05, axis=1)
    thin = np.take_along_axis(np.take_along_axis(values, order, axis=1), at[:, None], axis=1)[:, 0]
    thin = np.where(mass.sum(axis=1) > 0, thin, np.nan)
    share = (mass * (np.nan_to_num(values, nan=np.inf) < least_em[:, None])).sum(axis=1) / total
    return thin, share


def _neck(face: Face, margin_em: float) -> float | None:
    """Neck in em at an offset ``margin_em`` past the join, from the face's curve; None when the face has none."""
    if not face.neck_curve_em:
        return None
    if margin_em <= 0:
        return 0.0
    return float(np.interp(margin_em, (0.0, *NECK_MARGINS_EM), (0.0, *face.neck_curve_em)))


def _or_none(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
