"""The public interface: its documented examples run over a tiny catalogue, frames say what the commands say."""

from __future__ import annotations

import contextlib
import doctest
import io
import json
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from conftest import TINY, font_bytes, rectangle, tiny_font
from fontTools.ttLib import TTFont

import catalogue
from catalogue import api, open_catalogue
from catalogue.commands.main import main
from catalogue.errors import CatalogueError, LetterholdError
from catalogue.gather.scan import Scan, scan_into


def named(font: TTFont, family: str) -> TTFont:
    for name_id, text in ((1, family), (4, f"{family} Regular")):
        font["name"].setName(text, name_id, 3, 1, 0x409)
    return font


@pytest.fixture(scope="module", autouse=True)
def tiny(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """The usual catalogue of a person who has two faces: the tiny font, and one whose stems are twice as wide."""
    home = tmp_path_factory.mktemp("home")
    fonts = home / "fonts"
    fonts.mkdir()
    stout = TINY | {letter: [rectangle(100, 0, 380, 700)] for letter in "fil"}
    # Stems of 0.1 em stand 0.25 em apart, 5 mm at capitals of 14 mm; those of 0.28 em stand 0.07 em apart, 1.4 mm.
    (fonts / "tiny.ttf").write_bytes(font_bytes(tiny_font(advance=350)))
    (fonts / "stout.ttf").write_bytes(font_bytes(named(tiny_font(glyphs=stout, advance=350), "Tiny Stout")))
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("XDG_DATA_HOME", str(home / "data"))
        path = home / "data" / "letterhold" / "catalogue.sqlite"
        scan_into(path, Scan([fonts / "tiny.ttf", fonts / "stout.ttf"], ("fil", "Al"), 1))
        yield path


@pytest.mark.parametrize("module", [catalogue, api])
def test_the_documented_examples(module: Any) -> None:
    found = doctest.testmod(module, extraglobs={"open_catalogue": open_catalogue})
    assert found.attempted > 2 and found.failed == 0


def as_command(*arguments: str) -> Any:
    out = io.StringIO()
    with contextlib.redirect_stdout(out):
        assert main([*arguments, "--json"]) in (0, 1)
    return json.loads(out.getvalue())


def test_a_ranking_is_that_of_the_command() -> None:
    frame = open_catalogue().rank("Al", x_height_mm=8, process="nozzle-0.25")
    rows = as_command("rank", "Al", "--x-height", "8mm", "--process", "nozzle-0.25")
    assert frame["family"].tolist() == [row["family"] for row in rows]
    for key in ("face", "hold", "pieces", "verified", "sell", "group", "reasons"):
        assert frame[key].tolist() == [row[key] for row in rows]
    for key in ("join_offset_mm", "neck_mm", "thinnest_stroke_mm"):
        assert frame[key].tolist() == pytest.approx([row[key] for row in rows], abs=0.0005)


def test_a_check_is_that_of_the_command() -> None:
    (row,) = open_catalogue().check("fil", "Tiny Regular", width_mm=30).to_dict("records")
    facts = as_command("check", "fil", "--face", "Tiny Regular", "--width", "30mm")
    assert {key: row[key] for key in ("hold", "em_mm", "pieces", "reasons")} == {
        key: facts[key] for key in ("hold", "em_mm", "pieces", "reasons")
    }
    assert row["weak_spots"] == len(facts["weak_spots"])
    assert open_catalogue().weak_spots("fil", "Tiny", width_mm=30).to_dict("records") == facts["weak_spots"]


def test_a_tag_is_written_where_that_is_asked(tmp_path: Path) -> None:
    (row,) = open_catalogue().tag("fil", "Tiny Stout", out=tmp_path, cap_height_mm=14).to_dict("records")
    facts = as_command("tag", "fil", "--face", "Tiny Stout", "--out", str(tmp_path / "x"), "--cap-height", "14mm")
    assert [row["width_mm"], row["depth_mm"], row["height_mm"]] == pytest.approx(facts["size_mm"], abs=0.001)
    assert row["mass_g"] == pytest.approx(facts["mass_g"]["all"], abs=0.001)
    assert (Path(row["folder"]) / "tag.3mf").read_bytes() == (tmp_path / "x" / "tag.3mf").read_bytes()


def test_every_length_bears_its_unit() -> None:
    """The columns that hold numbers with a unit end in it; those without are counts, shares and numbers of faces."""
    bare = {
        "face_index", "letters", "upem", "hold", "pieces", "letter_parts", "face", "weak_spots", "advances_variation",
        "joining", "contextual", "distance", "thin_share", "print_minutes", "mtime_ns", "size_bytes", "slant_deg",
        "base_area_mm2", "volume_mm3", "mass_g",
    }  # fmt: skip
    catalogue = open_catalogue()
    for frame in (
        catalogue.faces(), catalogue.rank("Al"), catalogue.check("Al", "Tiny"), catalogue.tag("Al", "Tiny"),
        catalogue.like("Tiny"),
    ):  # fmt: skip
        numbers = set(frame.select_dtypes("number").columns)
        unknown = {name for name in numbers if not name.endswith(("_mm", "_em"))} - bare
        assert not unknown, f"{sorted(unknown)}: end the name in _em or _mm, or list it here as a number without unit"


@pytest.mark.parametrize(
    ("ask", "says"),
    [
        (lambda c: c.rank("fil", cap_height_mm=14, width_mm=60), "several sizes are given; give one of"),
        (lambda c: c.rank("fil", cap_height_mm=float("nan")), "give a length above 0"),
        (lambda c: c.rank(""), "the name is empty"),
        (lambda c: c.check("A\nl", "Tiny"), "give one line here"),
        (lambda c: c.check("Al", "Tyni"), "nearest: Tiny"),
        (lambda c: c.tag("Zoë", "Tiny"), "Tiny Regular lacks Z"),
        (lambda c: c.rank("fil", process="plough"), "use one of nozzle-0.25"),
    ],
)
def test_wrong_use_is_one_line(ask: Any, says: str) -> None:
    with pytest.raises(LetterholdError, match=says):
        ask(open_catalogue())


def test_a_catalogue_that_is_not_there_is_said_at_once(tmp_path: Path) -> None:
    with pytest.raises(CatalogueError, match="run 'letterhold scan FOLDER' first"):
        open_catalogue(tmp_path / "none.sqlite")


def test_to_import_it_is_light() -> None:
    code = "import sys, catalogue; print(sorted({'numpy', 'pandas', 'shapely', 'sqlite3'} & set(sys.modules)))"
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout == "[]\n"


@pytest.mark.parametrize("arguments", [["--help"], ["rank", "Al"], ["rank", "--help"], ["scan", "--help"]])
def test_a_command_loads_none_of_the_heavy_libraries(arguments: list[str]) -> None:
    code = (
        "import sys\nfrom catalogue.commands.main import main\n"
        f"try:\n    main({arguments!r})\nexcept SystemExit:\n    pass\n"
        "print(sorted({'pandas', 'sklearn', 'streamlit', 'distributed', 'pyarrow'} & set(sys.modules)))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]", done.stderr
