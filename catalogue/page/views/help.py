"""Help: what each number means, where it comes from, what it cannot say."""

from __future__ import annotations

from collections.abc import Iterator

import streamlit as st

from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.desk import Desk
from catalogue.page.markup import Html, join, listed, table, tag
from catalogue.page.parts import sheet
from catalogue.page.terms import TERMS, drawing
from catalogue.wording import SELL

MEASURES = (
    ("hold", "0 to 100: how surely the name stays in one piece and reads well. It starts at 100 and loses points where"
             " a margin is small: up to 25 for the join, 25 for the neck, 20 for thin strokes, 10 for holes in letters."
             " What comes apart loses the points of the neck as well, and all at twice the offset; what breaks the hold"
             " also takes the points above 49, the most that a name which does not hold can have.", "our own scale"),
    ("predicted", "A hold worked out from the stored gaps of letter pairs. Lines in view are measured when you pause,"
                  " and the measurement replaces it; the order stays. A rough guess marks letters that are drawn"
                  " otherwise in a word than in pairs.", "our own"),
    ("outline needed", "The smallest outward offset that makes the letters one piece: half the longest gap on the"
                       " shortest chain that links all pieces.", "minimum spanning tree of the pieces, exact on the"
                       " outlines"),
    ("neck", "The narrowest width through which a letter of the base hangs on to the rest. Two laid lines are the"
             " least, four are ample.", "common practice, no published source"),
    ("thinnest stroke", "The 5th percentile of the stroke widths across the name's centre line, ends left out.",
     "medial axis of the outline"),
    ("smallest hole", "The widest disc that fits the smallest hole of a letter. Below the least gap it may close.",
     "least gap 0.5 mm at a 0.4 mm nozzle: common design tables"),
    ("layers", "Base, middle and top: the letters at three outlines, up to 2.794, 4.572 and 6.350 mm above the bed"
               " (0.11, 0.18 and 0.25 in), rounded to whole printed layers.", "common practice, no published source"),
    ("ring", "7.62 mm outside, 3.81 mm hole, 2.032 mm high. Its bond is the material that joins it to the base.",
     "common practice, no published source"),
    ("may it be sold", "What the font and the files next to it say about goods made with it, weighed by written rules."
                       " A yes needs every sentence understood.", "quotes in the licence view"),
)  # fmt: skip

CANNOT = (
    "Hold is worked out from the drawing. It knows nothing of warped plastic, a wet filament or a worn nozzle.",
    "A prediction comes from letter pairs: ligatures and letters that change their form in a word are measured only"
    " when a line is opened or comes to rest in view.",
    "The sell verdict is evidence, not legal advice. It may miss what is written somewhere else, and trade marks and"
    " names of persons are another matter.",
    "Sizes are those of the model; printed plastic comes out a few hundredths wider or narrower.",
)

KEYS = (
    "In the list: arrow keys, Page Up and Down, Home and End move; Enter opens a line, Escape closes it; S sets it side"
    " by side, K keeps it on the shortlist.",
    "Everywhere: Tab moves on, Shift and Tab back; what has the focus is framed.",
)


def show(view: CatalogueView, desk: Desk) -> None:
    """The view."""
    sheet(join(_text()), key="help")
    st.caption(
        "Everything is worked out on this machine. The page answers only to 127.0.0.1 and asks no other address but"
        " that of a store which you scan."
    )


def _text() -> Iterator[Html]:
    from catalogue.tag.cautions import CAUTIONS

    yield tag("h2", "From a name to a tag")
    yield listed([
        "Choose: type the name; every set of letters is judged for it. The board shows finished tags as they hang.",
        "Make: take the least change that holds, pick colours, download the files for your printer.",
        "Shortlist: keep letters for later, and send a customer a sheet to choose from.",
        "Orders: many names at once, from a table or a file.",
    ], ordered=True)  # fmt: skip
    yield tag("h2", "Words")
    rows = [(t.name, t.sentence, drawing(k)) for k, t in TERMS.items()]
    yield table("In the order of the list", ("word", "meaning", "drawing"), rows, stacked=True)
    yield tag("h2", "What each number means, and its source")
    yield table("All lengths in mm at the size asked", ("word", "meaning", "source"), MEASURES, stacked=True)
    yield tag("h2", "Signs")
    yield table("A shape next to each word, so that no colour is needed", ("sign", "meaning"),
                [(s.sign, s.statement) for s in SELL.values()])  # fmt: skip
    yield tag("h2", "What it cannot say")
    yield listed(CANNOT)
    yield tag("h2", "Cautions")
    yield listed(CAUTIONS)
    yield tag("h2", "Keys")
    yield listed(KEYS)
