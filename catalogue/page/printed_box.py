"""What became of a print: a box next to a finished tag, and how often each hold has held so far."""

from __future__ import annotations

import datetime
from typing import TYPE_CHECKING

import streamlit as st

from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.markup import Html, join, listed, table, tag
from catalogue.page.parts import sheet
from catalogue.tag.exports.facts import JobFacts
from catalogue.tag.printed import kept
from catalogue.tag.printed.outcome import MOST_WHERE, RESULTS, Outcome, Seen, outcome_of
from catalogue.tag.printed.report import against, levels_of
from catalogue.wording import count_of

if TYPE_CHECKING:
    from catalogue.tag.tag import Tag


def printed_box(view: CatalogueView, made: Tag) -> None:
    """A line that opens the box; nothing is kept before its button is pressed."""
    said = st.session_state.pop("printed_said", "")
    with st.expander("Printed it?", key="printed_box"):
        st.markdown("Say what became of it. It stays on this machine and changes no hold by itself.")
        result = st.radio("What became of it", list(RESULTS), key="w_result", format_func=RESULTS.__getitem__)
        where = st.text_input("Where", key="w_where", max_chars=MOST_WHERE, placeholder="at the r")
        if st.button("Keep it", key="keep_print", type="primary"):
            seen = Seen(result, where.strip(), datetime.date.today().isoformat())
            kept.add(view.path, outcome_of(JobFacts(made).as_json(), made.process, seen))
            st.session_state.printed_said = f"Kept: {made.name}, {RESULTS[result]}.".replace("\n", " ")
            st.rerun()
        found = kept.read(view.path)
        if found.outcomes:
            sheet(report(found.outcomes), key="printed_report")
    if said:
        st.success(said)


def report(outcomes: tuple[Outcome, ...]) -> Html:
    """How often each level of hold held."""
    levels = levels_of(outcomes)
    rows = [
        (level.words, str(level.printed), str(level.held), str(level.broke), str(level.closed),
         f"{level.interval.low:.0%} to {level.interval.high:.0%}")
        for level in reversed(levels) if level.printed
    ]  # fmt: skip
    caption = f"{count_of(len(outcomes), 'print')} so far; 95 % interval of the share that held (Wilson)"
    shown = table(caption, ("hold", "printed", "held", "broke", "closed", "share"), rows, (1, 2, 3, 4, 5))
    lines = against(levels)
    return join([shown, listed(lines) if lines else tag("p", "Nothing in these counts speaks against hold.")])
