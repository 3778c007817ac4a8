"""Picking one set of letters (a face) by name, and what to do while none is picked."""

from __future__ import annotations

import streamlit as st

from catalogue.page import session
from catalogue.page.catalogue_view import CatalogueView
from catalogue.store.face import Face
from catalogue.text import clean


def titled(faces: tuple[Face, ...]) -> dict[int, str]:
    """Face numbers with their titles, in the order of the titles."""
    return {f.id: clean(f.title, 60) for f in sorted(faces, key=lambda f: (f.title.casefold(), f.id))}


def face_box(view: CatalogueView, label: str = "Letters") -> Face | None:
    """A face by name, None until one is picked: none is opened that nobody asked for. Typing in the box searches."""
    titles = titled(view.faces)
    asked = session.place().face
    opened = asked if asked in titles else None
    session.first("w_face", opened)
    if st.session_state.w_face not in titles or (opened and st.session_state.get("face_seen") != asked):
        st.session_state.w_face = opened
    chosen: int | None = st.selectbox(
        label, list(titles), index=None, key="w_face", format_func=titles.__getitem__,
        placeholder="Pick letters (type to search)",
    )  # fmt: skip
    st.session_state.face_seen = chosen
    session.put(face=chosen or 0)
    return None if chosen is None else view.face(chosen)


def missing_face(view: CatalogueView) -> None:
    """What to do where the address names a face that is not there; empty where it is."""
    asked = session.place().face
    if asked and all(f.id != asked for f in view.faces):
        st.warning(f"Face {asked} of this link is not in the catalogue. Pick another one.")


def pick_first(view: CatalogueView, what: str) -> None:
    """What to do while no face is picked; ``what`` it is needed for."""
    st.info(f"Pick letters first, to {what}: in the box above, or from the list.")
    asked = session.place().asked
    with st.container(horizontal=True):
        if st.button("Open the list", key="to_choose"):
            session.go("choose")
            st.rerun()
        if asked.name.strip() and st.button(f"Take the best for “{clean(asked.name, 30)}”", key="take_best"):
            best = view.listing(asked, session.place().filters).lines(0, 1)
            if best:
                session.put(face=best[0].face.id)
                st.rerun()
            st.warning("Nothing passes the filters of the list; open it and widen them.")
