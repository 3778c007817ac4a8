"""The job sheet as one HTML page: what to print, in which colours, how heavy, how long, and what to mind.

No date is in it, so the same tag gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Iterable
from html import escape

from catalogue.draw.picture import svg
from catalogue.tag.colours import hex_of
from catalogue.tag.exports.facts import JobFacts, Sale
from catalogue.tag.exports.hanging import hanging
from catalogue.tag.printing import FILAMENT_MM, PRINT_MODEL
from catalogue.tag.ring import hang_text
from catalogue.tag.small_parts import LONGEST_MM
from catalogue.tag.strength import strength_lines
from catalogue.wording import count_of, sell


def html(facts: JobFacts, drawing: str) -> str:
    """The page: self-contained, ``drawing`` (the preview as SVG) and how it hangs in it, no script."""
    tag = facts.tag
    size = " × ".join(f"{v:.1f}" for v in tag.size_mm)
    licence = _licence(facts.sale)
    return "\n".join([
        '<!doctype html><html lang="en"><head><meta charset="utf-8">',
        f"<title>{escape(tag.name)}: job sheet</title><style>{_STYLE}</style></head><body>",
        f'<h1 dir="auto">{escape(tag.name).replace(chr(10), "<br>")}</h1>',
        f"<p>{escape(tag.face)}, {facts.capitals}, {escape(tag.process.name)};"
        f" {size} mm</p>",
        drawing,
        "<h2>Print</h2>", _list(_todo(facts)), _layers(facts), _colours(facts),
        "<h2>What was changed</h2>", _text_list(facts.changes or ["Nothing had to be changed."]),
        "<h2>How it hangs</h2>", f'<div class="small hangs">{svg(hanging(tag))}</div>',
        "<h2>Strength</h2>", _text_list(_strength(facts)),
        *(["<h2>Licence of the font</h2>", _text_list(licence)] if licence else []),
        "<h2>Mind</h2>", _text_list(facts.cautions),
        f"<p class=small>Minutes: {escape(PRINT_MODEL)}. Masses are of solid plastic at"
        f" {tag.process.density_g_cm3:g} g/cm³.</p>",
        "</body></html>\n",
    ])  # fmt: skip


def _todo(facts: JobFacts) -> list[str]:
    tag = facts.tag
    minutes = count_of(round(tag.print_minutes), "minute")
    lines = [
        f"Lay it flat with the base on the bed, layers of {tag.process.layer_height_mm:g} mm.",
        *(f"Change to {escape(line)}." for line in tag.change_lines),
        f"About {minutes}, {tag.mass_g:.1f} g of {escape(tag.process.material)}.",
    ]
    if facts.material_cost is not None:
        lines.append(f"Material costs {facts.material_cost:.2f} at the given price.")
    return lines


def _layers(facts: JobFacts) -> str:
    rows = [
        (
            _patch(p.colour), p.layer, f"{p.bottom_mm:.2f} to {p.top_mm:.2f}", f"{p.top_asked_mm:.3f}",
            "" if p.layer == "ring" else f"{p.offset_mm:.2f}", f"{p.mass_g:.2f}",
        )
        for p in facts.tag.layers
    ]  # fmt: skip
    return _table(("colour", "layer", "heights, mm", "asked, mm", "offset, mm", "g"), rows)


def _colours(facts: JobFacts) -> str:
    rows = [(_patch(c.colour), f"{c.mass_g:.2f}", f"{c.filament_m:.2f}") for c in facts.colours]
    return _table(("colour", "g", f"metres of {FILAMENT_MM:g} mm filament"), rows)


def _patch(colour: str) -> str:
    return f'<i style="background:{hex_of(colour)}"></i>{escape(colour)}'


def _strength(facts: JobFacts) -> list[str]:
    tag = facts.tag
    fit, ring = tag.fit, tag.ring
    lines = [
        f"Hold {fit.hold.hold} of 100; narrowest neck of the base {fit.measured.neck_mm:.2f} mm.",
        *facts.reasons,
        f"Ring bond {ring.bond_mm:.2f} mm, {ring.overlap_share:.0%} of its outside within the base;"
        f" {hang_text(ring.tilt_deg)}.",
        *(strength_lines(facts.strength) if facts.strength else ()),
        f"Small-parts cylinder (16 CFR 1501.4, 1.25 × 2.25 in, longest line {LONGEST_MM:.2f} mm): {facts.small_parts}.",
    ]
    if fit.closing_counters_mm:
        sizes = ", ".join(f"{c:.2f}" for c in fit.closing_counters_mm)
        lines.append(f"These openings of letters may close ({tag.process.opening_mm:g} mm needed): {sizes} mm.")
    if fit.filled_pinholes:
        lines.append(f"Holes between letters too small to print open, filled: {fit.filled_pinholes}.")
    return lines


def _licence(sale: Sale | None) -> list[str]:
    if sale is None:
        return []
    lines = [f"{sell(sale.verdict).sentence} ({sale.spdx or 'no licence named'})"]
    return lines + [f"Goes with the goods: {line}" for line in sale.must_accompany]


_STYLE = (
    "body{font:15px/1.45 Georgia,serif;color:#22313f;background:#fbfaf6;max-width:48rem;margin:2rem auto;padding:0 1em}"
    "h1{font-size:2rem;margin:0}h2{font-size:1rem;border-top:1px solid #22313f;padding-top:.4rem;margin:1.4rem 0 .3rem}"
    "svg{width:100%;height:auto;max-height:24rem}.hangs svg{max-height:14rem}"
    "table{border-collapse:collapse;margin:.6rem 0}"
    "th,td{text-align:left;padding:.15rem 1rem .15rem 0;border-bottom:1px solid #c9cdd1}th{font-weight:normal}"
    "i{display:inline-block;width:1em;height:1em;margin-right:.5em;border:1px solid #22313f;vertical-align:-.15em}"
    "ul{margin:.2rem 0;padding-left:1.2rem}.small{font-size:.85em}@media print{body{margin:0}}"
)


def _list(items: Iterable[str]) -> str:
    """A list of HTML."""
    return "<ul>" + "".join(f"<li>{i}</li>" for i in items) + "</ul>"


def _text_list(items: Iterable[str]) -> str:
    """A list of plain text."""
    return _list(map(escape, items))


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = "".join("<tr>" + "".join(f"<td>{c}</td>" for c in row) + "</tr>" for row in rows)
    return "<table><tr>" + "".join(f"<th>{escape(h)}</th>" for h in head) + f"</tr>{lines}</table>"
