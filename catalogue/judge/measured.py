"""Letters at their size, and what is measured of them for a judgement. Pure; lengths in mm.

Everything judged of a name, by the check as by a finished tag, comes from here: letters as they will be made, and the
stack that grows from them.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from catalogue.judge.hold import SLIVER_EM, Sizes
from catalogue.judge.process import Process
from catalogue.judge.stack import Layer
from catalogue.judge.strokes import area_shares, guessed_thinnest, opened, thinnest_stroke
from scanner.measures.counters import holes_of, inscribed_diameters
from scanner.measures.joins import spanning_edges
from scanner.measures.necks import neck, seeds_of
from scanner.measures.strokes import Widths, letter_widths, weighted_quantiles
from scanner.regions import offset, polygons_of

TOLERANCE_MM = 0.005
"""Of inscribed discs; a fiftieth of the finest line."""

NECK_TOLERANCE_MM = 0.01
"""Of necks, which are half the work: as fine as they are shown."""


@dataclass(frozen=True, slots=True)
class Hole:
    """A hole with the diameter of its largest inscribed disc."""

    across_mm: float
    region: Polygon


@dataclass(frozen=True, slots=True, eq=False)
class Measured:
    """What a judgement needs, and the shapes it came from."""

    em_mm: float
    letters: tuple[BaseGeometry, ...]
    region: BaseGeometry
    """Union of the letters."""
    parts: tuple[Polygon, ...]
    """Pieces of the letters themselves, before any offset."""
    edges: NDArray[np.float64]
    """Gaps that join the parts to one another, longest first."""
    ends: NDArray[np.intp]
    """(edges, 2) which parts each joins."""
    inside: tuple[Widths, ...]
    """Stroke widths of each letter."""
    opened: tuple[BaseGeometry, ...]
    """Each letter without what is thinner than the least wall."""
    counters: tuple[Hole, ...]
    slivers: tuple[Hole, ...]
    """Holes of letters too narrow to be meant as counters: strokes of a letter that do not quite overlap."""
    seeds: NDArray[np.float64]
    base: BaseGeometry
    base_pieces: int
    neck_place: tuple[float, float] | None
    sizes: Sizes
    median_stroke_mm: float | None


@dataclass(frozen=True, slots=True, eq=False)
class Grown:
    """One layer as it grows from the letters."""

    layer: Layer
    region: BaseGeometry
    holes: tuple[Hole, ...]


def measured(letters: Sequence[BaseGeometry], em_mm: float, stack: Sequence[Layer], process: Process) -> Measured:
    """Measure letters that lie at their places. At least one of them has ink."""
    base_offset = max(layer.offset_mm for layer in stack)
    region = shapely.union_all(list(letters))
    parts = polygons_of(region)
    edges, ends = spanning_edges(parts)
    inside, _ = letter_widths(letters, em_mm, channels=False)
    walls = opened(letters, process.least_wall_mm)
    guess = guessed_thinnest(inside)
    counters, slivers = counters_of(letters, em_mm)
    seeds = seeds_of([p for letter in letters for p in polygons_of(letter)], TOLERANCE_MM)
    base = offset(region, base_offset)
    pieces = len(polygons_of(base))
    width, place = neck(base, seeds, NECK_TOLERANCE_MM) if pieces == 1 else (0.0, None)
    sizes = Sizes(
        join_offset_mm=float(edges[0]) / 2 if len(edges) else 0.0,
        neck_mm=width,
        thinnest_stroke_mm=None if guess is None else thinnest_stroke(letters, guess),
        thin_share=max(0.0, 1 - float(shapely.area(walls).sum()) / sum(letter.area for letter in letters)),
        smallest_counter_mm=min((h.across_mm for h in counters), default=None),
        base_offset_mm=base_offset,
    )
    return Measured(
        em_mm, tuple(letters), region, tuple(parts), edges, ends, tuple(inside), tuple(walls), counters, slivers, seeds,
        base, pieces, place, sizes, _median(inside),
    )  # fmt: skip


def counters_of(letters: Sequence[BaseGeometry], em_mm: float) -> tuple[tuple[Hole, ...], tuple[Hole, ...]]:
    """Counters of the letters, and the slivers among their holes: what is narrower than ``SLIVER_EM``."""
    holes = _holes([hole for letter in letters for hole in holes_of(letter)])
    wide = tuple(hole for hole in holes if hole.across_mm >= SLIVER_EM * em_mm)
    return wide, tuple(hole for hole in holes if hole.across_mm < SLIVER_EM * em_mm)


def grown(full: Measured, stack: Sequence[Layer]) -> tuple[Grown, ...]:
    """The layers of the stack, in its order."""
    out = []
    for layer in stack:
        region = full.base if layer.offset_mm == full.sizes.base_offset_mm else offset(full.region, layer.offset_mm)
        out.append(Grown(layer, region, _holes(holes_of(region))))
    return tuple(out)


def _holes(holes: Sequence[Polygon]) -> tuple[Hole, ...]:
    return tuple(map(Hole, inscribed_diameters(holes, TOLERANCE_MM).tolist(), holes))


def _median(inside: Sequence[Widths]) -> float | None:
    """Median width along the centre lines of all letters."""
    widths, areas = area_shares(inside)
    return float(weighted_quantiles(widths, areas / widths, (0.5,))[0]) if len(widths) else None
