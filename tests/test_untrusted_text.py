"""Text from fonts, orders and files of a person's own: whatever it holds, it stays text. Property tests.

Sources: OWASP on CSV injection; XML 1.0 (2.2, characters); Unicode UAX 9 (direction); POSIX (a file name has no slash
and at most 255 bytes).
"""

from __future__ import annotations

import contextlib
import csv
import io
import os
import tempfile
import unicodedata
import xml.etree.ElementTree as ET
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from catalogue.atomic import write_file
from catalogue.draw.picture import Scene, Text, svg
from catalogue.judge.process import Process, parse_process
from catalogue.licence.families import parse_record
from catalogue.tag.orders import MOST_ROWS, Order, OrdersError, Result, folder_name, read_orders, results_csv
from catalogue.text import clean, csv_cell
from scanner.alphabet import read_words
from scanner.face import tidy
from scanner.names import LetteringError, check_name
from scanner.units import LONGEST_MM, parse_length_mm

ANY = st.text(st.characters(exclude_categories=()), max_size=60)  # surrogates and all
SHARP = st.one_of(
    ANY,
    st.sampled_from(
        [
            "=1+1", "+1", "-1", "@SUM(1)", "\t=1", "\r=1", " =1", "＝1", "<script>x</script>",
            "]]>", "&amp;", "\"'><svg>",
            "../../x", "..", "/etc/passwd", "C:\\x", "con", "\0", "\u202ex", "\u2066x", "\ud800",
            "W" * 300, "", "a\nb",
        ]
    ),
)  # fmt: skip
TURNING = set("\u200e\u200f\u061c\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


def no_controls(text: str) -> bool:
    return not any(unicodedata.category(c) in ("Cc", "Cs", "Zl", "Zp") or c in TURNING for c in text)


# ── what leaves the house ───────────────────────────────────────────────────────────────────────────────────────────


@given(SHARP)
def test_shown_text_is_one_clean_bounded_line(text: str) -> None:
    for shown in (clean(text), tidy(text)):
        assert no_controls(shown) and len(shown) <= 200
        shown.encode("utf-8")


@given(st.lists(SHARP, min_size=1, max_size=5))
def test_a_csv_cell_is_never_a_formula_and_comes_back_as_one_cell(cells: list[str]) -> None:
    out = io.StringIO()
    csv.writer(out).writerow([csv_cell(c) for c in cells])
    out.getvalue().encode("utf-8")
    (row,) = csv.reader(io.StringIO(out.getvalue()))
    assert len(row) == len(cells)
    for cell in row:
        assert not cell.strip().startswith(tuple("=+-@＝＋－＠"))
        assert no_controls(cell)


@given(SHARP, SHARP, SHARP, SHARP)
def test_results_of_orders_are_a_table_of_plain_text(order: str, name: str, note: str, reason: str) -> None:
    text = results_csv([Result(Order(2, order, name, note=note), face=name, reason=reason)])
    text.encode("utf-8")
    rows = list(csv.reader(io.StringIO(text)))
    assert len(rows) == 2 and len(rows[0]) == len(rows[1])
    assert not any(cell.strip().startswith(tuple("=+-@")) for cell in rows[1])


@given(SHARP, SHARP)
def test_svg_text_opens_no_element_and_stays_xml(title: str, label: str) -> None:
    scene = Scene(10.0, 10.0, title, (Text(1.0, 1.0, label, 3.0, "#000000"),))
    root = ET.fromstring(svg(scene))
    assert [e.tag.rpartition("}")[2] for e in root] == ["title", "rect", "text"]
    assert (root[2].text or "") == clean(label)


@given(SHARP, SHARP, st.integers(2, MOST_ROWS))
@example("..", "..", 2)
@example("", "\0", 2)
def test_a_folder_name_stays_in_its_folder(order: str, name: str, row: int) -> None:
    folder = folder_name(Order(row, order, name))
    assert folder and os.path.basename(folder) == folder and folder not in (".", "..")
    assert len(os.fsencode(folder)) <= 255 and no_controls(folder)
    assert not set(folder) & set('/\\:*?"<>|')
    with tempfile.TemporaryDirectory() as place:
        Path(place, folder).mkdir()


# ── files whole or not at all ───────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("failing", ["fsync", "replace"])
def test_a_failed_write_leaves_the_old_file_and_nothing_else(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, failing: str
) -> None:
    path = tmp_path / "orders.csv"
    write_file(path, b"old")

    def full(*_: Any) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, failing, full)
    with pytest.raises(OSError, match="No space left"):
        write_file(path, b"new" * 1000)
    assert path.read_bytes() == b"old"
    assert os.listdir(tmp_path) == ["orders.csv"]


def test_a_write_through_a_link_replaces_the_link_not_what_it_points_at(tmp_path: Path) -> None:
    (tmp_path / "kept").write_bytes(b"kept")
    (tmp_path / "out.csv").symlink_to("kept")
    write_file(tmp_path / "out.csv", b"new")
    assert ((tmp_path / "kept").read_bytes(), (tmp_path / "out.csv").read_bytes()) == (b"kept", b"new")


# ── our own parsers ─────────────────────────────────────────────────────────────────────────────────────────────────


def one_line(error: Exception) -> None:
    """Our errors are one finished line."""
    assert str(error) and "\n" not in str(error) and len(str(error)) < 300


@given(SHARP)
@example("9" * 400 + "mm")
@example("٣mm")
def test_a_length_is_read_or_refused(text: str) -> None:
    try:
        value = parse_length_mm(text)
    except ValueError as error:
        one_line(error)
    else:
        assert 0 < value <= LONGEST_MM


@given(st.floats(0.001, LONGEST_MM / 25.4), st.sampled_from(["mm", "cm", "in", '"']))
def test_a_length_comes_back_as_it_was_written(value: float, unit: str) -> None:
    factor = {"mm": 1.0, "cm": 10.0, "in": 25.4, '"': 25.4}[unit]  # an inch is 25.4 mm (1959 agreement)
    assert parse_length_mm(f"{value:.6f}{unit}") == pytest.approx(float(f"{value:.6f}") * factor)


@given(SHARP)
def test_a_name_can_be_set_or_is_refused(text: str) -> None:
    try:
        check_name(text)
    except LetteringError as error:
        one_line(error)
    else:
        text.encode("utf-8")
        assert 0 < len(text) <= 200


CELLS = st.one_of(SHARP, st.sampled_from(["Zoë", "best", "14mm", "3", "navy sky cream", "²", "٣", "1e3"]))


@given(st.lists(st.lists(CELLS, max_size=6), max_size=6), st.sampled_from(",;\t"))
@example([["\n\r", "\n\r\r", "\n\r\r"]], ",")  # a row of more lines than a cell may have: each is reported
def test_orders_are_read_row_by_row_or_refused(rows: list[list[str]], mark: str) -> None:
    out = io.StringIO()
    table = csv.writer(out, delimiter=mark)
    table.writerow(["order", "name", "quantity", "colours", "note"])
    with contextlib.suppress(csv.Error):
        table.writerows(row + [""] * (5 - len(row)) for row in rows)  # as wide as the head, as spreadsheets write
    data = out.getvalue().encode("utf-8", "replace")
    try:
        orders = read_orders(data)
    except OrdersError as error:
        one_line(error)
        return
    assert sum(not order.reason for order in orders) <= len(rows)  # one that is refused may count as several
    for order in orders:
        assert order.reason or (1 <= order.quantity <= 1000 and len(order.colours) == 3)
        folder_name(order)


@given(st.binary(max_size=300))
@example(b"name\n" + b'"' + b"x" * 140_000)  # csv refuses a field above 131,072 characters
@example(b"\xef\xbb\xbf")
@example(b"name\r\x00\r\n")
def test_any_bytes_are_orders_or_one_line(data: bytes) -> None:
    try:
        read_orders(data)
    except OrdersError as error:
        one_line(error)


TOML_VALUES = st.one_of(
    st.integers(-(10**30), 10**30),
    st.floats(),
    st.booleans(),
    st.text(max_size=10),
    st.lists(st.integers(), max_size=2),
)


@given(st.dictionaries(st.sampled_from(list(Process.__dataclass_fields__)), TOML_VALUES))
def test_a_process_profile_is_sound_or_refused(table: dict[str, Any]) -> None:
    def shown(value: Any) -> str:
        if isinstance(value, bool):
            return str(value).lower()
        if isinstance(value, str):
            body = "".join(c if c.isalnum() or c == " " else f"\\u{ord(c) & 0xFFFF:04x}" for c in value)
            return f'"{body}"'
        return repr(value)

    text = "\n".join(f"{key} = {shown(value)}" for key, value in table.items())
    try:
        process = parse_process(text, "mine.toml")
    except ValueError as error:
        one_line(error)
        assert str(error).startswith("mine.toml")
    else:
        assert 0 < process.line_width_mm < 100 and 0 < process.density_g_cm3 < 100


@given(st.text(max_size=200))
def test_any_text_as_toml_is_a_record_or_one_line(text: str) -> None:
    for parse in (lambda: parse_process(text, "mine.toml"), lambda: parse_record("mine", text)):
        try:
            parse()
        except ValueError as error:
            assert str(error)


@settings(max_examples=50)
@given(st.binary(max_size=400))
@example(b"#only a remark\n")
@example(b"W" * 300)
def test_a_word_list_is_short_words_or_refused(data: bytes) -> None:
    with tempfile.TemporaryDirectory() as place:
        path = Path(place, "words.txt")
        path.write_bytes(data)
        try:
            words = read_words(path)
        except ValueError as error:
            assert str(error).count("\n") == 0
            return
    assert 0 < len(words) <= 200
    for word in words:
        check_name(word)
