"""The script Streamlit runs: navigation, the title block, and the view that was asked for.

One place (name, size, process, filters, faces) is kept a session and written to the address after every run.
"""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType

import streamlit as st

from catalogue.page import bar, links
from catalogue.page.server import current_shelf
from catalogue.page.views import licence, method, orders, ranking, scan, side_by_side, workbench
from catalogue.store.database import CatalogueError

VIEWS = (
    ("ranking", "Ranking", ranking),
    ("side-by-side", "Side by side", side_by_side),
    ("workbench", "Workbench", workbench),
    ("licence", "Licence", licence),
    ("orders", "Orders", orders),
    ("scan", "Scan", scan),
    ("method", "Method", method),
)
WITHOUT_CATALOGUE = ("scan", "method")


def page() -> None:
    """One run of the script."""
    st.set_page_config(page_title="letterhold", layout="wide", initial_sidebar_state="collapsed")
    bar.style()
    pages = {
        key: st.Page(_view(key, title, view), title=title, url_path=key, default=key == "ranking")
        for key, title, view in VIEWS
    }
    chosen = st.navigation(list(pages.values()), position="hidden")
    target = st.session_state.pop("goto", None)
    if target in pages and pages[target] != chosen:
        st.switch_page(pages[target], query_params=links.write(bar.place()))
    bar.doors(list(pages.values()))
    bar.turned_to(chosen.url_path)
    chosen.run()


def _view(key: str, title: str, view: ModuleType) -> Callable[[], None]:
    number = 1 + [k for k, _, _ in VIEWS].index(key)

    def show() -> None:
        with bar.sentences():
            shelf = current_shelf()
            trouble: CatalogueError | None = None
            try:
                count = len(shelf.faces)
            except CatalogueError as error:
                count, trouble = 0, error
            bar.arrive(shelf.groups() if count else None)
            bar.heading(title, number, len(VIEWS), count)
            if count or key in WITHOUT_CATALOGUE:
                view.show(shelf)
            else:
                bar.nothing_yet(shelf, trouble)
        bar.keep_address()

    show.__name__ = key.replace("-", "_")
    return show


if __name__ == "__main__":
    page()
