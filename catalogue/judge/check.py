"""One name in one face, measured in full at its size: layers, necks, strokes, counters and every weak spot.

Pure: a typesetter and numbers in, a frozen result out. Lengths in mm, origin at the start of the baseline, y up.
"""

from __future__ import annotations

import math
from dataclasses import asdict, dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.affinity import scale as scaled
from shapely.geometry.base import BaseGeometry

from catalogue.judge.hold import NECK_LINES, THIN_SHARE, Hold, Sizes, judge
from catalogue.judge.process import Process
from catalogue.judge.ranking import Ranked
from catalogue.judge.request import Size
from catalogue.judge.sizes import face_em_mm
from catalogue.judge.slits import slits
from catalogue.judge.spacing import set_words
from catalogue.judge.stack import Layer
from catalogue.store.database import Face
from catalogue.store.font_cache import font_file
from scanner.lettering import Lettering, Typesetter
from scanner.measures.counters import holes_of, inscribed_diameters
from scanner.measures.joins import spanning_edges
from scanner.measures.necks import neck, seeds_of
from scanner.measures.strokes import Widths, letter_widths, weighted_quantiles
from scanner.regions import inscribed_diameter, offset, polygons_of
from scanner.shaping import FontError, Shaper

TOLERANCE_MM = 0.005
"""Of inscribed discs; a fiftieth of the finest line."""

NECK_TOLERANCE_MM = 0.01
"""Of necks, which are half the work: as fine as they are told."""


@dataclass(frozen=True, slots=True)
class WeakSpot:
    """A place to look at. ``kind``: gap, loose part, neck, thin stroke, counter, pinhole or slit."""

    kind: str
    x_mm: float
    y_mm: float
    size_mm: float
    layer: str


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
    face: int
    family: str
    style: str
    process: str
    cap_height_mm: float
    """NaN for a face without capitals."""
    em_mm: float
    pieces: int
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
    words_closer_mm: float = 0.0
    """The most that was taken out of a word space, so that words stand no farther apart than the base grows."""

    def as_json(self) -> dict[str, Any]:
        """The facts under their contract keys."""
        keys = (
            "name", "face", "family", "style", "process", "cap_height_mm", "em_mm", "pieces", "join_offset_mm",
            "thinnest_stroke_mm", "median_stroke_mm", "thin_share", "smallest_counter_mm", "words_closer_mm",
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


@lru_cache(maxsize=32)
def open_face(path: str, face_index: int, coordinates: tuple[tuple[str, float], ...]) -> Typesetter:
    """A typesetter for a catalogue face. Raises FontError that names the file when it is gone or unreadable."""
    try:
        return Typesetter(Shaper.open(Path(path), face_index, dict(coordinates)))
    except FileNotFoundError as cause:
        raise FontError(f"{path}: gone since the scan; scan its folder again") from cause
    except OSError as cause:
        raise FontError(f"{path}: cannot be read; check that you may open it") from cause


def typesetter(face: Face) -> Typesetter:
    """The typesetter of a catalogue face."""
    return open_face(str(font_file(face)), face.face_index, tuple(sorted(face.coordinates.items())))


def check_face(
    face: Face, name: str, size: Size, process: Process, stack: tuple[Layer, ...], language: str | None = None
) -> Check:
    """Measure a name in a catalogue face. Raises FontError or LetteringError with what to do."""
    lettering, closer_mm = _set(face, name, size, process, stack, language)
    return replace(check(lettering, face, size, process, stack), words_closer_mm=closer_mm)


def _set(
    face: Face, name: str, size: Size, process: Process, stack: tuple[Layer, ...], language: str | None
) -> tuple[Lettering, float]:
    """The name in the face, and by how much its words were set closer: as a tag does, until they hang together."""
    setter = typesetter(face)
    lettering = setter.set(name, language)
    if len(name.split()) > 1 and lettering.letters:
        base_offset = max(layer.offset_mm for layer in stack)
        apart_mm = max(base_offset, process.least_gap_mm)
        for _ in range(2 if size.kind == "width" else 1):  # words set closer make a name of a set width larger
            em = _em_of(lettering, face, size, base_offset)
            lettering, taken = set_words(setter, name, apart_mm / em * lettering.upem, language)
        return lettering, taken / lettering.upem * _em_of(lettering, face, size, base_offset)
    return lettering, 0.0


@dataclass(frozen=True, slots=True, eq=False)
class _Measured:
    """What a judgement needs, and the shapes it came from; lengths in mm."""

    em_mm: float
    letters: list[BaseGeometry]
    region: BaseGeometry
    """Union of the letters."""
    pieces: list[Polygon]
    edges: NDArray[np.float64]
    """Spanning tree of the pieces, longest first."""
    ends: NDArray[np.signedinteger[Any]]
    """(edges, 2) the pieces each joins."""
    inside: list[Widths]
    """Stroke widths, letter by letter."""
    widths: NDArray[np.float64]
    weights: NDArray[np.float64]
    counters: list[tuple[float, Polygon]]
    """Inscribed diameter of each hole of a letter, and the hole."""
    seeds: NDArray[np.float64]
    base: BaseGeometry
    base_pieces: int
    neck_mm: float
    neck_place: tuple[float, float] | None
    sizes: Sizes


def check(lettering: Lettering, face: Face, size: Size, process: Process, stack: tuple[Layer, ...]) -> Check:
    """Measure lettering that is already set."""
    full = _measured(lettering, face, size, process, stack)
    base_offset = full.sizes.base_offset_mm
    spots = [*_gaps(full), *_thin_strokes(full.inside, process.least_wall_mm)]
    spots += [WeakSpot("counter", *_middle(hole), d, "top") for d, hole in full.counters if d < process.least_gap_mm]
    spots += _slits(full.region, process)
    facts: list[LayerFacts] = []
    regions: list[BaseGeometry] = []
    for layer in stack:
        is_base = layer.offset_mm == base_offset
        grown = full.base if is_base else offset(full.region, layer.offset_mm)
        regions.append(grown)
        holes = holes_of(grown)
        diameters = inscribed_diameters(holes, TOLERANCE_MM).tolist()
        count = full.base_pieces if is_base else len(polygons_of(grown))
        width = full.neck_mm if is_base else neck(grown, full.seeds, NECK_TOLERANCE_MM)[0] if count == 1 else 0.0
        if is_base and full.neck_place is not None and width < NECK_LINES * process.line_width_mm:
            spots.append(WeakSpot("neck", *full.neck_place, width, layer.layer))
        pinholes = [(d, h) for d, h in zip(diameters, holes, strict=True) if d < process.least_gap_mm]
        if layer.offset_mm > 0:
            spots += [WeakSpot("pinhole", *_middle(h), d, layer.layer) for d, h in pinholes]
        facts.append(
            LayerFacts(
                layer.layer, layer.offset_mm, layer.top_mm, count, len(holes), len(pinholes), width,
                float(grown.area),
            )
        )  # fmt: skip
    sizes = full.sizes
    return Check(
        name=lettering.name, face=face.id, family=face.family, style=face.style, process=process.name,
        cap_height_mm=face.cap_height_em * full.em_mm, em_mm=full.em_mm, pieces=len(full.pieces),
        join_offset_mm=sizes.join_offset_mm, thinnest_stroke_mm=sizes.thinnest_stroke_mm,
        median_stroke_mm=_quantile(full.widths, full.weights, 0.5), thin_share=sizes.thin_share,
        smallest_counter_mm=sizes.smallest_counter_mm, missing_letters=lettering.missing, layers=tuple(facts),
        weak_spots=tuple(spots), hold=judge(sizes, process), regions=tuple(regions),
    )  # fmt: skip


def verify(
    ranked: Ranked, name: str, size: Size, process: Process, stack: tuple[Layer, ...], language: str | None = None
) -> Ranked:
    """The same row with the numbers of the full geometry in place of the prediction; weak spots are not looked for."""
    face = ranked.face
    lettering, _ = _set(face, name, size, process, stack, language)
    full = _measured(lettering, face, size, process, stack)
    return Ranked(
        face=face, em_mm=full.em_mm, pieces=full.base_pieces, join_offset_mm=full.sizes.join_offset_mm,
        neck_mm=full.sizes.neck_mm, thinnest_stroke_mm=full.sizes.thinnest_stroke_mm,
        smallest_counter_mm=full.sizes.smallest_counter_mm, hold=judge(full.sizes, process), verified=True,
    )  # fmt: skip


def _measured(lettering: Lettering, face: Face, size: Size, process: Process, stack: tuple[Layer, ...]) -> _Measured:
    if not lettering.letters:
        raise FontError(f"{face.title} has none of the letters of {lettering.name!r}; choose another face")
    base_offset = max(layer.offset_mm for layer in stack)
    em = _em_of(lettering, face, size, base_offset)
    unit = em / lettering.upem
    letters = [scaled(letter.region, unit, unit, origin=(0, 0)) for letter in lettering.letters]
    region = scaled(lettering.region, unit, unit, origin=(0, 0))
    pieces = polygons_of(region)
    edges, ends = spanning_edges(pieces)
    inside, _ = letter_widths(letters, em, channels=False)
    widths, weights = _pooled(inside)
    holes = [hole for letter in letters for hole in holes_of(letter)]
    counters = list(zip(inscribed_diameters(holes, TOLERANCE_MM).tolist(), holes, strict=True))
    seeds = seeds_of([p for letter in letters for p in polygons_of(letter)], TOLERANCE_MM)
    base = offset(region, base_offset)
    base_pieces = len(polygons_of(base))
    width, place = neck(base, seeds, NECK_TOLERANCE_MM) if base_pieces == 1 else (0.0, None)
    sizes = Sizes(
        join_offset_mm=float(edges[0]) / 2 if len(edges) else 0.0,
        neck_mm=width,
        thinnest_stroke_mm=_quantile(widths, weights, 0.05),
        thin_share=float(weights[widths < process.least_wall_mm].sum() / weights.sum()) if len(widths) else 0.0,
        smallest_counter_mm=min((d for d, _ in counters), default=None),
        base_offset_mm=base_offset,
    )
    return _Measured(
        em, letters, region, pieces, edges, ends, inside, widths, weights, counters, seeds, base, base_pieces, width,
        place, sizes,
    )  # fmt: skip


def _gaps(full: _Measured) -> list[WeakSpot]:
    """Where the base comes apart: the bridges that it does not reach over."""
    spots = []
    for edge, (a, b) in zip(full.edges.tolist(), full.ends, strict=True):
        if edge > 2 * full.sizes.base_offset_mm:
            bridge = shapely.get_coordinates(shapely.shortest_line(full.pieces[a], full.pieces[b]))
            x, y = bridge.mean(axis=0)
            kind = "loose part" if _same_letter(full.letters, full.pieces[a], full.pieces[b]) else "gap"
            spots.append(WeakSpot(kind, float(x), float(y), edge, "base"))
    return spots


def _em_of(lettering: Lettering, face: Face, size: Size, base_offset: float) -> float:
    """Millimetres of an em at which the lettering has its size."""
    left, _, right, _ = lettering.region.bounds
    return face_em_mm(face, size, (right - left) / lettering.upem, base_offset)


def _same_letter(letters: list[BaseGeometry], one: BaseGeometry, two: BaseGeometry) -> bool:
    a, b = one.representative_point(), two.representative_point()
    return any(letter.intersects(a) and letter.intersects(b) for letter in letters)


def _pooled(inside: list[Widths]) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Widths of all letters with their weights: a letter counts by the length of its centre line."""
    measured = [w for w in inside if len(w.widths)]
    if not measured:
        return np.empty(0), np.empty(0)
    weights = [np.full(len(w.widths), w.length / len(w.widths)) for w in measured]
    return np.concatenate([w.widths for w in measured]), np.concatenate(weights)


def _thin_strokes(inside: list[Widths], least: float) -> list[WeakSpot]:
    """The thinnest place of each letter that goes below ``least``."""
    spots = []
    for letter in inside:
        low = letter.widths < least
        # A few samples at sharp joins and tips are no hairline.
        if len(low) and low.mean() > THIN_SHARE:
            k = int(np.argmin(np.abs(letter.widths - letter.quantiles()[1])))
            x, y = letter.places[k]
            spots.append(WeakSpot("thin stroke", float(x), float(y), float(letter.widths[k]), "top"))
    return spots


def _quantile(values: NDArray[np.float64], weights: NDArray[np.float64], share: float) -> float | None:
    return float(weighted_quantiles(values, weights, (share,))[0]) if len(values) else None


def _slits(region: BaseGeometry, process: Process) -> list[WeakSpot]:
    """Channels of the top layer that close."""
    return [
        WeakSpot("slit", *_middle(slit.region), inscribed_diameter(slit.region, TOLERANCE_MM), "top")
        for slit in slits(region, process.least_gap_mm, process.line_width_mm)
    ]


def _middle(shape: BaseGeometry) -> tuple[float, float]:
    point = shape.representative_point()
    return float(point.x), float(point.y)


def _rounded(value: Any) -> Any:
    """Floats to four decimals; what is no number becomes None, for JSON has none."""
    if not isinstance(value, float):
        return value
    return round(value, 4) if math.isfinite(value) else None
