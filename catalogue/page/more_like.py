"""Faces that look like one, with what they have in common and where they part."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import streamlit as st

from catalogue.page import session
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.markup import Html, join, listed, tag
from catalogue.page.parts import sheet
from catalogue.store.face import Face
from catalogue.text import clean

MOST = 3
"""Faces that are named."""


def reasons(found: Sequence[Mapping[str, Any]]) -> Html:
    """The faces most like one, nearest first, each with its reason; nothing when there is none.

    >>> reasons([{"family": "Anna", "style": "Bold", "alike": ["slant (9° from upright)"], "differs": []}])
    '<h3>More like this</h3><ul><li><b>Anna Bold</b>: alike in slant (9° from upright)</li></ul>'
    """
    if not found:
        return Html("")
    return join([tag("h3", "More like this"), listed(join([_title(row), _reason(row)]) for row in found)])


def _title(row: Mapping[str, Any]) -> Html:
    return tag("b", clean(f"{row['family']} {row['style']}".strip(), 60))


def _reason(row: Mapping[str, Any]) -> str:
    said = (("alike in", row["alike"]), ("it has", row["differs"]))
    parts = [f"{words} {', '.join(some)}" for words, some in said if some]
    return f": {'; '.join(parts)}" if parts else ""


def like_box(view: CatalogueView, face: Face) -> None:
    """What looks like a face, why, and a button to make the name in it."""
    found = view.likeness(face, MOST)
    if not found:
        return
    sheet(reasons(found), key="more_like")
    with st.container(key="like_doors", horizontal=True):
        for row in found:
            title = clean(f"{row['family']} {row['style']}".strip(), 40)
            if st.button(f"Make it in {title}", key=f"like_{row['face']}"):
                session.put(face=int(row["face"]))
                session.forget("w_face")
                st.rerun()
