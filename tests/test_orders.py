"""Orders: what a shop's table may hold, one folder a tag, plates."""

from __future__ import annotations

import csv
import io
from pathlib import Path

import pytest
from test_tag import catalogue, run

from catalogue.judge.process import load_process
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.database import Store
from catalogue.tag.choosing import best
from catalogue.tag.levers import Levers
from catalogue.tag.making import TagError, fit_face
from catalogue.tag.orders import Order, OrdersError, Result, folder_name, plate, read_orders, results_csv

__all__ = ["catalogue"]  # the fixture


def asked(name: str, cap_height_mm: float = 14.0) -> Request:
    """A name in the default process and stack."""
    return Request.of(name, Size("cap-height", cap_height_mm), load_process("nozzle-0.4"), default_stack())


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


def test_a_row_that_cannot_be_read_keeps_what_it_named() -> None:
    table = b"order,name,face,quantity,note\n1,Jo,Anton Regular,none,red bag\n2,,,1,\n"
    rows = list(csv.DictReader(io.StringIO(results_csv([Result(o, reason=o.reason) for o in read_orders(table)]))))
    assert [r["face"] for r in rows] == ["Anton Regular", "best"]
    assert [r["quantity"] for r in rows] == ["", ""]  # none was read: no number is made up
    assert (rows[0]["done"], rows[0]["note"]) == ("no", "red bag")


@pytest.mark.parametrize(
    "data, words",
    [
        (b"name\nZo\x81\n", "neither UTF-8 nor Windows-1252"),
        (b"who\nBo\n", "no column 'name'"),
        (b"name,size\nBo,1\n", "'size' is not known"),
    ],
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
    told = capsys.readouterr().out
    assert "4 of 5 orders done, 5 pieces: 3 tags made, 0 kept" in told
    assert "best chose " in told and "for 1 order" in told  # which face it took is told
    assert "row 5, order HF-4: no face 'Nobody'" in told
    rows = list(csv.DictReader(io.StringIO((out / "results.csv").read_text(encoding="utf-8"))))
    assert [r["done"] for r in rows] == ["yes", "yes", "yes", "no", "yes"]
    assert rows[0]["folder"] != rows[4]["folder"]
    assert rows[0]["folder"] == rows[2]["folder"] and (out / rows[0]["folder"] / "tag.3mf").is_file()  # made once
    for name in ("contact.png", "contact.svg", "plate-1.svg", "plate-1.3mf"):
        assert (out / name).is_file()
    sheet = (out / "contact.svg").read_text(encoding="utf-8")
    assert (
        sheet.count(">Bo<") == 3 and "Pacifico Regular" in sheet and ">order HF-1, 2 pieces<" in sheet
    )  # a bare "2, 2 pieces" would not say which is the number
    made = (out / rows[0]["folder"] / "tag.3mf").stat().st_mtime_ns
    (out / rows[1]["folder"] / "tag.3mf").unlink()  # as after a stop in the middle
    run(catalogue, "orders", str(table), "--out", str(out))
    assert "1 tag made, 2 kept from an earlier run" in capsys.readouterr().out
    assert (out / rows[0]["folder"] / "tag.3mf").stat().st_mtime_ns == made  # goes on where it stopped
    assert (out / rows[1]["folder"] / "tag.3mf").is_file()
    # Another colour is another tag.
    table.write_text(table.read_text(encoding="utf-8").replace("note\n", "note,colours\n", 1), encoding="utf-8")
    (out / "letter.txt").write_text("mine")
    with pytest.raises(ValueError, match=r"holds other files \(letter.txt\)"):
        run(catalogue, "orders", str(table), "--out", str(out))


def test_workers_make_the_same_as_one_process(catalogue: Path, tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    names = ("Bo", "Jo", "Ida", "Anna Lee", "Finn")
    table.write_text("name,face\n" + "".join(f"{n},Anton\n" for n in names), encoding="utf-8")
    for workers in ("1", "2"):
        assert run(catalogue, "orders", str(table), "--out", str(tmp_path / workers), "--workers", workers) == 0
    one, two = (
        {p.relative_to(tmp_path / w): p.read_bytes() for p in sorted((tmp_path / w).rglob("*")) if p.is_file()}
        for w in ("1", "2")
    )
    assert one == two and len(one) > 40


def test_best_is_a_face_that_holds(catalogue: Path) -> None:
    # Every name that "best" chooses for is fitted in full first; where no face holds the row says so.
    with Store(catalogue) as store:
        for name in ("Marlie", "Anna\nBo", "Fjodor"):
            choice = best(store, asked(name), Levers())
            assert choice.fit.holds and choice.face.sell in ("yes", "yes-conditions")
        with pytest.raises(TagError, match="make it larger"):
            best(store, asked("Marlie", 2.3), Levers(size_fixed=True))


def test_best_for_two_words_judges_them_as_the_tag_sets_them(catalogue: Path) -> None:
    """The fit sets words closer until they join, so the space must not decide: the face that is best for the letters
    without it is no better."""
    with Store(catalogue) as store:
        for words in ("Bo & Kim", "Ana\nMia"):
            rival = best(store, asked("".join(words.split())), Levers()).face
            assert (
                best(store, asked(words), Levers()).fit.hold.hold >= fit_face(rival, asked(words), Levers()).hold.hold
            )


def test_what_does_not_lie_on_the_bed_is_told_and_on_no_plate(
    catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table, out = tmp_path / "orders.csv", tmp_path / "shop"
    table.write_text("name,face,width\nBo,Anton,\nMarlie,Anton,230mm\nJo,Anton,2000mm\n", encoding="utf-8")
    assert run(catalogue, "orders", str(table), "--out", str(out)) == 1
    told = capsys.readouterr().out
    assert "1 of 3 orders done" in told and "1 plate;" in told and "plate-1.3mf is ready" in told
    rows = list(csv.DictReader(io.StringIO((out / "results.csv").read_text(encoding="utf-8"))))
    assert [r["done"] for r in rows] == ["yes", "no", "no"]
    assert rows[1]["reason"].endswith(" mm does not lie on the bed of 220 × 220 mm; make it smaller")
    assert run(catalogue, "orders", str(table), "--out", str(tmp_path / "large"), "--bed", "300mm") == 1
    assert "2 of 3 orders done" in capsys.readouterr().out  # a larger bed takes the second


def test_plates_keep_colours_and_processes_apart(catalogue: Path, tmp_path: Path) -> None:
    # The colour changes at a height, for the whole plate: tags of other colours cannot share it.
    table = tmp_path / "orders.csv"
    table.write_text("name,face,colours\nBo,Anton,\nJo,Anton,red pink white\nIda,Anton,\n", encoding="utf-8")
    assert run(catalogue, "orders", str(table), "--out", str(tmp_path / "shop")) == 0
    plates = sorted(p.name for p in (tmp_path / "shop").glob("plate-*.svg"))
    assert plates == ["plate-1.svg", "plate-2.svg"]
    assert "2 tags, nozzle-0.4, navy, sky, cream" in (tmp_path / "shop" / plates[0]).read_text(encoding="utf-8")
    assert run(catalogue, "orders", str(table), "--out", str(tmp_path / "small"), "--bed", "40mm") == 0
    assert len(list((tmp_path / "small").glob("plate-*.3mf"))) == 3  # one a plate on a bed of 40 mm


def test_bed_is_part_of_the_process() -> None:
    from catalogue.judge.process import load_process, parse_process

    assert load_process("nozzle-0.4").bed_mm == (220.0, 220.0)
    text = (
        'name = "mine"\nnozzle_mm = 0.4\nline_width_mm = 0.45\nleast_wall_mm = 0.8\nleast_gap_mm = 0.5\n'
        "layer_height_mm = 0.2\nbed_mm = {}\n"
    )
    assert parse_process(text.format("[180, 160.5]"), "mine.toml").bed_mm == (180, 160.5)
    for wrong in ("220", "[220]", "[1, 220]", '["a", 220]', "[true, 220]"):
        with pytest.raises(ValueError, match=r"mine.toml: bed_mm must be width and depth"):
            parse_process(text.format(wrong), "mine.toml")


def test_demo_orders_are_forty_that_can_be_read() -> None:
    from catalogue.commands.orders import demo_csv

    orders = read_orders(demo_csv())
    assert len(orders) == 40 and not [o for o in orders if o.reason]
    assert {"Zoë", "Đặng", "محمد", "Anne-Marie", "Anna\nBo"} <= {o.name for o in orders}
    assert len({o.key for o in orders}) < 40  # some are the same tag again


def test_a_full_disk_stops_with_one_line(catalogue: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    import errno
    import os

    table = tmp_path / "orders.csv"
    table.write_text("name,face\nBo,Anton\n", encoding="utf-8")

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        run(catalogue, "orders", str(table), "--out", str(tmp_path / "shop"))
    assert [p for p in (tmp_path / "shop").rglob("*") if p.is_file()] == []  # nothing half-written
