"""Many faces measured in full for one name. Opens fonts, in several processes where that is worth their start."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import partial

from catalogue.errors import LetterholdError
from catalogue.judge.hold import Hold
from catalogue.judge.lacking import LacksLetters, lacked
from catalogue.judge.ranking import Ranked
from catalogue.judge.request import Request
from catalogue.judge.sizes import can_size
from catalogue.parallel import Progress, each, in_silence
from catalogue.store.database import Face

MOST_MEASURED = 100
"""Faces measured for a name that cannot be predicted, unless more are asked for: three seconds of one processor."""


@dataclass(frozen=True, slots=True)
class Covering:
    """Faces asked for a name that cannot be predicted."""

    rows: tuple[Ranked, ...]
    """Those measured, best first."""
    unmeasured: tuple[Face, ...]
    """Those that have all letters and lie beyond the bound, stoutest first."""
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
            f"{total} faces have these letters; measured are the {len(self.rows)} with the stoutest strokes;"
            f" --verify {total} --top 0 measures all"
        )


def measure_covering(
    faces: Sequence[Face],
    request: Request,
    most: int = MOST_MEASURED,
    progress: Progress = in_silence,
    workers: int = 1,
) -> Covering:
    """Faces that have every letter of the name, ``most`` of them measured in full, the stoutest strokes first.

    For names in a script that no table covers. Thin strokes are what most often keeps a name from holding, so the
    bound leaves out those that would come last.
    """
    found = each(partial(_lacks, request.name), faces, workers)
    covering: list[Face] = []
    unsized: list[Face] = []
    lacking: Counter[str] = Counter()
    left_out = 0
    troubles: list[str] = []
    for face, answer in zip(faces, progress(found, len(faces), "looking for letters"), strict=True):
        if isinstance(answer, str):
            troubles.append(answer)
        elif answer:
            lacking.update(answer)
            left_out += 1
        else:
            (covering if can_size(face, request.size) else unsized).append(face)
    covering.sort(key=_stoutest)
    chosen = covering[:most]
    rows: list[Ranked] = []
    measured = each(partial(in_full, request), [blank(face) for face in chosen], workers)
    for result in progress(measured, len(chosen), "measuring"):
        if isinstance(result, Ranked):
            rows.append(result)
        elif isinstance(result, str):
            troubles.append(result)
        else:
            lacking.update(result)
            left_out += 1
    rows.sort(key=lambda r: r.order)
    return Covering(tuple(rows), tuple(covering[most:]), lacking, left_out, tuple(unsized), tuple(troubles))


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


def _lacks(name: str, face: Face) -> str | tuple[str, ...]:
    """The letters of the name that the face lacks, or the line that says why it cannot be asked."""
    from catalogue.judge.typesetters import typesetter  # as above

    try:
        return lacked(name, typesetter(face).missing(name))
    except LetterholdError as error:
        return str(error)


def _stoutest(face: Face) -> tuple[float, int]:
    stroke = face.median_stroke_em
    return (-stroke if math.isfinite(stroke) else 0.0, face.id)
