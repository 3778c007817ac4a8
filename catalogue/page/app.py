"""The script Streamlit runs: navigation, the view that was asked for, and what surrounds it.

One place (request, filters, faces, levers, look) is kept a session, and written to the address after every run.
"""

from __future__ import annotations

from collections.abc import Callable
from types import ModuleType

import streamlit as st

from catalogue.errors import LetterholdError
from catalogue.page import frame, session
from catalogue.page.desk import desk_of
from catalogue.page.faults import one_line
from catalogue.page.server import current_view
from catalogue.page.views import (
    choose,
    fonts,
    help,
    licence,
    make,
    orders,
    printer,
    shop,
    shortlist,
    side_by_side,
    start,
)

VIEWS: dict[str, tuple[str, ModuleType]] = {
    "choose": ("Choose", choose),
    "side-by-side": ("Side by side", side_by_side),
    "shortlist": ("Shortlist", shortlist),
    "make": ("Make", make),
    "orders": ("Orders", orders),
    "fonts": ("Fonts", fonts),
    "shop": ("Shop", shop),
    "help": ("Help", help),
    "printer": ("My printer", printer),
    "licence": ("Licence", licence),
}
"""Views by address, with their names."""

INNER = ("printer", "licence")
"""Views without a door of their own: reached from where a printer or a face is spoken of."""

OLD = {"workbench": "make", "scan": "fonts", "method": "help", "ranking": "choose"}
"""Addresses of before: links outlive what they were made for."""

WITHOUT_CATALOGUE = ("fonts", "help", "shop", "printer")


def page() -> None:
    """One run of the script."""
    st.set_page_config(page_title="letterhold", layout="wide", initial_sidebar_state="collapsed")
    frame.style()
    pages = {
        key: st.Page(_shown(key, title, view), title=title, url_path=key, default=key == "choose")
        for key, (title, view) in VIEWS.items()
    }
    moved = {old: st.Page(_moved(new), title=VIEWS[new][0], url_path=old) for old, new in OLD.items()}
    chosen = st.navigation([*pages.values(), *moved.values()], position="hidden")
    target = st.session_state.pop("goto", None)
    if target in pages and pages[target] != chosen:
        st.switch_page(pages[target], query_params=st.query_params.to_dict() | frame.address())
    frame.doors([page for key, page in pages.items() if key not in INNER])
    session.turned_to(chosen.url_path)
    chosen.run()


def _shown(key: str, title: str, module: ModuleType) -> Callable[[], None]:
    def show() -> None:
        with one_line():
            view, desk = current_view(), desk_of(current_view().path)
            trouble = ""
            try:
                count = len(view.faces)
            except LetterholdError as error:
                count, trouble = 0, str(error)
            session.arrive(view.groups() if count else None, desk)
            frame.heading(title, key not in INNER)
            for notice in (desk.notices.pop() for _ in range(len(desk.notices))):
                st.warning(f"{notice}.")
            if count or key in WITHOUT_CATALOGUE:
                module.show(view, desk)
            else:
                start.show(view, desk, trouble)
            session.keep_address(desk)

    show.__name__ = key.replace("-", "_")
    return show


def _moved(new: str) -> Callable[[], None]:
    def move() -> None:
        st.session_state.goto = new
        st.rerun()

    move.__name__ = f"moved_to_{new}"
    return move


if __name__ == "__main__":
    page()
