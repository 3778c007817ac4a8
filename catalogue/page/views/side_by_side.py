"""Side by side: chosen faces on one millimetre scale and baseline, their measures below, differences marked."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

import streamlit as st

from catalogue.judge.letters import joined
from catalogue.page import bar, links
from catalogue.page.catalogue_view import Shelf
from catalogue.page.drawing import solid_of, strips
from catalogue.page.markup import Html, join, table, tag
from catalogue.page.parts import sheet
from catalogue.text import clean
from catalogue.wording import count_of, sell

if TYPE_CHECKING:
    from catalogue.judge.check import Check
    from catalogue.store.database import Face

NARROW_MM, FEW = 50.0, 4
"""Width of the widest tag, and number of faces, up to which drawing and measures stand side by side."""


def show(shelf: Shelf) -> None:
    """The view."""
    job = bar.job_block()
    chosen = _choose(shelf)
    bar.tell_arrival()
    if not job.name:
        st.info("Type a name above to compare it in the chosen faces.")
        return
    if not chosen:
        st.info("Choose faces in the box above, or tick them in the ranking; up to eight stand side by side here.")
        if st.button("Take the first three of the ranking", key="first_three"):
            rows = shelf.listing(job, bar.filters()).lines(0, 3)
            bar.put(chosen=tuple(r.face.id for r in rows))
            del st.session_state["w_faces"]  # filled again from the place
            st.rerun()
        return
    done: list[tuple[Face, Check]] = []
    for face in chosen:
        try:
            done.append((face, shelf.check(face, job)))
        except ValueError as error:
            st.warning(f"{error}.")
    if not done:
        return
    names = [clean(f.title, 50) for f, _ in done]
    label = f"{job.name} in {', '.join(names)}, on one scale and baseline"
    drawing = strips([(n, solid_of(c)) for n, (_, c) in zip(names, done, strict=True)], label)
    widest = max(c.regions[0].bounds[2] - c.regions[0].bounds[0] for _, c in done)
    # Of short names the drawing is narrow: the measures stand beside it.
    beside = widest <= NARROW_MM and len(done) <= FEW
    left, right = st.columns([1, 2], gap="medium") if beside else (st.container(), st.container())
    with left:
        sheet(drawing, key="strips")
    with right:
        sheet(comparison(done), key="measures")
    with st.container(horizontal=True):
        if len(chosen) <= links.MOST_CHOSEN - 2 and st.button(
            f"Add two that look like {clean(chosen[0].title, 40)}", key="like"
        ):
            _add_like(shelf, chosen)
        for kind, mime in (("SVG", "image/svg+xml"), ("PNG", "image/png")):
            st.download_button(
                f"Sheet as {kind}", partial(_sheet_file, done, kind), f"side-by-side.{kind.lower()}", mime,
                key=f"sheet_{kind}", on_click="ignore",
            )  # fmt: skip
        for face, _ in done:
            if st.button(f"Workbench: {clean(face.title, 40)}", key=f"wb_{face.id}"):
                bar.go("workbench", face=face.id)
                st.rerun()


def _sheet_file(done: Sequence[tuple[Face, Check]], kind: str) -> bytes:
    """The sheet that ``letterhold compare --picture`` writes, to keep or to send."""
    from catalogue.draw.compare import compare_scene, strip_of
    from catalogue.draw.picture import png, svg

    scene = compare_scene([strip_of(check, face, sell(face.sell).answer) for face, check in done])
    return png(scene) if kind == "PNG" else svg(scene).encode()


def _add_like(shelf: Shelf, chosen: Sequence[Face]) -> None:
    there = [f.id for f in chosen]
    found = [f.id for f in shelf.like(chosen[0], 12) if f.id not in there and f.family != chosen[0].family][:2]
    if not found:
        st.warning(f"Nothing in the catalogue looks like {clean(chosen[0].title)}; scan more fonts.")
        return
    bar.put(chosen=(*there, *found))
    del st.session_state["w_faces"]  # filled again from the place
    st.rerun()


def _choose(shelf: Shelf) -> list[Face]:
    by_id = {f.id: f for f in shelf.faces}
    gone = [i for i in bar.place().chosen if i not in by_id]
    if gone:
        verb = "is not in the catalogue and is" if len(gone) == 1 else "are not in the catalogue and are"
        st.warning(f"{count_of(len(gone), 'face')} of this link {verb} left out.")
    bar.first("w_faces", [i for i in bar.place().chosen if i in by_id])
    order = sorted(by_id, key=lambda i: (by_id[i].title.casefold(), i))
    picked = st.multiselect(
        "Faces to compare (type to search)", order, key="w_faces", format_func=lambda i: clean(by_id[i].title, 60),
        max_selections=links.MOST_CHOSEN, placeholder="Choose faces",
    )  # fmt: skip
    bar.put(chosen=tuple(picked))
    return [by_id[i] for i in picked]


_YES, _NO = tag("span", "yes", class_="good"), tag("span", "no", class_="bad")


def comparison(done: Sequence[tuple[Face, Check]]) -> Html:
    """One column a face, one row a measure; the strongest and the weakest value of a row say so."""
    head = ["", *(f"{k}  {clean(f.title, 40)}" for k, (f, _) in enumerate(done, 1))]
    checks = [c for _, c in done]
    boxes = [c.regions[0].bounds for c in checks]
    rows = [
        ["hold, of 100", *_marked([float(c.hold.hold) for c in checks], "{:.0f}", more_is_better=True)],
        ["holds", *(_YES if c.hold.holds else _NO for c in checks)],
        ["pieces of the base", *_marked([float(c.layers[0].pieces) for c in checks], "{:.0f}", more_is_better=False)],
        ["join offset, mm", *_marked([c.join_offset_mm for c in checks], "{:.2f}", more_is_better=False)],
        ["neck of the base, mm", *_marked([c.layers[0].neck_mm for c in checks], "{:.2f}", more_is_better=True)],
        ["thinnest stroke, mm", *_marked([c.thinnest_stroke_mm for c in checks], "{:.2f}", more_is_better=True)],
        ["median stroke, mm", *_marked([c.median_stroke_mm for c in checks], "{:.2f}", more_is_better=None)],
        ["smallest counter, mm", *_marked([c.smallest_counter_mm for c in checks], "{:.2f}", more_is_better=True)],
        ["weak spots", *_marked([float(len(c.weak_spots)) for c in checks], "{:.0f}", more_is_better=False)],
        ["width of the base, mm", *_marked([b[2] - b[0] for b in boxes], "{:.1f}", None)],
        ["height of the base, mm", *_marked([b[3] - b[1] for b in boxes], "{:.1f}", None)],
        ["area of the base, mm²", *_marked([c.layers[0].area_mm2 for c in checks], "{:.0f}", None)],
        ["letters", *("joined" if joined(f) else "separate" for f, _ in done)],
        ["slant", *(f"{round(f.slant_deg)}°" for f, _ in done)],
        ["may it be sold", *(sell(f.sell).signed for f, _ in done)],
    ]  # fmt: skip
    if any(f.group for f, _ in done):
        rows.insert(-3, ["style group", *(clean(f.group, 40) or "–" for f, _ in done)])
    note = tag(
        "p", "▲ the strongest of a row, ▼ the weakest; rows in which no face is better have no mark.", class_="note"
    )
    return join(
        [tag("h2", "Measures"), table("Measured in full at this size", head, rows, tuple(range(1, len(head)))), note]
    )


def _marked(values: Sequence[float | None], form: str, more_is_better: bool | None) -> list[Html]:
    """Figures of one row; the best and the worst carry a mark and weight when they differ as printed."""
    words = ["–" if v is None else form.format(v) for v in values]
    known = [v for v in values if v is not None]
    if more_is_better is None or len(set(words)) < 2 or len(known) < 2:
        return [tag("span", w) for w in words]
    high, low = form.format(max(known)), form.format(min(known))
    best, worst = (high, low) if more_is_better else (low, high)
    return [
        tag("b", f"▲ {w}", class_="good")
        if w == best
        else tag("span", f"▼ {w}", class_="bad")
        if w == worst
        else tag("span", w)
        for w in words
    ]
