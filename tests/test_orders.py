"""Orders: what a shop's table may hold, one folder a tag, plates."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from test_tag import catalogue, run

from catalogue.orders import Order, OrdersError, Result, folder_name, plate, read_orders, results_csv

__all__ = ["catalogue"]  # the fixture


def test_broken_rows_are_told_and_the_rest_goes_on() -> None:
    table = (
        "order,name,quantity,colours,cap_height,width\n1,Bo,2,,,\n2,,1,,,\n3,=1+1,1,,,\n4,Jo,none,,,\n5,Jo,1,navy,,\n"
    )
    table += "6,Jo,1,,14mm,60mm\n7,Jo,1,,,,extra\n\n8,Ida,,red/pink/white,,\n"
    orders = read_orders(table.encode())
    assert [o.order for o in orders if not o.reason] == ["1", "8"]
    assert [o.row for o in orders] == [2, 3, 4, 5, 6, 7, 8, 10]
    assert all(";" in o.reason for o in orders if o.reason)  # what is wrong; what to do
    assert orders[-1].colours == ("red", "pink", "white") and orders[0].quantity == 2


@pytest.mark.parametrize(
    "data, words",
    [(b"name\nZo\xeb\n", "UTF-8"), (b"who\nBo\n", "no column 'name'"), (b"name,size\nBo,1\n", "'size' is not known")],
)
def test_unreadable_tables(data: bytes, words: str) -> None:
    with pytest.raises(OrdersError, match=words):
        read_orders(data)


def test_same_tag_has_one_key_whatever_the_quantity() -> None:
    one, two, three = read_orders(b"name,face,quantity\nBo,best,1\nBo,best,7\nBo,Anton,1\n")
    assert one.key == two.key != three.key


def test_results_hold_no_formula() -> None:
    # OWASP, CSV injection: no cell starts with = + - @.
    text = results_csv([Result(Order(2, "=1", "@x", note="-2"), reason="a cell starts like a formula")])
    assert all(not cell or cell[0] not in "=+-@" for cell in list(csv.reader(io.StringIO(text)))[1])


def test_folder_names_stay_inside() -> None:
    for text in ("../x", "a/b", "..", "C:\\x", "\n"):
        name = folder_name(Order(2, text, text))
        assert name and not set(name) & set("/\\:.\n")


def test_plate_keeps_spacing_and_bed() -> None:
    sizes = [(30 + 7 * (k % 5), 12 + 3 * (k % 4)) for k in range(60)] + [(300.0, 10.0)]
    places = plate(sizes, (200.0, 150.0), 5.0)
    assert places[-1] is None and all(places[:-1])
    boxes = [(p.plate, p.x_mm, p.y_mm, p.x_mm + w, p.y_mm + d) for p, (w, d) in zip(places, sizes, strict=True) if p]
    assert all(x >= 5 and y >= 5 and u <= 195 and v <= 145 for _, x, y, u, v in boxes)
    for k, (n, x, y, u, v) in enumerate(boxes):
        for m, a, b, c, d in boxes[k + 1 :]:
            assert n != m or x >= c + 5 or a >= u + 5 or y >= d + 5 or b >= v + 5


def test_orders_command(catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(
        "order,name,face,quantity,note\nHF-1,Bo,Anton,2,Harbour Finch Goods\nHF-2,Jo,best,1,\n"
        "HF-3,Bo,Anton,1,\nHF-4,Bo,Nobody,1,\nHF-1,Bo,Pacifico,1,\n",
        encoding="utf-8",
    )
    out = tmp_path / "shop"
    assert run(catalogue, "orders", str(table), "--out", str(out)) == 1  # one row cannot be made
    assert "4 of 5 orders done" in capsys.readouterr().out
    rows = list(csv.DictReader(io.StringIO((out / "results.csv").read_text(encoding="utf-8"))))
    assert [r["done"] for r in rows] == ["yes", "yes", "yes", "no", "yes"]
    assert rows[0]["folder"] != rows[4]["folder"]
    assert rows[0]["folder"] == rows[2]["folder"] and (out / rows[0]["folder"] / "tag.3mf").is_file()  # made once
    assert (out / "contact.png").is_file() and (out / "plate-1.svg").is_file()
    made = (out / rows[0]["folder"] / "tag.3mf").stat().st_mtime_ns
    run(catalogue, "orders", str(table), "--out", str(out))
    assert (out / rows[0]["folder"] / "tag.3mf").stat().st_mtime_ns == made  # goes on where it stopped
