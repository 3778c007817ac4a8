"""One name in one face, measured in full at its size: layers, necks, strokes, counters and every weak spot.

Pure: a typesetter and numbers in, a frozen result out. Lengths in mm, origin at the start of the baseline, y up.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely.affinity import scale as scaled
from shapely.geometry.base import BaseGeometry

from catalogue.hold import NECK_LINES, THIN_SHARE, Hold, Sizes, judge
from catalogue.process import Process
from catalogue.ranking import Ranked, Size
from catalogue.stack import Layer
from catalogue.store import Face
from scanner.lettering import Lettering, Typesetter
from scanner.measures.counters import holes_of
from scanner.measures.joins import spanning_edges
from scanner.measures.necks import neck, seeds_of
from scanner.measures.strokes import letter_widths
from scanner.regions import inscribed_diameter, offset, polygons_of
from scanner.shaping import FontError, Shaper
from scanner.units import mm_per_em

TOLERANCE_MM = 0.005
"""Of inscribed discs and necks; a hundredth of the finest line."""


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

    def as_json(self) -> dict[str, Any]:
        """The facts under their contract keys."""
        keys = (
            "name", "face", "family", "style", "process", "cap_height_mm", "em_mm", "pieces", "join_offset_mm",
            "thinnest_stroke_mm", "median_stroke_mm", "thin_share", "smallest_counter_mm",
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
    return open_face(face.path, face.face_index, tuple(sorted(face.coordinates.items())))


def check_face(
    face: Face, name: str, size: Size, process: Process, stack: tuple[Layer, ...], language: str | None = None
) -> Check:
    """Measure a name in a catalogue face. Raises FontError or LetteringError with what to do."""
    setter = typesetter(face)
    lettering = setter.set(name, language)
    heights = {"cap-height": face.cap_height_em, "x-height": face.x_height_em}
    return check(lettering, face, size, heights, process, stack)


def check(
    lettering: Lettering, face: Face, size: Size, heights: dict[str, float], process: Process, stack: tuple[Layer, ...]
) -> Check:
    """Measure lettering that is already set; ``heights`` gives cap height and x-height in em."""
    if not lettering.letters:
        raise FontError(f"{face.title} has none of the letters of {lettering.name!r}; choose another face")
    base_offset = max(layer.offset_mm for layer in stack)
    left, _, right, _ = lettering.region.bounds
    em = _em_mm(size, heights, (right - left) / lettering.upem, base_offset, face)
    unit = em / lettering.upem
    letters = [scaled(letter.region, unit, unit, origin=(0, 0)) for letter in lettering.letters]
    region = shapely.union_all(letters)
    parts = [p for letter in letters for p in polygons_of(letter)]
    pieces = polygons_of(region)
    edges, ends = spanning_edges(pieces)
    join = float(edges[0]) / 2 if len(edges) else 0.0

    spots: list[WeakSpot] = []
    for edge, (a, b) in zip(edges, ends, strict=True):
        if edge > 2 * base_offset:
            bridge = shapely.get_coordinates(shapely.shortest_line(pieces[a], pieces[b]))
            x, y = bridge.mean(axis=0)
            kind = "loose part" if _same_letter(letters, pieces[a], pieces[b]) else "gap"
            spots.append(WeakSpot(kind, float(x), float(y), float(edge), "base"))

    inside, _ = letter_widths(letters, em)
    widths, weights, thin_spots = _strokes(inside, process.least_wall_mm)
    spots += thin_spots
    thinnest = _quantile(widths, weights, 0.05)
    median = _quantile(widths, weights, 0.5)
    share = float(weights[widths < process.least_wall_mm].sum() / weights.sum()) if len(widths) else 0.0

    counters = [(inscribed_diameter(hole, TOLERANCE_MM), hole) for letter in letters for hole in holes_of(letter)]
    smallest = min((d for d, _ in counters), default=None)
    spots += [WeakSpot("counter", *_middle(hole), d, "top") for d, hole in counters if d < process.least_gap_mm]
    spots += _slits(region, process.least_gap_mm)

    seeds = seeds_of(parts, TOLERANCE_MM)
    facts: list[LayerFacts] = []
    regions: list[BaseGeometry] = []
    base_neck = 0.0
    for layer in stack:
        grown = offset(region, layer.offset_mm)
        regions.append(grown)
        holes = holes_of(grown)
        diameters = [inscribed_diameter(h, TOLERANCE_MM) for h in holes]
        count = len(polygons_of(grown))
        width, place = neck(grown, seeds, TOLERANCE_MM) if count == 1 else (0.0, None)
        if layer.offset_mm == base_offset:
            base_neck = width
            if place is not None and width < NECK_LINES * process.line_width_mm:
                spots.append(WeakSpot("neck", *place, width, layer.layer))
        pinholes = [(d, h) for d, h in zip(diameters, holes, strict=True) if d < process.least_gap_mm]
        if layer.offset_mm > 0:
            spots += [WeakSpot("pinhole", *_middle(h), d, layer.layer) for d, h in pinholes]
        facts.append(
            LayerFacts(
                layer.layer, layer.offset_mm, layer.top_mm, count, len(holes), len(pinholes), width,
                float(grown.area),
            )
        )  # fmt: skip
    sizes = Sizes(join, base_neck, thinnest, share, smallest, base_offset)
    return Check(
        name=lettering.name, face=face.id, family=face.family, style=face.style, process=process.name,
        cap_height_mm=heights["cap-height"] * em, em_mm=em, pieces=len(pieces), join_offset_mm=join,
        thinnest_stroke_mm=thinnest, median_stroke_mm=median, thin_share=share, smallest_counter_mm=smallest,
        missing_letters=lettering.missing, layers=tuple(facts), weak_spots=tuple(spots),
        hold=judge(sizes, process), regions=tuple(regions),
    )  # fmt: skip


def verify(
    ranked: Ranked, name: str, size: Size, process: Process, stack: tuple[Layer, ...], language: str | None = None
) -> Ranked:
    """The same row with the numbers of the full geometry in place of the prediction."""
    full = check_face(ranked.face, name, size, process, stack, language)
    return Ranked(
        face=ranked.face, em_mm=full.em_mm,
        pieces=full.layers[0].pieces, join_offset_mm=full.join_offset_mm, neck_mm=full.layers[0].neck_mm,
        thinnest_stroke_mm=full.thinnest_stroke_mm, smallest_counter_mm=full.smallest_counter_mm,
        hold=full.hold, verified=True,
    )  # fmt: skip


def _em_mm(size: Size, heights: dict[str, float], width_em: float, base_offset: float, face: Face) -> float:
    if size.kind == "width":
        room = size.mm - 2 * base_offset
        if room <= 0:
            raise FontError(f"a width of {size.mm:g} mm leaves nothing between the offsets; make it wider")
        return mm_per_em(room, width_em)
    try:
        return mm_per_em(size.mm, heights[size.kind])
    except ValueError as cause:
        raise FontError(f"{face.title}: {cause}") from cause


def _same_letter(letters: list[BaseGeometry], one: BaseGeometry, two: BaseGeometry) -> bool:
    a, b = one.representative_point(), two.representative_point()
    return any(letter.intersects(a) and letter.intersects(b) for letter in letters)


def _strokes(inside: list[Any], least: float) -> tuple[Any, Any, list[WeakSpot]]:
    """Pooled widths with their weights, and the thinnest place of each letter that goes below ``least``."""
    widths = [w.widths for w in inside if len(w.widths)]
    if not widths:
        return np.empty(0), np.empty(0), []
    weights = [np.full(len(w.widths), w.length / len(w.widths)) for w in inside if len(w.widths)]
    spots = []
    for letter in inside:
        low = letter.widths < least
        # A few samples at sharp joins and tips are no hairline.
        if len(low) and low.mean() > THIN_SHARE:
            k = int(np.argmin(np.abs(letter.widths - np.quantile(letter.widths, 0.05))))
            x, y = letter.places[k]
            spots.append(WeakSpot("thin stroke", float(x), float(y), float(letter.widths[k]), "top"))
    return np.concatenate(widths), np.concatenate(weights), spots


def _quantile(values: Any, weights: Any, share: float) -> float | None:
    if len(values) == 0:
        return None
    order = np.argsort(values)
    total = np.cumsum(weights[order]) / weights.sum()
    return float(values[order][min(int(np.searchsorted(total, share)), len(values) - 1)])


def _slits(region: BaseGeometry, least_gap: float) -> list[WeakSpot]:
    """Channels of the top layer narrower than the least gap: what a closing by half the gap fills, counters aside.

    The fillets a closing leaves in inner corners are (1 - pi/4) r² each and far below the threshold.
    """
    solid = shapely.union_all([shapely.Polygon(p.exterior) for p in polygons_of(region)])
    closed = offset(offset(solid, least_gap / 2), -least_gap / 2)
    spots = []
    for filled in polygons_of(shapely.difference(closed, solid)):
        if filled.area > 0.5 * least_gap**2:
            spots.append(WeakSpot("slit", *_middle(filled), inscribed_diameter(filled, TOLERANCE_MM), "top"))
    return spots


def _middle(shape: BaseGeometry) -> tuple[float, float]:
    point = shape.representative_point()
    return float(point.x), float(point.y)


def _rounded(value: Any) -> Any:
    return round(value, 4) if isinstance(value, float) else value
