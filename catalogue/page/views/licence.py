"""Licence: the verdict of one face with its quotes, what to print with the goods, and the record to keep."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import streamlit as st

from catalogue.errors import LetterholdError
from catalogue.page import session
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.desk import Desk
from catalogue.page.face_box import face_box, pick_first
from catalogue.page.given_text import ENDINGS, MOST_PASTED, GivenText, given_text, judge_with, record_with
from catalogue.page.markup import Html, facts, join, listed, table, tag
from catalogue.page.parts import sheet
from catalogue.permission import MAY_BE_SOLD
from catalogue.text import clean
from catalogue.wording import sell

if TYPE_CHECKING:
    from catalogue.licence.verdict import Verdict
    from catalogue.store.face import Face

QUOTE_HEAD = ("no.", "where", "quote", "as read, it …")
ALTER = {"yes": "yes", "ask": "ask the owner", "no": "no", "unknown": "nothing found"}


def show(view: CatalogueView, desk: Desk) -> None:
    """The view."""
    face = face_box(view, "Letters whose licence to read")
    session.show_arrival()
    if face is None:
        pick_first(view, "read its licence")
    else:
        _one(view, face)


def _one(view: CatalogueView, face: Face) -> None:
    verdict, gone = _judged(face)
    if verdict is None:
        st.warning(f"{gone}. What the scan found is shown; the record needs the font file.")
        sheet(stored_words(face, view.stored_verdict(face)), key="stored")
        return
    place = st.container()
    given = _given(face)
    if given is not None:
        try:
            font = _near(face)
            verdict = _judge_given(str(font), face.face_index, font.stat().st_mtime_ns, given)
        except ValueError as error:
            st.warning(str(error))
            given = None
    with place:
        sheet(words(face, verdict), key="verdict")
    note = st.text_input("Note for the record (order, shop, use)", key="w_note", max_chars=500)
    st.download_button(
        "Download the licence record (.zip)", lambda: _record(face, given, note), f"licence-{face.id}.zip",
        "application/zip", key="d_record", on_click="ignore", type="primary",
    )  # fmt: skip
    st.caption(
        "The record keeps verdict, quotes, the quoted files and their checksums with today's date, to show later what"
        " was found and when."
    )


@st.cache_data(max_entries=64, ttl=600, show_spinner=False)
def _judge(path: str, index: int, stamp: int) -> Verdict:
    from catalogue.licence.verdict import judge_font

    return judge_font(Path(path), index, None)


@st.cache_data(max_entries=64, ttl=600, show_spinner=False)
def _judge_given(path: str, index: int, stamp: int, given: GivenText) -> Verdict:
    return judge_with(Path(path), index, given)


@st.cache_data(max_entries=64, ttl=600, show_spinner=False)
def _kept(path: str, digest: str, _face: Face) -> Path:
    from catalogue.store.font_cache import font_with_notices

    return font_with_notices(_face)


def _near(face: Face) -> Path:
    """The font on this machine; a page is drawn again at every touch, so a store is asked now and then only."""
    return _kept(face.path, face.digest, face)


def _judged(face: Face) -> tuple[Verdict | None, str]:
    try:
        font = _near(face)
        return _judge(str(font), face.face_index, font.stat().st_mtime_ns), ""
    except OSError:
        return None, f"{Path(face.path).name} is gone or unreadable since the scan; scan its folder again"
    except LetterholdError as error:
        return None, str(error)


def words(face: Face, verdict: Verdict) -> Html:
    """Everything found, with its places."""
    from catalogue.licence.card import card
    from catalogue.licence.verdict import CAUTION, place_of, said

    kind = "good" if verdict.verdict in MAY_BE_SOLD else "bad"
    parts: list[object] = [
        tag("h2", clean(face.title, 80)),
        tag("p", tag("span", sell(verdict.verdict).signed, class_=f"stamp {kind}")),
        facts([
            ("licence", verdict.spdx or "none recognised"),
            ("outlines may be thickened or offset", ALTER.get(verdict.may_alter_outlines, verdict.may_alter_outlines)),
            ("reserved font names", ", ".join(clean(n, 60) for n in verdict.reserved_font_names) or "none"),
            ("rules", f"version {verdict.rules_version}"),
            ("file", clean(Path(face.path).name, 80)),
        ]),
        tag("h3", "Why"), listed(verdict.reasons),
    ]  # fmt: skip
    if verdict.conflicts:
        parts += [tag("h3", "What contradicts"), listed(tag("span", c, class_="bad") for c in verdict.conflicts)]
    parts += [tag("h3", "What to print on the card or in the listing"), tag("pre", card(verdict))]
    rows = [
        (f"[{k}]", place_of(e), tag("blockquote", clean(e.quote, 600) or "–"), clean(said(e), 200))
        for k, e in enumerate(verdict.evidence, 1)
    ]
    parts += [
        tag("h3", "Quotes"),
        table("Every statement found, where it stands, and how it was read", QUOTE_HEAD, rows, stacked=True)
        if rows
        else tag("p", "No statement about a licence was found in the font or next to it. Ask who gave you the font."),
        tag("p", CAUTION, class_="note"),
    ]  # fmt: skip
    return join(parts)


def stored_words(face: Face, verdict: dict[str, Any]) -> Html:
    """The verdict as the scan kept it."""
    return join([
        tag("h2", clean(face.title, 80)), tag("p", tag("span", sell(verdict.get("verdict")).signed, class_="stamp")),
        listed(verdict.get("reasons", [])),
    ])  # fmt: skip


def _given(face: Face) -> GivenText | None:
    with st.expander("Did a licence text come with the font?"):
        dropped = st.file_uploader("Drop its file here", type=list(ENDINGS), key=f"w_given_file_{face.id}")
        pasted = st.text_area("or paste the text", key=f"w_given_{face.id}", max_chars=MOST_PASTED)
        st.caption(
            "It counts like a text next to the font, and the record keeps it as given by you, with today's date."
        )
    return given_text(dropped.name if dropped else "", dropped.getvalue() if dropped else None, pasted)


def _record(face: Face, given: GivenText | None, note: str) -> bytes:
    from catalogue.licence.looked import Looked, now

    return record_with(_near(face), face.face_index, given, Looked(now(), note))
