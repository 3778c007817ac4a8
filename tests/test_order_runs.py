"""Runs of orders: what is kept, what is listed, and how a run ends when it is told to."""

from __future__ import annotations

import csv
import os
import signal
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from test_tag import catalogue, run

from catalogue.tag.orders.finished import finished_in
from catalogue.tag.orders.folders import folder_name
from catalogue.tag.orders.order import Order
from catalogue.workers import WorkerError, spread

__all__ = ["catalogue"]  # the fixture


def rows_of(out: Path) -> list[dict[str, str]]:
    with (out / "results.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def orders(path: Path, *rows: str) -> Path:
    path.write_text("order,name,face,cap_height,ring\n" + "".join(row + "\n" for row in rows), encoding="utf-8")
    return path


def no_fit(*_: object) -> None:
    raise AssertionError("nothing is fitted again")


def test_unchanged_orders_are_not_fitted_again(
    catalogue: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    table, out = orders(tmp_path / "o.csv", "1,Bo,Anton,,", "2,Jo,best,,", "3,Ida,Pacifico,,"), tmp_path / "shop"
    assert run(catalogue, "orders", str(table), "--out", str(out)) == 0
    before = {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in out.rglob("*") if p.is_file()}
    monkeypatch.setattr("catalogue.tag.making.fit", no_fit)
    monkeypatch.setattr("catalogue.tag.orders.run.sheet_files", no_fit)
    assert run(catalogue, "orders", str(table), "--out", str(out)) == 0
    assert "0 tags made, 3 kept" in capsys.readouterr().out
    after = {p: (p.read_bytes(), p.stat().st_mtime_ns) for p in out.rglob("*") if p.is_file()}
    assert {p: v for p, v in after.items() if p.name != "results.csv"} == {
        p: v for p, v in before.items() if p.name != "results.csv"
    }
    assert after[out / "results.csv"][0] == before[out / "results.csv"][0]


def test_a_new_order_redraws_the_sheets_from_what_is_kept(
    catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "shop"
    run(catalogue, "orders", str(orders(tmp_path / "o.csv", "1,Bo,Anton,,")), "--out", str(out))
    both = orders(tmp_path / "o.csv", "1,Bo,Anton,,", "2,Jo,Anton,,")
    capsys.readouterr()
    assert run(catalogue, "orders", str(both), "--out", str(out)) == 0
    assert "1 tag made, 1 kept" in capsys.readouterr().out
    fresh = tmp_path / "fresh"
    run(catalogue, "orders", str(both), "--out", str(fresh))
    for name in ("contact.svg", "plate-1.svg", "plate-1.3mf", "results.csv"):
        assert (out / name).read_bytes() == (fresh / name).read_bytes()  # a kept tag is drawn as a new one


@pytest.mark.parametrize("damage", ["made.json", "tag.3mf"])
def test_a_damaged_folder_is_made_again(catalogue: Path, tmp_path: Path, damage: str) -> None:
    table, out = orders(tmp_path / "o.csv", "1,Bo,Anton,,"), tmp_path / "shop"
    run(catalogue, "orders", str(table), "--out", str(out))
    folder = out / "1-bo"
    whole = {p.name: p.read_bytes() for p in folder.iterdir()}
    (folder / damage).write_bytes(whole[damage][: len(whole[damage]) // 2])
    assert finished_in(folder) is None
    assert run(catalogue, "orders", str(table), "--out", str(out)) == 0
    assert {p.name: p.read_bytes() for p in folder.iterdir()} == whole


def test_rows_that_fail_keep_their_face_and_say_why(
    catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    table = orders(
        tmp_path / "o.csv",
        "1,Bo,Anton,999,", "2,Bo,Anton,1e308,", "3,Bo,Anton,14mm,999", "4,Bo,Anton,14mm,1e308", "5,Bo 鑫,Anton,,",
        "6,Marlie,best,14mm,999", "7,Bo,Anton,2mm,", "8,\x1b[31mBo,Anton,,", "9\u202e,Bo,\x1b]0;Anton,,",
    )  # fmt: skip
    out = tmp_path / "shop"
    assert run(catalogue, "orders", str(table), "--out", str(out), "--workers", "1") == 1
    shown = capsys.readouterr().out
    assert "\x1b" not in shown and "\u202e" not in shown
    rows = rows_of(out)
    assert [r["done"] for r in rows] == ["no"] * 9
    assert "does not lie on the bed" in rows[0]["reason"] and "not a length" in rows[1]["reason"]
    assert all("is no place for the ring" in rows[k]["reason"] for k in (2, 3, 5))
    assert [rows[k]["face"] for k in (0, 2, 3, 4, 6)] == ["Anton", *["Anton Regular"] * 4]
    assert rows[5]["face"] not in ("", "best")  # the ranking had found one before the ring did not fit
    assert "control character" in rows[7]["reason"]
    assert "\x1b" not in (out / "results.csv").read_text(encoding="utf-8")


def test_folders_of_orders_that_are_gone_are_listed(
    catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    out = tmp_path / "shop"
    run(catalogue, "orders", str(orders(tmp_path / "o.csv", "1,Bo,Anton,,", "2,Jo,Anton,,")), "--out", str(out))
    capsys.readouterr()
    run(catalogue, "orders", str(orders(tmp_path / "o.csv", "1,Bo,Anton,,")), "--out", str(out))
    assert "1 folder of orders no longer in the file: 2-jo;" in capsys.readouterr().err
    assert (out / "2-jo").is_dir()  # listed, never deleted


def test_a_fault_of_the_program_costs_one_row(catalogue: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("XDG_STATE_HOME", str(tmp_path / "state"))
    from catalogue.tag import making

    whole = making.fit_face

    def broken(face: object, request: object, levers: object) -> object:
        if request.name == "Jo":  # type: ignore[attr-defined]
            raise IndexError("a library's")
        return whole(face, request, levers)  # type: ignore[arg-type]

    monkeypatch.setattr(making, "fit_face", broken)
    table, out = orders(tmp_path / "o.csv", "1,Bo,Anton,,", "2,Jo,Anton,,"), tmp_path / "shop"
    assert run(catalogue, "orders", str(table), "--out", str(out)) == 1
    rows = rows_of(out)
    assert [r["done"] for r in rows] == ["yes", "no"] and "fault in letterhold" in rows[1]["reason"]
    details = Path(rows[1]["reason"].partition("details in ")[2])
    assert "a library's" in details.read_text(encoding="utf-8")


# ── how a run ends ──────────────────────────────────────────────────────────────────────────────────────────────────

LINUX = pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
MANY = 40


@pytest.fixture
def under_way(catalogue: Path, tmp_path: Path) -> Iterator[subprocess.Popen[str]]:
    """A run of forty orders with some of them made."""
    names = [
        f"{a}{b}" for a in ("Bo", "Jo", "Ida", "Finn", "Kai", "Uta", "Mia", "Leo") for b in ("", "l", "n", "r", "s")
    ]
    table = orders(tmp_path / "o.csv", *(f"{k},{n},Anton,," for k, n in enumerate(names)))
    command = ["orders", str(table), "--out", str(tmp_path / "shop"), "--workers", "2", "--catalogue", str(catalogue)]
    code = f"import sys; from catalogue.commands.main import main; sys.exit(main({command!r}))"
    process = subprocess.Popen([sys.executable, "-c", code], stderr=subprocess.PIPE, text=True)
    while not list(tmp_path.glob("shop/*/made.json")):
        assert process.poll() is None
        time.sleep(0.02)
    yield process
    process.kill()
    process.communicate()


def children(pid: int) -> list[int]:
    return [int(p) for p in Path(f"/proc/{pid}/task/{pid}/children").read_text().split()]


def ended(pid: int) -> bool:
    try:
        return Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except OSError:
        return True


@LINUX
@pytest.mark.parametrize("number", [signal.SIGINT, signal.SIGTERM, signal.SIGKILL])
def test_a_run_that_is_told_to_end_leaves_nobody(
    under_way: subprocess.Popen[str], tmp_path: Path, number: signal.Signals
) -> None:
    workers = children(under_way.pid)
    assert len(workers) == 2  # and no tracker of shared resources
    under_way.send_signal(number)
    _, said = under_way.communicate(timeout=30)
    deadline = time.monotonic() + 30  # two seconds on an idle machine; the tests share this one
    while not all(map(ended, workers)):
        assert time.monotonic() < deadline
        time.sleep(0.02)
    made = len(list(tmp_path.glob("shop/*/made.json")))
    assert 0 < made < MANY
    if number != signal.SIGKILL:
        assert under_way.returncode == 2
        assert said == "letterhold: stopped; what was done is kept, run the same command to go on\n"
        rows = rows_of(tmp_path / "shop")
        assert len(rows) == MANY and 0 < sum(r["done"] == "yes" for r in rows) <= made
        assert {r["reason"] for r in rows if r["done"] == "no"} == {
            "not made, for the run was stopped; run the same command to go on"
        }
    assert number == signal.SIGKILL or not list(tmp_path.glob("shop/*/.letterhold-*"))


def square(number: int) -> int:
    if number < 0:
        os._exit(7)
    return number * number


def test_workers_answer_every_task_and_pass_on_errors() -> None:
    assert sorted((d.number, d.answer) for d in spread(square, [3, 1, 2], 2)) == [(0, 9), (1, 1), (2, 4)]
    with pytest.raises(TypeError):
        list(spread(square, ["x"], 1))  # type: ignore[list-item]
    with pytest.raises(WorkerError, match="run again with --workers 1"):
        list(spread(square, [1, -1], 2))


def test_an_order_without_letters_has_a_folder() -> None:
    assert folder_name(Order(7, "…", "!")) == "row-7"


# ── the font is the one that was scanned, and every letter of it has ink ────────────────────────────────────────────


@pytest.fixture
def own(tmp_path: Path) -> tuple[Path, Path]:
    """A catalogue of one font of ours, whose apostrophe is mapped to a glyph without ink; and the font."""
    from conftest import CMAP, TINY, tiny_font

    from catalogue.gather.scan import Scan, scan_into
    from scanner.alphabet import read_words

    font = tmp_path / "fonts" / "Tiny-Regular.ttf"
    font.parent.mkdir()
    tiny_font(glyphs=TINY | {"quotesingle": []}, cmap=CMAP | {ord("'"): "quotesingle"}).save(font)
    scan_into(tmp_path / "c.sqlite", Scan([font], read_words(None)[:2], workers=1))
    return tmp_path / "c.sqlite", font


def test_a_letter_without_ink_is_a_missing_letter(own: tuple[Path, Path], tmp_path: Path) -> None:
    catalogue, _ = own
    with pytest.raises(ValueError, match="lacks '; choose another face"):
        run(catalogue, "tag", "A'A", "--face", "Tiny", "--out", str(tmp_path / "x"))
    table, out = orders(tmp_path / "o.csv", "1,A'A,Tiny,,", "2,AA,Tiny,,"), tmp_path / "shop"
    assert run(catalogue, "orders", str(table), "--out", str(out)) == 1
    rows = rows_of(out)
    assert [r["done"] for r in rows] == ["no", "yes"] and "lacks '" in rows[0]["reason"]


def test_a_font_that_has_changed_since_the_scan_is_not_cut(own: tuple[Path, Path], tmp_path: Path) -> None:
    from conftest import tiny_font

    catalogue, font = own
    table, out = orders(tmp_path / "o.csv", "1,AA,Tiny,,"), tmp_path / "shop"
    assert run(catalogue, "orders", str(table), "--out", str(out)) == 0
    tiny_font(advance=520).save(font)
    with pytest.raises(ValueError, match="changed since the scan; scan"):
        run(catalogue, "tag", "AA", "--face", "Tiny", "--out", str(tmp_path / "x"))
    assert not (tmp_path / "x").exists()
    assert run(catalogue, "orders", str(table), "--out", str(out)) == 1  # what an earlier run made is no excuse
    assert "changed since the scan; scan" in rows_of(out)[0]["reason"]
    assert rows_of(out)[0]["face"] == "Tiny Regular"


def test_a_record_keeps_the_digest_of_the_bytes_that_were_cut(own: tuple[Path, Path], tmp_path: Path) -> None:
    import hashlib
    import zipfile

    catalogue, font = own
    run(catalogue, "tag", "AA", "--face", "Tiny", "--out", str(tmp_path / "x"), "--formats", "svg")
    record = zipfile.ZipFile(tmp_path / "x" / "licence.zip").read("checksums.txt").decode()
    assert f"{hashlib.sha256(font.read_bytes()).hexdigest()}  Tiny-Regular.ttf" in record
