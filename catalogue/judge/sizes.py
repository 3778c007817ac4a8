"""From the size a person asks for to the millimetres of one em, for one face and for all; and who cannot be sized."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.request import Size
from catalogue.store.columns import Columns
from catalogue.store.database import Face
from catalogue.wording import count_of
from scanner.reasons import FontError

Array = NDArray[np.float64]

LEAST_HEIGHT_EM, MOST_HEIGHT_EM = 0.05, 6.5
"""Heights and widths a face can be sized by. Below, outlines flattened to 0.0005 em stray by more than a hundredth of
the letter; above, stored lengths end. Mathematical fonts state such heights: 0.03 em is a rule, no letter."""

_LACKING = {
    "cap-height": "no capitals to size by; use --x-height or --width",
    "x-height": "no small letters to size by; use --cap-height or --width",
    "width": "no width to size by; use --cap-height or --x-height",
}
_FACT = {"cap-height": "cap_height_em", "x-height": "x_height_em"}
_NAMED = 3
"""Faces named in a line; the others are counted."""


def height_em(face: Face, kind: str) -> float:
    """The height that a ``kind`` of size means (not a width), in em; NaN where it was not measured."""
    return float(getattr(face, _FACT[kind]))


def sized_by(face: Face) -> str:
    """Whose tops the cap height is: capitals, or the flat letters of a script that has none, by name."""
    letters = face.cap_height_of
    return "capitals" if not letters or letters.upper() != letters.lower() else f"letters as {' '.join(letters)}"


def can_size(face: Face, size: Size) -> bool:
    """Whether the face has the height to be sized by; a width is met by any."""
    return size.kind == "width" or bool(_sound(np.array(height_em(face, size.kind)), size.kind))


def face_em_mm(face: Face, size: Size, width_em: float, base_offset_mm: float) -> float:
    """Millimetres of one em at which the face has its size; ``width_em`` is that of the name's ink.

    Raises FontError with what to do when the face cannot be sized that way.
    """
    length = width_em if size.kind == "width" else height_em(face, size.kind)
    if not _sound(np.array(length), size.kind):
        raise FontError(f"{face.title} has {_LACKING[size.kind]}")
    return _room_mm(size, base_offset_mm) / length


def faces_em_mm(columns: Columns, advance: Array, size: Size, base_offset_mm: float) -> Array:
    """(faces) millimetres of one em, NaN where the face cannot be sized that way.

    ``advance`` (letters, faces) in em: a name is as wide as its letters' advances. Raises FontError for a width that
    leaves no room for letters.
    """
    length = np.nansum(advance, axis=0) if size.kind == "width" else columns.fact(_FACT[size.kind])
    sound = _sound(length, size.kind)
    em = np.full(len(columns), np.nan)
    em[sound] = _room_mm(size, base_offset_mm) / length[sound]
    return em


def widest(advance: Array, lines: Sequence[str]) -> Array:
    """The advances (letters, faces) of the widest line of each face, 0 for the letters of its other lines."""
    ends = np.cumsum([len(line.replace(" ", "")) for line in lines])
    if len(lines) < 2:
        return advance
    line_of = np.searchsorted(ends, np.arange(len(advance)), side="right")
    widths = np.array([np.nansum(advance[line_of == k], axis=0) for k in range(len(lines))])
    return np.where(line_of[:, None] == widths.argmax(axis=0), advance, np.where(np.isnan(advance), np.nan, 0.0))


def _sound(length_em: Array, kind: str) -> NDArray[np.bool_]:
    """Whether a face can be sized by such a length; a long name may be wider than any letter."""
    sound: NDArray[np.bool_] = (length_em >= LEAST_HEIGHT_EM) & (np.isfinite(length_em))
    return sound if kind == "width" else sound & (length_em <= MOST_HEIGHT_EM)


def unsized_line(titles: tuple[str, ...], kind: str) -> str:
    """How many faces cannot be sized, which, and what to do; empty for none.

    >>> unsized_line(("cmex10 Regular",), "cap-height")
    '1 face (cmex10 Regular) has no capitals to size by; use --x-height or --width'
    """
    if not titles:
        return ""
    more = f" and {len(titles) - _NAMED} more" if len(titles) > _NAMED else ""
    verb = "has" if len(titles) == 1 else "have"
    return f"{count_of(len(titles), 'face')} ({', '.join(titles[:_NAMED])}{more}) {verb} {_LACKING[kind]}"


def _room_mm(size: Size, base_offset_mm: float) -> float:
    """What the letters themselves are to measure: a whole width has the base's offset on both sides."""
    if size.kind != "width":
        return size.mm
    room = size.mm - 2 * base_offset_mm
    if room <= 0:
        raise FontError(f"a width of {size.mm:g} mm leaves nothing between the offsets; make it wider")
    return room
