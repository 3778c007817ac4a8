"""From a face of the catalogue and a request to a fit, a tag and its files: bytes first, a folder only when asked.

``fit_face`` solves, ``tag_of`` adds ring and layers, ``bundle`` makes every file as bytes with the facts they state,
``write`` puts a bundle into a folder.
"""

from __future__ import annotations

import datetime
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from catalogue.atomic import write_file
from catalogue.errors import LetterholdError
from catalogue.judge.ranking import missing_letters
from catalogue.judge.request import Request
from catalogue.judge.sizes import LEAST_HEIGHT_EM, face_em_mm
from catalogue.judge.spacing import lines_of
from catalogue.judge.typesetters import open_face, typesetter
from catalogue.licence.looked import Looked
from catalogue.licence.shop_record import record_bytes
from catalogue.licence.verdict import judge_font
from catalogue.store.database import Face
from catalogue.store.font_cache import font_file, font_with_notices
from catalogue.tag.exports.facts import JobFacts, Sale
from catalogue.tag.exports.files import tag_files
from catalogue.tag.fit import Fit, fit
from catalogue.tag.levers import Levers, Weights
from catalogue.tag.tag import Look, Tag, make_tag
from catalogue.tag.trial import FitFace
from scanner.lettering import Typesetter, check_name
from scanner.shaping import FontError

RECORD = "licence.zip"

MADE = "made.json"
"""What a finished order's folder remembers of it."""

OUR_FILES = frozenset({
    "layer-base.svg", "layer-ring.svg", "layer-middle.svg", "layer-top.svg", "all.svg", "preview.svg", "preview.png",
    "tag.dxf", "tag.stl", "tag.3mf", "job.html", "job.json", "made.txt", MADE, RECORD,
})  # fmt: skip
"""Names that tags write, those of every format too; a folder that holds anything else is left alone."""

UNFINISHED = ".letterhold-"
"""How names of files begin that are being written (``atomic``)."""

WIDTH_NEAR_MM = 0.02
"""How exactly a wished width is met."""

_WIDTH_ROUNDS = 4
"""Fits until a width is met; each comes much nearer than the one before."""

_FIRST_CAP_HEIGHT_MM, _USUAL_CAP_HEIGHT_EM = 14.0, 0.7
"""Where the search for a width starts."""

_OTHERS_LOOKED_AT, _OTHERS_NAMED = 12, 3
"""Other faces that are opened to see whether they have the letters, and how many of them are named."""


class TagError(LetterholdError):
    """A tag that cannot be made as asked; the message ends with what to do."""


@dataclass(frozen=True, slots=True)
class Bundle:
    """All files of one tag by name, and the facts they state."""

    facts: JobFacts
    files: Mapping[str, bytes]


def lacking(face: Face, request: Request, others: Callable[[], Sequence[Face]]) -> str:
    """A line that names letters of a name the face lacks, with faces that have them; empty when it lacks none."""
    missing = _missing(face, request)
    if not missing:
        return ""
    name = "".join(request.text.split())
    alike = [f for f in others() if f.group == face.group and not missing_letters(f, name)]
    have = list(dict.fromkeys(f.title for f in alike[:_OTHERS_LOOKED_AT] if _has_all(f, request)))[:_OTHERS_NAMED]
    hint = f"these have them: {', '.join(have)}" if have else "choose another face"
    return f"{face.title} lacks {' '.join(missing)}; {hint}"


def _missing(face: Face, request: Request) -> tuple[str, ...]:
    """Letters that leave no ink as the words are set: not mapped, blank, or dropped by a rule of the font."""
    words = [word for line in lines_of(request.text) for word in line]
    check_name(" ".join(words))
    setter = typesetter(face)
    return tuple(dict.fromkeys(c for word in words for c in setter.missing(word, request.language)))


def _has_all(face: Face, request: Request) -> bool:
    try:
        return not _missing(face, request)
    except LetterholdError:  # gone or unreadable: no face to propose
        return False


def fit_face(face: Face, request: Request, levers: Levers) -> Fit:
    """Fit a name in a catalogue face; a width is met by fitting again at the scale it asks for."""
    setter = typesetter(face)
    drawn = FitFace(setter, face.cap_height_em, face.joining, _weights(face, setter, levers.weight))
    if request.size.kind == "width":
        return _fit_to_width(drawn, request, levers)
    return fit(drawn, request, face_em_mm(face, request.size, math.nan, request.base_offset_mm), levers)


def _fit_to_width(drawn: FitFace, request: Request, levers: Levers) -> Fit:
    """The width counts the base, so it depends on what the fit does to offset and spacing."""
    sound = drawn.cap_height_em >= LEAST_HEIGHT_EM  # not so where there are no capitals, nor for NaN
    em_mm = _FIRST_CAP_HEIGHT_MM / (drawn.cap_height_em if sound else _USUAL_CAP_HEIGHT_EM)
    wanted = request.size.mm
    for _ in range(_WIDTH_ROUNDS):
        solved = fit(drawn, request, em_mm, levers)
        left, _, right, _ = solved.base.bounds
        grown = 2 * (solved.setting.base_offset_mm + solved.setting.thicken_mm)
        if wanted <= grown + 1:
            raise FontError(f"a width of {wanted:g} mm leaves nothing between the offsets; make it wider")
        if abs(right - left - wanted) < WIDTH_NEAR_MM:
            break
        em_mm *= (wanted - grown) / (right - left - grown)
    return solved


def _weights(face: Face, setter: Typesetter, asked: float | None) -> Weights | None:
    """The weight axis of a catalogue face, None when it has none. Raises TagError for a weight it cannot take."""
    axis = next((a for a in setter.shaper.axes() if a[0] == "wght"), None)
    if axis is None:
        if asked is not None:
            raise TagError(f"{face.title} has no weight axis; leave --weight out or name another face")
        return None
    _, lightest, default, heaviest = axis
    path = str(font_file(face))
    if asked is not None and not lightest <= asked <= heaviest:
        raise TagError(f"--weight {asked:g} is outside {lightest:g} to {heaviest:g} of {face.title}; choose one inside")

    def at(weight: float) -> Typesetter:
        coordinates = face.coordinates | {"wght": weight}
        return open_face(path, face.face_index, tuple(sorted(coordinates.items())), face.digest)

    return Weights(face.coordinates.get("wght", default), heaviest, at)


def title_of(face: Face, solved: Fit) -> str:
    """The face's name, with its weight where that is not the face's own."""
    axis, weight = _weights(face, typesetter(face), None), solved.setting.weight
    return face.title if axis is None or weight in (None, axis.start) else f"{face.title}, weight {weight:g}"


def tag_of(face: Face, solved: Fit, look: Look) -> Tag:
    """Ring and layers of a fitted name. Raises RingError when the ring finds no place."""
    return make_tag(solved, title_of(face, solved), look)


def bundle(tag: Tag, face: Face, formats: Sequence[str], price_per_kg: float | None = None) -> Bundle:
    """Every file of a tag. The licence is read again, so that the sheet and the record next to it say the same."""
    font = font_with_notices(face)
    verdict = judge_font(font, face.face_index, None)
    facts = JobFacts(tag, Sale(verdict.verdict, verdict.spdx, verdict.must_accompany), price_per_kg)
    record = record_bytes(font, face.face_index, verdict, Looked(datetime.date.today()))
    return Bundle(facts, {**tag_files(facts, formats), RECORD: record})


def write(made: Bundle, folder: Path) -> None:
    """Write the files of a tag into a folder, each whole or not at all; the folder is made when it is not there."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, data in made.files.items():
        write_file(folder / name, data)


def clear_unfinished(folder: Path) -> None:
    """Remove what a process that was killed had not finished writing."""
    for left in folder.glob(f"{UNFINISHED}*"):
        left.unlink(missing_ok=True)


def check_folder(folder: Path) -> None:
    """Raise TagError unless the folder is new, empty, or holds only files of an earlier run."""
    if folder.exists() and not folder.is_dir():
        raise TagError(f"{folder}: a file of that name is there; give a folder")
    others = strangers(folder) if folder.is_dir() else []
    if others:
        raise TagError(f"{folder}: holds other files ({others[0]}); give a new or empty folder")


def strangers(folder: Path) -> list[str]:
    """Names in a folder that no tag wrote; what a stopped run left behind is its own."""
    names = (p.name for p in folder.iterdir())
    return sorted(n for n in names if n not in OUR_FILES and not n.startswith(UNFINISHED))
