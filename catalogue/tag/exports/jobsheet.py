"""The job sheet: what to print, in which colours, how heavy, how long, and what to mind. As facts and as one HTML page.

No date is in it, so the same tag gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Mapping
from html import escape
from typing import Any

from catalogue.draw.picture import svg
from catalogue.tag.exports.svg import preview
from catalogue.tag.ring import HOLE_MM, OUTER_MM
from catalogue.tag.small_parts import LONGEST_MM
from catalogue.tag.tag import (
    CAUTIONS,
    FILAMENT_MM,
    PRINT_MODEL,
    Tag,
    bed_caution,
    changes_told,
    filament_m,
    hex_of,
    print_minutes,
    ring_stress_mpa,
)
from catalogue.wording import count_of, sell

PULLS_N = (66.7, 90.0)
"""Pull tests for toys: 15 lbf for 18 to 96 months (from memory), and 90 N of EN 71-1 8.4 (a secondary copy)."""

ACROSS_LAYERS_MPA = 22.8
"""Strength of printed PLA across its layers, doi 10.1089/3dp.2020.0109."""

ALONG_LAYERS_MPA = 50.0
"""Strength of printed PLA along its layers: 50 to 65 MPa, a maker's data page."""

EDGE_FACTOR = 3.0
"""Stress at the edge of a round hole over the mean (from memory)."""


def hang_text(tilt_deg: float) -> str:
    """How the name hangs from its ring, in words; ``tilt_deg`` as in ``Ring``.

    >>> hang_text(-84), hang_text(3)
    ('it hangs upright, its left end on top (turned by 84° clockwise)', 'it hangs level')
    """
    angle, clockwise = abs(tilt_deg), tilt_deg < 0
    if angle < 10:
        return "it hangs level"
    if angle > 120:
        return f"it hangs upside down (turned by {angle:.0f}°)"
    turned = f"turned by {angle:.0f}° {'clockwise' if clockwise else 'counter-clockwise'}"
    if angle > 60:
        return f"it hangs upright, its {'left' if clockwise else 'right'} end on top ({turned})"
    return f"it hangs aslant, its {'right' if clockwise else 'left'} end lower ({turned})"


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


def facts(
    tag: Tag,
    verdict: Mapping[str, Any] | None = None,
    price_per_kg: float | None = None,
    files: Mapping[str, str] | None = None,
) -> dict[str, Any]:
    """All facts under the contract keys of ``tag --json``, and more."""
    fit = tag.fit
    setting = fit.setting
    by_layer = {p.layer: p for p in tag.layers}
    colours: dict[str, dict[str, float]] = {}
    for part in tag.layers:
        share = colours.setdefault(part.colour, {"mass_g": 0.0, "filament_m": 0.0})
        share["mass_g"] += part.mass_g
        share["filament_m"] += filament_m(part.volume_mm3)
    found: dict[str, Any] = {
        "name": tag.name,
        "face": tag.face,
        "process": tag.process.name,
        "files": dict(files or {}),
        "cap_height_mm": fit.cap_height_mm,
        "tracking_em": setting.tracking_em,
        "thicken_mm": setting.thicken_mm,
        "weight": setting.weight,
        "offsets_mm": {k: p.offset_mm for k, p in by_layer.items() if k != "ring"},
        "ring": {
            "x_mm": tag.ring.x_mm, "y_mm": tag.ring.y_mm, "bond_mm": tag.ring.bond_mm,
            "overlap_share": tag.ring.overlap_share, "tilt_deg": tag.ring.tilt_deg,
            "outer_mm": OUTER_MM, "hole_mm": HOLE_MM, "wall_mm": (OUTER_MM - HOLE_MM) / 2,
        },
        "size_mm": list(tag.size_mm),
        "heights_mm": {k: {"printed": p.top_mm, "asked": p.top_asked_mm} for k, p in by_layer.items()},
        "volume_mm3": {k: p.volume_mm3 for k, p in by_layer.items()} | {"all": tag.volume_mm3},
        "mass_g": {k: p.mass_g for k, p in by_layer.items()} | {"all": tag.mass_g},
        "colours": colours,
        "colour_changes_mm": list(tag.colour_changes_mm),
        "print_minutes": print_minutes(tag),
        "cautions": [*filter(None, [bed_caution(tag)]), *CAUTIONS],
        "hold": fit.hold.hold,
        "reasons": [r.line for r in fit.hold.reasons],
        "holds": fit.holds,
        "neck_mm": fit.measured.neck_mm,
        "changes": [c.text for c in fit.changes],
        "closing_counters_mm": list(fit.closing_counters_mm),
        "openings": {"all": fit.measured.openings, "closed": fit.measured.closed},
        "filled_pinholes": fit.filled_pinholes,
        "ring_pull_mpa": {f"{n:g} N": ring_stress_mpa(tag, n) for n in PULLS_N},
        "small_parts_cylinder": "may fit" if tag.may_fit_cylinder else "does not fit whole; parts that break off may",
    }  # fmt: skip
    if price_per_kg is not None:
        found["material_cost"] = tag.mass_g / 1000 * price_per_kg
    if verdict:
        found["sell"] = verdict.get("verdict", "unknown")
        found["spdx"] = verdict.get("spdx") or ""
        found["must_accompany"] = list(verdict.get("must_accompany") or ())
    rounded: dict[str, Any] = _rounded(found)
    return rounded


def html(tag: Tag, found: Mapping[str, Any], drawing: str = "") -> str:
    """The page: self-contained, one drawing (the preview as SVG, drawn here when not given), no script."""
    layers = [
        (
            f'<i style="background:{hex_of(p.colour)}"></i>{escape(p.colour)}', p.layer,
            f"{p.bottom_mm:.2f} to {p.top_mm:.2f}", f"{p.top_asked_mm:.3f}",
            "" if p.layer == "ring" else f"{p.offset_mm:.2f}", f"{p.mass_g:.2f}",
        )
        for p in tag.layers
    ]  # fmt: skip
    colours = [
        (f'<i style="background:{hex_of(c)}"></i>{escape(c)}', f"{v['mass_g']:.2f}", f"{v['filament_m']:.2f}")
        for c, v in found["colours"].items()
    ]
    minutes = count_of(round(found["print_minutes"]), "minute")
    todo = [
        f"Lay it flat with the base on the bed, layers of {tag.process.layer_height_mm:g} mm.",
        *(f"Change to {escape(told)}." for told in changes_told(tag)),
        f"About {minutes}, {tag.mass_g:.1f} g of {escape(tag.process.material)}.",
    ]
    if "material_cost" in found:
        todo.append(f"Material costs {found['material_cost']:.2f} at the given price.")
    strength = [
        f"Hold {found['hold']} of 100; narrowest neck of the base {found['neck_mm']:.2f} mm.",
        *found["reasons"],
        f"Ring bond {tag.ring.bond_mm:.2f} mm, {tag.ring.overlap_share:.0%} of its outside within the base;"
        f" {hang_text(tag.ring.tilt_deg)}.",
        *(pull_text(tag, force) for force in PULLS_N),
        "The pull is an estimate from the drawing for solid plastic; only a test of a printed tag tells.",
        f"Small-parts cylinder (16 CFR 1501.4, 1.25 × 2.25 in, longest line {LONGEST_MM:.2f} mm):"
        f" {found['small_parts_cylinder']}.",
    ]
    if found["closing_counters_mm"]:
        sizes = ", ".join(f"{c:.2f}" for c in found["closing_counters_mm"])
        strength.append(f"These openings of letters may close ({tag.process.least_gap_mm:g} mm needed): {sizes} mm.")
    if found["filled_pinholes"]:
        strength.append(f"Holes between letters too small to print open, filled: {found['filled_pinholes']}.")
    changes = found["changes"] or ["Nothing had to be changed."]
    licence = []
    if "sell" in found:
        licence.append(f"{sell(found['sell']).sentence} ({found['spdx'] or 'no licence named'})")
        licence += [f"Goes with the goods: {line}" for line in found["must_accompany"]]
    size = " × ".join(f"{v:.1f}" for v in tag.size_mm)
    return "\n".join([
        '<!doctype html><html lang="en"><head><meta charset="utf-8">',
        f"<title>{escape(tag.name)}: job sheet</title><style>{_STYLE}</style></head><body>",
        f'<h1 dir="auto">{escape(tag.name).replace(chr(10), "<br>")}</h1>',
        f"<p>{escape(tag.face)}, capitals {found['cap_height_mm']:.1f} mm, {escape(tag.process.name)}; {size} mm</p>",
        drawing or svg(preview(tag)),
        "<h2>Print</h2>", _list(todo),
        _table(("colour", "layer", "heights, mm", "asked, mm", "offset, mm", "g"), layers),
        _table(("colour", "g", f"metres of {FILAMENT_MM:g} mm filament"), colours),
        "<h2>What was changed</h2>", _list(changes, escaped=False),
        "<h2>Strength</h2>", _list(strength, escaped=False),
        *(["<h2>Licence of the font</h2>", _list(licence, escaped=False)] if licence else []),
        "<h2>Mind</h2>", _list(found["cautions"], escaped=False),
        f"<p class=small>Minutes: {escape(PRINT_MODEL)}. Masses are of solid plastic at"
        f" {tag.process.density_g_cm3:g} g/cm³.</p>",
        "</body></html>\n",
    ])  # fmt: skip


_STYLE = (
    "body{font:15px/1.45 Georgia,serif;color:#22313f;background:#fbfaf6;max-width:48rem;margin:2rem auto;padding:0 1em}"
    "h1{font-size:2rem;margin:0}h2{font-size:1rem;border-top:1px solid #22313f;padding-top:.4rem;margin:1.4rem 0 .3rem}"
    "svg{width:100%;height:auto;max-height:24rem}table{border-collapse:collapse;margin:.6rem 0}"
    "th,td{text-align:left;padding:.15rem 1rem .15rem 0;border-bottom:1px solid #c9cdd1}th{font-weight:normal}"
    "i{display:inline-block;width:1em;height:1em;margin-right:.5em;border:1px solid #22313f;vertical-align:-.15em}"
    "ul{margin:.2rem 0;padding-left:1.2rem}.small{font-size:.85em}@media print{body{margin:0}}"
)


def _list(items: Any, escaped: bool = True) -> str:
    return "<ul>" + "".join(f"<li>{i if escaped else escape(str(i))}</li>" for i in items) + "</ul>"


def _table(head: tuple[str, ...], rows: Any) -> str:
    lines = "".join("<tr>" + "".join(f"<td>{c}</td>" for c in row) + "</tr>" for row in rows)
    return "<table><tr>" + "".join(f"<th>{escape(h)}</th>" for h in head) + f"</tr>{lines}</table>"


def _rounded(value: Any) -> Any:
    if isinstance(value, float):
        return round(value, 4)
    if isinstance(value, dict):
        return {k: _rounded(v) for k, v in value.items()}
    if isinstance(value, list):
        return [_rounded(v) for v in value]
    return value
