"""One name in one face, measured in full at its size: layers, necks, strokes, counters and every weak spot.

A catalogue face and a request in, a frozen result out. Lengths in mm, origin at the start of the baseline, y up.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any

import shapely
from shapely.affinity import scale as scaled
from shapely.geometry.base import BaseGeometry

from catalogue.judge.hold import Hold, broken, judge
from catalogue.judge.lacking import LacksLetters, lacked, letters_of, named
from catalogue.judge.measured import NECK_TOLERANCE_MM, Grown, Measured, grown, measured
from catalogue.judge.ranking import Ranked
from catalogue.judge.request import Request
from catalogue.judge.sizes import face_em_mm, sized_by
from catalogue.judge.spacing import set_words, stacked
from catalogue.judge.stack import words_apart_mm
from catalogue.judge.typesetters import open_face as open_face
from catalogue.judge.typesetters import typesetter as typesetter
from catalogue.judge.weak_spots import WeakSpot as WeakSpot
from catalogue.judge.weak_spots import weak_spots
from catalogue.store.database import Face
from scanner.lettering import Lettering
from scanner.measures.necks import neck
from scanner.regions import polygons_of


@dataclass(frozen=True, slots=True)
class LayerFacts:
    """One layer of the stack as measured."""

    layer: str
    offset_mm: float
    top_mm: float
    pieces: int
    holes: int
    pinholes: int
    """Holes narrower than the least gap."""
    neck_mm: float
    """0 when the layer is in several pieces."""
    area_mm2: float


@dataclass(frozen=True, slots=True)
class Check:
    """The full measurement of a name in a face."""

    name: str
    """Its lines parted by newlines."""
    face: int
    family: str
    style: str
    process: str
    cap_height_mm: float
    """NaN for a face without capitals."""
    sized_by: str
    """Whose height that is: capitals, or named letters of a script that has none."""
    em_mm: float
    pieces: int
    """Pieces of the base."""
    letter_parts: int
    """Pieces of the letters themselves, before any offset."""
    join_offset_mm: float
    thinnest_stroke_mm: float | None
    median_stroke_mm: float | None
    thin_share: float
    smallest_counter_mm: float | None
    missing_letters: tuple[str, ...]
    layers: tuple[LayerFacts, ...]
    weak_spots: tuple[WeakSpot, ...]
    hold: Hold
    regions: tuple[BaseGeometry, ...]
    """The layers' regions in mm, for pictures and exports."""
    as_typed: BaseGeometry
    """The name in mm with whole word spaces, for headings."""
    words_closer_mm: float = 0.0
    """The most that was taken out of a word space, so that words stand no farther apart than the base grows."""

    @property
    def shown(self) -> str:
        """The name in one line as a person reads it."""
        return self.name.replace("\n", " / ")

    def as_json(self) -> dict[str, Any]:
        """The facts under their contract keys."""
        keys = (
            "name", "face", "family", "style", "process", "cap_height_mm", "sized_by", "em_mm", "pieces",
            "letter_parts", "join_offset_mm", "thinnest_stroke_mm", "median_stroke_mm", "thin_share",
            "smallest_counter_mm", "words_closer_mm",
        )  # fmt: skip
        facts: dict[str, Any] = {key: _rounded(getattr(self, key)) for key in keys}
        return facts | {
            "missing_letters": list(self.missing_letters),
            "layers": [{k: _rounded(v) for k, v in asdict(layer).items()} for layer in self.layers],
            "weak_spots": [{k: _rounded(v) for k, v in asdict(spot).items()} for spot in self.weak_spots],
            "hold": self.hold.hold,
            "holds": self.hold.holds,
            "reasons": [reason.text for reason in self.hold.reasons],
        }


def check_face(face: Face, request: Request) -> Check:
    """Measure a name in a catalogue face. Raises FontError or LetteringError with what to do.

    Letters that the face lacks are left out of the measurement and named in the result, which then does not hold.
    """
    placed = _placed(face, request)
    full = measured(placed.letters, placed.em_mm, request.stack, request.process)
    layers = grown(full, request.stack)
    sizes = full.sizes
    hold = judge(sizes, request.process)
    lacks = lacked(request.name, placed.missing)
    if lacks:
        hold = broken(hold, "letters", f"the face lacks {named(lacks)}: the name is not whole")
    return Check(
        name=request.text, face=face.id, family=face.family, style=face.style, process=request.process.name,
        cap_height_mm=face.cap_height_em * full.em_mm, sized_by=sized_by(face), em_mm=full.em_mm,
        pieces=full.base_pieces, letter_parts=len(full.parts), join_offset_mm=sizes.join_offset_mm,
        thinnest_stroke_mm=sizes.thinnest_stroke_mm, median_stroke_mm=full.median_stroke_mm,
        thin_share=sizes.thin_share, smallest_counter_mm=sizes.smallest_counter_mm,
        missing_letters=lacks, layers=tuple(_facts(g, full, request.process.opening_mm) for g in layers),
        weak_spots=weak_spots(full, layers, request.process), hold=hold,
        regions=tuple(g.region for g in layers), as_typed=placed.as_typed, words_closer_mm=placed.closer_mm,
    )  # fmt: skip


def verify(ranked: Ranked, request: Request) -> Ranked:
    """The row with the numbers of the full geometry in place of the prediction; weak spots are not looked for.

    Raises LacksLetters where the face cannot set the whole name, FontError or LetteringError with what to do.
    """
    face = ranked.face
    placed = _placed(face, request)
    if placed.missing:
        raise LacksLetters(face.title, lacked(request.name, placed.missing))
    full = measured(placed.letters, placed.em_mm, request.stack, request.process)
    return Ranked(
        face=face, em_mm=full.em_mm, pieces=full.base_pieces, letter_parts=len(full.parts),
        join_offset_mm=full.sizes.join_offset_mm, neck_mm=full.sizes.neck_mm,
        thinnest_stroke_mm=full.sizes.thinnest_stroke_mm, smallest_counter_mm=full.sizes.smallest_counter_mm,
        hold=judge(full.sizes, request.process), verified=True,
    )  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class _Placed:
    """A name set at its size."""

    letters: tuple[BaseGeometry, ...]
    """In mm."""
    em_mm: float
    missing: tuple[str, ...]
    """Characters of the name that the face lacks."""
    closer_mm: float
    """The most that was taken out of a word space."""
    as_typed: BaseGeometry
    """In mm, with whole word spaces."""


def _placed(face: Face, request: Request) -> _Placed:
    """The name in the face at its size; words set closer and lines as near as a tag sets them."""
    setter = typesetter(face)
    names = [line for line in request.lines if line.strip()]
    typed = [set_words(setter, line, math.inf, request.language)[0] for line in names]
    if not any(line.letters for line in typed):
        raise LacksLetters(face.title, letters_of(request.name))
    lines, taken = typed, 0.0
    em = _em_of(lines, face, request)
    if any(len(line.split()) > 1 for line in names):
        apart_mm = words_apart_mm(request.stack, request.process)
        for _ in range(2 if request.size.kind == "width" else 1):  # words set closer make a name of a set width larger
            apart = apart_mm / em * typed[0].upem
            found = [set_words(setter, line, apart, request.language) for line in names]
            lines, taken = [line for line, _ in found], max(closer for _, closer in found)
            em = _em_of(lines, face, request)
    unit, gap = em / typed[0].upem, request.process.least_gap_mm
    missing = tuple(dict.fromkeys(c for line in typed for c in line.missing))
    as_typed = shapely.union_all(stacked([_in_mm(line, unit) for line in typed], gap).letters)
    return _Placed(
        tuple(stacked([_in_mm(line, unit) for line in lines], gap).letters), em, missing, taken * unit, as_typed
    )


def _in_mm(line: Lettering, unit: float) -> list[BaseGeometry]:
    return [scaled(letter.region, unit, unit, origin=(0, 0)) for letter in line.letters]


def _em_of(lines: Sequence[Lettering], face: Face, request: Request) -> float:
    """Millimetres of an em at which the widest line has its size."""
    widths = [(line.region.bounds[2] - line.region.bounds[0]) / line.upem for line in lines if line.letters]
    return face_em_mm(face, request.size, max(widths), request.base_offset_mm)


def _facts(one: Grown, full: Measured, opening_mm: float) -> LayerFacts:
    layer, pieces = one.layer, len(polygons_of(one.region))
    if layer.offset_mm == full.sizes.base_offset_mm:
        width = full.sizes.neck_mm or 0.0
    else:
        width = neck(one.region, full.seeds, NECK_TOLERANCE_MM)[0] if pieces == 1 else 0.0
    pinholes = sum(hole.across_mm < opening_mm for hole in one.holes)
    return LayerFacts(
        layer.layer, layer.offset_mm, layer.top_mm, pieces, len(one.holes), pinholes, width, float(one.region.area)
    )


def _rounded(value: Any) -> Any:
    """Floats to four decimals; what is no number becomes None, for JSON has none."""
    if not isinstance(value, float):
        return value
    return round(value, 4) if math.isfinite(value) else None
