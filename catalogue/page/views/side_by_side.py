"""Side by side: chosen faces on one millimetre scale and baseline, their measures below, differences marked."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import TYPE_CHECKING

import streamlit as st

from catalogue.errors import LetterholdError
from catalogue.page import session, title_block
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.comparison import comparison
from catalogue.page.desk import Desk
from catalogue.page.drawing import solid_of
from catalogue.page.face_box import titled
from catalogue.page.faults import sentence
from catalogue.page.parts import sheet
from catalogue.page.place import MOST_CHOSEN
from catalogue.page.shortlist import Shortlist
from catalogue.page.strips import strips
from catalogue.text import clean
from catalogue.wording import count_of, sell

if TYPE_CHECKING:
    from catalogue.judge.check import Check
    from catalogue.store.face import Face

Done = list[tuple["Face", "Check"]]


def show(view: CatalogueView, desk: Desk) -> None:
    """The view."""
    asked = title_block.name_box()
    chosen = _choose(view)
    session.show_arrival()
    if not asked.name.strip():
        st.info("Type a name above to compare it in the chosen faces.")
        return
    if not chosen:
        _none(view, desk)
        return
    done: Done = []
    for face in chosen:
        try:
            done.append((face, view.check(face, asked)))
        except LetterholdError as error:
            st.warning(sentence(error))
    if done:
        _compared(view, chosen, done)


def _none(view: CatalogueView, desk: Desk) -> None:
    st.info("Choose faces in the box above, or tick them in the list; up to eight stand side by side here.")
    place = session.place()
    kept = Shortlist(desk).numbers(view.faces)[:MOST_CHOSEN]
    with st.container(horizontal=True):
        if st.button("Take the first three of the list", key="first_three"):
            lines = view.listing(place.asked, place.filters).lines(0, 3)
            _take(tuple(line.face.id for line in lines))
        if kept and st.button("Take the shortlist", key="take_shortlist"):
            _take(tuple(kept))


def _take(chosen: tuple[int, ...]) -> None:
    session.put(chosen=chosen)
    session.forget("w_faces")
    st.rerun()


def _compared(view: CatalogueView, chosen: Sequence[Face], done: Done) -> None:
    place = session.place()
    names = [clean(f.title, 50) for f, _ in done]
    label = f"{place.asked.name} in {', '.join(names)}, on one scale and baseline"
    solids = [(n, solid_of(c, place.look)) for n, (_, c) in zip(names, done, strict=True)]
    left, right = st.columns([2, 3], gap="medium")
    with left:
        sheet(strips(solids, label), key="strips")
    with right:
        sheet(comparison(done), key="measures")
    with st.container(key="compare_doors", horizontal=True):
        if len(chosen) <= MOST_CHOSEN - 2 and st.button(
            f"Add two that look like {clean(chosen[0].title, 40)}", key="like"
        ):
            _add_like(view, chosen)
        for kind, mime in (("SVG", "image/svg+xml"), ("PNG", "image/png")):
            st.download_button(
                f"Sheet as {kind}", partial(_sheet_file, done, kind), f"side-by-side.{kind.lower()}", mime,
                key=f"sheet_{kind}", on_click="ignore",
            )  # fmt: skip
        for face, _ in done:
            if st.button(f"Make it in {clean(face.title, 40)}", key=f"make_{face.id}"):
                session.go("make", face=face.id)
                st.rerun()


def _sheet_file(done: Done, kind: str) -> bytes:
    """The sheet that ``letterhold compare --picture`` writes, to keep or to send."""
    from catalogue.draw.compare import compare_scene, strip_of
    from catalogue.draw.picture import png, svg

    scene = compare_scene([strip_of(check, face, sell(face.sell).answer) for face, check in done])
    return png(scene) if kind == "PNG" else svg(scene).encode()


def _add_like(view: CatalogueView, chosen: Sequence[Face]) -> None:
    there = [f.id for f in chosen]
    found = [f.id for f in view.like(chosen[0], 12) if f.id not in there and f.family != chosen[0].family][:2]
    if not found:
        st.warning(f"Nothing in the catalogue looks like {clean(chosen[0].title)}; add more fonts.")
        return
    _take((*there, *found))


def _choose(view: CatalogueView) -> list[Face]:
    titles = titled(view.faces)
    place = session.place()
    gone = [i for i in place.chosen if i not in titles]
    if gone:
        verb = "is not in the catalogue and is" if len(gone) == 1 else "are not in the catalogue and are"
        st.warning(f"{count_of(len(gone), 'face')} of this link {verb} left out.")
    session.first("w_faces", [i for i in place.chosen if i in titles])
    picked = st.multiselect(
        "Faces to compare (type to search)", list(titles), key="w_faces", format_func=titles.__getitem__,
        max_selections=MOST_CHOSEN, placeholder="Choose faces",
    )  # fmt: skip
    session.put(chosen=tuple(picked))
    return [view.face(i) for i in picked]
