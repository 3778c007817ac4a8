"""Every place of a name to look at: where it comes apart, snaps, prints too thin or closes. Pure; lengths in mm.

Check, picture, page and job sheet show what is found here, so that all of them mark the same places.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from catalogue.judge.hold import NECK_LINES, THIN_SHARE, no_margin
from catalogue.judge.measured import TOLERANCE_MM, Grown, Hole, Measured, grown, measured
from catalogue.judge.process import Process
from catalogue.judge.slits import slits
from catalogue.judge.stack import Layer
from scanner.regions import inscribed_diameter

KINDS = {
    "gap": "gap too wide for the base: the letters come apart here",
    "loose part": "loose part: nothing of its letter reaches it",
    "neck": "neck too narrow: it snaps here first",
    "margin": "no margin: the base only just joins here",
    "thin stroke": "thin stroke: less than the least wall",
    "counter": "counter may close",
    "slit": "slit: too narrow to stay open",
    "pinhole": "pinhole: too small to print open, filled in the tag",
}
"""Kinds of weak spots in words, the gravest first."""

MOST_MARKS = 12
"""Spots marked with a number in a drawing; more would hide it."""


@dataclass(frozen=True, slots=True)
class WeakSpot:
    """A place to look at, ``kind`` one of ``KINDS``; origin at the start of the baseline, y up."""

    kind: str
    x_mm: float
    y_mm: float
    size_mm: float
    """Width of the gap, neck, stroke or opening; offset to spare where there is no margin."""
    layer: str


def weak_spots_of(
    letters: Sequence[BaseGeometry], em_mm: float, stack: Sequence[Layer], process: Process
) -> tuple[WeakSpot, ...]:
    """Weak spots of letters as they will be made (thickened, each at its place) and of the stack grown from them.

    ``stack`` gives offsets from these letters; ``em_mm`` is one em of the face at this size.
    """
    full = measured(letters, em_mm, stack, process)
    return weak_spots(full, grown(full, stack), process)


def weak_spots(full: Measured, layers: Sequence[Grown], process: Process) -> tuple[WeakSpot, ...]:
    """Weak spots of a name that has been measured, with its layers."""
    base = max((g.layer for g in layers), key=lambda layer: layer.offset_mm).layer
    return (
        *_gaps(full, base),
        *_margin(full, base, process),
        *_thin_strokes(full, process.least_wall_mm),
        *(WeakSpot("counter", *_middle(h.region), h.across_mm, "top") for h in full.counters if _closes(h, process)),
        *(WeakSpot("pinhole", *_middle(h.region), h.across_mm, "top") for h in full.slivers if _closes(h, process)),
        *_slits(full.region, process),
        *_neck(full, base, process),
        *_pinholes(layers, process),
    )


def gravest(spots: Iterable[WeakSpot]) -> list[WeakSpot]:
    """The gravest spots, at most ``MOST_MARKS``, in the order of their numbers: from left to right."""
    order = list(KINDS)
    worst = sorted(spots, key=lambda s: (order.index(s.kind), -s.size_mm if s.kind == "gap" else s.size_mm))
    return sorted(worst[:MOST_MARKS], key=lambda s: s.x_mm)


def _closes(hole: Hole, process: Process) -> bool:
    return hole.across_mm < process.opening_mm


def _gaps(full: Measured, base: str) -> list[WeakSpot]:
    """Where the base comes apart: the bridges that it does not reach over."""
    spots = []
    for edge, (a, b) in zip(full.edges.tolist(), full.ends, strict=True):
        if edge > 2 * full.sizes.base_offset_mm:
            bridge = shapely.get_coordinates(shapely.shortest_line(full.parts[a], full.parts[b]))
            x, y = bridge.mean(axis=0)
            kind = "loose part" if _same_letter(full.letters, full.parts[a], full.parts[b]) else "gap"
            spots.append(WeakSpot(kind, float(x), float(y), edge, base))
    return spots


def _margin(full: Measured, base: str, process: Process) -> list[WeakSpot]:
    """The join that needs nearly all of the offset; its size is the offset to spare."""
    if not len(full.edges) or not no_margin(full.sizes, process):
        return []
    a, b = full.ends[0]
    x, y = shapely.get_coordinates(shapely.shortest_line(full.parts[a], full.parts[b])).mean(axis=0)
    return [WeakSpot("margin", float(x), float(y), full.sizes.base_offset_mm - full.sizes.join_offset_mm, base)]


def _same_letter(letters: Sequence[BaseGeometry], one: BaseGeometry, two: BaseGeometry) -> bool:
    a, b = one.representative_point(), two.representative_point()
    return any(letter.intersects(a) and letter.intersects(b) for letter in letters)


def _neck(full: Measured, base: str, process: Process) -> list[WeakSpot]:
    width = full.sizes.neck_mm or 0.0
    if full.neck_place is None or width >= NECK_LINES * process.line_width_mm:
        return []
    return [WeakSpot("neck", *full.neck_place, width, base)]


def _thin_strokes(full: Measured, least: float) -> list[WeakSpot]:
    """The middle of the thin places of each letter that has more than tips and corners below ``least``."""
    spots = []
    for letter, wall, inside in zip(full.letters, full.opened, full.inside, strict=True):
        if letter.area - wall.area <= THIN_SHARE * letter.area:
            continue
        thin = np.flatnonzero(inside.widths < least)
        x, y = inside.places[thin].T
        thin = thin[~shapely.contains_xy(wall, x, y)]  # a thin place next to a thick one is held by it
        if len(thin):
            k = int(thin[np.argsort(inside.widths[thin])[len(thin) // 2]])
            x, y = inside.places[k]
            spots.append(WeakSpot("thin stroke", float(x), float(y), float(inside.widths[k]), "top"))
    return spots


def _slits(region: BaseGeometry, process: Process) -> list[WeakSpot]:
    """Channels of the top layer that close."""
    return [
        WeakSpot("slit", *_middle(slit.region), inscribed_diameter(slit.region, TOLERANCE_MM), "top")
        for slit in slits(region, process.least_gap_mm, process.line_width_mm)
    ]


def _pinholes(layers: Sequence[Grown], process: Process) -> list[WeakSpot]:
    """Holes of the grown layers that are too small to print open; the letters' own are counters."""
    return [
        WeakSpot("pinhole", *_middle(hole.region), hole.across_mm, g.layer.layer)
        for g in layers
        if g.layer.offset_mm > 0
        for hole in g.holes
        if _closes(hole, process)
    ]


def _middle(shape: BaseGeometry) -> tuple[float, float]:
    point = shape.representative_point()
    return float(point.x), float(point.y)
