"""Choose: every face judged for the name, as a list of measures, a board of tags or a wall of styles."""

from __future__ import annotations

from dataclasses import astuple, replace

import streamlit as st

from catalogue import wording
from catalogue.page import adding, links, runs, session, title_block
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.desk import Desk
from catalogue.page.drawing import LAYERS
from catalogue.page.faults import one_line
from catalogue.page.listing import PageListing
from catalogue.page.parts import ROUTE, board, ledger, wall
from catalogue.page.place import FORMS, LEAST_HOLDS, LETTERS, MOST_CHOSEN, Filters, Place
from catalogue.page.rows import row
from catalogue.page.shortlist import Shortlist
from catalogue.page.terms import as_data
from catalogue.page.wall import shelves
from catalogue.style.words import NOT_GROUPED
from catalogue.tag.colours import hex_of
from catalogue.text import clean
from catalogue.wording import count_of

FIRST_ROWS = 10
"""Lines sent with the answer to a key; the browser asks for more as it shows them."""

GROWS_S = 3.0
"""How often the list takes in what a scan has added."""

A_RAIL, MOST_RAILS = 6, 12
"""Tags on a rail, and rails on a board."""
LOOSE = ("other styles", NOT_GROUPED)
"""What is in no style hangs last."""
MOST_LOOKED_AT = 1000
"""Lines of the list that a board is filled from."""

SELL = {"": "all", "sellable": "● or ◐ may be sold"} | {k: v.signed for k, v in wording.SELL.items()}
HOLDS = {0: "any"} | {least: f"{least} and more" for least in LEAST_HOLDS}


def show(view: CatalogueView, desk: Desk) -> None:
    """The view; while fonts are being read also how far that is, and the list grows with them."""
    run = runs.last_scan(view.path)
    if run is not None and run.running:
        adding.progress(view)
        st.fragment(_growing, run_every=GROWS_S)(view, len(view.faces))
    _list_part(view, desk)


def _growing(view: CatalogueView, shown: int) -> None:
    with one_line():
        if len(view.faces) != shown:
            st.rerun(scope="app")


@st.fragment
def _list_part(view: CatalogueView, desk: Desk) -> None:
    with one_line():
        asked = title_block.name_box()
        with st.container(key="filters", horizontal=True, vertical_alignment="center"):
            _form()
            filters = _filters(view)
        session.put(filters=filters)
        session.show_arrival()
        if asked.name.strip():
            _listed(view, desk)
        else:
            st.info("Type a name above: every set of letters is judged for it as you type.")
    session.keep_address(desk)
    if st.session_state.get("goto"):
        st.rerun()


def _form() -> None:
    session.first("w_form", session.place().form)
    chosen = st.segmented_control(
        "Show as", list(FORMS), key="w_form", format_func=FORMS.__getitem__, label_visibility="collapsed", required=True
    )
    session.put(form=chosen or "list")


def _listed(view: CatalogueView, desk: Desk) -> None:
    place = session.place()
    listing = view.listing(place.asked, place.filters)
    if not len(listing):
        _nothing(listing, place)
    else:
        {"board": _board, "wall": _wall}.get(place.form, _list)(view, desk, listing)
        _foot(listing, place)


def _shared(view: CatalogueView, desk: Desk, place: Place, listing: PageListing) -> dict[str, object]:
    """What list and board both need."""
    return {
        "key": repr((astuple(place.asked), astuple(place.filters), place.look, listing.revision)),
        "query": links.query(place) + f"&of={listing.revision}", "route": ROUTE, "chosen": list(place.chosen),
        "kept": Shortlist(desk).numbers(view.faces),
        "colours": dict(zip(LAYERS, map(hex_of, place.look.colours), strict=True)),
    }  # fmt: skip


def _list(view: CatalogueView, desk: Desk, listing: PageListing) -> None:
    place = session.place()
    name = place.asked.name
    first = [row(k + 1, r, view.picture(r.face, name)) for k, r in enumerate(listing.lines(0, FIRST_ROWS))]
    ledger(
        _shared(view, desk, place, listing)
        | {
            "total": len(listing), "rows": first, "terms": as_data(), "offset": place.asked.base_offset_mm,
            "say": _say(listing, place), "open": place.face,
        },
        key="ledger",
        go=lambda: _go(view, desk, "ledger"),
    )  # fmt: skip


def _board(view: CatalogueView, desk: Desk, listing: PageListing) -> None:
    """The best of each style; a style with more that hold comes first."""
    place = session.place()
    rails: dict[str, list[dict[str, object]]] = {}
    for line in listing.lines(0, MOST_LOOKED_AT):
        rail = rails.setdefault(line.face.group or LOOSE[0], [])
        if len(rail) < A_RAIL:
            seal = wording.sell(line.face.sell)
            rail.append({"i": line.face.id, "f": clean(line.face.title, 60), "w": seal.signed})
    ordered = sorted(rails.items(), key=lambda rail: rail[0] in LOOSE)
    shown = [{"style": clean(style, 40), "tags": tags} for style, tags in ordered[:MOST_RAILS]]
    board(
        _shared(view, desk, place, listing)
        | {"rails": shown, "name": clean(place.asked.name, 60), "say": _say(listing, place)},
        key="board",
        go=lambda: _go(view, desk, "board"),
    )


def _wall(view: CatalogueView, desk: Desk, listing: PageListing) -> None:
    """Every style as a row of names; one of them can be listed alone."""
    place = session.place()
    shown = [shelf.data() for shelf in shelves(listing.every_face(), view.styles())]
    wall(
        _shared(view, desk, place, listing)
        | {
            "shelves": shown, "filtered": bool(place.filters.group), "name": clean(place.asked.name, 60),
            "say": _say(listing, place),
        },
        key="wall",
        go=lambda: _go(view, desk, "wall"),
    )  # fmt: skip


def _go(view: CatalogueView, desk: Desk, part: str) -> None:
    asked = st.session_state[part].go
    if isinstance(asked, dict) and asked.get("to") == "style":
        style = str(asked.get("style"))
        session.put(filters=replace(session.place().filters, group=style), form="list" if style else "wall")
        session.forget("w_group", "w_form")
    if not isinstance(asked, dict) or not isinstance(asked.get("face"), int):
        return
    face, to = asked["face"], asked.get("to")
    if to == "choose":
        others = tuple(i for i in session.place().chosen if i != face)
        session.put(chosen=((*others, face) if asked.get("on") else others)[-MOST_CHOSEN:])
    elif to == "keep":
        Shortlist(desk).keep(view.face(face), session.place().asked.text, bool(asked.get("on")))
    elif to == "like":
        near = [f.id for f in view.like(view.face(face), 3)]
        session.go("side-by-side", chosen=(face, *near))
    elif to in ("make", "licence"):
        session.go(to, face=face)


def _filters(view: CatalogueView) -> Filters:
    now = session.place().filters
    groups = view.groups()
    for key, value in (
        ("w_sell", now.sell), ("w_letters", now.letters),
        ("w_hold", now.least_hold if now.least_hold in HOLDS else 0),
        ("w_group", now.group if now.group in groups else ""), ("w_family", now.family),
    ):  # fmt: skip
        session.first(key, value)
    with st.popover("Filters" + (f" ({now.count})" if now.count else ""), key="filters_button"):
        sell = st.selectbox("May it be sold", list(SELL), key="w_sell", format_func=SELL.__getitem__)
        letters = st.selectbox("Letters", list(LETTERS), key="w_letters", format_func=LETTERS.__getitem__)
        hold = st.selectbox("Hold", list(HOLDS), key="w_hold", format_func=HOLDS.__getitem__)
        group = ""
        if groups:
            group = st.selectbox("Style", ["", *groups], key="w_group", format_func=lambda g: g or "all")
        family = st.text_input("Search by family", key="w_family", max_chars=80, live="200ms")
    return Filters(sell, group, letters, hold, family.strip())


def _in_words(filters: Filters) -> str:
    """The filters that are set, as the boxes show them."""
    said = (
        SELL[filters.sell] if filters.sell else "", LETTERS[filters.letters] if filters.letters else "",
        f"hold {filters.least_hold} and more" if filters.least_hold else "", clean(filters.group, 40),
        f"family “{clean(filters.family, 40)}”" if filters.family else "",
    )  # fmt: skip
    return ", ".join(filter(None, said))


def _no_filters() -> None:
    session.put(filters=Filters())
    session.forget("w_sell", "w_letters", "w_hold", "w_group", "w_family")


def _say(listing: PageListing, place: Place) -> str:
    count = len(listing)
    ranked = count_of(listing.ranked, "face")
    shown = f"{count} of {ranked}" if count != listing.ranked else ranked
    holding = f"{listing.holding} {'holds' if listing.holding == 1 else 'hold'} at this size"
    said = f"{shown} for “{clean(place.asked.name, 60)}”, {holding}"
    return f"{said}." if len(place.asked.name.split()) < 2 else f"{said}, words set as close as a tag needs them."


def _foot(listing: PageListing, place: Place) -> None:
    notes = []
    if len(place.asked.lines) > 1:
        notes.append("Its lines are judged here one after the other; Make sets them under each other.")
    if not listing.name.predicted:
        notes.append(
            "This name has letters outside the measured alphabet, so the first faces that have them were measured in"
            " full; open another line to measure it."
        )
    notes += [f"Left out: {line}." for line in listing.lacking]
    notes += _unsized(listing, place)
    if listing.name.troubles:
        more = len(listing.name.troubles) - 1
        notes.append(f"{listing.name.troubles[0]}{f' (and {more} more like it)' if more else ''}.")
    chosen = len(place.chosen)
    if chosen and st.button(f"Compare the {chosen} chosen side by side", key="compare"):
        session.go("side-by-side")
    if notes:
        st.caption(" ".join(notes))


def _unsized(listing: PageListing, place: Place) -> list[str]:
    from catalogue.judge.sizes import unsized_line

    line = unsized_line(tuple(clean(f.title, 40) for f in listing.unsized), place.asked.size.kind)
    return [f"Left out: {line.partition(';')[0]}; set another size above."] if line else []


def _nothing(listing: PageListing, place: Place) -> None:
    name = clean(place.asked.name, 60)
    if listing.ranked:
        st.info(f"Of {count_of(listing.ranked, 'face')} none passes these filters: {_in_words(place.filters)}.")
        st.button("Take the filters away", key="no_filters", on_click=_no_filters)
        return
    if listing.lacking:
        lines = "; ".join(listing.lacking)
        st.info(f"No face can set “{name}”: {lines}. Type it without, or add fonts that have them.")
    else:
        notes = _unsized(listing, place) or [f"{t}." for t in listing.name.troubles[:1]]
        st.info(" ".join([f"No face can set “{name}” at this size.", *notes]))
