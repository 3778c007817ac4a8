"""The command line as people use it: scan, rank, inspect, check; exit status, keys, and bad input."""

from __future__ import annotations

import json
import os
import re
import shutil
import sqlite3
import xml.etree.ElementTree as ElementTree
from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import copy_demo_fonts

from catalogue.commands.main import main

Capture = pytest.CaptureFixture[str]


@pytest.fixture(scope="module")
def fonts(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with three demo fonts: a joined script, a heavy block and a hairline script."""
    return copy_demo_fonts(
        tmp_path_factory.mktemp("fonts"), ("fontpkg_lobster", "fontpkg_anton", "fontpkg_great_vibes")
    )


@pytest.fixture(scope="module")
def catalogue(fonts: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("catalogue") / "c.sqlite"
    assert main(["scan", str(fonts), "--catalogue", str(path), "--workers", "2"]) == 0
    return path


def run(capsys: Capture, *arguments: object) -> tuple[int, str, str]:
    capsys.readouterr()
    status = main([str(a) for a in arguments])
    out, err = capsys.readouterr()
    return status, out, err


def test_scan_counts_and_skips_what_is_unchanged(capsys: Capture, fonts: Path, catalogue: Path) -> None:
    status, out, _ = run(capsys, "scan", fonts, "--catalogue", catalogue, "--json")
    facts = json.loads(out)
    assert status == 0
    assert {"files", "faces", "instances", "failed", "skipped_unchanged", "seconds", "catalogue"} <= set(facts)
    assert (facts["files"], facts["faces"], facts["failed"], facts["skipped_unchanged"]) == (3, 3, 0, 3)


def test_rank_puts_the_stout_before_the_hairline(capsys: Capture, catalogue: Path) -> None:
    status, out, _ = run(capsys, "rank", "Marlie", "--as-set", "--catalogue", catalogue, "--json")
    rows = json.loads(out)
    assert status == 0
    assert set(rows[0]) == {
        "face", "family", "style", "path", "hold", "pieces", "join_offset_mm", "neck_mm", "thinnest_stroke_mm",
        "letter_parts", "smallest_counter_mm", "sell", "group", "verified", "reasons",
        "files",
    }  # fmt: skip
    assert rows[-1]["family"] == "Great Vibes"
    assert rows[-1]["hold"] < 50
    assert all(r["verified"] for r in rows)
    assert [r["hold"] for r in rows] == sorted((r["hold"] for r in rows), reverse=True)


def test_prediction_and_full_geometry_agree_on_the_join(capsys: Capture, catalogue: Path) -> None:
    """The pair table against the full geometry: 0.001 em at 14 mm capitals is 0.03 mm at the most."""
    _, full, _ = run(capsys, "rank", "Marlie", "--catalogue", catalogue, "--json")
    _, predicted, _ = run(capsys, "rank", "Marlie", "--catalogue", catalogue, "--json", "--verify", "0")
    by_face = {r["face"]: r for r in json.loads(full)}
    for row in json.loads(predicted):
        assert not row["verified"]
        assert row["join_offset_mm"] == pytest.approx(by_face[row["face"]]["join_offset_mm"], abs=0.03)


def test_check_gives_the_contract_keys_and_a_picture(capsys: Capture, catalogue: Path, tmp_path: Path) -> None:
    picture = tmp_path / "weak.svg"
    status, out, _ = run(
        capsys, "check", "Marlie", "--face", "Great Vibes", "--catalogue", catalogue, "--picture", picture, "--json"
    )
    facts = json.loads(out)
    assert status == 1  # done, but the answer is no
    assert facts["holds"] is False
    assert [layer["layer"] for layer in facts["layers"]] == ["base", "middle", "top"]
    assert [layer["top_mm"] for layer in facts["layers"]] == [2.794, 4.572, 6.35]
    assert {s["kind"] for s in facts["weak_spots"]} >= {"thin stroke"}
    root = ElementTree.parse(picture).getroot()
    assert root.get("width", "").endswith("mm")
    texts = "".join(root.itertext())
    assert "thin stroke" in texts and "mm" in texts


def test_the_numbers_of_the_picture_stand_in_the_terminal(capsys: Capture, catalogue: Path, tmp_path: Path) -> None:
    picture = tmp_path / "weak.svg"
    arguments = ("check", "Marlie", "--face", "Great Vibes", "--catalogue", catalogue)
    _, plain, _ = run(capsys, *arguments, "--picture", picture)
    spots = json.loads(run(capsys, *arguments, "--json")[1])["weak_spots"]
    listed = dict(re.findall(r"^ +(\d+) at +(-?[\d.]+),", plain, re.MULTILINE))
    marks = [t for t in ElementTree.parse(picture).getroot().itertext() if t.isdecimal()]
    assert listed and set(listed) <= set(marks)
    assert [float(listed[str(k)]) for k in range(1, len(listed) + 1)] == sorted(float(x) for x in listed.values())
    assert len(re.findall(r" at +-?[\d.]+, +-?[\d.]+:", plain)) == len(spots)  # lesser ones come without a number
    assert "Marlie" in [t.strip() for t in ElementTree.parse(picture).getroot().itertext()]  # the name is its title


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["rnk", "Bo"], "'rnk' is not known; did you mean rank?"),
        (["order", "x.csv"], "did you mean orders?"),
        (["zzzzz"], "use one of scan, rank"),
        (
            ["tag", "Bo", "--face", "Anton", "--out", "x", "--layers", "7"],
            "argument --layers: '7' is not known; use one",
        ),
        (["rank", "Bo", "--cap-height", "0mm"], "'0mm' is not above 0 and at most 2000 mm; write it as 14mm"),
    ],
)
def test_a_slip_of_the_pen_is_reported_in_one_line(capsys: Capture, arguments: list[str], says: str) -> None:
    with pytest.raises(SystemExit) as stop:
        main(arguments)
    assert stop.value.code == 2
    err = capsys.readouterr().err
    assert says in err and err.count("\n") == 1


def test_png_picture_is_a_picture(capsys: Capture, catalogue: Path, tmp_path: Path) -> None:
    from PIL import Image

    picture = tmp_path / "weak.png"
    run(capsys, "check", "Zoë", "--face", "Anton", "--catalogue", catalogue, "--picture", picture)
    with Image.open(picture) as image:
        assert image.width > 300 and len(image.convert("RGB").getcolors(1 << 24) or ()) > 10


def test_width_is_the_width_of_the_base(capsys: Capture, catalogue: Path) -> None:
    from catalogue.judge.check import check_face
    from catalogue.judge.process import load_process
    from catalogue.judge.request import Request, Size
    from catalogue.judge.stack import default_stack
    from catalogue.store.database import Store

    with Store(catalogue) as store:
        face = store.find("Anton Regular")
    check = check_face(face, Request.of("Marlie", Size("width", 70.0), load_process("nozzle-0.4"), default_stack()))
    left, _, right, _ = check.regions[0].bounds
    assert right - left == pytest.approx(70.0, abs=1e-6)


def test_inches_and_millimetres_mean_the_same(capsys: Capture, catalogue: Path) -> None:
    arguments = ("check", "Bo", "--face", "Anton", "--catalogue", catalogue, "--json", "--cap-height")
    assert run(capsys, *arguments, "0.5in")[1] == run(capsys, *arguments, "12.7mm")[1]


def test_a_name_with_a_letter_the_face_lacks_is_not_scored(capsys: Capture, catalogue: Path) -> None:
    status, out, _ = run(capsys, "rank", "Ζωή", "--catalogue", catalogue)
    assert status == 1
    assert "not scored" in out


def test_csv_and_plain_output_carry_the_same_faces(capsys: Capture, catalogue: Path) -> None:
    _, table, _ = run(capsys, "rank", "Marlie", "--catalogue", catalogue, "--csv")
    _, plain, _ = run(capsys, "rank", "Marlie", "--catalogue", catalogue)
    for family in ("Anton", "Lobster", "Great Vibes"):
        assert family in table and family in plain
    assert "not for children under 3" in " ".join(plain.split())


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["rank", ""], "the name is empty"),
        (["rank", "a" * 201], "200 are the most"),
        (["rank", "Bo", "--process", "plough"], "use one of nozzle-0.25"),
        (["rank", "Bo", "--process", "0.4"], "did you mean nozzle-0.4?"),
        (["check", "Bo", "--face", "Antn"], "nearest: Anton Regular"),
        (["check", "Bo", "--face", "Anton", "--picture", "x.gif"], ".svg or .png"),
        (["check", "😀", "--face", "Anton"], "choose another face"),
        (["scan", "/nowhere/at/all"], "check the spelling"),
        (["licence"], "name a font"),
        (["licence", __file__], "it is no TTF, OTF, TTC, WOFF or WOFF2 font"),
        (["rank", "Bo", "--language", "no such language"], "write it as tr, sr or zh-Hant"),
    ],
)
def test_wrong_use_is_one_line_with_the_next_step(
    capsys: Capture, catalogue: Path, arguments: list[str], says: str
) -> None:
    status, _, err = run(capsys, *arguments, "--catalogue", catalogue)
    assert status == 2
    assert says in err
    assert err.count("\n") == 1


@pytest.mark.parametrize("length", ["tall", "-3mm", "0"])
def test_a_bad_length_says_how_to_write_one(capsys: Capture, length: str) -> None:
    with pytest.raises(SystemExit) as stop:
        main(["rank", "Bo", f"--cap-height={length}"])
    assert stop.value.code == 2
    assert "write it as 14mm" in capsys.readouterr().err


def test_bad_files_get_a_reason_and_the_rest_is_kept(capsys: Capture, fonts: Path, tmp_path: Path) -> None:
    folder = tmp_path / "mixed"
    folder.mkdir()
    good = next(fonts.glob("Anton*"))
    shutil.copy(good, folder)
    (folder / "empty.ttf").write_bytes(b"")
    (folder / "junk.otf").write_bytes(b"no font at all")
    (folder / "cut.ttf").write_bytes(good.read_bytes()[:3000])
    os.mkfifo(folder / "pipe.ttf")
    (folder / "folder.ttf").mkdir()
    status, out, _ = run(capsys, "scan", folder, "--catalogue", tmp_path / "c.sqlite", "--json")
    facts = json.loads(out)
    assert status == 0
    assert (facts["faces"], facts["failed"]) == (1, 4)
    reasons = {Path(p.partition("#")[0]).name: r for p, r in facts["reasons"]}
    assert "not a plain file" in reasons["pipe.ttf"]
    assert "it is empty" in reasons["empty.ttf"]
    assert "no TTF" in reasons["junk.otf"]
    assert reasons["cut.ttf"]


def test_changed_moved_and_deleted_files(capsys: Capture, fonts: Path, tmp_path: Path) -> None:
    folder = tmp_path / "fonts"
    folder.mkdir()
    one, two = sorted(fonts.glob("*.ttf"))[:2]
    shutil.copy(one, folder / "a.ttf")
    target = tmp_path / "c.sqlite"
    scan = ("scan", folder, "--catalogue", target, "--json")
    assert json.loads(run(capsys, *scan)[1])["faces"] == 1
    (folder / "a.ttf").rename(folder / "b.ttf")  # moved: known by its bytes, not measured again
    facts = json.loads(run(capsys, *scan)[1])
    assert (facts["faces"], facts["skipped_unchanged"]) == (1, 1)
    shutil.copy(two, folder / "b.ttf")  # changed
    facts = json.loads(run(capsys, *scan)[1])
    assert (facts["faces"], facts["skipped_unchanged"]) == (1, 0)
    (folder / "b.ttf").unlink()  # deleted, another stays
    shutil.copy(one, folder / "c.ttf")
    facts = json.loads(run(capsys, *scan)[1])
    assert (facts["files"], facts["faces"]) == (1, 1)


def test_a_folder_without_fonts(capsys: Capture, tmp_path: Path) -> None:
    status, _, err = run(capsys, "scan", tmp_path, "--catalogue", tmp_path / "c.sqlite")
    assert status == 2
    assert "no font files there" in err


def test_a_catalogue_that_is_not_ours_or_not_of_this_version(capsys: Capture, catalogue: Path, tmp_path: Path) -> None:
    other = tmp_path / "other.sqlite"
    with sqlite3.connect(other) as db:
        db.execute("CREATE TABLE t (x)")
    db.close()
    assert "not a letterhold catalogue" in run(capsys, "rank", "Bo", "--catalogue", other)[2]
    text = tmp_path / "text.sqlite"
    text.write_text("hello, this is a text file and no database at all")
    assert "not a letterhold catalogue" in run(capsys, "rank", "Bo", "--catalogue", text)[2]
    old = tmp_path / "old.sqlite"
    shutil.copy(catalogue, old)
    with sqlite3.connect(old) as db:
        db.execute("PRAGMA user_version = 99")
    db.close()
    assert "scan again" in run(capsys, "rank", "Bo", "--catalogue", old)[2]
    assert "run 'letterhold scan FOLDER' first" in run(capsys, "rank", "Bo", "--catalogue", tmp_path / "none")[2]


def test_words_of_ones_own(capsys: Capture, fonts: Path, tmp_path: Path) -> None:
    words = tmp_path / "words.txt"
    words.write_text("# two names\nOrla\nPiet\n", encoding="utf-8")
    target = tmp_path / "c.sqlite"
    anton = next(fonts.glob("Anton*"))
    run(capsys, "scan", anton, "--words", words, "--catalogue", target)
    _, out, _ = run(capsys, "inspect", "Anton", "--catalogue", target, "--json")
    facts = json.loads(out)
    assert facts["worst_join_offset_em"] >= facts["median_join_offset_em"] > 0


def test_licence_of_a_demo_font(capsys: Capture, fonts: Path, catalogue: Path) -> None:
    status, out, _ = run(capsys, "licence", "Lobster Regular", "--catalogue", catalogue, "--json")
    facts = json.loads(out)
    assert status == 0
    assert facts["spdx"] == "OFL-1.1"
    assert facts["verdict"] == "yes"
    assert facts["evidence"]
    status, out, _ = run(capsys, "licence", fonts, "--csv")
    assert out.splitlines()[0] == "path,face_index,family,style,spdx,verdict"
    assert len(out.splitlines()) == 4


def test_every_command_has_help_with_an_example_and_stands_in_the_readme(capsys: Capture) -> None:
    with pytest.raises(SystemExit):
        main(["--help"])
    listed = capsys.readouterr().out.partition("commands:")[2]
    names = re.findall(r"^    (\w+) ", listed, flags=re.MULTILINE)
    assert {"scan", "rank", "inspect", "check", "licence", "tag", "orders", "demo"} <= set(names)
    readme = Path(__file__).parents[1].joinpath("README.md").read_text(encoding="utf-8")
    for name in names:
        with pytest.raises(SystemExit) as stop:
            main([name, "--help"])
        assert stop.value.code == 0
        assert f"Example: letterhold {name}" in " ".join(capsys.readouterr().out.split())
        assert f"letterhold {name}" in readme


def test_a_font_file_that_is_not_there_is_reported_as_a_file(capsys: Capture, catalogue: Path) -> None:
    status, _, err = run(capsys, "licence", "fonts/Nofont.ttf", "--catalogue", catalogue)
    assert (status, err) == (
        2, "letterhold: fonts/Nofont.ttf: no such file, nor in the catalogue; check the spelling\n",
    )  # fmt: skip


@pytest.mark.parametrize(
    ("face", "what"),
    [("Anton Regular", "the files to print it"), ("Great Vibes Regular", "the least change that makes it hold")],
)
def test_a_check_ends_with_the_next_command(capsys: Capture, catalogue: Path, face: str, what: str) -> None:
    _, out, _ = run(capsys, "check", "O'Neil", "--face", face, "--catalogue", catalogue)
    line = next(line for line in out.splitlines() if line.startswith("next, for "))
    assert line == f"""next, for {what}: letterhold tag 'O'"'"'Neil' --face '{face}' --out FOLDER"""


def test_two_words_are_set_close_enough_to_hang_together(capsys: Capture, catalogue: Path) -> None:
    status, out, _ = run(capsys, "rank", "Bo & Kim", "--as-set", "--catalogue", catalogue)
    assert status == 0
    assert "words are set closer than the face sets them" in out
    status, out, _ = run(capsys, "check", "Bo & Kim", "--face", "Anton Regular", "--json", "--catalogue", catalogue)
    facts = json.loads(out)
    # A word space of Anton is 0.2 em or so, 3 mm here: most of it is taken out, and the base is one piece.
    assert status == 0 and facts["layers"][0]["pieces"] == 1 and 1.0 < facts["words_closer_mm"] < 5.0
    assert facts["join_offset_mm"] <= 1.0


def test_a_face_that_is_looked_up_is_the_one_found_among_all(catalogue: Path) -> None:
    """Ids and titles are looked up in the catalogue without reading every face; the choice is the same."""
    from catalogue.errors import CatalogueError
    from catalogue.store.database import Store
    from catalogue.store.face import Face, find_face

    def of(find: Callable[[str], Face], text: str) -> object:
        try:
            return find(text)
        except CatalogueError as error:
            return str(error)

    with Store(catalogue) as store:
        faces = store.faces()
        every = store.faces(measured_only=False)  # one that was not measured is none to be found
        texts = [text for f in every for text in (str(f.id), f.title, f.family, f.path)]
        for text in (*texts, faces[0].title.upper(), faces[0].title.replace(" ", "  "), "0", "9" * 18, "", "Anto"):
            assert of(store.find, text) == of(lambda text: find_face(faces, text), text), text
