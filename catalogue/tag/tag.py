"""A finished tag: layers with their regions and heights, the ring, bands for the printer, volumes and masses. Pure.

All coordinates lie on a grid of 0.001 mm with the lower left corner of the tag at the origin. Heights are whole
layers of the process; what was asked is kept beside them.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon, Polygon
from shapely.affinity import translate
from shapely.geometry.base import BaseGeometry

from catalogue.judge.hold import NECK_LINES
from catalogue.judge.process import Process
from catalogue.judge.stack import BASE_TOP_MM, MIDDLE_TOP_MM, TOP_TOP_MM
from catalogue.tag.fit import Fit, geometry_told
from catalogue.tag.ring import HEIGHT_MM, HOLE_MM, OUTER_MM, Ring, seat
from catalogue.tag.small_parts import may_fit
from scanner.regions import offset, polygons_of

GRID_MM = 0.001
SPECK_MM2 = 0.02
ERODE_MM = 0.006
"""What is taken off a region that touches itself in a point: valid in the plane, no solid in space."""

SEAM_MM = 0.05
"""Width of the seam by which the ring overlaps its base before both are put on the grid."""

COLOURS = {
    "black": "#1d1d1f", "white": "#f7f5ef", "cream": "#f6efd9", "grey": "#8b97a3", "navy": "#274c77",
    "blue": "#2f6db5", "sky": "#8ab4d8", "teal": "#1f7a74", "green": "#3b7d3a", "yellow": "#e9b824",
    "orange": "#dd6b20", "red": "#b3261e", "pink": "#e58fb1", "plum": "#6b3f75", "brown": "#6f4a32",
}  # fmt: skip
"""Colours by name, for show: what is printed is the filament in the printer."""

DEFAULT_COLOURS = ("navy", "sky", "cream")
FILAMENT_MM = 1.75

CAUTIONS = (
    "Not a toy. Keep away from children under 3: small parts may come off and choke.",
    "This check is a calculation from the drawing. It is no test, no certificate and no legal advice. Before you sell,"
    " follow the rules of your country and ask a licensed test house or lawyer.",
    "PLA softens from about 55 °C: do not leave in a hot car.",
    "Sand or break sharp corners; look for whiskers.",
    "Metal rings can hold nickel; ask your supplier for a release report.",
    "Print in a well aired room, not where people sleep; follow the maker's sheet for the filament.",
    "Not for food, the mouth, climbing or any load.",
)


@dataclass(frozen=True, slots=True)
class TagLayer:
    """One layer: base, ring, middle or top."""

    layer: str
    colour: str
    """Its name, or #rrggbb."""
    region: MultiPolygon
    offset_mm: float
    bottom_mm: float
    top_mm: float
    """As printed: whole layers."""
    top_asked_mm: float
    volume_mm3: float
    mass_g: float


@dataclass(frozen=True, slots=True)
class Band:
    """A body between two heights; the bands of a tag do not overlap."""

    name: str
    colour: str
    region: MultiPolygon
    bottom_mm: float
    top_mm: float


@dataclass(frozen=True, slots=True)
class Tag:
    """All that the exports need."""

    name: str
    face: str
    process: Process
    fit: Fit
    ring: Ring
    layers: tuple[TagLayer, ...]
    bands: tuple[Band, ...]
    size_mm: tuple[float, float, float]
    colour_changes_mm: tuple[float, ...]
    """Heights at which the next colour starts."""
    may_fit_cylinder: bool
    seeds: NDArray[np.float64]
    """Centres of the letters' parts, shape (n, 2)."""

    @property
    def outline(self) -> BaseGeometry:
        """All that touches the bed."""
        return self.bands[0].region

    @property
    def volume_mm3(self) -> float:
        return sum(layer.volume_mm3 for layer in self.layers)

    @property
    def mass_g(self) -> float:
        return sum(layer.mass_g for layer in self.layers)


def hex_of(colour: str) -> str:
    """#rrggbb of a colour. Raises ValueError with the names there are.

    >>> hex_of("navy"), hex_of("#ABCDEF")
    ('#274c77', '#abcdef')
    """
    text = colour.strip().casefold()
    if text in COLOURS:
        return COLOURS[text]
    if len(text) == 7 and text[0] == "#" and all(c in "0123456789abcdef" for c in text[1:]):
        return text
    raise ValueError(f"colour {colour!r} is not known; use #rrggbb or one of {', '.join(COLOURS)}")


def snapped_height(height_mm: float, layer_height_mm: float) -> float:
    """The nearest whole number of layers, at least one.

    >>> [snapped_height(h, 0.2) for h in (2.032, 2.794, 4.572, 6.350)]
    [2.0, 2.8, 4.6, 6.4]
    """
    return round(max(1, round(height_mm / layer_height_mm)) * layer_height_mm, 6)


def mass_of(volume_mm3: float, process: Process) -> float:
    """Grams of a solid volume: 60 × 20 × 2.794 mm of PLA weigh 4.16 g.

    >>> from catalogue.judge.process import load_process
    >>> round(mass_of(60 * 20 * 2.794, load_process("nozzle-0.4")), 2)
    4.16
    """
    return volume_mm3 / 1000 * process.density_g_cm3


def clean(region: BaseGeometry) -> MultiPolygon:
    """On the grid, without specks, and nowhere touching itself in a point."""
    for _ in range(4):
        snapped = shapely.set_precision(region, GRID_MM)
        kept = [_without_specks(p) for p in polygons_of(snapped) if p.area >= SPECK_MM2]
        region = MultiPolygon(kept)
        if not _touches_itself(region):
            return region
        region = offset(region, -ERODE_MM, mitre=True)
    return region if isinstance(region, MultiPolygon) else MultiPolygon(polygons_of(region))


@geometry_told()
def make_tag(
    fit: Fit, process: Process, face: str, side: str = "upper-left", layers: int = 3,
    colours: tuple[str, str, str] = DEFAULT_COLOURS, least_bond_mm: float | None = None,
) -> Tag:  # fmt: skip
    """Ring and layers of a fitted name. Raises RingError when the ring finds no place."""
    upper = {3: fit.middle, 2: fit.top, 1: MultiPolygon()}[layers]
    seated = seat(fit.base, upper, fit.seeds, process, NECK_LINES * process.line_width_mm, side, least_bond_mm)
    base = clean(seated.base)
    # A base that had to shrink to be clean has left the ring: a seam of the base as it was closes the gap.
    seam = shapely.intersection(seated.base, offset(seated.rim, SEAM_MM, mitre=True))
    low = clean(shapely.union_all([base, seated.rim, seam], grid_size=GRID_MM))
    low, base = _noded(low, base)
    x0, y0 = (round(float(v), 3) for v in low.bounds[:2])
    low, base = _moved(low, x0, y0), _moved(base, x0, y0)
    middle, top = (_moved(clean(r), x0, y0) for r in (fit.middle, fit.top))
    height = process.layer_height_mm
    ring_top, base_top, middle_top, top_top = (
        snapped_height(h, height) for h in (HEIGHT_MM, BASE_TOP_MM, MIDDLE_TOP_MM, TOP_TOP_MM)
    )
    ring_top = min(ring_top, base_top)
    middle_top = max(middle_top, base_top + height)
    top_top = max(top_top, middle_top + height)
    t, o = fit.setting.thicken_mm, fit.setting.base_offset_mm
    rim_area = float(low.area - base.area)

    def layer(
        name: str, colour: str, region: MultiPolygon, grown: float, bottom: float, upto: float, asked: float,
        area: float | None = None,
    ) -> TagLayer:  # fmt: skip
        volume = (float(region.area) if area is None else area) * (upto - bottom)
        return TagLayer(name, colour, region, grown, bottom, upto, asked, volume, mass_of(volume, process))

    outside = shapely.difference(low, base, grid_size=GRID_MM)
    rim = MultiPolygon([p for p in polygons_of(outside) if p.area >= SPECK_MM2])
    parts = [
        layer("base", colours[0], base, o + t, 0.0, base_top, BASE_TOP_MM),
        layer("ring", colours[0], rim, 0.0, 0.0, ring_top, HEIGHT_MM, rim_area),
    ]
    bands = [Band(f"base and ring ({colours[0]})", colours[0], low, 0.0, ring_top)]
    if base_top > ring_top:
        bands.append(Band(f"base ({colours[0]})", colours[0], base, ring_top, base_top))
    if layers == 3:
        parts.append(layer("middle", colours[1], middle, o / 2 + t, base_top, middle_top, MIDDLE_TOP_MM))
        parts.append(layer("top", colours[2], top, t, middle_top, top_top, TOP_TOP_MM))
    elif layers == 2:
        parts.append(layer("top", colours[2], top, t, base_top, middle_top, MIDDLE_TOP_MM))
    bands += [Band(f"{p.layer} ({p.colour})", p.colour, p.region, p.bottom_mm, p.top_mm) for p in parts[2:]]
    width, depth = (float(v) for v in low.bounds[2:])
    tall = max(p.top_mm for p in parts)
    ring = seated.ring
    moved = Ring(ring.x_mm - x0, ring.y_mm - y0, ring.bond_mm, ring.overlap_share, ring.tilt_deg)
    return Tag(
        fit.name, face, process, fit, moved, tuple(parts), tuple(bands), (width, depth, tall),
        tuple(p.bottom_mm for p in parts[2:]), may_fit(low, tall), fit.seeds - (x0, y0),
    )  # fmt: skip


def changes_told(tag: Tag) -> list[str]:
    """Which colour is laid from which height on, after the first."""
    return [f"{p.colour} at {h:.2f} mm" for p, h in zip(tag.layers[2:], tag.colour_changes_mm, strict=True)]


def bed_caution(tag: Tag) -> str:
    """A line for a tag that does not lie on the bed along its sides; empty for one that does."""
    (width, depth, _), bed = tag.size_mm, tag.process.bed_mm
    if width <= bed[0] and depth <= bed[1]:
        return ""
    return (
        f"Larger than the bed: the tag is {width:.0f} × {depth:.0f} mm, the bed of {tag.process.name}"
        f" {bed[0]:g} × {bed[1]:g} mm. Make it smaller, or turn it on the bed where it fits askew."
    )


def ring_stress_mpa(tag: Tag, force_n: float) -> float:
    """Mean stress when a key ring pulls: over both walls, or over the bond where that is less."""
    wall = (OUTER_MM - HOLE_MM) / 2
    height = next(layer.top_mm for layer in tag.layers if layer.layer == "ring")
    return force_n / (min(2 * wall, tag.ring.bond_mm) * height)


def filament_m(volume_mm3: float) -> float:
    """Metres of 1.75 mm filament in a volume."""
    return volume_mm3 / (np.pi * FILAMENT_MM**2 / 4) / 1000


PRINT_SPEED_MM_S, TRAVEL_SHARE, LAYER_CHANGE_S, START_MIN, COLOUR_CHANGE_MIN = 50.0, 0.3, 3.0, 5.0, 2.0


def print_minutes(tag: Tag) -> float:
    """Rough minutes of a solid print; the model is ``PRINT_MODEL``."""
    process = tag.process
    seconds = tag.volume_mm3 / (process.line_width_mm * process.layer_height_mm * PRINT_SPEED_MM_S)
    count = tag.size_mm[2] / process.layer_height_mm
    changes = len(tag.colour_changes_mm) * COLOUR_CHANGE_MIN
    return START_MIN + changes + (seconds * (1 + TRAVEL_SHARE) + count * LAYER_CHANGE_S) / 60


PRINT_MODEL = (
    f"volume / (line width × layer height × {PRINT_SPEED_MM_S:g} mm/s), {TRAVEL_SHARE:.0%} more for travel,"
    f" {LAYER_CHANGE_S:g} s a layer, {START_MIN:g} min to start, {COLOUR_CHANGE_MIN:g} min a colour change; solid print"
)


def _noded(low: MultiPolygon, base: MultiPolygon) -> tuple[MultiPolygon, MultiPolygon]:
    """The same regions, the second inside the first, with the same points where they share an outline.

    Both are put together from the faces their lines cut the plane into; else their solids would not meet.
    """
    lines = shapely.union_all([low.boundary, base.boundary], grid_size=GRID_MM)
    faces = np.array(shapely.get_parts(shapely.polygonize([lines])).tolist(), dtype=object)
    inside = shapely.point_on_surface(faces)
    shapely.prepare(low)
    shapely.prepare(base)
    in_low = shapely.contains(low, inside)
    in_base = in_low & (shapely.contains(base, inside) | (shapely.area(faces) < SPECK_MM2))
    return _whole(faces[in_low]), _whole(faces[in_base])


def _whole(faces: NDArray[np.object_]) -> MultiPolygon:
    return MultiPolygon(polygons_of(shapely.coverage_union_all(faces)))


def _moved(region: MultiPolygon, x0: float, y0: float) -> MultiPolygon:
    moved = translate(region, -x0, -y0)
    return shapely.transform(moved, lambda c: np.round(c, 3) + 0.0)


def _without_specks(polygon: Polygon) -> Polygon:
    return Polygon(polygon.exterior, [h for h in polygon.interiors if Polygon(h).area >= SPECK_MM2])


def _touches_itself(region: MultiPolygon) -> bool:
    counts: Counter[tuple[int, int]] = Counter()
    for polygon in region.geoms:
        for ring in (polygon.exterior, *polygon.interiors):
            points = np.rint(shapely.get_coordinates(ring)[:-1] / GRID_MM).astype(int)
            counts.update(map(tuple, points.tolist()))
    return any(n > 1 for n in counts.values())
