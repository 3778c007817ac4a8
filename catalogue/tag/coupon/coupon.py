"""The coupon as a body: features on a plate, the ring, and the bands they are stacked of. Pure; mm."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely import MultiPolygon, box
from shapely.geometry.base import BaseGeometry

from catalogue.judge.process import Process
from catalogue.tag.coupon import parts
from catalogue.tag.coupon.figures import HEIGHT as FIGURE_U
from catalogue.tag.coupon.figures import figures
from catalogue.tag.coupon.sizes import Sizes, size_text, sizes_for
from catalogue.tag.printing import mass_of, minutes_of, snapped_height
from catalogue.tag.ring import HEIGHT_MM, disc
from catalogue.tag.ring_places import HOLE_MM, OUTER_MM
from catalogue.tag.solids import clean, moved, noded
from catalogue.tag.tag import Band
from scanner.regions import polygons_of

COLOUR = "sky"
"""One filament prints it."""

PLATE_MM, TOP_MM = 1.0, 2.8
"""Heights of the plate and of what stands on it: features stand 1.8 mm high, as a layer of a tag does."""

LEAST_UNIT_MM, MOST_UNIT_MM = 0.5, 1.05
"""Stroke of the numbers: the least wall within these. Thinner ones cannot be read, wider ones make it too heavy."""

PITCH_U, MARGIN_U, CORNER_U = 10.0, 1.0, 2.0
"""From feature to feature, around all of them, and the radius of the plate's corners."""

_LABEL_U = 1.0
"""Between a feature and its number."""
_ROW_U = parts.HEIGHT_U + _LABEL_U + FIGURE_U + 2.0
"""From row to row: feature, number, and some room."""
_FIRST_ROW_U = parts.GRIP_U + _LABEL_U + FIGURE_U + 3.5
"""Where the numbers of the lowest row stand; below them are those of the necks."""


@dataclass(frozen=True, slots=True)
class Row:
    """A row of features, for captions."""

    kind: str
    """walls, gaps, holes or necks."""
    middle_mm: float
    """Height of its middle on the coupon."""


@dataclass(frozen=True, slots=True)
class Coupon:
    """All that the exports need."""

    process: Process
    sizes: Sizes
    bands: tuple[Band, ...]
    rows: tuple[Row, ...]

    @property
    def name(self) -> str:
        """What the model is called."""
        return f"coupon for {self.process.name}"

    @property
    def size_mm(self) -> tuple[float, float, float]:
        """Width, depth and height."""
        width, depth = (float(v) for v in self.bands[0].region.bounds[2:])
        return width, depth, self.bands[-1].top_mm

    @property
    def volume_mm3(self) -> float:
        """Of all bands."""
        return sum(float(b.region.area) * (b.top_mm - b.bottom_mm) for b in self.bands)

    @property
    def mass_g(self) -> float:
        """Printed solid."""
        return mass_of(self.volume_mm3, self.process)

    @property
    def print_minutes(self) -> float:
        """By the same rough model as a tag's."""
        return minutes_of(self.volume_mm3, self.size_mm[2], 0, self.process)


@dataclass(frozen=True, slots=True)
class _Drawing:
    """Regions with the plate's lower left corner at the origin, necks below it."""

    plate: BaseGeometry
    standing: BaseGeometry
    """What stands on the plate, necks with their feet."""
    openings: BaseGeometry
    ring: BaseGeometry
    rows: tuple[Row, ...]


def make_coupon(process: Process) -> Coupon:
    """The coupon for a printer."""
    drawn = _drawing(sizes_for(process), min(max(process.least_wall_mm, LEAST_UNIT_MM), MOST_UNIT_MM))
    low = clean(shapely.difference(shapely.union_all([drawn.plate, drawn.standing, drawn.ring]), drawn.openings))
    upper = clean(shapely.difference(shapely.union(drawn.standing, drawn.ring), drawn.openings))
    x0, y0 = (round(float(v), 3) for v in low.bounds[:2])
    low, upper = (moved(region, x0, y0) for region in noded(low, upper))
    ring = moved(clean(drawn.ring), x0, y0)
    standing = MultiPolygon([p for p in polygons_of(upper) if not p.intersects(ring)])
    rows = tuple(Row(row.kind, row.middle_mm - y0) for row in drawn.rows)
    return Coupon(process, sizes_for(process), _bands(low, upper, standing, process), rows)


def _bands(low: MultiPolygon, upper: MultiPolygon, standing: MultiPolygon, process: Process) -> tuple[Band, ...]:
    layer = process.layer_height_mm
    plate, ring, top = (snapped_height(mm, layer) for mm in (PLATE_MM, HEIGHT_MM, TOP_MM))
    ring = max(ring, round(plate + layer, 6))
    top = max(top, round(ring + layer, 6))
    return (
        Band("plate", COLOUR, low, 0.0, plate), Band("features and ring", COLOUR, upper, plate, ring),
        Band("features", COLOUR, standing, ring, top),
    )  # fmt: skip


def _drawing(sizes: Sizes, u: float) -> _Drawing:
    left = OUTER_MM / 2 + MARGIN_U * u  # room for the half of the ring that lies on the plate
    across = [left + (k + 0.5) * PITCH_U * u for k in range(len(sizes.walls_mm))]
    labels = [(_FIRST_ROW_U + k * _ROW_U) * u for k in range(3)]
    feet = [y + (FIGURE_U + _LABEL_U) * u for y in labels]
    holes = [parts.hole(x, feet[0], mm, u) for x, mm in zip(across, sizes.holes_mm, strict=True)]
    gaps = [parts.gap(x, feet[1], mm, u) for x, mm in zip(across, sizes.gaps_mm, strict=True)]
    walls = [parts.wall(x, feet[2], mm, u) for x, mm in zip(across, sizes.walls_mm, strict=True)]
    count = len(sizes.necks_mm)
    necks = [parts.stem_neck(x, mm, u) for x, mm in zip(across[:count], sizes.necks_mm, strict=True)]
    necks += [parts.round_neck(x, mm, u) for x, mm in zip(across[count:], sizes.necks_mm, strict=True)]
    numbers = [
        figures(size_text(mm), x, y, u)
        for y, row in zip(labels, (sizes.holes_mm, sizes.gaps_mm, sizes.walls_mm), strict=True)
        for x, mm in zip(across, row, strict=True)
    ]
    foot = (parts.GRIP_U + _LABEL_U) * u
    numbers += [figures(size_text(mm), x, foot, u) for x, mm in zip(across, sizes.necks_mm * 2, strict=True)]
    width = left + (len(across) * PITCH_U + MARGIN_U) * u
    depth = feet[2] + (parts.HEIGHT_U + MARGIN_U) * u
    plate = box(0, 0, width, depth).buffer(-CORNER_U * u).buffer(CORNER_U * u, quad_segs=parts.ROUND_SEGMENTS)
    at = 0.0, depth / 2
    ring = shapely.difference(disc(*at, OUTER_MM), disc(*at, HOLE_MM, around=True))
    cuts = [*holes, *gaps]
    openings = shapely.union_all([*(c.opening for c in cuts), disc(*at, HOLE_MM, around=True)])
    middles = [y + parts.HEIGHT_U * u / 2 for y in feet]
    rows = (
        Row("walls", middles[2]), Row("gaps", middles[1]), Row("holes", middles[0]),
        Row("necks", -(parts.EDGE_U + parts.STEM_U / 2) * u),
    )  # fmt: skip
    standing = shapely.union_all([*(c.solid for c in cuts), *walls, *necks, *numbers])
    return _Drawing(plate, standing, openings, ring, rows)
