"""What is asked, above a view: the name, and behind one button its size and the printer."""

from __future__ import annotations

import streamlit as st

from catalogue.judge.request import Request, Size
from catalogue.page import links, printers, session
from catalogue.page.place import FIRST_PROCESS, SIZES, request
from catalogue.text import clean

MOST_CHARACTERS = 200


def name_box(live: bool = True, lines: bool = False) -> Request:
    """The name and its size; returns what was last valid. ``lines``: whether a second line can be typed."""
    asked = session.place().asked
    session.first("w_name", " ".join(asked.lines) if not lines else asked.lines[0])
    with st.container(key="titleblock", horizontal=True, vertical_alignment="bottom"):
        wait: str | bool = "200ms" if live else False
        name = st.text_input("Name on the tag", key="w_name", max_chars=MOST_CHARACTERS, live=wait)
        second = ""
        if lines:
            session.first("w_second", " ".join(asked.lines[1:]))
            second = st.text_input("Second line, if any", key="w_second", max_chars=MOST_CHARACTERS)
        elif len(asked.lines) > 1 and name == " ".join(asked.lines):
            name, second = asked.lines[0], " ".join(asked.lines[1:])  # not touched here: its lines stay
        with st.popover(_in_words(asked), key="size_button"):
            found = _size(asked, "\n".join(part.strip() for part in (name, second) if part.strip()))
    session.put(asked=found)
    return found


def _in_words(asked: Request) -> str:
    """Size and printer as the button says them."""
    return f"{SIZES[asked.size.kind]} {asked.size.mm:g} mm, {printers.in_words(asked.process.name)}".capitalize()


def _size(asked: Request, name: str) -> Request:
    session.first("w_by", asked.size.kind)
    session.first("w_size", f"{asked.size.mm:g} mm")
    session.first("w_process", asked.process.name)
    session.first("w_offset", f"{asked.base_offset_mm:g} mm")
    by = st.selectbox("Size is that of the", list(SIZES), key="w_by", format_func=SIZES.__getitem__)
    size = st.text_input("Size, mm or in", key="w_size")
    known = printers.names()
    if st.session_state.w_process not in known:  # removed since
        st.session_state.w_process = FIRST_PROCESS
    process = st.selectbox(
        "Printer", known, key="w_process", format_func=printers.in_words,
        help="The hole the plastic comes out of. Most printers have 0.4 mm; it is written on the nozzle.",
    )  # fmt: skip
    offset = st.text_input(
        "Outline around the letters", key="w_offset",
        help="How far the lowest layer reaches beyond the letters, all round. It is what holds them together.",
    )  # fmt: skip
    if st.button("Measure my own printer", key="to_printer"):
        session.go("printer")
        st.rerun()
    mm, grown = links.size_mm(size), links.offset_mm(offset)
    if mm is None:
        st.warning(
            f"“{clean(size, 30)}” is no size from {links.LEAST_SIZE_MM:g} to {links.MOST_SIZE_MM:g} mm; write it as"
            " 14mm or 0.55in."
        )
    if grown is None:
        st.warning(f"“{clean(offset, 30)}” is no outline up to {links.MOST_OFFSET_MM:g} mm; write it as 1mm or 0.04in.")
    return request(
        name, Size(by, asked.size.mm if mm is None else mm), process, asked.base_offset_mm if grown is None else grown
    )
