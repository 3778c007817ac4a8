"""A name as a chain of joints over all faces, without a size: what to bridge, and what necks ask for. Pure.

Arrays end in (faces); lengths in em. A joint lies between two letters of a word, between a letter's own loose parts,
between two words or between two lines.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.neck_needs import past_needed, sampled_needed
from catalogue.judge.predicted_joins import neighbours, own_joins, pair_gaps, plain_text, space_gaps
from catalogue.judge.predicted_necks import LATE_EM, held_dots, lenses, letter_passages, loose_lenses
from catalogue.store.columns import Columns
from scanner.records import LENS_WIDTHS_EM

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

PAIR, OWN, SPACE, LINE = range(4)
"""Kinds of joints: letters of a word, loose parts of a letter, words, lines."""

LINE_RADIUS_EM = 0.5
"""Lines hang together like discs of this radius: they touch in several places, at flat tops and feet."""

_LINE_LENS = (np.array(LENS_WIDTHS_EM) ** 2 / (8 * LINE_RADIUS_EM))[:, None]


@dataclass(frozen=True, slots=True, eq=False)
class Needs:
    """What necks of one width ask for."""

    past: Array
    """(joints, faces) offset past half the gap."""
    held: Array
    """(joints, faces) offset by way of a neighbour that holds a dot; infinite where none does."""
    within: Array
    """(faces) offset for the passages through letters."""


@dataclass(frozen=True, slots=True, eq=False)
class Chain:
    """The joints of a name."""

    kinds: NDArray[np.intp]
    """(joints)"""
    gaps: Array
    """(joints, faces); minus infinity where a face has no such joint, 0 for lines, which stand as near as they may."""
    lens: Array
    """(joints, widths, faces) as ``predicted_necks`` has them."""
    held: dict[int, Array]
    """For joints that neighbours help to hold: (neighbours, own offsets, faces)."""
    passages: Array
    """(passages, own offsets, faces)"""
    touching: Flags
    """(faces) whether two different letters that are neighbours touch."""

    def of(self, faces: NDArray[np.intp]) -> Chain:
        """The same for some of the faces, by place."""
        held = {k: ways[..., faces] for k, ways in self.held.items()}
        values = {f.name: getattr(self, f.name) for f in fields(self) if f.name not in ("kinds", "held")}
        return Chain(self.kinds, held=held, **{name: value[..., faces] for name, value in values.items()})

    def needs(self, width_em: Array) -> Needs:
        """What necks of ``width_em`` (faces) ask for."""
        held = np.full(self.gaps.shape, np.inf)
        for joint, ways in self.held.items():
            needed = sampled_needed(ways, width_em, 0.0) + LATE_EM
            held[joint] = np.where(np.isneginf(needed), np.inf, needed).min(axis=0)
        within = sampled_needed(self.passages, width_em, 0.5).max(axis=0, initial=-np.inf)
        return Needs(past_needed(self.lens, width_em), held, within)


def chain_of(columns: Columns, lines: tuple[str, ...]) -> Chain:
    """The chain of a name in lines, all of whose letters are in the stored alphabet."""
    parts = [_line_chain(columns, plain_text(line)) for line in lines if line.strip()]
    between = len(parts) - 1
    count = len(columns)
    lens = parts[0].lens
    kinds = np.concatenate([*(p.kinds for p in parts), np.full(between, LINE)])
    held: dict[int, Array] = {}
    at = 0
    for part in parts:
        held |= {at + k: ways for k, ways in part.held.items()}
        at += len(part.kinds)
    return Chain(
        kinds.astype(np.intp),
        np.concatenate([*(p.gaps for p in parts), np.zeros((between, count))]),
        np.concatenate([*(p.lens for p in parts), np.broadcast_to(_LINE_LENS, (between, *lens.shape[1:]))]),
        held,
        np.concatenate([p.passages for p in parts]),
        np.logical_or.reduce([p.touching for p in parts]),
    )


def _line_chain(columns: Columns, text: str) -> Chain:
    letters = [c for c in text if c != " "]
    pairs, spaces, own = pair_gaps(columns, text), space_gaps(columns, text), own_joins(columns, text)
    # A letter in one piece has no joint of its own.
    apart = np.nan_to_num(own) > 0
    marked = np.flatnonzero(apart.any(axis=1)).tolist()
    first = len(pairs) + len(spaces)
    held = {first + marked.index(k): ways for k, ways in held_dots(columns, text).items() if k in marked}
    differ = np.array([a != b for a, b in neighbours(text)], dtype=bool)
    return Chain(
        np.repeat([PAIR, SPACE, OWN], [len(pairs), len(spaces), len(marked)]).astype(np.intp),
        np.concatenate([np.nan_to_num(pairs), np.nan_to_num(spaces), np.where(apart, own, -np.inf)[marked]]),
        np.concatenate([lenses(columns, text, first), loose_lenses(columns, letters, marked)]),
        held,
        letter_passages(columns, letters),
        (pairs[differ] <= 0).any(axis=0) if differ.any() else np.zeros(len(columns), dtype=bool),
    )
