"""What a pull at the ring asks of the plastic."""

from __future__ import annotations

from catalogue.tag.ring import WALL_MM
from catalogue.tag.tag import Tag

PULLS_N = (66.7, 90.0)
"""Pull tests for toys: 15 lbf for 18 to 96 months (from memory), and 90 N of EN 71-1 8.4 (a secondary copy)."""

ACROSS_LAYERS_MPA = 22.8
"""Strength of printed PLA across its layers, doi 10.1089/3dp.2020.0109."""

ALONG_LAYERS_MPA = 50.0
"""Strength of printed PLA along its layers: 50 to 65 MPa, a maker's data page."""

EDGE_FACTOR = 3.0
"""Stress at the edge of a round hole over the mean (from memory)."""


def ring_stress_mpa(tag: Tag, force_n: float) -> float:
    """Mean stress when a key ring pulls: over both walls, or over the bond where that is less."""
    height = next(layer.top_mm for layer in tag.layers if layer.layer == "ring")
    return force_n / (min(2 * WALL_MM, tag.ring.bond_mm) * height)


def pull_text(tag: Tag, force_n: float) -> str:
    """What a pull at the ring asks of the plastic, against what printed PLA carries."""
    mean = ring_stress_mpa(tag, force_n)
    edge = EDGE_FACTOR * mean
    verdict = "within" if edge <= ALONG_LAYERS_MPA else "on average within, at the edge of the hole above"
    return (
        f"Pulled with {force_n:g} N, as if {force_n / 9.81:.0f} kg hung on it, each square millimetre of the ring bears"
        f" {mean:.0f} N, at the edge of the hole about {edge:.0f} N (three times as much). That is {verdict} the"
        f" {ALONG_LAYERS_MPA:g} N that PLA printed flat carries; printed upright it carries only"
        f" {ACROSS_LAYERS_MPA:g} N, so print it flat."
    )
