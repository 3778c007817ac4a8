"""A name as it would be made, for all faces at once: which levers move, what holds then, and what it costs. Pure.

What ``ranking`` says of a name as set, this says of the tag that ``letterhold tag`` would make of it; ``made_search``
moves the levers. Both are predictions from the stored tables.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.chain import chain_of
from catalogue.judge.heavier import Weights, at_weights, weights_for
from catalogue.judge.hold import SLIVER_EM, SizesOfMany, losses
from catalogue.judge.kin import Kin
from catalogue.judge.letters import JOINED_SHARE
from catalogue.judge.made_search import Name, Settings, best_settings
from catalogue.judge.openings import openings_of
from catalogue.judge.predicted_joins import plain_text
from catalogue.judge.predicted_necks import predicted_neck
from catalogue.judge.predicted_strokes import thin_strokes, thinnest_letter
from catalogue.judge.reach import Reach
from catalogue.judge.request import Request
from catalogue.judge.sizes import faces_em_mm, widest
from catalogue.store.columns import Columns
from scanner.alphabet import character_index

Array = NDArray[np.float64]
Flags = NDArray[np.bool_]

MOST_UNREADABLE = 49
"""Hold of what cannot be read, at most: it does not hold (``hold.MOST_WITHOUT_HOLD``)."""


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """A name in all faces as it would be made, (faces) each; lengths in mm, NaN where a face cannot be asked."""

    settings: Settings
    weights: Weights
    start_em_mm: Array
    join_offset_mm: Array
    neck_mm: Array
    thinnest_stroke_mm: Array
    smallest_counter_mm: Array
    closed: Array
    """Share of the openings in and between letters that fuse."""
    hold: NDArray[np.int64]
    holds: Flags
    cost_mm: Array
    able: Flags
    """Whether the face has all letters and can be sized as asked; the other numbers mean nothing where not."""


def made_of(columns: Columns, request: Request, reach: Reach, kin: Kin) -> Made:
    """The tag that each face would give; ``kin`` is that of the faces of the columns, in their order.

    Raises FontError for a width that leaves no room.
    """
    name = name_of(columns, request)
    advance = columns.take("advance", [(character_index()[c],) for c in letters_in(request)])
    lines = [plain_text(line) for line in request.lines if line.strip()]
    em = faces_em_mm(columns, widest(advance, lines), request.size, request.base_offset_mm)
    able = np.isfinite(em) & ~np.isnan(advance).any(axis=0)
    em = np.where(able, em, 1.0)
    zero = np.zeros(len(columns))
    start = Settings(em, zero, zero, zero, np.full(len(columns), request.base_offset_mm))
    weights = weights_for(name, em, kin.heavier, reach.allows("weight"))
    heavy = at_weights(name, weights)
    at = best_settings(heavy, start, reach)
    return judged(heavy, start, at, weights, able)


def name_of(columns: Columns, request: Request) -> Name:
    """The name as the levers see it."""
    letters, index = letters_in(request), character_index()
    places = [(index[c],) for c in letters]
    chain = chain_of(columns, request.lines)
    strokes, length = columns.take("strokes", places), columns.take("length", places)
    thinnest, _ = thin_strokes(strokes, length, np.zeros(len(columns)))
    joined = chain.touching | (columns.fact("joining") >= JOINED_SHARE)
    openings = openings_of(columns, letters, chain)
    counters = columns.take("counter", places)
    smallest = np.fmin.reduce(np.where(counters < SLIVER_EM, np.nan, counters), axis=0)
    return Name(chain, thinnest, thinnest_letter(strokes), smallest, openings, joined, request.process)


def letters_in(request: Request) -> str:
    """The letters of all lines, without spaces."""
    return plain_text(request.name).replace(" ", "")


def judged(name: Name, start: Settings, at: Settings, weights: Weights, able: Flags) -> Made:
    """What comes of settings."""
    gaps = name.gaps_mm(at)
    join = np.maximum(0.0, gaps.max(axis=0, initial=0.0) / 2 - at.thicken_mm)
    wide = (at.thicken_mm + at.base_offset_mm) / at.em_mm
    neck = predicted_neck(gaps / at.em_mm, name.chain.lens, name.chain.passages, wide, name.chain.held) * at.em_mm
    thin = name.thinnest * at.em_mm + 2 * at.thicken_mm
    counters = np.maximum(name.counter * at.em_mm - 2 * at.thicken_mm, 0.0)
    lost = losses(SizesOfMany(join, neck, thin, counters, at.base_offset_mm), name.process)
    reads = name.legible(at)
    hold = np.where(reads, lost.hold, np.minimum(lost.hold, MOST_UNREADABLE))
    return Made(
        at, weights, start.em_mm, join, neck, thin, counters, name.closed(at), hold, lost.holds & reads,
        cost_mm(start, at), able,
    )  # fmt: skip


def cost_mm(start: Settings, at: Settings) -> Array:
    """How far the tag is from what was asked for: the sum of what each lever moves an outline by, in mm.

    Thickening and offset count as they are, tracking and word spaces by what letters and words move, a size by what
    a line as high as an em would grow.
    """
    moves = {f.name: np.abs(getattr(at, f.name) - getattr(start, f.name)) for f in fields(at)}
    cost: Array = (
        moves["thicken_mm"] + moves["base_offset_mm"] + moves["tracking_em"] * at.em_mm + moves["space_mm"]
        + moves["em_mm"]
    )  # fmt: skip
    return cost
