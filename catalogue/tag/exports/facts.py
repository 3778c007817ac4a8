"""The facts of a job sheet, typed; ``as_json`` gives them under the contract keys of ``tag --json``."""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from catalogue.tag.cautions import CAUTIONS
from catalogue.tag.printing import filament_m
from catalogue.tag.ring import WALL_MM
from catalogue.tag.ring_places import HOLE_MM, OUTER_MM
from catalogue.tag.strength import Strength, Weakest, strength_of
from catalogue.tag.tag import Tag

DIGITS = 4
"""Decimals of a number in JSON."""


@dataclass(frozen=True, slots=True)
class Sale:
    """What the licence of the font says about selling, as it goes onto the sheet."""

    verdict: str
    """yes, yes-conditions, ask, no or unknown."""
    spdx: str = ""
    must_accompany: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ColourUse:
    """How much of one colour a tag takes."""

    colour: str
    mass_g: float
    filament_m: float


@dataclass(frozen=True)
class JobFacts:
    """A tag with what else its sheet says."""

    tag: Tag
    sale: Sale | None = None
    """None where nobody asked."""
    price_per_kg: float | None = None

    @property
    def material_cost(self) -> float | None:
        """At the given price; None without one."""
        return None if self.price_per_kg is None else self.tag.mass_g / 1000 * self.price_per_kg

    @property
    def capitals(self) -> str:
        """How tall the capitals stand, in words."""
        height = round(self.tag.fit.cap_height_mm, DIGITS)
        return f"capitals {height:.1f} mm" if math.isfinite(height) else "a face without capitals"

    @property
    def colours(self) -> tuple[ColourUse, ...]:
        """Each colour once, in the order it is laid."""
        used: dict[str, ColourUse] = {}
        for part in self.tag.layers:
            one = used.get(part.colour, ColourUse(part.colour, 0.0, 0.0))
            used[part.colour] = ColourUse(
                part.colour, one.mass_g + part.mass_g, one.filament_m + filament_m(part.volume_mm3)
            )
        return tuple(used.values())

    @property
    def cautions(self) -> tuple[str, ...]:
        """The usual ones, a tag too large for the bed first."""
        return tuple(filter(None, (self.tag.bed_caution, *CAUTIONS)))

    @property
    def small_parts(self) -> str:
        """How the tag stands to the small-parts cylinder."""
        return "may fit" if self.tag.may_fit_cylinder else "does not fit whole; parts that break off may"

    @cached_property
    def strength(self) -> Strength | None:
        """The force that would part the tag; None where no cut parts a letter from the ring."""
        return strength_of(self.tag)

    @property
    def reasons(self) -> tuple[str, ...]:
        """Points of hold that are still lost."""
        return tuple(r.line for r in self.tag.fit.hold.reasons)

    @property
    def changes(self) -> tuple[str, ...]:
        """What was changed to make the name hold."""
        backing = self.tag.fit.setting.backing
        return (*([f"a {backing} behind the name"] if backing else []), *(c.text for c in self.tag.fit.changes))

    def as_json(self, files: Iterable[tuple[str, str]] = ()) -> dict[str, Any]:
        """The facts with numbers rounded; ``files`` are names and where they are."""
        found = {
            **self._lettering(), "files": dict(files), "ring": self._ring(), **self._body(),
            **self._printing(), **self._judgement(),
        }  # fmt: skip
        if self.material_cost is not None:
            found["material_cost"] = self.material_cost
        if self.sale is not None:
            found["sell"] = self.sale.verdict
            found["spdx"] = self.sale.spdx
            found["must_accompany"] = list(self.sale.must_accompany)
        facts: dict[str, Any] = rounded(found)
        return facts

    def _lettering(self) -> dict[str, Any]:
        tag, setting = self.tag, self.tag.fit.setting
        return {
            "name": tag.name,
            "face": tag.face,
            "process": tag.process.name,
            "files": {},
            "cap_height_mm": tag.fit.cap_height_mm,
            "tracking_em": setting.tracking_em,
            "thicken_mm": setting.thicken_mm,
            "weight": setting.weight,
            "behind": setting.backing,
            "line_spacing_mm": [a - b for a, b in itertools.pairwise(tag.fit.baselines_mm)],
            "by_hand": self._by_hand(),
            "offsets_mm": {p.layer: p.offset_mm for p in tag.layers if p.layer != "ring"},
        }

    def _by_hand(self) -> dict[str, Any]:
        """What was changed at one place each, at its place on the tag; see ``levers.BY_HAND``."""
        fit, (x0, y0) = self.tag.fit, self.tag.origin_mm
        setting = fit.setting
        bridges = []
        for bridge in fit.bridges:
            x, y = bridge.line.interpolate(0.5, normalized=True).coords[0]
            bridges.append({"ties": bridge.ties, "x_mm": x - x0, "y_mm": y - y0, "length_mm": bridge.length_mm})
        closed = [{"after_letter": c.after + 1, "mm": c.em * setting.em_mm} for c in setting.closings]
        return {
            "forms_off": setting.plain, "gaps": closed, "lines_nearer_mm": setting.nearer_mm, "bridges": bridges
        }  # fmt: skip

    def _ring(self) -> dict[str, float]:
        ring = self.tag.ring
        return {
            "x_mm": ring.x_mm, "y_mm": ring.y_mm, "bond_mm": ring.bond_mm,
            "overlap_share": ring.overlap_share, "tilt_deg": ring.tilt_deg,
            "outer_mm": OUTER_MM, "hole_mm": HOLE_MM, "wall_mm": WALL_MM,
        }  # fmt: skip

    def _body(self) -> dict[str, Any]:
        tag = self.tag
        return {
            "size_mm": list(tag.size_mm),
            "heights_mm": {p.layer: {"printed": p.top_mm, "asked": p.top_asked_mm} for p in tag.layers},
            "volume_mm3": {p.layer: p.volume_mm3 for p in tag.layers} | {"all": tag.volume_mm3},
            "mass_g": {p.layer: p.mass_g for p in tag.layers} | {"all": tag.mass_g},
        }

    def _printing(self) -> dict[str, Any]:
        tag = self.tag
        return {
            "colours": {c.colour: {"mass_g": c.mass_g, "filament_m": c.filament_m} for c in self.colours},
            "colour_changes_mm": list(tag.colour_changes_mm),
            "print_minutes": tag.print_minutes,
            "cautions": list(self.cautions),
        }

    def _judgement(self) -> dict[str, Any]:
        fit = self.tag.fit
        return {
            "hold": fit.hold.hold,
            "reasons": list(self.reasons),
            "holds": fit.holds,
            "neck_mm": fit.measured.neck_mm,
            "changes": list(self.changes),
            "closing_counters_mm": list(fit.closing_counters_mm),
            "openings": {"all": fit.measured.openings, "closed": fit.measured.closed},
            "filled_pinholes": fit.filled_pinholes,
            "strength_n": _strength(self.strength),
            "small_parts_cylinder": self.small_parts,
        }


def _strength(strength: Strength | None) -> dict[str, Any]:
    if strength is None:
        return {}
    return {"bending": _weakest(strength.bending), "tension": _weakest(strength.tension)}


def _weakest(found: Weakest) -> dict[str, Any]:
    return {
        "upright": found.force.upright_n, "flat": found.force.flat_n, "on_edge": found.force.on_edge_n,
        "area_mm2": found.area_mm2, "lever_mm": found.lever_mm, "x_mm": found.x_mm, "y_mm": found.y_mm,
        "out_of_plane": found.out_of_plane,
    }  # fmt: skip


def rounded(value: Any) -> Any:
    """Numbers as JSON takes them, in whatever holds them: to ``DIGITS``, none for one that is not finite."""
    if isinstance(value, float):
        return round(value, DIGITS) if math.isfinite(value) else None
    if isinstance(value, dict):
        return {k: rounded(v) for k, v in value.items()}
    if isinstance(value, list):
        return [rounded(v) for v in value]
    return value
