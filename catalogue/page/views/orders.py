"""Orders: a table to fill in and correct, a look at each tag before it is made, and the batches made so far."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

import streamlit as st

from catalogue.errors import LetterholdError
from catalogue.judge.request import Size
from catalogue.page import batches, drafts, links, printers
from catalogue.page.batches import MOST_ORDERS, Batch
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.desk import Desk
from catalogue.page.faults import FAULT, one_line, sentence
from catalogue.page.markup import tag
from catalogue.page.orders_sheet import results_table
from catalogue.page.parts import ROUTE, board, fault_box, sheet
from catalogue.page.place import FIRST, FIRST_PROCESS, RINGS, Look, Place, request
from catalogue.tag.backing import BACKINGS
from catalogue.tag.levers import BY_HAND
from catalogue.tag.orders import COLUMNS, Order
from catalogue.text import clean
from catalogue.wording import count_of

if TYPE_CHECKING:
    import pandas as pd

EXAMPLE: tuple[drafts.Row, ...] = (
    {"order": "101", "name": "Marlie", "face": "best", "cap_height": "14mm", "colours": "navy sky cream"},
    {"order": "102", "name": "Bo & Kim", "face": "best", "cap_height": "12mm", "colours": "plum pink white",
     "quantity": "2", "note": "door sign"},
    {"order": "103", "name": "Zoë", "face": "best", "cap_height": "0.5in", "colours": "teal green cream",
     "note": "gift"},
)  # fmt: skip
KINDS = ["csv", "tsv", "txt", "xlsx"]


def show(view: CatalogueView, desk: Desk) -> None:
    """The view."""
    _table(view, desk)
    _batches(view, desk)


def _table(view: CatalogueView, desk: Desk) -> None:
    sheet(tag("h2", "Orders to make"), key="orders_head")
    _fill(desk)
    rows = _edited(view, desk)
    for note in st.session_state.get("table_notes", ()):
        st.caption(sentence(note))
    found = drafts.orders(rows)
    wrong = [o for o in found if o.reason]
    for order in wrong[:3]:
        st.warning(f"Order {clean(order.order, 20)}: {sentence(order.reason)}")
    if len(wrong) > 3:
        st.warning(f"And {len(wrong) - 3} more rows to correct.")
    with st.container(key="orders_doors", horizontal=True, vertical_alignment="bottom"):
        known = printers.names()
        process = st.selectbox(
            "Printer where a row names none", known, known.index(FIRST_PROCESS), key="w_orders_process", width=230,
            format_func=printers.in_words,
        )  # fmt: skip
        looked = st.toggle("Look at each tag first", key="w_look", value=0 < len(found) <= 12)
        if st.button("Make the tags", type="primary", key="make_all", disabled=not rows):
            _start(view, desk, rows, process)
    if looked and found:
        _previews(found, process)


def _fill(desk: Desk) -> None:
    with st.container(key="orders_fill", horizontal=True, vertical_alignment="center"):
        number = st.session_state.get("table_number", 0)  # with new rows the boxes are new ones, and shut
        with st.popover("Take in a file", key=f"take_in_{number}"):
            file = st.file_uploader("Table of orders (.csv, .xlsx)", type=KINDS, key="w_orders", max_upload_size=4)
            if file is not None and st.session_state.get("orders_file") != file.file_id:
                st.session_state.orders_file = file.file_id
                _take_in(desk, file.getvalue())
        with st.popover("Paste rows", key=f"paste_in_{number}"):
            text = st.text_area("Rows copied from a spreadsheet, with their column names", key="w_paste", height=120)
            if st.button("Put them into the table", key="paste") and text.strip():
                _take_in(desk, text.encode())
        if st.button("Start with an example", key="example"):
            _set(desk, EXAMPLE)
        if st.button("Empty the table", key="empty"):
            _set(desk, ())


def _take_in(desk: Desk, data: bytes) -> None:
    try:
        table = drafts.read(data)
    except LetterholdError as error:
        st.warning(sentence(error))
        return
    rows, st.session_state.table_notes = table.rows, table.notes
    if not rows:
        st.warning("No orders in this file; add a row under the column names.")
    elif len(rows) > MOST_ORDERS:
        st.warning(f"This file has {len(rows)} rows; the page takes {MOST_ORDERS}. Split it.")
    else:
        _set(desk, rows)


def _set(desk: Desk, rows: Any) -> None:
    drafts.keep(desk, rows)
    st.session_state.table_number = st.session_state.get("table_number", 0) + 1
    st.rerun()


def _edited(view: CatalogueView, desk: Desk) -> list[drafts.Row]:
    """The table as it stands after what was typed; every change is kept at once."""
    import pandas as pd

    number = st.session_state.get("table_number", 0)
    started = st.session_state.get("table_start")
    if started is None or started[0] != number:
        rows = drafts.rows(desk) or list(drafts.FIRST)
        started = number, pd.DataFrame(rows, columns=list(COLUMNS)).fillna("")
        st.session_state.table_start = started
    frame: pd.DataFrame = st.data_editor(
        started[1], key=f"table_{number}", num_rows="dynamic", hide_index=True, column_config=_columns(view),
        width="stretch",
    )  # fmt: skip
    return drafts.keep(desk, frame.to_dict("records"))


def _columns(view: CatalogueView) -> dict[str, Any]:
    text = st.column_config.TextColumn
    faces = sorted({f.title for f in view.faces}, key=str.casefold)
    return {
        "order": text("order", width="small"), "name": text("name", required=True, help="\\n starts a second line"),
        "face": st.column_config.SelectboxColumn("letters", options=["best", *faces], help="best: the first that holds"
                                                 " and may be sold"),
        "cap_height": text("capitals", width="small", help="height, as 14mm"),
        "width": text("width", width="small", help="whole width, as 70mm; instead of capitals"),
        "colours": text("colours", help="base, middle and top: navy sky cream"),
        "process": st.column_config.SelectboxColumn("printer", options=["", *printers.names()], width="small"),
        "ring": st.column_config.SelectboxColumn("ring", options=["", *RINGS], width="small"),
        "line_spacing": text("line spacing", width="small", help="from baseline to baseline; empty: as close as holds"),
        "behind": st.column_config.SelectboxColumn("behind", options=["", *BACKINGS], width="small"),
        "by_hand": text("by hand", width="small", help=f"any of {', '.join(BY_HAND)}; empty: where nothing else holds"),
        "quantity": text("pieces", width="small"), "note": text("note"),
    }  # fmt: skip


def _previews(found: list[Order], process: str) -> None:
    """Each row as it will hang, made by the server while one looks."""
    tags = []
    for order in found:
        if not order.reason:
            tags.append({"i": 0, "f": f"{clean(order.order, 20)}: {clean(order.name.replace(chr(10), ' / '), 40)}",
                         "w": clean(order.face, 50), "query": _query(order, process)})  # fmt: skip
    key = repr(tags)
    data = {"key": key, "query": "", "route": ROUTE, "chosen": [], "kept": [], "plain": True, "name": "", "say": "",
            "rails": [{"style": "", "tags": tags}], "colours": {}}  # fmt: skip
    board(data, key="previews", go=lambda: None)


def _query(order: Order, process: str) -> str:
    size = links.size_mm(order.width or order.cap_height or "14mm")
    kind = "width" if order.width else "cap-height"
    asked = request(order.name, Size(kind, size or FIRST.size.mm), order.process or process, 1.0)
    look = Look(order.ring if order.ring in RINGS else RINGS[0], 3, order.colours)
    return urlencode(links.write(Place(asked, look=look)) | {"named": order.face})


def _start(view: CatalogueView, desk: Desk, rows: list[drafts.Row], process: str) -> None:
    if len(rows) > MOST_ORDERS:
        st.warning(f"The table has {len(rows)} rows; the page makes {MOST_ORDERS} at once. Split it.")
        return
    batches.make(batches.create(desk, rows, process), view.path)
    st.rerun()


# ── batches ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def _batches(view: CatalogueView, desk: Desk) -> None:
    found = batches.batches(desk)
    if not found:
        return
    sheet(tag("h2", "Made so far"), key="batches_head")
    for number, batch in enumerate(found):
        done = batch.results()
        made = sum(r["done"] == "yes" for r in done)
        label = f"{batch.day}, {batch.label}" + (f": {made} made" if done else "")
        with st.expander(label, expanded=number == 0):
            # Looked at again and again only while it is being made: a button that is pressed must not be drawn anew.
            st.fragment(_watch, run_every=1.0 if batch.busy else None)(view, desk, batch)


def _watch(view: CatalogueView, desk: Desk, batch: Batch) -> None:
    with one_line():
        _watched(view, desk, batch)


def _watched(view: CatalogueView, desk: Desk, batch: Batch) -> None:
    key = batch.folder.name
    run = batch.run
    if run is not None and run.running:
        total = run.total or batch.count
        st.progress(min(1.0, run.done / total), text=f"{run.done} of {count_of(total, 'tag')} made")
        if st.button("Stop", key=f"stop_{key}"):
            run.stop()
        st.session_state[f"watched_{key}"] = True
        return
    if st.session_state.pop(f"watched_{key}", False):
        st.rerun()
    results = batch.results()
    made = sum(r["done"] == "yes" for r in results)
    if not results:
        if run is not None and run.fault:
            fault_box(FAULT, run.fault)
        said = clean(run.trouble, 300) if run is not None else ""
        st.warning(f"{sentence(said) if said else 'Not made to the end.'} Press “Make again” to go on.")
    elif made == batch.count:
        st.success(f"{made} of {count_of(batch.count, 'order')} made.")
    else:
        st.warning(f"{made} of {count_of(batch.count, 'order')} made; the others say why below. Open the batch in the"
                   " table, correct those rows and make them.")  # fmt: skip
    _batch_doors(view, desk, batch, results)
    if results:
        sheet(results_table(results, batch.tags), key=f"results_{key}")


def _batch_doors(view: CatalogueView, desk: Desk, batch: Batch, results: list[dict[str, str]]) -> None:
    key = batch.folder.name
    folders = {r["folder"]: f"{r['order']} {r['name']}" for r in results if r["done"] == "yes"}
    with st.container(key=f"doors_{key}", horizontal=True, vertical_alignment="bottom"):
        if folders:
            st.download_button(
                "Download all (.zip)", lambda: batches.together(batch), f"tags-{key}.zip", "application/zip",
                key=f"zip_{key}", on_click="ignore", type="primary",
            )  # fmt: skip
        if st.button("Open in the table", key=f"open_{key}"):
            drafts.keep(desk, batch.rows())
            st.session_state.table_number = st.session_state.get("table_number", 0) + 1
            st.rerun(scope="app")
        if st.button("Make again", key=f"again_{key}"):
            batches.make(batch, view.path)
            st.rerun(scope="app")
        if len(folders) > 1:
            one = st.selectbox("Or one alone", list(folders), index=None, key=f"one_{key}", width=200,
                               format_func=lambda f: clean(folders[f], 40), placeholder="pick an order")  # fmt: skip
            if one and st.button("Make it again", key=f"one_again_{key}"):
                batches.make(batch, view.path, one)
                st.rerun(scope="app")
        if st.button("Remove", key=f"remove_{key}"):
            batches.remove(batch)
            st.rerun(scope="app")
