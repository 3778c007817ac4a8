"""A name over the whole catalogue: predicted from the stored tables, all faces at once. Pure.

A name is a chain of pairs: its join offset is half the longest of the gaps of its adjacent letters and of the gaps
between each letter's own loose parts. The neck is that of its weakest pair or letter (``neck_forecast``). Both are
predictions; ``check`` measures.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.hold import Hold, Sizes, judge, losses
from catalogue.judge.predicted_necks import foretold_neck
from catalogue.judge.process import Process
from catalogue.judge.request import Size
from catalogue.judge.sizes import faces_em_mm
from catalogue.store.columns import Columns
from catalogue.store.database import Face
from scanner.alphabet import (
    BESIDE_DOTS,
    DOTTED,
    LOWER,
    NEIGHBOURS,
    QUANTILES,
    TALL,
    UPPER,
    character_index,
    lens_index,
    pair_index,
)
from scanner.records import ABSENT, BIAS_EM, OWN_OFFSETS_EM, STEP_EM, unpacked, unpacked_widths

Array = NDArray[np.float64]

WORD_SPACE_EM = 0.25
"""Word space assumed in predictions (a quarter em, trade habit); ``check`` uses the face's own."""


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
    def order(self) -> tuple[float, float, float, int]:
        """Best first: hold, then the margin of the join, then the stouter stroke."""
        return (-self.hold.hold, self.join_offset_mm, -(self.thinnest_stroke_mm or 0), self.face.id)


@dataclass(frozen=True, slots=True, eq=False)
class Ranking:
    """Predictions of a name, best face first. Arrays have the shape (faces); lengths in mm, NaN where not known."""

    ids: NDArray[np.int64]
    em_mm: Array
    pieces: NDArray[np.int64]
    join_offset_mm: Array
    neck_mm: Array
    thinnest_stroke_mm: Array
    thin_share: Array
    smallest_counter_mm: Array
    hold: NDArray[np.int64]
    holds: NDArray[np.bool_]
    contextual: Array
    """Share of test words that the face draws otherwise than its letter pairs tell."""
    base_offset_mm: float
    process: Process
    lacking: dict[str, int]
    """Letters of the name, with the number of faces that lack them (those are not ranked)."""
    left_out: int
    """Faces that lack a letter of the name."""
    unsized: NDArray[np.int64]
    """Numbers of the faces that have the letters but cannot be sized as asked; they are not ranked."""

    def __len__(self) -> int:
        return len(self.ids)

    def row(self, place: int, face: Face) -> Ranked:
        """One place of the ranking with its reasons; ``face`` is the face of ``ids[place]``."""
        sizes = Sizes(
            join_offset_mm=float(self.join_offset_mm[place]),
            neck_mm=_or_none(self.neck_mm[place]),
            thinnest_stroke_mm=_or_none(self.thinnest_stroke_mm[place]),
            thin_share=float(self.thin_share[place]),
            smallest_counter_mm=_or_none(self.smallest_counter_mm[place]),
            base_offset_mm=self.base_offset_mm,
        )
        return Ranked(
            face, float(self.em_mm[place]), int(self.pieces[place]), sizes.join_offset_mm, sizes.neck_mm,
            sizes.thinnest_stroke_mm, sizes.smallest_counter_mm, judge(sizes, self.process), False,
        )  # fmt: skip


def missing_letters(face: Face, name: str) -> list[str]:
    """Letters of the name that the face is known to lack."""
    return [c for c in dict.fromkeys(name) if c in face.missing]


def can_predict(name: str) -> bool:
    """Whether every letter of the name is in the stored alphabet (else only ``check`` can tell)."""
    index = character_index()
    return all(c in index or c == " " for c in _plain_text(name)) and bool(name.strip())


def rank(
    columns: Columns,
    name: str,
    size: Size,
    process: Process,
    base_offset_mm: float,
    among: NDArray[np.int64] | None = None,
) -> Ranking:
    """Predicted ranking, best first, of all faces or of those whose ids are ``among``.

    Faces that lack a letter, or cannot be sized as asked, are left out.
    """
    text = _plain_text(name)
    index = character_index()
    letters = [index[c] for c in text if c != " "]
    advance = columns.take("advance", [(k,) for k in letters])
    asked = np.isin(columns.ids, among) if among is not None else np.ones(len(columns), dtype=bool)
    absent = np.isnan(advance) & asked
    letters_of = text.replace(" ", "")
    lacking = {c: n for c, n in zip(letters_of, absent.sum(axis=1).tolist(), strict=True) if n}
    em = faces_em_mm(columns, advance, size, base_offset_mm)
    able = asked & ~absent.any(axis=0)
    sized = np.isfinite(em)
    em[~sized] = 1.0  # any number does: what follows goes over all faces, and these are left out of the answer
    keep = able & sized

    gaps = _gaps(columns, text, max(base_offset_mm, process.least_gap_mm) / em)
    own = _own_joins(columns, text)
    edges = np.nan_to_num(np.concatenate([gaps, own])) * em
    join = edges.max(axis=0, initial=0.0) / 2
    places = [(k,) for k in letters]
    thin, share = _thin(columns.take("strokes", places), columns.take("length", places), process.least_wall_mm / em)
    smallest = np.fmin.reduce(columns.take("counter", places), axis=0) * em
    neck = _necks(columns, text, gaps, own, base_offset_mm / em) * em
    lost = losses(join, neck, thin * em, share, smallest, base_offset_mm, process)

    order = np.lexsort((columns.ids, -np.nan_to_num(thin * em), join, -lost.hold))
    order = order[keep[order]]
    return Ranking(
        ids=columns.ids[order], em_mm=em[order], pieces=(1 + np.sum(edges > 2 * base_offset_mm, axis=0))[order],
        join_offset_mm=join[order], neck_mm=neck[order], thinnest_stroke_mm=(thin * em)[order],
        thin_share=share[order], smallest_counter_mm=smallest[order], hold=lost.hold[order],
        holds=lost.holds[order], contextual=columns.fact("contextual")[order], base_offset_mm=base_offset_mm,
        process=process, lacking=lacking, left_out=int(absent.any(axis=0).sum()),
        unsized=columns.ids[able & ~sized],
    )  # fmt: skip


def necks(columns: Columns, name: str, offset_em: Array) -> Array:
    """Neck in em of the base of a name at ``offset_em``, foretold; both of shape (faces)."""
    text = _plain_text(name)
    return _necks(columns, text, _gaps(columns, text, offset_em), _own_joins(columns, text), offset_em)


def _plain_text(name: str) -> str:
    return unicodedata.normalize("NFC", " ".join(name.split()))


def _gaps(columns: Columns, text: str, apart_em: Array) -> Array:
    """Gaps of adjacent letters, (pairs, faces). Words stand no farther apart than ``apart_em``, as ``check`` sets them;
    nearer where a word space between the ink ends of their letters is less.
    """
    known = pair_index()
    index = character_index()
    found: list[Array] = []
    tabled: list[tuple[int, ...]] = []
    for a, b in zip(text, text[1:], strict=False):
        pair = _tabled(a, b)
        if pair:
            tabled.append((known[pair],))
        elif a != " " and b != " ":
            found.append(_ink_gap(columns, index[a], index[b], 0.0))
    for a, space, b in zip(text, text[1:], text[2:], strict=False):
        if space == " ":
            found.append(np.minimum(_ink_gap(columns, index[a], index[b], WORD_SPACE_EM), apart_em))
    return np.concatenate([columns.take("gaps", tabled), np.array(found).reshape(len(found), len(columns))])


def _tabled(a: str, b: str) -> tuple[str, str] | None:
    """The pair of the table that tells of these two letters: their own, or that of their base letters."""
    return next((pair for pair in ((a, b), (_base(a), _base(b))) if pair in pair_index()), None)


def _own_joins(columns: Columns, text: str) -> Array:
    """What it takes to join each letter's loose parts, (letters, faces): an i-dot may reach a neighbour sooner."""
    index = character_index()
    own = columns.take("own_join", [(index[c],) for c in text if c != " "])
    at = -1
    for before, letter, after in zip(f" {text}", text, f"{text[1:]} ", strict=False):
        at += letter != " "
        if letter in DOTTED:
            beside = [
                (side, DOTTED.index(letter), NEIGHBOURS.index(neighbour))
                for side, neighbour in enumerate((before, after))
                if neighbour in NEIGHBOURS and neighbour
            ]
            for edge in columns.take("dotted_edges", beside):
                own[at] = np.fmin(own[at], edge)
    return own


def _ink_gap(columns: Columns, first: int, second: int, between: float) -> Array:
    """Distance of the letters' boxes: the advance left after the first's ink, plus the second's left bearing."""
    advance = columns.take("advance", [(first,)])[0]
    right = columns.take("right", [(first,)])[0] - BIAS_EM
    left = columns.take("left", [(second,)])[0] - BIAS_EM
    gap: Array = np.maximum(0.0, advance - right + between + left)
    return gap


def _base(character: str) -> str:
    return unicodedata.normalize("NFD", character)[0]


def _thin(strokes: Array, length: Array, least_em: Array) -> tuple[Array, Array]:
    """5th percentile of the name's stroke widths, and the share of length below ``least_em``; NaN and 0 if unknown.

    ``strokes`` (letters, quantiles, faces), ``length`` (letters, faces).
    """
    shares = np.diff(QUANTILES, prepend=0.0, append=1.0)
    weight = (shares[:-1] + shares[1:]) / 2
    letters, kept, count = strokes.shape
    values = strokes.reshape(letters * kept, count)
    mass = (np.nan_to_num(length)[:, None] * weight[:, None]).reshape(letters * kept, count)
    mass[np.isnan(values)] = 0.0
    total = mass.sum(axis=0)
    share = (mass * (values < least_em)).sum(axis=0) / np.maximum(total, 1e-12)
    # Width and weight in one whole number: sorting needs no second array to be brought into the same order, which
    # took two thirds of the time. Widths come in steps of STEP_EM, weights in 65,535ths of the name's length.
    width = np.nan_to_num(values / STEP_EM, nan=ABSENT)
    keys = (np.rint(width).astype(np.uint32) << 16) | np.rint(mass / np.maximum(total, 1e-12) * 60000).astype(np.uint32)
    keys = np.sort(np.ascontiguousarray(keys.T), axis=1)
    parts = np.cumsum(keys & 0xFFFF, axis=1)
    at = np.argmax(parts >= 0.05 * parts[:, -1:], axis=1)
    thin = (keys[np.arange(count), at] >> 16) * STEP_EM
    return np.where(total > 0, thin, np.nan), share


def _necks(columns: Columns, text: str, gaps: Array, own: Array, offset_em: Array) -> Array:
    """Neck in em of the base at ``offset_em``; ``gaps`` and ``own`` as ``_gaps`` and ``_own_joins`` give them."""
    letters = [c for c in text if c != " "]
    # A letter in one piece has no joint of its own; a mark hangs on as the dot of an i does.
    apart = np.nan_to_num(own) > 0
    marked = np.flatnonzero(apart.any(axis=1)).tolist()
    loose = unpacked(columns.take("dot_lens", [(int(letters[k] == "j"),) for k in marked]), axis=1)
    lens = np.concatenate([_lenses(columns, text, len(gaps)), loose])
    held = {len(gaps) + marked.index(k): ways for k, ways in _held(columns, text).items() if k in marked}
    joints = np.concatenate([gaps, np.where(apart, own, -np.inf)[marked]])
    return foretold_neck(joints, lens, _passages(columns, letters), offset_em, held)


def _lenses(columns: Columns, text: str, rows: int) -> Array:
    """Lenses of the pairs, (pairs, widths, faces), for the ``rows`` of ``_gaps``; NaN for a pair that has none."""
    tabled = [(_base(a), _base(b)) for a, b in zip(text, text[1:], strict=False) if _tabled(a, b)]
    places = [lens_index().get(pair) for pair in tabled]
    known = unpacked(columns.take("lens", [(p,) for p in places if p is not None]), axis=1)
    found = np.full((rows, *known.shape[1:]), np.nan)
    found[[k for k, p in enumerate(places) if p is not None]] = known
    return found


def _passages(columns: Columns, letters: Sequence[str]) -> Array:
    """Passages through letters, (passages, own offsets, faces): at the ends of a name on the inner side only."""
    index = {c: k for k, c in enumerate(UPPER + LOWER)}
    known = [(k, index[_base(c)]) for k, c in enumerate(letters) if _base(c) in index]
    places = [(c, 0) for k, c in known if k > 0] + [(c, 1) for k, c in known if k < len(letters) - 1]
    if not places:
        return np.empty((0, len(OWN_OFFSETS_EM), len(columns)))
    return unpacked_widths(columns.take("own_necks", list(dict.fromkeys(places))), axis=1)


def _held(columns: Columns, text: str) -> dict[int, Array]:
    """For the dotted letters, by their place: necks of the dot by way of each neighbour, as ``foretold_neck`` asks."""
    found: dict[int, Array] = {}
    at = -1
    for before, letter, after in zip(f" {text}", text, f"{text[1:]} ", strict=False):
        at += letter != " "
        beside = [(side, _base(c)) for side, c in enumerate((before, after)) if _base(c) in NEIGHBOURS]
        if letter in DOTTED and beside:
            places = [(side, BESIDE_DOTS.index("l" if c in TALL[side] else "n")) for side, c in beside]
            found[at] = unpacked_widths(columns.take("held_dots", places), axis=1)
    return found


def _or_none(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
