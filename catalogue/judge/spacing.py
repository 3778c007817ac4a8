"""Words and lines of a name, set as close as a tag needs them: over a whole word space no base hangs together."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import shapely
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from catalogue.judge.lines import lines_of as lines_of
from scanner.lettering import Letter, Lettering, Typesetter

NO_SPACE_EM = 0.25
"""Word space of a face that has none (a quarter em, trade habit)."""

MOST_OVER_EM = 0.1
"""A word reaches no farther over the one before: where their heights never meet they would slide past each other."""

_NEAR_EM = 0.0005
"""How exactly the distance of two words is met."""


_STACKING_STEPS = 18
"""Halvings of the distance between two lines: to a few micrometres."""


def word_space(setter: Typesetter) -> float:
    """Advance of the face's word space in font units; a quarter em where it has none."""
    return sum(g.advance for g in setter.shaper.shape(" ")) or NO_SPACE_EM * setter.shaper.upem


def set_words(setter: Typesetter, name: str, apart: float, language: str | None = None) -> tuple[Lettering, float]:
    """One line with its words at most ``apart`` from each other, and the most that was taken out of a word space.

    Font units. Words that the face sets closer stay where they are. Raises LetteringError as ``Typesetter.set``.
    """
    whole = setter.set(name, language)
    words = [word for line in lines_of(name) for word in line]
    if len(words) < 2:
        return whole, 0.0
    upem = float(setter.shaper.upem)
    space = word_space(setter)
    out: list[Letter] = []
    pen = taken = 0.0
    for word in words:
        letters = setter.set(word, language).letters
        move = 0.0
        if out and letters:
            before = shapely.union_all([letter.region for letter in out])
            here = translate(shapely.union_all([letter.region for letter in letters]), pen)
            most = here.bounds[0] - before.bounds[2] + MOST_OVER_EM * upem
            # To move by what is still too far never goes beyond it.
            while move < most and (far := shapely.distance(before, translate(here, -move)) - apart) > _NEAR_EM * upem:
                move = min(most, move + far)
        pen -= move
        taken = max(taken, move)
        out += [replace(letter, region=translate(letter.region, pen)) for letter in letters]
        pen += sum(g.advance for g in setter.shaper.shape(word, language)) + space
    return Lettering(name, setter.shaper.upem, tuple(out), whole.missing), taken


@dataclass(frozen=True)
class Placed:
    """Letters at their places, and the baselines of their lines from the first, at 0, downwards; one unit for all."""

    letters: list[BaseGeometry]
    baselines: tuple[float, ...]


def stacked(
    lines: Sequence[list[BaseGeometry]], gap: float, nearer: float = 0.0, line_spacing: float | None = None
) -> Placed:
    """Each line under the one before, centred: as near as the gap lets it, or at the line spacing asked for.

    ``nearer`` is what a line comes closer than the gap. All in the unit of the letters.
    """
    out, baselines = list(lines[0]), [0.0]
    for line in lines[1:]:
        if not line or not out:
            out += line
            continue
        above, here = shapely.union_all(out), shapely.union_all(line)
        left, bottom, right, _ = above.bounds
        x0, _, x1, y1 = here.bounds
        dx = (left + right) / 2 - (x0 + x1) / 2
        far = bottom - y1 - gap  # boxes a gap apart: always enough
        near = far + (above.bounds[3] - bottom) / 2
        for _ in range(_STACKING_STEPS):
            middle = (near + far) / 2
            if shapely.distance(above, translate(here, dx, middle)) >= gap:
                far = middle
            else:
                near = middle
        baseline = far + nearer
        if line_spacing is not None:
            baseline = min(baseline, baselines[-1] - line_spacing)
        out += [translate(letter, dx, baseline) for letter in line]
        baselines.append(baseline)
    return Placed(out, tuple(baselines))
