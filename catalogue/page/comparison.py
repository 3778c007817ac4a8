"""Measures of chosen faces as a table: one column a face, differences marked. Pure."""

from __future__ import annotations

import math
from collections.abc import Sequence

from catalogue.judge.check import Check
from catalogue.judge.letters import joined
from catalogue.page.markup import Html, join, table, tag
from catalogue.page.terms import term
from catalogue.store.face import Face
from catalogue.text import clean
from catalogue.wording import sell

MORE, LESS = 1, -1
"""Which value of a row is the better one."""

_YES, _NO = tag("span", "yes", class_="good"), tag("span", "no", class_="bad")


def comparison(done: Sequence[tuple[Face, Check]]) -> Html:
    """The table; the strongest and the weakest value of a row say so."""
    head = ["measure", *(f"{k}  {clean(f.title, 40)}" for k, (f, _) in enumerate(done, 1))]
    checks = [c for _, c in done]
    boxes = [c.regions[0].bounds for c in checks]
    layers = [c.layers[0] for c in checks]
    rows: list[list[object]] = [
        _row("hold, of 100", "hold", [float(c.hold.hold) for c in checks], "{:.0f}", MORE),
        ["holds", *(_YES if c.hold.holds else _NO for c in checks)],
        _row("pieces of the base", "", [float(base.pieces) for base in layers], "{:.0f}", LESS),
        _row("outline needed, mm", "join", [c.join_offset_mm for c in checks], "{:.2f}", LESS),
        _row("neck of the base, mm", "neck", [base.neck_mm for base in layers], "{:.2f}", MORE),
        _row("thinnest stroke, mm", "stroke", [c.thinnest_stroke_mm for c in checks], "{:.2f}", MORE),
        _row("median stroke, mm", "", [c.median_stroke_mm for c in checks], "{:.2f}"),
        _row("smallest hole in letters, mm", "counter", [c.smallest_counter_mm for c in checks], "{:.2f}", MORE),
        _row("weak spots", "", [float(len(c.weak_spots)) for c in checks], "{:.0f}", LESS),
        _row("width of the base, mm", "", [b[2] - b[0] for b in boxes], "{:.1f}"),
        _row("height of the base, mm", "", [b[3] - b[1] for b in boxes], "{:.1f}"),
        _row("area of the base, mm²", "", [base.area_mm2 for base in layers], "{:.0f}"),
        ["letters", *("joined" if joined(f) else "separate" for f, _ in done)],
        ["slant", *(f"{round(f.slant_deg)}°" for f, _ in done)],
        ["may it be sold", *(sell(f.sell).signed for f, _ in done)],
    ]
    if any(f.group for f, _ in done):
        rows.insert(-3, ["style group", *(clean(f.group, 40) or "–" for f, _ in done)])
    note = tag(
        "p", "▲ the strongest of a row, ▼ the weakest; rows in which no face is better have no mark.", class_="note"
    )
    return join(
        [tag("h2", "Measures"), table("Measured in full at this size", head, rows, tuple(range(1, len(head)))), note]
    )


def _row(label: str, key: str, values: Sequence[float | None], form: str, better: int = 0) -> list[object]:
    return [join([label, term(key)]) if key else label, *_marked(values, form, better)]


def _marked(values: Sequence[float | None], form: str, better: int) -> list[Html]:
    """Figures of one row; the best and the worst carry a mark and weight when they differ as printed."""
    words = ["–" if v is None or not math.isfinite(v) else form.format(v) for v in values]
    known = [v for v in values if v is not None and math.isfinite(v)]
    if not better or len(set(words)) < 2 or len(known) < 2:
        return [tag("span", w) for w in words]
    high, low = form.format(max(known)), form.format(min(known))
    best, worst = (high, low) if better == MORE else (low, high)
    return [
        tag("b", f"▲ {w}", class_="good")
        if w == best
        else tag("span", f"▼ {w}", class_="bad")
        if w == worst
        else tag("span", w)
        for w in words
    ]
