"""Fonts: reading them in, what the catalogue holds, what could not be read, and which may be sold with."""

from __future__ import annotations

from pathlib import Path

import streamlit as st

from catalogue.page import adding, runs
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.desk import Desk
from catalogue.page.markup import facts, join, listed, table, tag
from catalogue.page.parts import sheet
from catalogue.store.database import CatalogueError
from catalogue.text import clean
from catalogue.wording import SELL, count_of, sell

MOST_FAILED = 60
MOST_LISTED = 300


def show(view: CatalogueView, desk: Desk) -> None:
    """The view."""
    run = runs.last_scan(view.path)
    busy = run is not None and run.running
    adding.progress(view)
    add, held, sold = st.tabs(["Add fonts", "The catalogue", "May they be sold"])
    with add:
        adding.ways(view, busy)
        st.caption("Fonts are read on this machine; those of a store are fetched from its address. Unchanged files are"
                   " skipped, so a second reading is quick.")  # fmt: skip
    with held:
        _held(view)
    with sold:
        _sold(view)


def _held(view: CatalogueView) -> None:
    try:
        faces, failed = view.faces, view.failed()
    except CatalogueError as error:
        said = f"{error}." if view.path.exists() else "There is no catalogue yet; the first fonts make it."
        sheet(tag("p", said), key="scan_none")
        return
    parts: list[object] = [
        facts([
            ("faces", len(faces)), ("families", len({f.family for f in faces})),
            ("files", len({f.path for f in faces})), ("could not be measured", len(failed)),
            ("kept in", clean(str(view.path), 200)),
        ]),
    ]  # fmt: skip
    if failed:
        rows = [(clean(Path(p).name, 80), clean(r, 200)) for p, r in failed[:MOST_FAILED]]
        parts += [
            tag("h2", "Not measured, and why"), table("Files and faces", ("file", "reason"), rows, stacked=True)
        ]  # fmt: skip
        if len(failed) > MOST_FAILED:
            parts.append(listed([f"and {len(failed) - MOST_FAILED} more"]))
    sheet(join(parts), key="scan_state")


def _sold(view: CatalogueView) -> None:
    from catalogue.licence.ledger import ledger_csv, row_of

    try:
        faces = [f for f in view.faces if not f.instance]
    except CatalogueError:
        return
    counts = view.verdicts()
    kinds = [k for k in SELL if counts.get(k)]
    with st.container(key="kinds"):
        chosen = st.radio(
            "Show", ["", *kinds], key="w_kind",
            format_func=lambda k: f"{SELL[k].signed}: {counts[k]}" if k else f"all: {sum(counts.values())}",
        )  # fmt: skip
    shown = [f for f in faces if not chosen or f.sell == chosen]
    st.download_button(
        "Download the list (.csv)", lambda: ledger_csv(map(row_of, shown)).encode(), "licence-ledger.csv", "text/csv",
        key="d_ledger", on_click="ignore",
    )  # fmt: skip
    rows = [
        (clean(f.title, 60), sell(f.sell).signed, clean(f.spdx, 60), clean(Path(f.path).name, 60))
        for f in sorted(shown, key=lambda f: f.title.casefold())[:MOST_LISTED]
    ]
    caption = f"{count_of(len(shown), 'face')}, named instances left out"
    sheet(table(caption, ("face", "verdict", "licence", "file"), rows, stacked=True), key="ledger_table")
    if len(shown) > MOST_LISTED:
        st.caption(f"The first {MOST_LISTED} are listed; the download has all {len(shown)}.")
