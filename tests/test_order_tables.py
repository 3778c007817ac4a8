"""Tables of orders as shops save them: every habit is read, every fault is reported by its row."""

from __future__ import annotations

import io
import tracemalloc

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from catalogue.tag.orders import MOST_QUANTITY, Order, OrdersError, folder_names, read_orders, read_table
from catalogue.tag.orders.folders import MOST_BYTES
from catalogue.tag.orders.table import MOST_CELL, MOST_PIECES

ROWS = (("order", "name", "face", "note"), ("HF-1", "Zoë", "Anton", "tür"), ("HF-2", "Bo & Kim", "best", ""))


def table(mark: str = ",", end: str = "\n") -> str:
    return "".join(mark.join(row) + end for row in ROWS)


@pytest.mark.parametrize("mark", [",", ";", "\t"])
@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
def test_every_habit_gives_the_same_orders(mark: str, end: str, encoding: str) -> None:
    # RFC 4180 knows commas and CRLF; spreadsheet programs write the rest, by country, system and menu entry.
    orders = read_orders(table(mark, end).encode(encoding))
    assert [(o.row, o.order, o.name, o.face, o.note, o.reason) for o in orders] == [
        (2, "HF-1", "Zoë", "Anton", "tür", ""), (3, "HF-2", "Bo & Kim", "best", "", ""),
    ]  # fmt: skip


def test_a_guessed_encoding_is_reported() -> None:
    assert "read as Windows-1252" in read_table(table().encode("cp1252")).notes[0]
    assert read_table(table().encode()).notes == ()


def test_the_line_that_names_the_mark_is_no_row() -> None:
    orders = read_orders(b"sep=;\r\nname;face\r\nBo, Kim;Anton\r\n")
    assert [(o.row, o.name) for o in orders] == [(3, "Bo, Kim")]


def workbook(*rows: tuple[object, ...], sheets: int = 1) -> bytes:
    book = Workbook()
    for row in rows:
        book.active.append(row)
    for k in range(1, sheets):
        book.create_sheet(f"more {k}")
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def test_a_workbook_is_read() -> None:
    data = workbook(("Order", "Name", "Cap height", "Quantity"), (7, "Zoë", "14mm", 2.0), (), (8, "Anna\nBo", 12, None))
    orders = read_orders(data)
    assert [(o.row, o.order, o.name, o.cap_height, o.quantity) for o in orders] == [
        (2, "7", "Zoë", "14mm", 2), (4, "8", "Anna\nBo", "12", 1),
    ]  # fmt: skip


def test_only_the_first_sheet_is_read_and_that_is_reported() -> None:
    assert "first sheet of 3" in read_table(workbook(("name",), ("Bo",), sheets=3)).notes[0]


@pytest.mark.parametrize(
    "data, words",
    [
        (b"PK\x03\x04 and no zip", "cannot be read"),  # the first bytes of a workbook, and nothing else of it
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1", "save it as .xlsx without a password"),  # compound file, [MS-CFB] 2.2
        (b"\xff\xfe\x00\xd8", "broken UTF-16"),  # half a pair
        (b"name,face,name\nBo,Anton,Kim\n", "row 1 has column 'name' twice, at 1 and 3"),
        (b'"name,face\nBo,Anton\n', "first row: a quote in it is not closed"),
        (b"", "no column 'name'"),
    ],
)
def test_what_is_no_table_says_what_to_do(data: bytes, words: str) -> None:
    with pytest.raises(OrdersError, match=words):
        read_orders(data)


@pytest.mark.parametrize(
    "broken",
    [
        '2,"Bo,Anton',  # open to the end of the file, or to the next quote
        '2,"Bo" jr,Anton',  # closed in the middle of a cell
        '2,"Bo,Anton,"x"',
    ],
)
@pytest.mark.parametrize("after", ["3,Kim,Anton", '3,"Kim",Anton', '3,"Kim, Ann",Anton'])
def test_a_quote_left_open_costs_its_own_row_only(broken: str, after: str) -> None:
    orders = read_orders(f"order,name,face\n1,Ida,Anton\n{broken}\n{after}\n4,Al,Anton\n".encode())
    assert [o.row for o in orders] == [2, 3, 4, 5]
    assert [bool(o.reason) for o in orders] == [False, True, False, False]
    assert "a quote in it is not closed" in orders[1].reason and orders[1].order == "2"
    assert orders[2].name.startswith("Kim")


def test_two_quotes_left_open_melt_no_rows() -> None:
    orders = read_orders(b'order,name,face\n1,"Bo,Anton\n2,Kim,"\n3,Al,Anton\n')
    assert [(o.order, bool(o.reason)) for o in orders] == [("1", True), ("2", True), ("3", False)]


def test_a_name_of_several_lines_in_quotes_is_one_row() -> None:
    orders = read_orders(b'order,name,face\n1,"Anna\r\nBo",Anton\n2,Al,Anton\n')
    assert [(o.row, o.name) for o in orders] == [(2, "Anna\nBo"), (3, "Al")]


@pytest.mark.parametrize(
    "quantity", ["0010000", "1001", "0", "-1", "1.5", "1e3", "two", "9" * 18, "9" * 400, "²", "0x10"]
)
def test_a_quantity_is_a_whole_number_within_bounds(quantity: str) -> None:
    (order,) = read_orders(f"name,quantity\nBo,{quantity}\n".encode())
    assert order.reason and order.quantity == 0


@pytest.mark.parametrize("quantity, count", [("1", 1), ("0007", 7), ("1000", 1000), ("", 1)])
def test_quantities_that_are_read(quantity: str, count: int) -> None:
    (order,) = read_orders(f"name,quantity\nBo,{quantity}\n".encode())
    assert (order.quantity, order.reason) == (count, "")


def test_the_pieces_of_a_file_are_bounded() -> None:
    rows = MOST_PIECES // MOST_QUANTITY + 3
    orders = read_orders(b"name,quantity\n" + b"Bo,1000\n" * rows)
    assert sum(o.quantity for o in orders) == MOST_PIECES
    assert [bool(o.reason) for o in orders][-4:] == [False, True, True, True]


@pytest.mark.parametrize("column", ["name", "note", "face", "order", "ring"])
def test_a_cell_beyond_bounds_is_reported_by_row(column: str) -> None:
    others = "" if column == "name" else "Bo"
    orders = read_orders(f"name,{column if column != 'name' else 'note'}\nBo,\n".encode())
    assert not orders[0].reason
    long = "x" * (MOST_CELL + 1)
    row = f"{long},\n" if column == "name" else f"{others},{long}\n"
    (order,) = read_orders(f"name,{column if column != 'name' else 'note'}\n{row}".encode())
    assert f"cell '{column}' has {MOST_CELL + 1} characters" in order.reason
    assert max(len(order.name), len(order.note), len(order.face), len(order.order)) <= MOST_CELL


def test_a_megabyte_in_a_cell_is_not_kept() -> None:
    data = b"name,note\nBo," + b"x" * 3_000_000 + b"\nKim,\n"
    tracemalloc.start()
    orders = read_orders(data)
    kept, _ = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert [bool(o.reason) for o in orders] == [True, False]
    assert kept < 500_000


@pytest.mark.parametrize("start", ["=", "@", "+", "\u200b=", "\ufeff@", " \u2060\u202e=", "\u3164=", "\u034f+", "＝"])
def test_a_formula_is_seen_through_what_is_not_seen(start: str) -> None:
    # OWASP, CSV injection; zero-width, direction and filler characters stand before the sign unseen (Unicode UAX 9).
    (order,) = read_orders(f"name,order\nBo,{start}1+1\n".encode())
    assert "formula" in order.reason


def test_spare_cells_that_are_empty_are_no_fault() -> None:
    assert not read_orders(b"name;face\nBo;Anton;;;\n")[0].reason


SAME = st.sampled_from(["Bo", "bo", "BO", "Zoë", "Zoe\u0308", "ＢＯ", "Bo-1", "ß", "ss", "", "..", "x" * 90])


@given(st.lists(st.builds(Order, st.integers(2, 9), st.sampled_from(["1", "01", "1-bo", ""]), SAME, SAME), max_size=12))
def test_no_two_tags_share_a_folder(orders: list[Order]) -> None:
    names = folder_names(orders)
    assert set(names) == {o.key for o in orders}
    assert len({n.casefold() for n in names.values()}) == len(names)
    assert all(len(n.encode()) <= MOST_BYTES + 30 for n in names.values())


def test_a_mark_that_is_taken_is_followed_by_another() -> None:
    # Four letters of a digest meet in two of some 300 orders of one number and name (birthday bound).
    orders = [Order(k, "1", "Bo", face=f"face {k}") for k in range(2, 4000)]
    assert len(set(folder_names(orders).values())) == len(orders)
