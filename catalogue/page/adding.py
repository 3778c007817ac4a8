"""Adding fonts: from a folder of this machine, by dropping, from an address; with the progress of the scan.

Used by the start page and by Fonts.
"""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from catalogue.page import dropped, runs, session
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.faults import FAULT, one_line, sentence
from catalogue.page.font_folders import Folder, below, counted, usual
from catalogue.page.parts import fault_box
from catalogue.page.runs import Run
from catalogue.text import clean
from catalogue.wording import count_of
from scanner.files import place_of
from scanner.workers.stores import check_address

WAYS = {"folder": "from a folder", "drop": "drop files", "more": "a path or an address"}
"""Where fonts can come from."""
KINDS = ["ttf", "otf", "ttc", "otc", "woff", "woff2"]


def ways(view: CatalogueView, busy: bool) -> None:
    """The ways to add fonts, one at a time; the address comes last."""
    way = st.segmented_control("Where they are", list(WAYS), key="w_way", default="folder", required=True,
                               format_func=WAYS.__getitem__, label_visibility="collapsed")  # fmt: skip
    {"folder": _folders, "drop": _dropping, "more": _address}[way or "folder"](view, busy)
    for line in st.session_state.pop("refused", []):
        st.warning(line)


def _dropping(view: CatalogueView, busy: bool) -> None:
    with st.form("drop_form", border=False, clear_on_submit=True):
        files = st.file_uploader(
            f"Drop font files here, up to {dropped.MOST_FILES} at once", type=KINDS, accept_multiple_files=True,
            key="w_drop",
        )  # fmt: skip
        if st.form_submit_button("Read the dropped files", disabled=busy):
            _scan_dropped(view, [(f.name, f.getvalue()) for f in files or []])


def _address(view: CatalogueView, busy: bool) -> None:
    with st.form("folder_form", border=False):
        given = st.text_input(
            "Path of a folder or font file on this machine, or the address of a store (s3://…)", key="w_folder"
        )
        if st.form_submit_button("Read it", disabled=busy):
            scan_place(view, given.strip())


@st.cache_data(max_entries=64, ttl=120, show_spinner=False)
def _counted(path: str) -> Folder:
    return counted(Path(path))


def _folders(view: CatalogueView, busy: bool) -> None:
    """The usual folders with their counts; any other one step by step."""
    at = st.session_state.get("folder_at")
    if at is None:
        found = [_counted(str(p)) for p in usual()[:-1]] + [Folder(Path.home(), 0, False)]
        words = {str(f.path): f.words for f in found if f.fonts} | {str(Path.home()): f"look in {Path.home()}"}
        chosen = st.radio("Folders of this machine", list(words), format_func=words.__getitem__, key="w_usual")
        path = Path(chosen)
        opened = path == Path.home()
    else:
        path, opened = Path(at), True
    with st.container(key="folder_doors", horizontal=True, vertical_alignment="bottom"):
        if opened:
            inside = {str(p): p.name for p in below(path)}
            step = st.selectbox(
                f"In {clean(str(path), 80)}", list(inside), index=None, format_func=inside.__getitem__,
                placeholder="open a folder", key=f"w_step_{path}", width=280,
            )  # fmt: skip
            if step:
                st.session_state.folder_at = step
                st.rerun()
            if at is not None and st.button("One up", key="folder_up"):
                st.session_state.folder_at = None if path.parent == path else str(path.parent)
                st.rerun()
        if at is not None and st.button("Back to the usual folders", key="folder_usual"):
            st.session_state.folder_at = None
            st.rerun()
        count = _counted(str(path)) if at is not None or not opened else None
        label = "Read these fonts" if count is None else f"Read {count_of(count.fonts, 'font file')} here"
        if (count is None or count.fonts) and st.button(label, key="read_folder", type="primary", disabled=busy):
            scan_place(view, str(path))


def scan_place(view: CatalogueView, text: str) -> None:
    """Scan a path or an address."""
    if not text:
        st.warning("Name a folder first, such as the one your system keeps its fonts in.")
        return
    place = place_of(text)
    if isinstance(place, str):
        check_address(place)  # before a list of processes could show a password
    else:
        place = place.expanduser()
        if not place.exists():
            st.warning(f"{clean(str(place), 120)} is not there; check the path, or drop the files instead.")
            return
    runs.scan(view.path, [place], f"the fonts in {place}")
    st.rerun()


def _scan_dropped(view: CatalogueView, files: list[tuple[str, bytes]]) -> None:
    if not files:
        st.warning("Drop or choose font files first.")
        return
    folder = dropped.folder_of(view.path)
    kept, refused = dropped.keep_fonts(files, folder)
    st.session_state.refused = refused
    if kept:
        runs.scan(view.path, [folder], count_of(len(kept), "dropped file"))
    st.rerun()


def progress(view: CatalogueView) -> None:
    """How far the scan is; a scan that has ended is reported once more on the whole page."""
    run = runs.last_scan(view.path)
    if run is not None:
        st.fragment(_progress, run_every=1.0 if run.running else None)(view)


def _progress(view: CatalogueView) -> None:
    with one_line():
        run = runs.last_scan(view.path)
        if run is None:
            return
        if run.running:
            share = run.done / run.total if run.total else 0.0
            done = f"{run.done} of {count_of(run.total, 'file')}" if run.total else "looking for fonts"
            st.progress(share, text=f"Reading {clean(run.label, 100)}: {done}")
            if st.button("Stop reading", key="stop_scan"):
                run.stop()
            st.session_state.watched = id(run)
            return
        if st.session_state.get("watched") == id(run):
            st.session_state.watched = None
            st.rerun()  # the whole view: buttons and counts are other ones now
        _outcome(run)


def _outcome(run: Run) -> None:
    if run.status in (0, 1) and isinstance(run.result, dict):
        r = run.result
        failed = f" {r['failed']} could not be measured; they are listed in Fonts." if r["failed"] else ""
        st.success(
            f"Done with {clean(run.label, 100)} in {r['seconds']:.0f} s: the catalogue holds"
            f" {count_of(r['faces'], 'face')} and {count_of(r['instances'], 'instance')}; unchanged:"
            f" {count_of(r['skipped_unchanged'], 'file')}.{failed}"
        )
        if st.button("Choose letters for a name", key="to_choose_after"):
            session.go("choose")
            st.rerun()
    elif run.fault:
        fault_box(FAULT, run.fault)
    elif run.trouble:
        st.warning(sentence(clean(run.trouble, 300)))
    else:
        st.warning("The scan was stopped. What was done is kept; read the folder again to go on.")
