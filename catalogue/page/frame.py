"""What surrounds every view: the look, the links to all views, the heading."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape

import streamlit as st

from catalogue.page import links, session
from catalogue.page.parts import asset


def style() -> None:
    """The page's own look; see ``assets``."""
    st.html(f"<style>{asset('tokens.css')}{asset('page.css')}</style>")


def heading(title: str, has_door: bool = True) -> None:
    """Which view this is; on a small screen in sight only where no open door says it."""
    alone = "" if has_door else " lh-alone"
    st.html(f'<h1 class="lh-title{alone}">{escape(title)}</h1>')


def doors(pages: Sequence[st.Page]) -> None:
    """A link to every view, in sight at every width."""
    with st.container(key="doors", horizontal=True):
        st.html('<span class="lh-name">letterhold</span>')
        for one in pages:
            st.page_link(one)


def address() -> dict[str, str]:
    """The parameters of the place, once there is one."""
    return links.write(session.place()) if "place" in st.session_state else {}
