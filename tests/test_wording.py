"""The shared words: one verdict reads the same everywhere, and one of a thing is never told as many."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from conftest import copy_demo_fonts

from catalogue import wording
from catalogue.commands.main import main
from catalogue.judge.check import WeakSpot
from catalogue.licence.verdict import Verdict
from catalogue.page.drawing import spot_lines

ONE_OF_MANY = re.compile(r"(?<![\d.,<-])\b1 (?:[a-z]+ )?(?!(?:this|has|was|its)\b)[a-z]+[a-rt-z]s\b")
"""A lone 1 before a plural, as in "1 faces" or "1 more faces"."""


@pytest.fixture(scope="module")
def shop(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One font with one face, in a catalogue and in one partition."""
    place = tmp_path_factory.mktemp("one")
    (place / "fonts").mkdir()
    fonts = copy_demo_fonts(place / "fonts", ("fontpkg_anton",))
    (place / "words.txt").write_text("Anna\n")
    assert main(["scan", str(fonts), "--catalogue", str(place / "c.sqlite"), "--words", str(place / "words.txt")]) == 0
    (place / "orders.csv").write_text("name,face\nAnna,Anton Regular\n")
    orders = ["orders", str(place / "orders.csv"), "--out", str(place / "tags")]
    assert main([*orders, "--catalogue", str(place / "c.sqlite")]) == 0
    return place


def test_the_pattern_finds_what_it_should() -> None:
    assert all(map(ONE_OF_MANY.search, ("1 faces", "in 1 files:", "1 more faces; all", "1 tags made")))
    assert not any(map(ONE_OF_MANY.search, ("1 face", "11 faces", "0.1 lines", "1 mm offset", "-1 joins with")))


def test_one_of_a_thing_is_told_as_one(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    catalogue, words, place = ("--catalogue", shop / "c.sqlite"), ("--words", shop / "words.txt"), shop / "fonts"
    asked: tuple[tuple[object, ...], ...] = (
        ("scan", place, *catalogue, *words),
        ("scan", place, *words, "--parts", shop / "parts"),
        ("merge", shop / "parts", "--catalogue", shop / "other.sqlite"),
        ("rank", "Anna", *catalogue), ("rank", "Ωmega", *catalogue),
        ("inspect", "Anton Regular", *catalogue), ("check", "Anna", "--face", "Anton Regular", *catalogue),
        ("licence", "--ledger", shop / "l.csv", *catalogue), ("groups", *catalogue), ("health", *catalogue),
        ("tag", "Anna", "--face", "Anton Regular", "--out", shop / "tag", *catalogue),
        ("orders", shop / "orders.csv", "--out", shop / "tags", *catalogue),
        ("compare", "Anton Regular", "--name", "Anna", *catalogue),
    )  # fmt: skip
    for arguments in asked:
        main([str(a) for a in arguments])
        out, err = capsys.readouterr()
        assert out + err and not ONE_OF_MANY.search(out + err), arguments
    written = [*shop.glob("tags/*.svg"), *shop.glob("tags/*/job.html")]
    assert len(written) == 3
    for path in written:
        assert not ONE_OF_MANY.search(re.sub(r"<[^>]*>", " ", path.read_text())), path


def test_one_hidden_spot_and_one_lacking_font_are_told_as_one(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    spots = [WeakSpot("pinhole", float(x), 0.0, 0.1, "base") for x in range(13)]
    assert spot_lines(spots)[-1] == "and 1 lesser one without a number"
    (shop / "going").mkdir()
    gone = copy_demo_fonts(shop / "going", ("fontpkg_anton",))
    catalogue = ["--catalogue", str(shop / "gone.sqlite")]
    main(["scan", str(gone), *catalogue, "--words", str(shop / "words.txt")])
    next(gone.rglob("*.ttf")).unlink()
    capsys.readouterr()
    assert main(["health", *catalogue]) == 1
    assert "1 font missing since the scan" in capsys.readouterr().out


def test_every_verdict_reads_the_same_in_ledger_page_and_job_sheet(shop: Path) -> None:
    """The verdicts are those of ``catalogue.licence.verdict``; each has its own sign, so that no colour is needed."""
    from typing import get_args, get_type_hints

    assert set(wording.SELL) == {"yes", "yes-conditions", "ask", "no", "unknown"}
    assert len({s.sign for s in wording.SELL.values()}) == 5
    kinds = get_args(get_type_hints(Verdict)["verdict"])
    assert not kinds or set(kinds) == set(wording.SELL)
    html = (shop / "tags" / "1-anna" / "job.html").read_text()
    verdict = json.loads((shop / "tags" / "1-anna" / "job.json").read_text())["sell"]
    assert f"<li>{wording.sell(verdict).sentence} (" in html


def test_the_thinnest_stroke_has_one_name(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    catalogue = ["--catalogue", str(shop / "c.sqlite")]
    for arguments in (["check", "Anna", "--face", "Anton Regular"], ["compare", "Anton Regular", "--name", "Anna"]):
        main([*arguments, *catalogue])
        out = capsys.readouterr().out
        assert "thinnest stroke" in out and "thin end" not in out
