"""Many faces measured in full for one name. Opens fonts, in several processes where that is worth their start."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from functools import partial

import numpy as np
from numpy.typing import NDArray

from catalogue.errors import LetterholdError
from catalogue.judge.hold import Hold, Sizes, judge
from catalogue.judge.lacking import LacksLetters, letters_of
from catalogue.judge.ranking import Ranked
from catalogue.judge.request import Request
from catalogue.judge.sizes import can_size, height_em
from catalogue.parallel import Progress, each, in_silence
from catalogue.store.database import Face, Store

MOST_MEASURED = 100
"""Faces measured for a name that cannot be predicted, unless more are asked for: three seconds of one processor."""


@dataclass(frozen=True, slots=True)
class Covering:
    """Faces asked for a name that cannot be predicted."""

    rows: tuple[Ranked, ...]
    """Those measured, best first."""
    unmeasured: tuple[Face, ...]
    """Those that have all letters and lie beyond the bound, the most promising first."""
    asked: int
    """Faces asked in all."""
    lacking: Mapping[str, int]
    """Letters of the name with the number of faces that lack them."""
    left_out: int
    """Faces that lack a letter."""
    unsized: tuple[Face, ...]
    """Faces that have the letters but cannot be sized as asked."""
    troubles: tuple[str, ...]
    """One line for each face that could not be measured."""

    def bound_line(self) -> str:
        """What was left out and how to have it measured; empty when nothing was."""
        if not self.unmeasured:
            return ""
        total = len(self.rows) + len(self.unmeasured)
        return (
            f"{total} faces have these letters; the {len(self.rows)} most promising were measured;"
            f" --verify {total} --top 0 measures all"
        )


def measure_covering(
    store: Store,
    request: Request,
    most: int = MOST_MEASURED,
    among: NDArray[np.int64] | None = None,
    progress: Progress = in_silence,
    workers: int = 1,
) -> Covering:
    """Faces that have every letter of the name, ``most`` of them measured in full, the most promising first.

    For names in a script that no table covers. ``among`` gives the numbers of the faces to ask. Which come first is
    judged by the gaps between letters and the thinnest stroke that the scan found in each face.
    """
    faces = [f for f in store.faces() if among is None or f.id in among]
    lacking, lacks = _lacking(store, request.name, faces)
    covering = [f for f in faces if f.id not in lacks]
    able = sorted((f for f in covering if can_size(f, request.size)), key=partial(_promise, request))
    found = each(partial(in_full, request), [blank(face) for face in able[:most]], workers)
    rows: list[Ranked] = []
    troubles: list[str] = []
    left_out = len(lacks)
    for result in progress(found, len(able[:most]), "measuring"):
        if isinstance(result, Ranked):
            rows.append(result)
        elif isinstance(result, str):
            troubles.append(result)
        else:
            lacking.update(result)
            left_out += 1
    rows.sort(key=lambda r: r.order)
    unsized = tuple(f for f in covering if not can_size(f, request.size))
    return Covering(tuple(rows), tuple(able[most:]), len(faces), lacking, left_out, unsized, tuple(troubles))


def _lacking(store: Store, name: str, faces: list[Face]) -> tuple[Counter[str], set[int]]:
    """For each letter of a name how many of the faces do not map it, and the faces that lack any."""
    asked = {f.id for f in faces}
    counts: Counter[str] = Counter()
    lacks: set[int] = set()
    for letter in dict.fromkeys(letters_of(name)):
        without = asked.difference(store.covering(letter).tolist())
        if without:
            counts[letter] = len(without)
            lacks |= without
    return counts, lacks


def in_full(request: Request, row: Ranked) -> Ranked | str | tuple[str, ...]:
    """The row with the numbers of the full geometry; the line that says why there are none; or the letters lacking."""
    from catalogue.judge.check import verify  # the geometry libraries take a fifth of a second to load

    try:
        return verify(row, request)
    except LacksLetters as error:
        return error.letters
    except LetterholdError as error:
        return str(error)


def blank(face: Face) -> Ranked:
    """A row of which nothing is known yet."""
    return Ranked(face, math.nan, 0, 0, math.nan, None, None, None, Hold(0, False, ()), False)


def _promise(request: Request, face: Face) -> tuple[float, float, int]:
    """The most promising first: hold as the gaps and strokes of the face's own letters would give it."""
    height = height_em(face, request.size.kind) if request.size.kind != "width" else math.nan
    em = request.size.mm / height if height > 0 else request.size.mm / len(request.name)
    gap, stroke = face.letter_gap_em * em, face.thinnest_stroke_em * em
    join = gap / 2 if math.isfinite(gap) else request.base_offset_mm
    thinnest = stroke if math.isfinite(stroke) else None
    return (-judge(Sizes(join, None, thinnest, 0.0, None, request.base_offset_mm), request.process).hold, join, face.id)
