"""Shop: what is set once. The shop's name, its filaments, its price, and what its printer can do."""

from __future__ import annotations

import streamlit as st

from catalogue.page import filaments, price, session
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.desk import Desk
from catalogue.page.markup import Html, tag
from catalogue.page.parts import sheet
from catalogue.page.price import Rates
from catalogue.text import clean
from catalogue.wording import count_of


def show(view: CatalogueView, desk: Desk) -> None:
    """The view."""
    left, right = st.columns(2, gap="large")
    with left:
        _filaments(desk)
    with right:
        _name(desk)
        _price(desk)
    sheet(tag("h2", "The printer"), key="printer_head")
    st.caption("Names are judged by what is common for a nozzle, until you measure your own with a small print.")
    if st.button("My printer", key="to_printer"):
        session.go("printer")
        st.rerun()


def _name(desk: Desk) -> None:
    sheet(tag("h2", "The shop"), key="shop_head")
    was = str(desk.read("shop", {}).get("name", ""))
    name = st.text_input("Name on the sheet for customers", was, max_chars=50, key="shop_name")
    if name != was:
        desk.write("shop", {"name": clean(name, 50)})


def _filaments(desk: Desk) -> None:
    import pandas as pd

    sheet(tag("h2", "Filaments on the shelf"), key="filaments_head")
    own = filaments.filaments(desk)
    if "filaments_start" not in st.session_state:
        names = ["name", "colour", "price_per_kg", "g_per_m"]
        st.session_state.filaments_start = pd.DataFrame(
            [[f.name, f.colour, f.price_per_kg, f.g_per_m] for f in own], columns=names
        ).astype({"name": str, "colour": str, "price_per_kg": float, "g_per_m": float})
    edited = st.data_editor(
        st.session_state.filaments_start, key="filaments_table", num_rows="dynamic", hide_index=True, width="stretch",
        column_config={
            "name": st.column_config.TextColumn("name", required=True),
            "colour": st.column_config.TextColumn(
                "colour, #rrggbb", required=True, validate="^#[0-9A-Fa-f]{6}$", default="#274c77"
            ),
            "price_per_kg": st.column_config.NumberColumn("price a kg", min_value=0.0, default=25.0),
            "g_per_m": st.column_config.NumberColumn("g a metre", min_value=0.1, default=2.98),
        },
    )  # fmt: skip
    rows = edited.to_dict("records")
    found = filaments.read_rows(rows)
    if found != own:
        filaments.keep(desk, found)
    if len(found) < len(rows):
        st.warning(f"{count_of(len(rows) - len(found), 'row')} without a name or a colour as #1a2b3c is not kept.")
    sheet(_swatches(found), key="swatches")
    st.caption("They are offered wherever colours are chosen. 2.98 g a metre is 1.75 mm PLA of 1.24 g/cm³.")


def _swatches(found: list[filaments.Filament]) -> Html:
    drawn = [
        Html(f'<span class="swatch"><i style="background:{f.colour}"></i>{tag("b", f.name)} {f.colour}</span>')
        for f in found
    ]
    return tag("p", *drawn, class_="swatches") if drawn else tag("p", "No filament of your own yet.", class_="note")


def _price(desk: Desk) -> None:
    sheet(tag("h2", "Price"), key="price_head")
    now = price.rates(desk)
    with st.container(key="price_boxes", horizontal=True, vertical_alignment="bottom"):
        currency = st.text_input("Currency", now.currency, max_chars=8, key="rate_currency", width=90)
        kilogram = st.number_input("Filament, a kg", 0.0, 1e5, now.filament_per_kg, 1.0, key="rate_kg", width=130)
        hour = st.number_input("Machine, an hour", 0.0, 1e5, now.machine_hour, 0.1, key="rate_hour", width=130)
        fixed = st.number_input("Ring and bag", 0.0, 1e5, now.fixed_parts, 0.1, key="rate_fixed", width=130)
        margin = st.number_input("On top, %", 0.0, 1e4, now.margin_percent, 5.0, key="rate_margin", width=130)
    found = Rates(currency.strip() or now.currency, kilogram, hour, fixed, margin)
    if found != now:
        price.keep(desk, found)
    st.caption("Price = (filament in grams × its price + print minutes × machine hour / 60 + ring and bag) with the"
               " margin on top. It is shown in Make and, if you want, on the sheet for customers.")  # fmt: skip
