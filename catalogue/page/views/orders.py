"""Orders: a CSV in, each row's tag and verdict on the page, every file in one download."""

from __future__ import annotations

import base64
import csv
import io
from dataclasses import dataclass, field
from pathlib import Path

import streamlit as st

from catalogue.judge.process import built_in
from catalogue.page import session, making, runs
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.markup import Html, join, listed, table, tag
from catalogue.page.parts import sheet
from catalogue.page.runs import Run
from catalogue.tag.orders import COLUMNS, Order, OrdersError, read_orders
from catalogue.text import clean, from_csv_cell
from catalogue.wording import count_of
from scanner.workers.scratch import Scratch

MOST_ORDERS = 300
"""Rows taken by the page; the command has no such limit."""

MOST_PICTURED = 60
EXAMPLE = """order,name,face,cap_height,colours,quantity,note
101,Marlie,best,14mm,navy sky cream,1,
102,Bo & Kim,best,12mm,plum pink white,2,door sign
103,Zoë,best,0.5in,teal green cream,1,gift
"""


@dataclass
class Batch:
    """One file of orders being made, in a folder that is gone with the session."""

    orders: list[Order]
    run: Run
    folder: Path
    _held: Scratch = field(repr=False)


def show(view: CatalogueView, desk: Desk) -> None:
    """The view."""
    sheet(
        join([
            tag("h2", "Make the tags of many orders"),
            tag("p", "Drop a CSV file with a column ", tag("b", "name"), " and any of ",
                tag("b", ", ".join(c for c in COLUMNS if c != "name")),
                ". A row without a face, or with “best”, takes the first of the ranking that holds and may be sold."),
        ]),
        key="orders_head",
    )  # fmt: skip
    batch: Batch | None = st.session_state.get("batch")
    busy = batch is not None and batch.run.running
    st.download_button(
        "Download an example to fill in", EXAMPLE.encode(), "orders.csv", "text/csv", key="d_example", on_click="ignore"
    )
    with st.form("orders_form", border=True):
        file = st.file_uploader("Orders (.csv)", type=["csv", "tsv", "txt"], key="w_orders", max_upload_size=4)
        process = st.selectbox(
            "Process where a row names none", built_in(), built_in().index("nozzle-0.4"), key="w_orders_process"
        )
        if st.form_submit_button("Make the tags", disabled=busy):
            _start(view, file.getvalue() if file is not None else b"", process)
    batch = st.session_state.get("batch")
    if batch is not None:
        _watch(batch)


def _start(view: CatalogueView, data: bytes, process: str) -> None:
    if not data:
        st.warning("Choose a CSV file first; the example above shows its columns.")
        return
    try:
        orders = read_orders(data)
    except OrdersError as error:
        st.warning(f"{str(error)[:1].upper()}{str(error)[1:]}.")
        return
    if not orders:
        st.warning("No orders in this file; add a row under the column names.")
        return
    if len(orders) > MOST_ORDERS:
        st.warning(
            f"This file has {len(orders)} rows; the page takes {MOST_ORDERS}. Split it, or run “letterhold orders” in a"
            " terminal."
        )
        return
    held = Scratch()
    source, out = held.path / "orders.csv", held.path / "tags"
    source.write_bytes(data)
    run = runs.start(
        count_of(len(orders), "order"),
        [
            "orders", "--out", str(out), "--catalogue", str(view.path), "--process", process, "--formats", "3mf,svg",
            "--json", "--", str(source),
        ],
    )  # fmt: skip
    st.session_state.batch = Batch(orders, run, out, held)
    st.rerun()


@st.fragment(run_every=1.0)
def _watch(batch: Batch) -> None:
    with one_line():
        _watched(batch)


def _watched(batch: Batch) -> None:
    if batch.run.running:
        ready = sum(1 for _ in batch.folder.glob("*/job.json")) if batch.folder.is_dir() else 0
        st.progress(min(1.0, ready / len(batch.orders)), text=f"{ready} of {count_of(len(batch.orders), 'order')} made")
        st.session_state.batch_watched = True
        return
    if st.session_state.pop("batch_watched", False):
        st.rerun()
    results = batch.folder / "results.csv"
    if not results.is_file():
        st.error(f"{clean(batch.run.told, 300) or 'The orders could not be made'}. Correct the file and drop it again.")
        return
    table_text = io.StringIO(results.read_text(encoding="utf-8"))
    rows = [{key: from_csv_cell(cell) for key, cell in row.items()} for row in csv.DictReader(table_text)]
    done = sum(r["done"] == "yes" for r in rows)
    made = f"{done} of {count_of(len(rows), 'order')} made"
    st.success(f"{made}.") if done == len(rows) else st.warning(
        f"{made}; the others say why below. Correct those rows and drop the file again."
    )
    if done:
        st.download_button(
            "Download the lot (.zip)", lambda: _lot(batch.folder), "tags.zip", "application/zip", key="d_lot",
            on_click="ignore", type="primary",
        )  # fmt: skip
    sheet(_table(rows, batch.folder), key="orders_table")


def _lot(folder: Path) -> bytes:
    return making.zipped(
        {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}
    )


def _table(rows: list[dict[str, str]], folder: Path) -> Html:
    lines = []
    for number, r in enumerate(rows):
        ok = r["done"] == "yes"
        name = clean(r["name"].replace("\\n", " / "), 60)
        verdict = tag("span", f"made, hold {r['hold']}", class_="good") if ok else tag("span", "not made", class_="bad")
        picture: object = "–"
        if ok and number < MOST_PICTURED:
            picture = _picture(folder / r["folder"] / "all.svg", f"{name} in {r['face']}")
        told = (
            f"{r['size_mm']} mm, {r['mass_g']} g, {count_of(int(r['quantity']), 'piece')}"
            if ok
            else clean(r["reason"], 240)
        )
        lines.append(
            (
                clean(r["order"], 30),
                name,
                picture,
                verdict,
                clean(r["face"], 60),
                told,
                clean(r["note"], 120),
            )
        )
    head = ("order", "name", "tag", "verdict", "face", "size, mass, or why not", "note")
    made = listed([
        "results.csv, contact.png and plate drawings are in the download, beside a folder an order with 3MF, SVG, job"
        " sheet and licence record."
    ])  # fmt: skip
    return join([table("Every row of the file", head, lines, stacked=True), made])


def _picture(path: Path, words: str) -> Html:
    """A drawing as an image of its own: what a name may hold cannot reach the page."""
    try:
        data = base64.b64encode(path.read_bytes()).decode()
    except OSError:
        return Html("–")
    return Html(f'<img src="data:image/svg+xml;base64,{data}" alt="{tag("i", words)[3:-4]}">')
