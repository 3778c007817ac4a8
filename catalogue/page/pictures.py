"""A name in a face as one path for the browser: quick, without offsets; the browser draws those as strokes."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from pathlib import Path

from catalogue.page.drawing import flat_outline
from catalogue.page.kept import Last
from catalogue.store.face import Face

UNITS_PER_EM = 250
"""Grid of the pictures: a sixth of a screen pixel in a line of the list, where an em is about 40 pixels."""

WORDS_APART_EM = 0.075
"""Distance of words in a picture before the name is measured: 1.5 mm of 14 mm capitals."""

KEPT_FACES = 400
"""Opened fonts kept for pictures."""


@dataclass(frozen=True, slots=True)
class Picture:
    """A name in a face as one path, ``UNITS_PER_EM`` to the em, y down; box is left, top, right, bottom."""

    path: str
    box: tuple[int, int, int, int]


class Pictures:
    """Draws names, with the fonts it opened last at hand. For one thread at a time."""

    def __init__(self) -> None:
        self._shapers = Last(KEPT_FACES)

    def draw(self, file: Path, face: Face, name: str) -> Picture:
        """A name in one line. Raises FontError."""
        from scanner.shaping import Shaper

        if len(name.split()) > 1:
            return _words(face, name)
        opened = partial(Shaper.open, file, face.face_index, dict(face.coordinates))
        key = (face.path, face.face_index, tuple(face.coordinates.items()))
        path, box = self._shapers.get(key, opened).curves(name, UNITS_PER_EM)
        return Picture(path, box)

    def clear(self) -> None:
        """Forget the opened fonts."""
        self._shapers.clear()


def _words(face: Face, name: str) -> Picture:
    """Several words, nearly as close as they will be set at the size asked for."""
    from catalogue.judge.check import typesetter
    from catalogue.judge.spacing import set_words

    setter = typesetter(face)
    upem = setter.shaper.upem
    lettering, _ = set_words(setter, name, WORDS_APART_EM * upem)
    return Picture(*flat_outline(lettering.region, UNITS_PER_EM / upem))
