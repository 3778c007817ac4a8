"""Ranking: every face judged for the name, as one ruled line; the opened line is measured in full."""

from __future__ import annotations

from dataclasses import astuple

import streamlit as st

from catalogue import wording
from catalogue.page import bar, links
from catalogue.page.catalogue_view import Filters, Job, Listing, Shelf
from catalogue.page.parts import ROUTE, ledger
from catalogue.page.rows import row
from catalogue.wording import count_of

FIRST_ROWS = 50
SELL = {"": "all", "sellable": "● or ◐ may be sold"} | {k: v.signed for k, v in wording.SELL.items()}
LETTERS = {"": "all", "joined": "joined script", "separate": "separate letters"}
HOLDS = {0: "any"} | {least: f"{least} and more" for least in links.LEAST_HOLDS}


def show(shelf: Shelf) -> None:
    """The view."""
    _ledger_part(shelf)


@st.fragment
def _ledger_part(shelf: Shelf) -> None:
    with bar.sentences():
        job = bar.job_block()
        filters = _filters(shelf)
        bar.put(filters=filters)
        bar.tell_arrival()
        if job.name:
            _listed(shelf, job, filters)
        else:
            st.info("Type a name above: every face is ranked for it as you type.")
    bar.keep_address()
    if st.session_state.get("goto"):
        st.rerun()


def _listed(shelf: Shelf, job: Job, filters: Filters) -> None:
    listing = shelf.listing(job, filters)
    if not len(listing):
        _nothing(listing, job)
        return
    asked = bar.place()
    first = [row(k + 1, r, shelf.picture(r.face, job.name)) for k, r in enumerate(listing.lines(0, FIRST_ROWS))]
    ledger(
        {
            "key": repr((astuple(job), astuple(filters), shelf.stamp)), "query": links.query(job, filters),
            "total": len(listing), "rows": first, "chosen": list(asked.chosen), "offset": job.offset_mm,
            "route": ROUTE, "say": _say(listing, job), "open": asked.face,
        },
        key="ledger",
        go=_go,
    )  # fmt: skip
    _foot(listing)


def _go() -> None:
    asked = st.session_state.ledger.go
    if not isinstance(asked, dict):
        return
    face, to = asked.get("face"), asked.get("to")
    if not isinstance(face, int):
        return
    if to == "choose":
        others = tuple(i for i in bar.place().chosen if i != face)
        bar.put(chosen=((*others, face) if asked.get("on") else others)[-links.MOST_CHOSEN :])
    elif to in ("workbench", "licence"):
        bar.go(to, face=face)


def _filters(shelf: Shelf) -> Filters:
    now = bar.filters()
    groups = shelf.groups()
    for key, value in (
        ("w_sell", now.sell), ("w_letters", now.letters), ("w_hold", now.least_hold if now.least_hold in HOLDS else 0),
        ("w_group", now.group if now.group in groups else ""), ("w_family", now.family),
    ):  # fmt: skip
        bar.first(key, value)
    with st.container(key="filters", horizontal=True, vertical_alignment="bottom"):
        sell = st.selectbox("May it be sold", list(SELL), key="w_sell", format_func=SELL.__getitem__, width=170)
        letters = st.selectbox("Script", list(LETTERS), key="w_letters", format_func=LETTERS.__getitem__, width=160)
        hold = st.selectbox("Hold", list(HOLDS), key="w_hold", format_func=HOLDS.__getitem__, width=130)
        group = ""
        if groups:
            group = st.selectbox("Group", ["", *groups], key="w_group", format_func=lambda g: g or "all", width=190)
        family = st.text_input("Search by family", key="w_family", max_chars=80, live="200ms", width=200)
    return Filters(sell, group, letters, hold, family.strip())


def _say(listing: Listing, job: Job) -> str:
    count = len(listing)
    ranked = count_of(listing.ranked, "face")
    shown = f"{count} of {ranked}" if count != listing.ranked else ranked
    told = f"{shown} for “{job.name}”, {listing.holding} {'holds' if listing.holding == 1 else 'hold'} at this size"
    return f"{told}." if len(job.name.split()) < 2 else f"{told}, its words set as close as a tag needs them."


def _foot(listing: Listing) -> None:
    notes = [
        "Lengths in mm. ~ predicted from letter pairs (~? where the face draws letters otherwise in a word than in"
        " pairs); lines in view are measured when you pause, and their weak spots ringed. The order is that of the"
        " prediction."
    ]
    if not listing.predicted:
        notes = [
            "This name has letters outside the measured alphabet, so the first faces that have them were measured in"
            " full; open another line to measure it."
        ]
    if listing.lacking:
        notes.append(f"Left out: {count_of(listing.lacking, 'face')} without {' '.join(listing.lacking_letters[:12])}.")
    chosen = len(bar.place().chosen)
    st.caption(" ".join(notes))
    if chosen and st.button(f"Compare the {chosen} chosen side by side", key="compare"):
        bar.go("side-by-side")


def _nothing(listing: Listing, job: Job) -> None:
    if listing.ranked:
        st.info(
            f"Of {count_of(listing.ranked, 'face')} none passes these filters. Widen them: take Script or Hold back to"
            " all."
        )
    elif listing.lacking:
        letters = " ".join(listing.lacking_letters[:12])
        st.info(
            f"No face here can set “{job.name}”: all lack {letters}. Type it without, or scan fonts that have them."
        )
    else:
        st.info(f"No face can set “{job.name}” at this size. Give the size as the whole width, or scan other fonts.")
