"""The title block above every view, and the place it keeps: what the person asks, in the session and the address."""

from __future__ import annotations

import sys
import traceback
from collections.abc import Collection, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from html import escape
from typing import Any

import streamlit as st
from streamlit.errors import FragmentHandledException

from catalogue.judge.process import built_in
from catalogue.judge.request import Size
from catalogue.page import links
from catalogue.page.catalogue_view import Filters, Job, Shelf
from catalogue.page.links import SIZES, Place
from catalogue.page.parts import asset
from catalogue.store.database import Face
from catalogue.text import clean
from catalogue.wording import count_of


def style() -> None:
    """The page's own look; see ``assets/page.css``."""
    st.html(f"<style>{asset('page.css')}</style>")


@contextmanager
def sentences() -> Iterator[None]:
    """Whatever goes wrong inside becomes a sentence on the page; what is not ours to word goes to the terminal too.

    Every view stands in one; a fragment needs its own, since Streamlit shows what it raises before a view can catch it.
    """
    try:
        yield
    except ValueError as error:  # every error class of ours is a ValueError with a finished sentence
        st.error(f"{str(error).rstrip('.')}.")
    except OSError as error:
        what = (error.strerror or "cannot be read").lower()
        st.error(f"{error.filename or 'A file'}: {what}; check it and reload the page.")
    except FragmentHandledException:
        pass  # told inside the fragment
    except Exception as error:
        traceback.print_exc(file=sys.stderr)
        st.error(
            f"This view met something it does not know ({type(error).__name__}). Reload the page; your catalogue is as"
            " it was."
        )


def heading(title: str, number: int, of: int, faces: int) -> None:
    """The strip on top: what this is, which view, how many faces; as a drawing sheet says it."""
    count = f"{count_of(faces, 'face')} in the catalogue" if faces else "no face in the catalogue yet"
    st.html(
        f'<header class="lh-head"><h1><b>letterhold</b> {escape(title)}</h1><span>{count}</span>'
        f"<span>sheet {number} of {of}</span></header>"
    )


def arrive(groups: Collection[str] | None) -> None:
    """On the first run of a session: go where the address says. ``groups``: those of the catalogue, if there is one."""
    if "place" in st.session_state:
        return
    found, told = links.read_and_tell(st.query_params.to_dict(), built_in(), groups)
    st.session_state.place = found
    st.session_state.arrival = found, told


def doors(pages: Sequence[st.Page]) -> None:
    """A link to every view, in sight at every width: Streamlit's own bar shrinks to a sign without words on a phone."""
    with st.container(key="doors", horizontal=True):
        for one in pages:
            st.page_link(one)


def place() -> Place:
    """Where the person is."""
    arrive(None)
    found: Place = st.session_state.place
    return found


def tell_arrival() -> None:
    """What of the address was not understood, until the person asks something else."""
    came, told = st.session_state.get("arrival", (None, ""))
    if told and came is not None and (came.job, came.filters) == (place().job, place().filters):
        st.warning(told)


def put(**changes: Any) -> None:
    """Change fields of the place."""
    st.session_state.place = replace(place(), **changes)


def keep_address() -> None:
    """Write the place to the address, only when it differs."""
    wanted = links.write(place())
    if st.query_params.to_dict() != wanted:
        st.query_params.from_dict(wanted)


def go(view: str, **changes: Any) -> None:
    """Go to a view on the next run; for callbacks."""
    put(**changes)
    st.session_state.goto = view


def job_block(live: bool = True, lines: bool = False) -> Job:
    """Name, size, process and offset in the frame of a drawing sheet; returns what was last valid.

    ``lines``: whether the view sets a name in several lines.
    """
    asked = place().job
    first("w_name", asked.name)
    first("w_by", asked.size.kind)
    first("w_size", f"{asked.size.mm:g} mm")
    first("w_process", asked.process)
    first("w_offset", f"{asked.offset_mm:g} mm")
    with st.container(key="titleblock", horizontal=True, vertical_alignment="bottom"):
        label = f"Name on the tag; {links.LINE_MARK} starts a new line" if lines else "Name on the tag"
        name = st.text_input(label, key="w_name", max_chars=200, live="200ms" if live else False)
        by = st.selectbox("Size is that of the", list(SIZES), key="w_by", format_func=SIZES.__getitem__, width=150)
        size = st.text_input("Size, mm or in", key="w_size", width=110)
        process = st.selectbox("Process (nozzle, mm)", built_in(), key="w_process", width=150)
        offset = st.text_input("Base offset", key="w_offset", width=110)
    mm, grown = links.size_mm(size), links.offset_mm(offset)
    if mm is None:
        st.warning(
            f"“{clean(size, 30)}” is no size from {links.LEAST_SIZE_MM:g} to {links.MOST_SIZE_MM:g} mm; write it as"
            " 14mm or 0.55in."
        )
    if grown is None:
        st.warning(f"“{clean(offset, 30)}” is no offset up to {links.MOST_OFFSET_MM:g} mm; write it as 1mm or 0.04in.")
    job = Job(
        name.strip(),
        Size(by, asked.size.mm if mm is None else mm),
        process,
        asked.offset_mm if grown is None else grown,
    )
    put(job=job)
    if lines or links.LINE_MARK not in job.name:
        return job
    st.caption("Its lines are judged here one after the other; the workbench sets them under each other.")
    return links.in_one_line(job)


def filters() -> Filters:
    """The filters as they stand."""
    return place().filters


def face_picker(shelf: Shelf, label: str = "Face") -> Face | None:
    """A face by name, None until one is picked: none is opened that nobody asked for. Typing in the box searches."""
    by_id = {f.id: f for f in shelf.faces}
    asked = place().face
    if asked and asked not in by_id:
        st.warning(f"Face {asked} of this link is not in the catalogue. Pick another one.")
    opened = asked if asked in by_id else None
    first("w_face", opened)
    if st.session_state.w_face not in by_id or (opened and st.session_state.get("face_seen") != asked):
        st.session_state.w_face = opened
    order = sorted(by_id, key=lambda i: (by_id[i].title.casefold(), i))
    chosen: int | None = st.selectbox(
        label, order, index=None, key="w_face", format_func=lambda i: clean(by_id[i].title, 60),
        placeholder="Pick a face (type to search)",
    )  # fmt: skip
    st.session_state.face_seen = chosen
    put(face=chosen or 0)
    return None if chosen is None else by_id[chosen]


def pick_first(shelf: Shelf, what: str) -> None:
    """What to do while no face is picked; ``what`` it is needed for."""
    st.info(f"Pick a face first, to {what}: in the box above, or from the ranking.")
    job = place().job
    with st.container(horizontal=True):
        if st.button("Open the ranking", key="to_ranking"):
            go("ranking")
            st.rerun()
        if job.name and st.button(f"Take the best face for “{clean(job.name, 30)}”", key="take_best"):
            best = shelf.listing(links.in_one_line(job), filters()).lines(0, 1)
            if best:
                put(face=best[0].face.id)
                st.rerun()
            st.warning("No face passes the filters of the ranking; open it and widen them.")


def nothing_yet(shelf: Shelf, error: Exception | None) -> None:
    """The first thing to do when there is nothing to show."""
    from catalogue.page.markup import join, tag
    from catalogue.page.parts import sheet

    if error is not None and shelf.path.exists():
        st.error(f"{error}. Then reload the page.")
        return
    told = "The catalogue holds no measured face yet." if error is None else f"{error}."
    sheet(
        join([
            tag("h2", "Nothing to rank yet"),
            tag("p", told),
            tag("p", "First measure some fonts: open Scan above, point it at a folder with fonts or drop font files"
                     " there. They are read on this machine and never leave it."),
            tag("p", "To look around with openly licensed fonts first, run ", tag("b", "letterhold demo"),
                " in a terminal, then reload this page."),
        ]),
        key="nothing",
    )  # fmt: skip
    if st.button("Open Scan", key="open_scan"):
        go("scan")
        st.rerun()


def first(key: str, value: Any) -> None:
    """Give a widget its first value on this view."""
    if key not in st.session_state:
        st.session_state[key] = value


def remembered(key: str, value: Any) -> None:
    """The same, with what it stood at when the view was last left."""
    first(key, st.session_state.get("kept", {}).get(key, value))


def turned_to(view: str) -> None:
    """To be told at the start of a run. Streamlit forgets widgets of the view that was left; what they stood at is
    kept for ``remembered``, and those of the same name in the next view start from the place."""
    if st.session_state.get("shown") == view:
        return
    st.session_state.shown = view
    old = {str(k): v for k, v in st.session_state.items() if str(k).startswith("w_")}
    st.session_state.kept = st.session_state.get("kept", {}) | old
    for key in old:
        del st.session_state[key]
