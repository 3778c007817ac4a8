"""The neck of a name's base, predicted for all faces at once from what is stored without a size. Arrays in, arrays out.

A name hangs together by the weakest of its pairs, of its dots and of its letters. For every pair the offset is known
that necks of ``LENS_WIDTHS_EM`` need, and read the other way round that is the pair's neck at an offset. Between the
widths the offset goes with the square of the neck, as for two discs (check-values G14), up to a jump (G16). Letters cap
it: a disc must also get through each of them. Dots are held by their neighbours as well.

Mostly right within 0.02 em (`bench/neck_numbers.py`). What is missed: letters two places apart help each other, and the
narrowest way may run between a letter's counter and the ground next to its neighbour, which neither a pair nor a letter
shows alone. Contextual faces draw other letters than were measured.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.predicted_joins import base_letter, tabled
from catalogue.store.columns import Columns
from scanner.alphabet import BESIDE_DOTS, DOTTED, LOWER, NEIGHBOURS, TALL, UPPER, lens_index
from scanner.records import LENS_WIDTHS_EM, OWN_OFFSETS_EM, unpacked, unpacked_widths

Array = NDArray[np.float64]

LATE_EM = 0.006
"""Neighbours are taken to help a dot so much later than the raster says: they differ from those that stand for them."""

JUMP = 2.0
"""Between two widths this many times as steep as before them, the neck jumps at the second's offset (G16)."""

UNKNOWN_RADIUS_EM = 0.1
"""Pairs without a lens (digits, marks, ligatures) are taken for discs of this radius."""


class LensPiece(NamedTuple):
    """How the square of a neck grows with the offset from one width known of a lens to the next; (joints, faces)."""

    square: float
    """Of the width at its start, in em²."""
    end_square: float
    start: Array | float
    """Offset past half the gap, in em."""
    end: Array
    slope: Array
    """Rise a unit of offset."""
    least_slope: Array
    """The slope inside the piece: no more than ``JUMP`` times that of the piece before."""
    is_last: bool
    """Whether it goes on beyond its end."""


def lens_pieces(lens: Array) -> Iterator[LensPiece]:
    """The pieces of all joints and faces at once, from the gap outwards; ``lens`` as in ``predicted_neck``."""
    square = np.concatenate([[0.0], np.array(LENS_WIDTHS_EM) ** 2])
    last: Array | float = 0.0
    steep: Array | float = np.inf
    for k in range(len(LENS_WIDTHS_EM)):
        rise = square[k + 1] - square[k]
        needed = np.where(np.isnan(lens[:, k]), square[k + 1] / (8 * UNKNOWN_RADIUS_EM), lens[:, k])
        np.maximum(needed, last, out=needed)
        slope = rise / np.maximum(needed - last, 1e-5)
        least = np.minimum(slope, JUMP * steep)
        yield LensPiece(square[k], square[k + 1], last, needed, slope, least, k == len(LENS_WIDTHS_EM) - 1)
        last, steep = needed, slope


def predicted_neck(
    gaps: Array, lens: Array, own: Array, offset: Array, held: Mapping[int, Array] | None = None
) -> Array:
    """Neck in em at ``offset`` in em, both of shape (faces); 0 where the name comes apart there.

    ``gaps`` (joints, faces): the least distance each joint has to bridge, NaN where unknown, minus infinity where a
    face has no such joint. ``lens`` (joints, widths,
    faces): offset past half the gap for each of ``LENS_WIDTHS_EM``, NaN where unknown. ``own`` (passages, own offsets,
    faces): narrowest passages through letters at ``OWN_OFFSETS_EM``, NaN where unknown. ``held``, for joints that
    neighbours help to hold: the neck by way of each of them, (neighbours, own offsets, faces), NaN where unknown.
    """
    none = np.isneginf(gaps)
    past = offset - np.nan_to_num(gaps, neginf=0.0) / 2
    squared = np.zeros_like(past)
    for piece in lens_pieces(lens):
        run = np.maximum(past - piece.start, 0.0)
        whole = piece.slope * run if piece.is_last else piece.end_square - piece.square
        squared += np.where(past >= piece.end, whole, piece.least_slope * run)
    joints: Array = np.sqrt(squared)
    for joint, ways in (held or {}).items():
        lent = np.fmax.reduce(_sampled(ways, offset - LATE_EM, 0.0))
        joints[joint] = np.where(past[joint] > 0, np.fmax(joints[joint], lent), joints[joint])
    joints[none] = np.inf
    neck: Array = np.minimum(joints.min(axis=0, initial=np.inf), passages(own, offset).min(axis=0, initial=np.inf))
    return neck


def passages(own: Array, offset: Array) -> Array:
    """Narrowest passages at ``offset``, shape (passages, faces); infinite where unknown."""
    return np.nan_to_num(_sampled(own, offset, 0.5), nan=np.inf)


def _sampled(widths: Array, offset: Array, even: float) -> Array:
    """Widths known at ``OWN_OFFSETS_EM``, shape (..., own offsets, faces), at ``offset``; NaN where unknown.

    A base wider by d all round carries a neck wider by 2 d at least, and more where a counter closes: somewhere between
    two offsets. ``even`` is the share of that more that is taken as coming evenly, the rest only at the second offset.
    """
    first, step = OWN_OFFSETS_EM[0], OWN_OFFSETS_EM[1] - OWN_OFFSETS_EM[0]
    place = np.clip((offset - first) / step, 0.0, len(OWN_OFFSETS_EM) - 1)
    low = np.minimum(place.astype(np.intp), len(OWN_OFFSETS_EM) - 2)
    faces = np.arange(len(offset))
    below, above = widths[..., low, faces], widths[..., low + 1, faces]
    beyond = offset - first - place * step
    rise = above - below
    least = np.where(below > 0, np.minimum(rise, 2 * step), 0.0)
    share = place - low
    found = below + share * (least + even * (rise - least)) + np.where(below > 0, 2 * beyond, 0.0)
    return np.where(share < 1, np.maximum(found, 0.0), above + 2 * beyond)


def name_necks(columns: Columns, text: str, gaps: Array, own: Array, offset_em: Array) -> Array:
    """Neck in em of the base at ``offset_em``; ``gaps`` and ``own`` as ``predicted_joins`` gives them."""
    letters = [c for c in text if c != " "]
    # A letter in one piece has no joint of its own; a mark hangs on as the dot of an i does.
    apart = np.nan_to_num(own) > 0
    marked = np.flatnonzero(apart.any(axis=1)).tolist()
    lens = np.concatenate([lenses(columns, text, len(gaps)), loose_lenses(columns, letters, marked)])
    held = {len(gaps) + marked.index(k): ways for k, ways in held_dots(columns, text).items() if k in marked}
    joints = np.concatenate([gaps, np.where(apart, own, -np.inf)[marked]])
    return predicted_neck(joints, lens, letter_passages(columns, letters), offset_em, held)


def lenses(columns: Columns, text: str, rows: int) -> Array:
    """Lenses of the pairs, (pairs, widths, faces), for the ``rows`` of gaps; NaN for a pair that has none."""
    pairs = [(base_letter(a), base_letter(b)) for a, b in zip(text, text[1:], strict=False) if tabled(a, b)]
    places = [lens_index().get(pair) for pair in pairs]
    known = unpacked(columns.take("lens", [(p,) for p in places if p is not None]), axis=1)
    found = np.full((rows, *known.shape[1:]), np.nan)
    found[[k for k, p in enumerate(places) if p is not None]] = known
    return found


def loose_lenses(columns: Columns, letters: Sequence[str], marked: Sequence[int]) -> Array:
    """Lenses of the joints of letters' own loose parts, (marked, widths, faces), as those of the dot of an i or a j."""
    return unpacked(columns.take("dot_lens", [(int(letters[k] == "j"),) for k in marked]), axis=1)


def letter_passages(columns: Columns, letters: Sequence[str]) -> Array:
    """Passages through letters, (passages, own offsets, faces): at the ends of a name on the inner side only."""
    index = {c: k for k, c in enumerate(UPPER + LOWER)}
    known = [(k, index[base_letter(c)]) for k, c in enumerate(letters) if base_letter(c) in index]
    places = [(c, 0) for k, c in known if k > 0] + [(c, 1) for k, c in known if k < len(letters) - 1]
    if not places:
        return np.empty((0, len(OWN_OFFSETS_EM), len(columns)))
    return unpacked_widths(columns.take("own_necks", list(dict.fromkeys(places))), axis=1)


def held_dots(columns: Columns, text: str) -> dict[int, Array]:
    """For the dotted letters, by their place: necks of the dot by way of each neighbour, as ``predicted_neck`` asks."""
    found: dict[int, Array] = {}
    at = -1
    for before, letter, after in zip(f" {text}", text, f"{text[1:]} ", strict=False):
        at += letter != " "
        near = [(side, base_letter(c)) for side, c in enumerate((before, after)) if base_letter(c) in NEIGHBOURS]
        if letter in DOTTED and near:
            places = [(side, BESIDE_DOTS.index("l" if c in TALL[side] else "n")) for side, c in near]
            found[at] = unpacked_widths(columns.take("held_dots", places), axis=1)
    return found
