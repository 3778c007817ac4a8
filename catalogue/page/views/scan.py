"""Scan: a folder or dropped font files into the catalogue, by the command in a process of its own."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from catalogue.page import bar, runs
from catalogue.page.catalogue_view import Shelf
from catalogue.page.markup import facts, join, listed, table, tag
from catalogue.page.parts import sheet
from catalogue.page.runs import Run
from catalogue.store.database import CatalogueError
from catalogue.text import clean
from catalogue.wording import count_of
from scanner.files import place_of
from scanner.workers.stores import check_address

MOST_FAILED = 60
KINDS = ["ttf", "otf", "ttc", "otc", "woff", "woff2"]


def show(shelf: Shelf) -> None:
    """The view."""
    run = runs.last_scan(shelf.path)
    busy = run is not None and run.running
    sheet(
        join([
            tag("h2", "Read fonts into the catalogue"),
            tag("p", "Fonts are read on this machine and never leave it; those of a store are fetched from its address."
                     " Unchanged files are skipped, so a second scan is quick."),
        ]),
        key="scan_head",
    )  # fmt: skip
    left, right = st.columns(2, gap="large")
    with left, st.form("folder_form", border=True):
        given = st.text_input(
            "Folder or font file on this machine, or the address of a store (s3://…)", key="w_folder",
            placeholder=str(_some_folder()),
        )  # fmt: skip
        if st.form_submit_button("Scan it", disabled=busy):
            _scan_place(shelf, given.strip())
    with right, st.form("drop_form", border=True, clear_on_submit=True):
        files = st.file_uploader(
            f"Or drop font files here, up to {runs.MOST_FILES} at once",
            type=KINDS,
            accept_multiple_files=True,
            key="w_drop",
        )
        if st.form_submit_button("Read the dropped files", disabled=busy):
            _scan_dropped(shelf, [(f.name, f.getvalue()) for f in files or []])
    for line in st.session_state.pop("refused", []):
        st.warning(line)
    _progress(shelf)
    _state(shelf)


def _some_folder() -> Path:
    return next(
        (p for p in (Path("/usr/share/fonts"), Path("/Library/Fonts"), Path("C:/Windows/Fonts")) if p.is_dir()),
        Path.home(),
    )


def _scan_place(shelf: Shelf, text: str) -> None:
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
    runs.scan(shelf.path, [place], f"the fonts in {place}")
    st.rerun()


def _scan_dropped(shelf: Shelf, files: list[tuple[str, bytes]]) -> None:
    if not files:
        st.warning("Drop or choose font files first.")
        return
    kept, refused = runs.keep_fonts(files, runs.dropped_folder(shelf.path))
    st.session_state.refused = refused
    if kept:
        runs.scan(shelf.path, [runs.dropped_folder(shelf.path)], count_of(len(kept), "dropped file"))
    st.rerun()


@st.fragment(run_every=1.0)
def _progress(shelf: Shelf) -> None:
    with bar.sentences():
        _progress_now(shelf)


def _progress_now(shelf: Shelf) -> None:
    run = runs.last_scan(shelf.path)
    if run is None:
        return
    if run.running:
        share = run.done / run.total if run.total else 0.0
        told = f"{run.done} of {count_of(run.total, 'file')}" if run.total else "looking for fonts"
        st.progress(share, text=f"Scanning {clean(run.label, 100)}: {told}")
        if st.button("Stop the scan", key="stop_scan"):
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
        failed = f" {r['failed']} could not be measured; they are listed below." if r["failed"] else ""
        st.success(
            f"Done with {clean(run.label, 100)} in {r['seconds']:.0f} s: the catalogue holds"
            f" {count_of(r['faces'], 'face')} and {count_of(r['instances'], 'instance')}; unchanged:"
            f" {count_of(r['skipped_unchanged'], 'file')}.{failed}"
        )
        if st.button("Open the ranking", key="to_ranking"):
            bar.go("ranking")
            st.rerun()
    elif run.told:
        st.error(f"{clean(run.told, 300)}.")
    else:
        st.warning("The scan was stopped. What was done is kept; scan again to go on.")


def _state(shelf: Shelf) -> None:
    try:
        faces, failed = shelf.faces, shelf.failed()
    except CatalogueError as error:
        sheet(
            tag("p", f"{error}." if shelf.path.exists() else "There is no catalogue yet; the first scan makes it."),
            key="scan_none",
        )
        return
    parts: list[object] = [
        tag("h2", "The catalogue"),
        facts([
            ("faces", len(faces)), ("families", len({f.family for f in faces})),
            ("files", len({f.path for f in faces})),
            ("could not be measured", len(failed)), ("kept in", clean(str(shelf.path), 200)),
        ]),
    ]  # fmt: skip
    if failed:
        rows = [(clean(Path(p).name, 80), clean(r, 200)) for p, r in failed[:MOST_FAILED]]
        parts += [tag("h3", "Not measured, and why"), table("Files and faces", ("file", "reason"), rows)]
        if len(failed) > MOST_FAILED:
            parts.append(listed([f"and {len(failed) - MOST_FAILED} more"]))
    sheet(join(parts), key="scan_state")
