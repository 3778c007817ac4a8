"""A finished tag: layers with their regions and heights, the ring, bands for the printer, volumes and masses. Pure.

All coordinates lie on a grid of 0.001 mm with the lower left corner of the tag at the origin. Heights are whole layers
of the process, next to the heights that were asked for.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import MultiPolygon
from shapely.geometry.base import BaseGeometry

from catalogue.judge.process import Process
from catalogue.judge.stack import BASE_TOP_MM, MIDDLE_TOP_MM, TOP_TOP_MM
from catalogue.tag.colours import DEFAULT_COLOURS
from catalogue.tag.fit import Fit
from catalogue.tag.printing import mass_of, minutes_of, snapped_height
from catalogue.tag.ring import HEIGHT_MM, Ring, RingWish, Seated, seat
from catalogue.tag.shapes import geometry_errors
from catalogue.tag.small_parts import may_fit
from catalogue.tag.solids import GRID_MM, SPECK_MM2, clean, moved, noded
from scanner.regions import offset, polygons_of

SEAM_MM = 0.05
"""Width of the seam by which the ring overlaps its base before both are put on the grid."""


@dataclass(frozen=True, slots=True)
class Look:
    """What the person chooses beyond the letters: the ring's place, how many layers, their colours."""

    ring: RingWish = field(default_factory=RingWish)
    layers: int = 3
    colours: tuple[str, str, str] = DEFAULT_COLOURS
    """Of base and ring, middle, top; by name or #rrggbb."""


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

    face: str
    fit: Fit
    ring: Ring
    layers: tuple[TagLayer, ...]
    bands: tuple[Band, ...]
    origin_mm: tuple[float, float]
    """Where the tag's lower left corner lies in the coordinates of the fit."""

    @property
    def name(self) -> str:
        """The name with its lines parted by newlines."""
        return self.fit.name

    @property
    def process(self) -> Process:
        """What it is made for."""
        return self.fit.request.process

    @property
    def seeds(self) -> NDArray[np.float64]:
        """Centres of the letters' parts, shape (n, 2)."""
        return self.fit.seeds - self.origin_mm

    @property
    def outline(self) -> BaseGeometry:
        """All that touches the bed."""
        return self.bands[0].region

    @property
    def size_mm(self) -> tuple[float, float, float]:
        """Width, depth and height."""
        width, depth = (float(v) for v in self.outline.bounds[2:])
        return width, depth, max(p.top_mm for p in self.layers)

    @property
    def colour_changes_mm(self) -> tuple[float, ...]:
        """Heights at which the next colour starts."""
        return tuple(p.bottom_mm for p in self.layers[2:])

    @property
    def may_fit_cylinder(self) -> bool:
        """Whether the whole tag may fit the small-parts cylinder."""
        return may_fit(self.outline, self.size_mm[2])

    @property
    def volume_mm3(self) -> float:
        """Of all layers."""
        return sum(layer.volume_mm3 for layer in self.layers)

    @property
    def mass_g(self) -> float:
        """Of all layers, solid."""
        return sum(layer.mass_g for layer in self.layers)

    @property
    def print_minutes(self) -> float:
        """Rough minutes of a solid print."""
        return minutes_of(self.volume_mm3, self.size_mm[2], len(self.colour_changes_mm), self.process)

    @property
    def change_lines(self) -> list[str]:
        """Which colour is laid from which height on, after the first."""
        return [f"{p.colour} at {p.bottom_mm:.2f} mm" for p in self.layers[2:]]

    @property
    def bed_caution(self) -> str:
        """A line for a tag that does not lie on the bed along its sides; empty for one that does."""
        (width, depth, _), bed = self.size_mm, self.process.bed_mm
        if width <= bed[0] and depth <= bed[1]:
            return ""
        return (
            f"Larger than the bed: the tag is {width:.0f} × {depth:.0f} mm, the bed of {self.process.name}"
            f" {bed[0]:g} × {bed[1]:g} mm. Make it smaller, or turn it on the bed where it fits askew."
        )


@dataclass(frozen=True, slots=True)
class _Tops:
    """Upper ends of the layers: as asked, and in whole layers, each above the one before."""

    asked: tuple[float, float, float, float]
    printed: tuple[float, float, float, float]


@geometry_errors()
def make_tag(fit: Fit, face: str, look: Look | None = None) -> Tag:
    """Ring and layers of a fitted name in the face of that title. Raises RingError when the ring finds no place."""
    look = look or Look()
    process = fit.request.process
    upper = {3: fit.middle, 2: fit.top, 1: MultiPolygon()}[look.layers]
    seated = seat(fit.base, upper, fit.seeds, process, look.ring)
    low, base = _bed_regions(seated)
    x0, y0 = (round(float(v), 3) for v in low.bounds[:2])
    low, base = moved(low, x0, y0), moved(base, x0, y0)
    tops = _tops(process.layer_height_mm)
    upper_parts = _upper_layers(fit, look, tops, (x0, y0))
    bands = [*_low_bands(low, base, look.colours[0], tops), *(_band_of(p) for p in upper_parts)]
    parts = (*_low_layers(fit, low, base, look.colours[0], tops), *upper_parts)
    ring = replace(seated.ring, x_mm=seated.ring.x_mm - x0, y_mm=seated.ring.y_mm - y0)
    return Tag(face, fit, ring, parts, tuple(bands), (x0, y0))


def _bed_regions(seated: Seated) -> tuple[MultiPolygon, MultiPolygon]:
    """Base with ring, and the base alone, with equal points where they share an outline."""
    base = clean(seated.base)
    # A base that had to shrink to be clean has left the ring: a seam of the base as it was closes the gap.
    seam = shapely.intersection(seated.base, offset(seated.rim, SEAM_MM, mitre=True))
    low = clean(shapely.union_all([base, seated.rim, seam], grid_size=GRID_MM))
    return noded(low, base)


def _tops(layer_height_mm: float) -> _Tops:
    asked = (HEIGHT_MM, BASE_TOP_MM, MIDDLE_TOP_MM, TOP_TOP_MM)
    ring, base, middle, top = (snapped_height(h, layer_height_mm) for h in asked)
    middle = max(middle, base + layer_height_mm)
    return _Tops(asked, (min(ring, base), base, middle, max(top, middle + layer_height_mm)))


def _low_layers(fit: Fit, low: MultiPolygon, base: MultiPolygon, colour: str, tops: _Tops) -> tuple[TagLayer, TagLayer]:
    process, setting = fit.request.process, fit.setting
    outside = shapely.difference(low, base, grid_size=GRID_MM)
    rim = MultiPolygon([p for p in polygons_of(outside) if p.area >= SPECK_MM2])
    (ring_asked, base_asked, *_), (ring_top, base_top, *_) = tops.asked, tops.printed
    grown = setting.base_offset_mm + setting.thicken_mm
    base_volume, ring_volume = float(base.area) * base_top, float(low.area - base.area) * ring_top
    return (
        TagLayer("base", colour, base, grown, 0.0, base_top, base_asked, base_volume, mass_of(base_volume, process)),
        TagLayer("ring", colour, rim, 0.0, 0.0, ring_top, ring_asked, ring_volume, mass_of(ring_volume, process)),
    )


def _low_bands(low: MultiPolygon, base: MultiPolygon, colour: str, tops: _Tops) -> list[Band]:
    """Up to the ring's height base and ring are one body, above it the base is alone."""
    ring_top, base_top = tops.printed[:2]
    bands = [Band(f"base and ring ({colour})", colour, low, 0.0, ring_top)]
    if base_top > ring_top:
        bands.append(Band(f"base ({colour})", colour, base, ring_top, base_top))
    return bands


def _upper_layers(fit: Fit, look: Look, tops: _Tops, origin_mm: tuple[float, float]) -> tuple[TagLayer, ...]:
    """Middle and top; with two layers the top stands on the base."""
    (*_, middle_asked, top_asked), (_, base_top, middle_top, top_top) = tops.asked, tops.printed
    process, setting, (_, second, third) = fit.request.process, fit.setting, look.colours
    t, o = setting.thicken_mm, setting.base_offset_mm

    def layer(name: str, colour: str, shape: BaseGeometry, grown: float, heights: tuple[float, float]) -> TagLayer:
        region = moved(clean(shape), *origin_mm)
        volume = float(region.area) * (heights[1] - heights[0])
        asked = top_asked if heights[1] == top_top else middle_asked
        return TagLayer(name, colour, region, grown, *heights, asked, volume, mass_of(volume, process))

    if look.layers == 3:
        return (
            layer("middle", second, fit.middle, o / 2 + t, (base_top, middle_top)),
            layer("top", third, fit.top, t, (middle_top, top_top)),
        )
    return (layer("top", third, fit.top, t, (base_top, middle_top)),) if look.layers == 2 else ()


def _band_of(part: TagLayer) -> Band:
    return Band(f"{part.layer} ({part.colour})", part.colour, part.region, part.bottom_mm, part.top_mm)
