"""The force that would part a tag at its weakest section, as a range: an estimate by beam theory, never a test.

Bending first: a tag is long and flat, and a push at the far end of a letter asks far more of a neck than a pull along
it. Bending stress is force × lever / section modulus (h·b²/6 and b·h²/6 for a bar, any handbook of the strength of
materials), tension is force / area. The strength of printed plastic depends on how it lay on the bed; all published
values are shown, from the weakest to the strongest.

What the figure cannot know: voids between lines, notches and inner corners, age, heat, blows, fatigue, and whether the
two sides of an opening work together as one beam, as is assumed.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from catalogue.tag.ring import HEIGHT_MM, WALL_MM
from catalogue.tag.ring_places import HOLE_MM
from catalogue.tag.sections import Sections, Stack, sections
from catalogue.tag.tag import Tag

UPRIGHT_MPA, FLAT_MPA, ON_EDGE_MPA = 16.0, 33.0, 47.0
"""Tensile strength of printed PLA by build direction: ISO 527-2 specimens, Materiale Plastice (revmaterialeplastice.ro,
article 11509). Within what others find: 22.8 MPa across layers (doi 10.1089/3dp.2020.0109); the review Polymers 2022,
14(5), 886 lists more."""

STANDARD_GRAVITY = 9.80665
"""m/s², by definition (CGPM 1901)."""

_KILOGRAMS_FROM = 2000
"""Grams from which a weight is said in kilograms."""

TOY_PULL_TEXT = (
    "For comparison: tests of toys pull with 50 N at parts up to 6 mm and with 90 N at larger ones (EN 71-1, 8.4, as"
    " quoted by public pages of test firms). Nothing here says how a tag would fare in such a test."
)

LIMITS_TEXT = (
    "An estimate by beam theory from the drawing, for solid PLA, with published strengths of 16 MPa (printed upright),"
    " 33 MPa (flat) and 47 MPa (on edge). Voids, notches, age, heat and blows are not in it: a tag may break far below."
)


@dataclass(frozen=True, slots=True)
class Force:
    """A force in newtons, over the published strengths."""

    upright_n: float
    flat_n: float
    on_edge_n: float


@dataclass(frozen=True, slots=True)
class Weakest:
    """The section that parts first."""

    force: Force
    area_mm2: float
    x_mm: float
    y_mm: float
    lever_mm: float = 0.0
    """From the section to where the force is put; 0 for a straight pull."""
    out_of_plane: bool = False
    """Whether bending out of the plane of the bed governs; in the plane otherwise."""


@dataclass(frozen=True, slots=True)
class Strength:
    """Of one tag."""

    bending: Weakest
    """A push at the far end of what would come off."""
    tension: Weakest
    """A straight pull between the key ring and any letter."""


def strength_of(tag: Tag) -> Strength | None:
    """The weakest sections of a tag; None where no cut parts a letter from the ring."""
    stack = Stack(tag.bands, (tag.ring.x_mm, tag.ring.y_mm), HOLE_MM, tag.seeds)
    found = sections(stack)
    if not len(found.area_mm2):
        return None
    return Strength(weakest_in_bending(found), _weakest_in_tension(found, tag))


def weakest_in_bending(found: Sections) -> Weakest:
    """The section with the least modulus for its lever, in the plane or out of it."""
    k = int(np.argmin(found.per_lever_mm2))
    return Weakest(
        force_at(float(found.per_lever_mm2[k])), float(found.area_mm2[k]), float(found.x_mm[k]),
        float(found.y_mm[k]), float(found.lever_mm[k]), bool(found.out_of_plane_mm3[k] < found.in_plane_mm3[k]),
    )  # fmt: skip


def _weakest_in_tension(found: Sections, tag: Tag) -> Weakest:
    """The least section, that of the ring's two walls or its bond among them."""
    ring = tag.ring
    height = next((p.top_mm for p in tag.layers if p.layer == "ring"), HEIGHT_MM)
    walls = min(2 * WALL_MM, ring.bond_mm) * height
    k = int(np.argmin(found.area_mm2))
    if walls <= found.area_mm2[k]:
        return Weakest(force_at(walls), walls, ring.x_mm, ring.y_mm)
    area = float(found.area_mm2[k])
    return Weakest(force_at(area), area, float(found.x_mm[k]), float(found.y_mm[k]))


def force_at(newtons_per_mpa: float) -> Force:
    """The force at each published strength.

    >>> force_at(0.9 * 2.8).flat_n  # a neck 0.9 mm wide and 2.8 mm high in tension
    83.16
    """
    n = newtons_per_mpa
    return Force(round(UPRIGHT_MPA * n, 6), round(FLAT_MPA * n, 6), round(ON_EDGE_MPA * n, 6))


def strength_lines(strength: Strength) -> tuple[str, ...]:
    """The figures in words, bending first, with what they cannot know."""
    bent, pulled = strength.bending, strength.tension
    way = "out of its plane" if bent.out_of_plane else "in its plane"
    return (
        f"Held next to the ring and bent {way} at its far end, it breaks at about {_range(bent.force)}: the weakest"
        f" section, {bent.area_mm2:.1f} mm² at {bent.x_mm:.0f}, {bent.y_mm:.0f} mm from the lower left corner, lies"
        f" {bent.lever_mm:.0f} mm from there.",
        f"Pulled straight, it breaks at about {_range(pulled.force)}, at {pulled.area_mm2:.1f} mm²"
        f" ({pulled.x_mm:.0f}, {pulled.y_mm:.0f} mm).",
        LIMITS_TEXT,
        TOY_PULL_TEXT,
    )


def _range(force: Force) -> str:
    grams = 10 * round(100 * force.flat_n / STANDARD_GRAVITY)
    weight = f"{grams / 1000:.0f} kg" if grams >= _KILOGRAMS_FROM else f"{grams} g"
    return (
        f"{_newtons(force.flat_n)} N, the weight of {weight} ({_newtons(force.upright_n)} to"
        f" {_newtons(force.on_edge_n)} N)"
    )


def _newtons(force: float) -> str:
    return f"{force:.1f}" if force < 10 else f"{force:.0f}"
