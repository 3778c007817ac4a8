"""My printer: a plain question, a coupon to print, what came out of it, and the printers measured so far."""

from __future__ import annotations

from dataclasses import dataclass

import streamlit as st

from catalogue.errors import LetterholdError
from catalogue.judge.own_profiles import own_names, plain_name, remove_own
from catalogue.judge.process import Process, built_in, load_process, save_process
from catalogue.page import printers, session
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.desk import Desk
from catalogue.page.faults import sentence
from catalogue.page.markup import tag
from catalogue.page.parts import sheet
from catalogue.page.place import FIRST_PROCESS, request
from catalogue.tag.cautions import CAUTIONS
from catalogue.tag.coupon.reading import Printed, Reading, reading_of
from catalogue.tag.coupon.sizes import Sizes, size_text, sizes_for

DOWNLOADS = (
    ("coupon.3mf", "3MF", "model/3mf"), ("coupon.stl", "STL", "model/stl"),
    ("coupon.svg", "SVG drawing", "image/svg+xml"),
    ("coupon.html", "Sheet to print next to it", "text/html"),
)  # fmt: skip

QUESTIONS = (
    ("walls", "Which walls stand, solid, over their whole length?"),
    ("gaps", "Through which gaps does light pass, held against a lamp?"),
    ("holes", "Through which holes does light pass?"),
)


@dataclass(frozen=True, slots=True)
class Asked:
    """What the form holds."""

    name: str
    printed: Printed


def show(view: CatalogueView, desk: Desk) -> None:
    """The view."""
    said = st.session_state.pop("printer_said", "")
    if said:
        st.success(said)
    for line in printers.unreadable():
        st.warning(sentence(line))
    like = _like()
    left, right = st.columns([3, 2], gap="large")
    with left:
        _coupon(like)
    with right:
        _came_out(like)
    _own()
    sheet(printers.printers_table(), key="printers")
    sheet(tag("p", f"{CAUTIONS[0]} {CAUTIONS[5]}", class_="note"), key="printer_cautions")


# ── the question ────────────────────────────────────────────────────────────────────────────────────────────────────


def _like() -> Process:
    """The printer the form starts from: a nozzle, or one of the person's own that is being changed."""
    changed = st.session_state.get("printer_changed", "")
    if changed in own_names():
        with st.container(key="changed_line", horizontal=True, vertical_alignment="center"):
            st.markdown(f"Changing **{changed}**: its coupon and what came out so far.")
            if st.button("Measure another printer", key="anew"):
                st.session_state.printer_changed = ""
                st.rerun()
        return load_process(changed)
    session.first("w_nozzle", FIRST_PROCESS)
    nozzle = st.segmented_control(
        "Which nozzle is in your printer?", built_in(), key="w_nozzle", required=True,
        format_func=lambda name: printers.in_words(name).removesuffix(" nozzle"),
        help="The hole the plastic comes out of. Its size stands on the nozzle; most printers have 0.4 mm.",
    )  # fmt: skip
    return load_process(nozzle or FIRST_PROCESS)


# ── the coupon ──────────────────────────────────────────────────────────────────────────────────────────────────────


def _coupon(like: Process) -> None:
    sheet(tag("h2", "1. Print this coupon"), key="coupon_head")
    sheet(printers.coupon_sheet(like), key="coupon")
    with st.container(key="coupon_files", horizontal=True):
        for name, label, kind in DOWNLOADS:
            st.download_button(
                label, _file(like, name), f"{name.replace('coupon', f'coupon-{like.name}')}", kind, key=f"d_{name}",
                on_click="ignore", type="primary" if name == "coupon.3mf" else "secondary",
            )  # fmt: skip
    st.caption(
        f"Print it flat and solid, with the filament and settings of your tags, layers of {like.layer_height_mm:g} mm."
        f" Then bend the tabs at its edge, your eyes away from them: a tag's necks are {2 * like.line_width_mm:.2f} mm"
        " or more. If one as wide snaps at once, print slower or warmer first."
    )


def _file(like: Process, name: str) -> bytes:
    return printers.coupon_files(like)[name]


# ── what came out ───────────────────────────────────────────────────────────────────────────────────────────────────


def _came_out(like: Process) -> None:
    sheet(tag("h2", "2. Say what came out"), key="came_out_head")
    sizes = sizes_for(like)
    asked = _form(like, sizes)
    try:
        read = reading_of(plain_name(asked.name) if asked.name else "my-printer", like, asked.printed, sizes)
    except LetterholdError as error:
        st.warning(sentence(error))
        return
    sure = True
    if read.doubts:
        for line in read.doubts:
            st.warning(sentence(line))
        sure = st.checkbox("It is so: save it all the same", key=f"w_sure_{hash(read.doubts)}")
    if not asked.name:
        st.caption("Give it a name to save it.")
    ready = bool(asked.name) and sure
    if st.button("Save and use it", type="primary" if ready else "secondary", key="save", disabled=not ready):
        _save(read)


def _form(like: Process, sizes: Sizes) -> Asked:
    """The form, ticked first as the printer is taken to be."""
    steps = {"walls": sizes.walls_mm, "gaps": sizes.gaps_mm, "holes": sizes.holes_mm}
    least = {"walls": like.least_wall_mm, "gaps": like.least_gap_mm, "holes": like.opening_mm}
    ticked = {}
    for kind, question in QUESTIONS:
        key = f"w_{kind}_{like.name}"
        session.first(key, [mm for mm in steps[kind] if mm >= least[kind] - 1e-9])
        found = st.pills(question, steps[kind], selection_mode="multi", key=key, format_func=size_text)
        ticked[kind] = tuple(sorted(found))
    widest = sizes.walls_mm[-1]
    measured = st.number_input(
        f"What does the wall marked {size_text(widest)} measure, in mm?", 0.0, 9.0, None, 0.01,
        key=f"w_measured_{like.name}", format="%.2f", placeholder="not measured",
        help="With a caliper. Half of what it is off is how far your printer's outlines stray.",
    )  # fmt: skip
    name = st.text_input(
        "What do you call this printer?", "" if like.name in built_in() else like.name, max_chars=40,
        key=f"w_called_{like.name}", placeholder="workshop-left",
    )  # fmt: skip
    return Asked(name.strip(), Printed(ticked["walls"], ticked["gaps"], ticked["holes"], measured))


def _save(read: Reading) -> None:
    try:
        save_process(read.process)
    except LetterholdError as error:
        st.warning(sentence(error))
        return
    st.session_state.printer_changed = ""
    _use(read.process.name)
    st.session_state.printer_said = f"{read.process.name} is saved and in use: every name is now judged for it."
    st.rerun()


def _use(name: str) -> None:
    asked = session.place().asked
    session.put(asked=request(asked.text, asked.size, name, asked.base_offset_mm))


# ── one's own ───────────────────────────────────────────────────────────────────────────────────────────────────────


def _own() -> None:
    found = printers.own()
    sheet(tag("h2", "My printers"), key="own_head")
    if not found:
        st.caption("None yet. Until you measure one, names are judged by what is common for the nozzle.")
    used = session.place().asked.process.name
    for p in found:
        with st.container(key=f"own_{p.name}", horizontal=True, vertical_alignment="center"):
            st.markdown(f"**{p.name}**, {p.nozzle_mm:g} mm nozzle{', in use' if p.name == used else ''}")
            if p.name != used and st.button("Use it", key=f"use_{p.name}"):
                _use(p.name)
                st.rerun()
            if st.button("Change it", key=f"change_{p.name}"):
                st.session_state.printer_changed = p.name
                session.forget(*[str(k) for k in st.session_state if str(k).endswith(f"_{p.name}") and k[:2] == "w_"])
                st.rerun()
            if st.button("Remove it", key=f"remove_{p.name}"):
                remove_own(p.name)
                if p.name == used:
                    _use(FIRST_PROCESS)
                st.session_state.printer_said = f"{p.name} is removed."
                st.rerun()
