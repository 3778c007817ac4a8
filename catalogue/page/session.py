"""The place of a session: what the person asks, kept over all views, in the address, and on disk until tomorrow."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace
from typing import Any

import streamlit as st

from catalogue.page import links, printers
from catalogue.page.desk import Desk
from catalogue.page.place import Place

LAST = "last-place"
"""Under which name the desk keeps the last address."""


def arrive(groups: Collection[str] | None, desk: Desk) -> None:
    """On the first run of a session: go where the address says; a bare one leads to where the last session was.

    ``groups``: those of the catalogue, if there is one.
    """
    if "place" in st.session_state:
        return
    given = st.query_params.to_dict()
    if not given:
        given = {str(k): str(v) for k, v in desk.read(LAST, {}).items()}
    found, notice = links.read_and_report(given, printers.names(), groups)
    st.session_state.place = found
    st.session_state.arrival = found, notice


def place() -> Place:
    """Where the person is."""
    found: Place = st.session_state.place
    return found


def put(**changes: Any) -> None:
    """Change fields of the place."""
    st.session_state.place = replace(place(), **changes)


def show_arrival() -> None:
    """What of the address was not understood, until the person asks something else."""
    came, notice = st.session_state.get("arrival", (None, ""))
    if notice and came is not None and (came.asked, came.filters) == (place().asked, place().filters):
        st.warning(notice)


def keep_address(desk: Desk) -> None:
    """Write the place to the address and to the desk, only when it differs."""
    wanted = links.write(place())
    if st.query_params.to_dict() != wanted:
        st.query_params.from_dict(wanted)
    if wanted.get("name") and st.session_state.get("kept_address") != wanted:
        st.session_state.kept_address = wanted
        desk.write_soon(LAST, wanted)


def go(view: str, **changes: Any) -> None:
    """Go to a view on the next run; for callbacks."""
    put(**changes)
    st.session_state.goto = view


def first(key: str, value: Any) -> None:
    """Give a widget its first value on this view."""
    if key not in st.session_state:
        st.session_state[key] = value


def forget(*keys: str) -> None:
    """Let widgets start from the place again on the next run."""
    for key in keys:
        st.session_state.pop(key, None)


def turned_to(view: str) -> None:
    """At the start of a run: widgets of another view start from the place again, also those of the same name."""
    if st.session_state.get("shown") == view:
        return
    st.session_state.shown = view
    forget(*[str(key) for key in st.session_state if str(key).startswith("w_")])
