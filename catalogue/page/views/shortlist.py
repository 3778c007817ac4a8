"""Shortlist: faces kept over names and days, with notes; and the sheet from which a customer chooses."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

import streamlit as st

from catalogue.draw.picture import Scene, png, svg
from catalogue.errors import LetterholdError
from catalogue.page import drafts, filaments, making, price, session, title_block
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.customer_sheet import LETTERS, MOST_TAGS, Choice, pdf, sheet_scene
from catalogue.page.desk import Desk
from catalogue.page.faults import sentence
from catalogue.page.hanging import level
from catalogue.page.markup import Html, tag
from catalogue.page.parts import sheet
from catalogue.page.shortlist import MOST_NOTE, Kept, Shortlist, mark_of
from catalogue.text import clean

if TYPE_CHECKING:
    from catalogue.store.face import Face


def show(view: CatalogueView, desk: Desk) -> None:
    """The view."""
    title_block.name_box()
    session.show_arrival()
    kept = Shortlist(desk)
    entries = kept.entries()
    if not entries:
        st.info("Nothing is kept yet. Press “keep” on a line of the list or below a tag of the board, or “Keep on the"
                " shortlist” in Make.")  # fmt: skip
        if st.button("Open the list", key="to_choose"):
            session.go("choose")
            st.rerun()
        return
    by_mark = {mark_of(f): f for f in view.faces}
    left, right = st.columns([2, 3], gap="large")
    with left:
        ticked = _entries(kept, entries, by_mark)
    with right:
        _sheet(view, desk, ticked)


def _entries(kept: Shortlist, entries: Sequence[Kept], by_mark: dict[str, Face]) -> list[Face]:
    """The list with notes; the faces that are ticked for the sheet."""
    sheet(tag("h2", "Kept"), key="kept_head")
    ticked: list[Face] = []
    for place, one in enumerate(entries):
        face = by_mark.get(one.mark)
        with st.container(key=f"kept_{place}", horizontal=True, vertical_alignment="center"):
            title = clean(one.title, 50)
            if face is None:
                st.markdown(f"{_plain(title)} (not in this catalogue now)")
            elif st.checkbox(title, value=len(ticked) < MOST_TAGS, key=f"w_tick_{one.mark}"):
                ticked.append(face)
            note = st.text_input(
                f"Note to {title}", one.note, max_chars=MOST_NOTE, key=f"note_{one.mark}", width=200,
                label_visibility="collapsed", placeholder=f"note (kept for {clean(one.name, 14)})",
            )  # fmt: skip
            if note != one.note:
                kept.note(one.mark, note)
            if st.button("Remove", key=f"drop_{one.mark}"):
                kept.drop(one.mark)
                st.rerun()
    return ticked


def _plain(text: str) -> str:
    """Text that Markdown leaves as it is."""
    return "".join(f"\\{c}" if c in "\\`*_{}[]()#+-.!|<>~$:" else c for c in text)


def _sheet(view: CatalogueView, desk: Desk, faces: list[Face]) -> None:
    place = session.place()
    sheet(tag("h2", "Sheet for the customer"), key="sheet_head")
    if not place.asked.name.strip():
        st.info("Type a name above to see it in the letters that were kept.")
        return
    choices, made = _choices(view, desk, faces[:MOST_TAGS])
    if not choices:
        st.info("Tick at least one set of letters that holds.")
        return
    scene = sheet_scene(place.asked.name, choices, str(desk.read("shop", {}).get("name", "")))
    sheet(Html(f'<div class="paper">{svg(scene)}</div>'), key="customer_sheet")
    with st.container(key="sheet_doors", horizontal=True):
        st.download_button("Sheet as PDF", partial(pdf, scene), "choose.pdf", "application/pdf", key="sheet_pdf",
                           on_click="ignore", type="primary")  # fmt: skip
        st.download_button("Sheet as picture", partial(_png, scene), "choose.png", "image/png", key="sheet_png",
                           on_click="ignore")  # fmt: skip
        answer = st.segmented_control("The customer chose", list(LETTERS[: len(made)]), key="w_answer")
        if answer and st.button(f"Put {answer} into the orders", key="order_it"):
            drafts.add(desk, place, made[LETTERS.index(answer)])
            session.go("orders")
            st.rerun()


def _png(scene: Scene) -> bytes:
    return png(scene)


def _choices(view: CatalogueView, desk: Desk, faces: list[Face]) -> tuple[list[Choice], list[Face]]:
    """Tags that hold after the least change, and their faces; a line for each that does not."""
    place = session.place()
    own, found = filaments.filaments(desk), price.rates(desk)
    with_price = st.checkbox("Show the price", value=False, key="w_with_price")
    choices, made = [], []
    for face in faces:
        try:
            fit = making.proposal(view, face, place.asked)
            if not fit.holds:
                st.warning(f"{clean(face.title, 60)} does not hold this name, whatever is changed; it is left out.")
                continue
            ready = making.tag_of(view, face, fit, place.look)
        except LetterholdError as error:
            st.warning(sentence(error))
            continue
        note = f"{ready.size_mm[0]:.0f} by {ready.size_mm[1]:.0f} mm"
        if with_price:
            note += f", {price.quote(ready, own, found).words}"
        choices.append(Choice(level(ready), note))
        made.append(face)
    return choices, made
