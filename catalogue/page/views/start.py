"""Start: what a new person sees. A name at once in the demo fonts, or fonts of one's own."""

from __future__ import annotations

import streamlit as st

from catalogue.page import adding, runs, title_block
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.desk import Desk
from catalogue.page.faults import one_line, sentence
from catalogue.page.markup import Html, listed, tag
from catalogue.page.parts import asset, sheet
from scanner.installed import demo_folders

LEAD = (
    "Type a name. letterhold shows it in many kinds of letters, cut as one solid tag on a ring, and says which of them"
    " hold together when they are printed and whether you may sell them."
)


def show(view: CatalogueView, desk: Desk, trouble: str) -> None:
    """The view; ``trouble``: why there is nothing to show, empty where the catalogue is only empty."""
    if trouble and view.path.exists():
        st.warning(sentence(f"{trouble}; then reload the page"))
        return
    run = runs.last_scan(view.path)
    busy = run is not None and run.running
    welcome = tag("div", Html(asset("welcome.svg")), tag("p", LEAD, class_="lead"), class_="welcome-row")
    sheet(welcome, key="start_lead")
    title_block.name_box()
    folders = demo_folders()
    if folders and not busy:
        if st.button("Show it in the demo fonts", key="demo", type="primary"):
            runs.scan(view.path, folders, "the demo fonts")
            st.rerun()
        st.caption("Openly licensed fonts that came with the install; reading them takes about half a minute.")
    elif not folders:
        st.caption("The demo fonts are not installed; run: pip install 'letterhold[demo]'")
    adding.progress(view)
    if busy:
        st.fragment(_waiting, run_every=1.0)(view)
    sheet(tag("h2", "Or add fonts of your own"), key="start_own")
    adding.ways(view, busy)
    sheet(
        listed(["Everything stays on this machine: fonts, names and orders.",
                "Letters that fall apart are thickened, moved closer or given a wider outline until they hold."]),
        key="start_notes",
    )  # fmt: skip


def _waiting(view: CatalogueView) -> None:
    """As soon as the first fonts are measured the whole page shows them."""
    with one_line():
        run = runs.last_scan(view.path)
        if run is not None and run.done and view.path.exists() and view.faces:
            st.rerun(scope="app")
