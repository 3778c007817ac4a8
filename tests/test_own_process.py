"""Profiles of one's own: from what came out of a coupon, saved, found by every command, and gone when removed."""

from __future__ import annotations

import io
import json
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from catalogue.commands.main import main
from catalogue.errors import LetterholdError
from catalogue.judge.hold import Sizes, judge, no_margin, stray_mm
from catalogue.judge.own_profiles import own_names, own_path, plain_name
from catalogue.judge.process import Process, load_process, parse_process, profile_names, profile_text, save_process
from catalogue.tag.coupon.reading import CouponError, Printed, doubts_of, least_of, reading_of, stray_of
from catalogue.tag.coupon.sizes import WALLS_MM, sizes_for

USUAL = load_process("nozzle-0.4")
SIZES = sizes_for(USUAL)


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A user's folder of its own; nobody is at the keyboard."""
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path / "data"))
    monkeypatch.setattr("sys.stdin", io.StringIO())
    return tmp_path


def run(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    status = main(list(words))
    out, err = capsys.readouterr()
    return status, out, err


# ── what came out ───────────────────────────────────────────────────────────────────────────────────────────────────


@given(st.integers(0, len(WALLS_MM) - 1))
def test_all_from_one_size_on_gives_that_size(first: int) -> None:
    found = least_of("wall", WALLS_MM, WALLS_MM[first:])
    assert (found.mm, found.doubt) == (WALLS_MM[first], "")


@given(st.sets(st.sampled_from(WALLS_MM[:-1])))
def test_what_is_taken_came_out_and_so_did_all_that_is_wider(narrower: set[float]) -> None:
    came_out = {*narrower, WALLS_MM[-1]}
    found = least_of("wall", WALLS_MM, came_out)
    assert {mm for mm in WALLS_MM if mm >= found.mm} <= came_out
    assert found.mm == WALLS_MM[0] or max(mm for mm in WALLS_MM if mm < found.mm) not in came_out, "the least of them"
    assert bool(found.doubt) == any(mm < found.mm for mm in came_out), "asked about when a narrower one came out too"


@pytest.mark.parametrize(
    ("came_out", "says"),
    [
        ((), "no wall came out, not even 1.2 mm: look at the printer first"),
        ((0.6, 0.7), "the wall of 0.7 mm came out, and the widest of 1.2 mm did not: look at both again"),
        ((0.65, 1.2), "there is no wall of 0.65 mm on this coupon; it has 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 1, 1.2"),
    ],
    ids=["none", "not the widest", "not on it"],
)
def test_what_cannot_have_come_out_says_what_to_do(came_out: tuple[float, ...], says: str) -> None:
    with pytest.raises(CouponError) as error:
        least_of("wall", WALLS_MM, came_out)
    assert str(error.value).startswith(says)


def test_a_wall_thinner_than_one_that_failed_is_asked_about() -> None:
    read = reading_of("mine", USUAL, Printed(walls_mm=(0.4, 0.6, 0.7, 0.8, 1.0, 1.2)), SIZES)
    assert read.process.least_wall_mm == 0.6
    assert read.doubts == ("the wall of 0.4 mm came out, and the wider one of 0.5 mm did not: look at both again",)


def test_holes_that_nobody_looked_at_stay_as_they_were() -> None:
    """Holes close before gaps do (printed holes come out small: common design tables), so a gap proves no hole."""
    made = reading_of("mine", USUAL, Printed(gaps_mm=(0.2, 0.3, 0.4, 0.5, 0.6)), SIZES).process
    assert (made.least_gap_mm, made.least_hole_mm) == (0.2, USUAL.opening_mm)


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"least_wall_mm": 0.3}, "a least wall of 0.3 mm is narrower than one line of 0.45 mm"),
        ({"stray_mm": 0.25}, "outlines that stray by 0.25 mm on either side close a gap of 0.5 mm"),
        ({"least_hole_mm": 0.4}, "a hole of 0.4 mm stays open and a gap of that width does not"),
    ],
)
def test_a_profile_that_contradicts_itself_is_asked_about(change: dict[str, float], says: str) -> None:
    (line,) = doubts_of(replace(USUAL, **change))  # type: ignore[arg-type]
    assert line.startswith(says)


def test_built_in_profiles_raise_no_doubt() -> None:
    assert [doubts_of(load_process(name)) for name in profile_names()] == [()] * 4


@given(st.floats(0.3, 2.15))
def test_outlines_stray_by_half_of_what_a_wall_is_off(measured_mm: float) -> None:
    assert stray_of(1.2, measured_mm) == pytest.approx(max(0.05, abs(measured_mm - 1.2) / 2), abs=0.0051)


def test_a_wall_that_cannot_be_that_wide_was_another_wall() -> None:
    with pytest.raises(CouponError, match=r"a wall drawn 1\.2 mm wide cannot measure 12 mm; measure the widest one"):
        stray_of(1.2, 12.0)


# ── what is measured is judged ──────────────────────────────────────────────────────────────────────────────────────


def sizes(spare_mm: float = 1.0, counter_mm: float = 5.0) -> Sizes:
    return Sizes(1.0 - spare_mm, 5.0, 5.0, 0.0, counter_mm, 1.0)


def test_a_counter_is_judged_by_the_least_hole() -> None:
    """A counter 1.0 mm across loses nothing where 0.5 mm stay open, and may close where 1.2 mm are needed."""
    measured = replace(USUAL, least_hole_mm=1.2)
    assert judge(sizes(counter_mm=1.0), USUAL).hold == 100
    (reason,) = (r for r in judge(sizes(counter_mm=1.0), measured).reasons if r.points)
    assert reason.text == "counter may close: 1.00 mm across, least hole 1.20 mm"


def test_a_margin_is_judged_by_what_outlines_stray() -> None:
    assert not no_margin(sizes(spare_mm=0.2), USUAL)
    assert no_margin(sizes(spare_mm=0.2), replace(USUAL, stray_mm=0.25))
    assert stray_mm(USUAL) == pytest.approx(0.45 / 4), "a quarter of a line where nobody measured"


# ── kept ────────────────────────────────────────────────────────────────────────────────────────────────────────────

lengths = st.floats(0.05, 5.0)
optional = st.none() | lengths


@given(lengths, lengths, lengths, optional, optional, st.text(min_size=1).filter(str.strip))
def test_a_profile_is_read_as_it_was_written(
    wall: float, gap: float, layer: float, hole: float | None, stray: float | None, material: str
) -> None:
    made = replace(
        USUAL, name="mine", least_wall_mm=wall, least_gap_mm=gap, layer_height_mm=layer, least_hole_mm=hole,
        stray_mm=stray, material=material,
    )  # fmt: skip
    assert parse_process(profile_text(made), "text") == made


def test_a_saved_profile_is_found_by_name_and_goes_when_removed(capsys: pytest.CaptureFixture[str]) -> None:
    save_process(replace(USUAL, name="workshop", least_wall_mm=0.6))
    assert own_names() == ("workshop",) and profile_names()[-1] == "workshop"
    assert load_process("workshop").least_wall_mm == 0.6
    assert run(capsys, "process", "remove", "workshop") == (0, "profile workshop removed\n", "")
    assert own_names() == ()
    with pytest.raises(LetterholdError, match="'workshop' is not known; use one of"):
        load_process("workshop")


def test_a_profile_is_called_as_its_file_whatever_it_says(home: Path) -> None:
    own_path("copied").parent.mkdir(parents=True)
    own_path("copied").write_text(profile_text(replace(USUAL, name="original")))
    assert load_process("copied").name == "copied"


@pytest.mark.parametrize(
    "name", ["", " ", "../up", "a/b", "a\\b", "-x", ".x", "x.", "nul", "com1.x", "ü", "x" * 41, "x.toml", "a\nb\x00"]
)
def test_a_name_that_is_no_file_everywhere_is_refused(name: str, home: Path) -> None:
    with pytest.raises(LetterholdError, match="cannot name a profile; use up to 40 letters"):
        plain_name(name)
    assert not (home / "data").exists()


def test_a_built_in_profile_stays_as_it_is(capsys: pytest.CaptureFixture[str]) -> None:
    status, _, err = run(capsys, "process", "save", "nozzle-0.4", "--least-wall", "0.6mm")
    assert status == 2 and "is a built-in profile and stays as it is; give yours another name" in err
    status, _, err = run(capsys, "process", "remove", "nozzle-0.4")
    assert status == 2 and "only your own can be removed" in err
    assert load_process("nozzle-0.4") == USUAL


def test_a_damaged_profile_is_named_and_the_others_are_listed(capsys: pytest.CaptureFixture[str]) -> None:
    save_process(replace(USUAL, name="good"))
    own_path("bad").write_text("least_wall_mm = soft")
    status, out, err = run(capsys, "process", "list")
    assert status == 0 and "good " in out and str(own_path("bad")) in err and "not valid TOML" in err
    facts = json.loads(run(capsys, "process", "list", "--json")[1])
    assert [f["name"] for f in facts][-1] == "good" and facts[-1]["file"] == str(own_path("good"))


# ── the command ─────────────────────────────────────────────────────────────────────────────────────────────────────


def test_save_takes_lists_and_lengths(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["process", "save", "Work Shop", "--walls", "0.6,0.7mm,0.8,1,1.2", "--least-gap", "0.012in", "--stray",
             "0.08mm", "--layer-height", "0.16mm"]  # fmt: skip
    status, out, _ = run(capsys, *words)
    assert status == 0 and out.startswith("profile work-shop saved: least wall 0.6, least gap 0.3048, least hole 0.5,")
    made = load_process("work-shop")
    assert made == replace(
        USUAL, name="work-shop", least_wall_mm=0.6, least_gap_mm=0.3048, least_hole_mm=0.5,
        stray_mm=0.08, layer_height_mm=0.16,
    )  # fmt: skip


def test_a_second_save_changes_what_is_given_and_keeps_the_rest(capsys: pytest.CaptureFixture[str]) -> None:
    run(capsys, "process", "save", "mine", "--like", "nozzle-0.6", "--least-wall", "1mm")
    run(capsys, "process", "save", "mine", "--stray", "0.1mm")
    made = load_process("mine")
    assert (made.nozzle_mm, made.least_wall_mm, made.stray_mm) == (0.6, 1.0, 0.1)


def test_a_contradiction_is_not_saved_unasked(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """With nobody to ask it is refused; a person at the keyboard is asked; --sure saves it."""
    words = ("process", "save", "mine", "--walls", "0.5,0.7,0.8,1,1.2")
    status, _, err = run(capsys, *words)
    assert status == 2 and err == (
        "letterhold: the wall of 0.5 mm came out, and the wider one of 0.6 mm did not: look at both again. Correct it,"
        " or add --sure\n"
    )
    monkeypatch.setattr("sys.stdin.isatty", lambda: True, raising=False)
    for answer, saved in (("n", ()), ("", ()), ("y", ("mine",))):
        monkeypatch.setattr("builtins.input", lambda _, answer=answer: answer)
        assert run(capsys, *words)[0] == (0 if saved else 1)
        assert own_names() == saved
    assert run(capsys, "process", "save", "other", *words[3:], "--sure")[0] == 0
    assert load_process("other").least_wall_mm == 0.7


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "nothing to save; give what came out, as --walls"),
        (("--walls", "0.8,1,1.2", "--least-wall", "0.8mm"), "both --walls and --least-wall are given; keep one"),
        (("--wall-measured", "1.3mm", "--stray", "0.1mm"), "both --wall-measured and --stray are given; keep one"),
        (("--walls", "thick"), "--walls"),
        (("--like", "resin", "--least-wall", "1mm"), "process 'resin' is not known; use one of"),
    ],
)  # fmt: skip
def test_wrong_use_says_what_to_do(words: tuple[str, ...], says: str, capsys: pytest.CaptureFixture[str]) -> None:
    try:
        status = main(["process", "save", "mine", *words])
    except SystemExit as stop:
        status = int(stop.code or 0)
    assert status == 2 and says in capsys.readouterr().err
    assert own_names() == ()


def test_the_ranking_changes_at_once_and_the_job_sheet_names_the_printer(
    capsys: pytest.CaptureFixture[str], scanned: Path, tmp_path: Path
) -> None:
    """A printer that closes holes of 3 mm costs every face with counters points; one that prints them costs none."""
    save_process(replace(USUAL, name="mine", least_hole_mm=0.5))
    fine = holds(capsys, scanned)
    save_process(replace(USUAL, name="mine", least_hole_mm=3.0))
    coarse = holds(capsys, scanned)
    assert fine == holds(capsys, scanned, "nozzle-0.4") and coarse < fine
    words = ["--face", "Anton Regular", "--catalogue", str(scanned), "--process", "mine"]
    status, out, _ = run(capsys, "check", "Bo", *words, "--json")
    assert json.loads(out)["process"] == "mine"
    status, out, _ = run(capsys, "tag", "Bo", *words, "--out", str(tmp_path / "bo"), "--formats", "svg")
    assert status in (0, 1)
    save_process(replace(USUAL, name="mine", stray_mm=0.1))
    assert run(capsys, "tag", "Bo", *words, "--out", str(tmp_path / "bo"), "--formats", "svg")[0] == 0
    assert "Anton Regular, capitals 14.0 mm, mine;" in (tmp_path / "bo" / "job.html").read_text(encoding="utf-8")


def test_orders_name_the_printer(capsys: pytest.CaptureFixture[str], scanned: Path, tmp_path: Path) -> None:
    save_process(replace(USUAL, name="mine", stray_mm=0.1))
    (tmp_path / "o.csv").write_text("order,name,face,process\n1,Bo,Anton Regular,mine\n2,Bo,Anton Regular,\n")
    words = ["orders", str(tmp_path / "o.csv"), "--out", str(tmp_path / "shop"), "--catalogue", str(scanned)]
    assert run(capsys, *words, "--formats", "svg", "--workers", "1")[0] == 0
    sheets = sorted((tmp_path / "shop").glob("*/job.json"))
    assert sorted(json.loads(p.read_text(encoding="utf-8"))["process"] for p in sheets) == ["mine", "nozzle-0.4"]


def holds(capsys: pytest.CaptureFixture[str], catalogue: Path, process: str = "mine") -> list[int]:
    words = ["rank", "Bo", "--process", process, "--catalogue", str(catalogue), "--json"]
    return [row["hold"] for row in json.loads(run(capsys, *words)[1])]


@pytest.fixture(scope="module")
def scanned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One demo face."""
    from catalogue.gather.scan import Scan, scan_into
    from tests.conftest import demo_paths

    catalogue = tmp_path_factory.mktemp("scanned") / "c.sqlite"
    scan_into(catalogue, Scan([p for p in demo_paths() if p.name == "Anton-Regular.ttf"], ["Bo"]))
    return catalogue


def test_the_names_of_profiles_are_those_of_the_shop_only(home: Path) -> None:
    """What else lies in the folder is no profile."""
    save_process(Process("mine", 0.4, 0.45, 0.8, 0.5, 0.2))
    for name in (".hidden.toml", "Big.toml", "notes.txt", "two words.toml"):
        own_path("mine").with_name(name).write_text("name = 'x'")
    assert own_names() == ("mine",)
