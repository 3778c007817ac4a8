"""Make: one name in one set of letters, its levers, the proposal, the finished tag and its files."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import TYPE_CHECKING

import streamlit as st

from catalogue.errors import LetterholdError
from catalogue.page import filaments, make_sheets, making, price, session, title_block
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.desk import Desk
from catalogue.page.face_box import face_box, missing_face, pick_first
from catalogue.page.faults import sentence
from catalogue.page.hanging import change_in_words
from catalogue.page.links import MOST_SIZE_MM, MOST_THICKEN_MM, MOST_TIGHTER_EM
from catalogue.page.markup import tag
from catalogue.page.mesh_data import mesh_data
from catalogue.page.more_like import like_box
from catalogue.page.parts import sheet, turnable
from catalogue.page.place import HAND_WORDS, LAYERS, RINGS, Hand, Look
from catalogue.page.printed_box import printed_box
from catalogue.page.shortlist import Shortlist, mark_of
from catalogue.tag.backing import BACKINGS

if TYPE_CHECKING:
    from catalogue.judge.request import Request
    from catalogue.store.face import Face
    from catalogue.tag.fit import Fit
    from catalogue.tag.tag import Tag

PARTS = ("base", "middle", "top")
DOWNLOADS = (
    ("tag.3mf", "3MF, bodies by colour", "model/3mf"),
    ("tag.stl", "STL, one body", "model/stl"),
    ("all.svg", "SVG, layers in colour", "image/svg+xml"),
    ("tag.dxf", "DXF, outlines in mm", "image/vnd.dxf"),
    ("preview.png", "PNG picture", "image/png"),
    ("job.html", "Job sheet", "text/html"),
    ("licence.zip", "Licence record", "application/zip"),
)


def show(view: CatalogueView, desk: Desk) -> None:
    """The view."""
    asked = title_block.name_box(live=False, lines=True)
    face = _top_line(view, desk, asked)
    session.show_arrival()
    if not asked.name.strip():
        st.info("Type a name above to make its tag.")
        return
    if face is None:
        pick_first(view, "make its tag")
        return
    _made(view, desk, asked, face)


def _made(view: CatalogueView, desk: Desk, asked: Request, face: Face) -> None:
    left, right = st.columns([3, 2], gap="medium")
    with right:
        head = st.container()
        hand, look = _levers(view, desk, face)
    session.put(hand=hand, look=look)
    fit = making.as_set(view, face, asked, hand)
    advice = making.proposal(view, face, asked, hand)
    made, trouble = None, ""
    if fit.holds:
        try:
            made = making.tag_of(view, face, fit, look)
        except LetterholdError as error:
            trouble = sentence(error)
    spots = fit.weak_spots()
    with left:
        sheet(make_sheets.from_above(fit, made, spots, face, look), key="plan")
        if made is not None:
            turnable(mesh_data(made, f"{fit.name} in {face.title}"), key="turn")
    with head:
        sheet(make_sheets.stamp(fit), key="stamp")
        _taking(fit, advice, asked, hand)
    with right:
        sheet(make_sheets.state(fit, made, spots, trouble), key="state")
    if made is not None:
        quote = price.quote(made, filaments.filaments(desk), price.rates(desk))
        _downloads((view.revision, face.id, asked, hand, look), made, face)
        printed_box(view, made)
        strength = making.strength_in_words(made)
        sheet(make_sheets.layers(made, view.stored_verdict(face), quote, strength), key="layers")
    else:
        st.info(
            trouble
            or "There is nothing to download yet: the tag has to hold first. Take the proposal, or move a lever."
        )
    sheet(make_sheets.proposal(fit, advice, asked.name), key="proposal")
    sheet(make_sheets.cautions(made), key="cautions")
    like_box(view, face)


def _top_line(view: CatalogueView, desk: Desk, asked: Request) -> Face | None:
    missing_face(view)
    with st.container(key="face_line", horizontal=True, vertical_alignment="bottom"):
        face = face_box(view)
        if face is None:
            return None
        if st.button("Read its licence", key="to_licence"):
            session.go("licence", face=face.id)
            st.rerun()
        kept = any(k.mark == mark_of(face) for k in Shortlist(desk).entries())
        if st.button("Keep it no longer" if kept else "Keep on the shortlist", key="keep"):
            Shortlist(desk).keep(face, asked.text, not kept)
            st.rerun()
    return face


def _levers(view: CatalogueView, desk: Desk, face: Face) -> tuple[Hand, Look]:
    hand, look = session.place().hand, session.place().look
    for key, value in (
        ("w_thicken", hand.thicken_mm), ("w_tracking", hand.tracking_em), ("w_ring", look.ring),
        ("w_layers", look.layers), *((f"w_colour_{part}", c) for part, c in zip(PARTS, look.colours, strict=True)),
    ):  # fmt: skip
        session.first(key, value)
    known = filaments.choices(filaments.filaments(desk), look.colours)
    with st.container(key="colours", horizontal=True, vertical_alignment="bottom"):
        chosen = [
            st.selectbox(
                f"{part.capitalize()} colour", list(known), key=f"w_colour_{part}", format_func=known.__getitem__,
                width=130,
            )
            for part in PARTS
        ]  # fmt: skip
    with st.container(key="levers", horizontal=True, vertical_alignment="bottom"):
        layers = st.selectbox("Layers", list(LAYERS), key="w_layers", format_func=LAYERS.__getitem__, width=145)
        ring = st.selectbox("Ring", list(RINGS), key="w_ring", width=130)
        thicken = st.number_input(
            "Thicker letters, mm", 0.0, MOST_THICKEN_MM, step=0.05, key="w_thicken", format="%.2f", width=145
        )
        tracking = st.number_input(
            "Letters closer, em", -MOST_TIGHTER_EM, 0.0, step=0.005, key="w_tracking", format="%.3f", width=145
        )
        weight = _weight(view, face, hand)
    hand = _single_places(replace(hand, thicken_mm=thicken, tracking_em=tracking, weight=weight))
    colours = (chosen[0], chosen[1], chosen[2])
    line, poor = filaments.contrast_line(colours, layers)
    if line:
        (st.warning if poor else st.caption)(line)
    return hand, Look(ring, layers, colours)


def _single_places(hand: Hand) -> Hand:
    """What stands behind the name, how far its lines are apart, and what may change at single places."""
    for key, value in (
        ("w_behind", hand.behind), ("w_by_hand", list(hand.by_hand)), ("w_lines", hand.line_spacing_mm)
    ):  # fmt: skip
        session.first(key, value)
    with st.container(key="places", horizontal=True, vertical_alignment="bottom"):
        behind = st.selectbox(
            "Behind the name", ["", *BACKINGS], key="w_behind", format_func=lambda k: k or "nothing", width=145
        )
        by_hand = st.multiselect(
            "Changed at single places", list(HAND_WORDS), key="w_by_hand", format_func=HAND_WORDS.__getitem__, width=290
        )
        spacing = hand.line_spacing_mm
        if len(session.place().asked.lines) > 1:
            spacing = st.number_input(
                "Line spacing, mm", 0.0, MOST_SIZE_MM, step=0.5, key="w_lines", help="0: as close as holds", width=145
            )
    return replace(hand, behind=behind, by_hand=tuple(by_hand), line_spacing_mm=spacing)


def _weight(view: CatalogueView, face: Face, hand: Hand) -> float | None:
    axis = making.weight_axis(view, face)
    if axis is None:
        return None
    least, now, most = axis
    key = f"w_weight_{face.id}"
    session.first(key, min(most, max(least, hand.weight if hand.weight is not None else now)))
    moved: float = st.slider("Weight", least, most, key=key, width=140, format="%.0f")
    return None if moved == now else moved


def _taking(fit: Fit, advice: Fit, asked: Request, hand: Hand) -> None:
    same = make_sheets.at_proposal(fit, advice)
    with st.container(key="levers_taken", horizontal=True):
        if not same:
            if advice.holds:
                words = change_in_words(advice)
                st.caption(f"It holds with: {words}." if words else "It holds without a change.")
            st.button(
                "Take the proposal", key="take", disabled=not advice.holds, type="primary",
                on_click=_taker(advice, asked),
            )  # fmt: skip
        if make_sheets.moved(hand):
            st.button("Levers back to nothing", key="back", on_click=_back)


def _taker(advice: Fit, asked: Request) -> Callable[[], None]:
    def take() -> None:
        setting = advice.setting
        st.session_state.w_thicken = round(setting.thicken_mm, 4)
        st.session_state.w_tracking = round(setting.tracking_em, 4)
        st.session_state.w_offset = f"{setting.base_offset_mm:.6g} mm"
        if any(c.lever == "cap height" for c in advice.changes):
            st.session_state.w_by = "cap-height"
            st.session_state.w_size = f"{advice.cap_height_mm:.6g} mm"

    return take


_HAND_KEYS = ("w_thicken", "w_tracking", "w_weight", "w_behind", "w_by_hand", "w_lines")


def _back() -> None:
    session.put(hand=Hand())
    session.forget(*[str(k) for k in st.session_state if str(k).startswith(_HAND_KEYS)])


def _downloads(key: object, made: Tag, face: Face) -> None:
    from catalogue.tag.orders import Order, folder_name

    stem = folder_name(Order(1, made.name.replace("\n", " ")[:40])) or "tag"

    def one(name: str) -> Callable[[], bytes]:
        return lambda: making.files_of(key, made, face)[name]

    def everything() -> bytes:
        return making.zipped(making.files_of(key, made, face))

    sheet(tag("h2", "Take away"), key="take_away")
    with st.container(key="downloads", horizontal=True):
        st.download_button(
            "Everything (.zip)", everything, f"{stem}.zip", "application/zip", key="d_all", on_click="ignore",
            type="primary",
        )  # fmt: skip
        for name, label, kind in DOWNLOADS:
            ending = name.rpartition(".")[2]
            file = name if name.startswith(("job", "licence")) else f"{stem}.{ending}"
            st.download_button(label, one(name), file, kind, key=f"d_{name}", on_click="ignore")
