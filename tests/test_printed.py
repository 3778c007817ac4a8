"""What became of prints: the interval against published values, the file that keeps them, the report."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.stats import binomtest

from catalogue.commands.main import main
from catalogue.errors import LetterholdError
from catalogue.judge.process import load_process
from catalogue.tag.printed import kept
from catalogue.tag.printed.outcome import Outcome, Seen, outcome_of
from catalogue.tag.printed.report import LEVELS, against, levels_of, wilson

FACTS = {
    "name": "Marlie", "face": "Anton Regular", "process": "nozzle-0.4", "hold": 88, "cap_height_mm": 14.0,
    "neck_mm": 2.4, "thicken_mm": 0.0, "tracking_em": 0.0, "offsets_mm": {"base": 1.0, "middle": 0.5, "top": 0.0},
}  # fmt: skip
"""What a job sheet says of a tag, as far as it is kept."""


def prints(hold: int, held: int, broke: int = 0, closed: int = 0) -> list[Outcome]:
    results = ["held"] * held + ["broke"] * broke + ["closed"] * closed
    return [Outcome("2026-11-27", r, "", "Bo", "Anton Regular", "nozzle-0.4", hold) for r in results]


# ── the interval ────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize(
    ("successes", "trials", "low", "high"),
    [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (1, 29, 0.0061, 0.1718)],
)
def test_the_interval_is_the_published_one(successes: int, trials: int, low: float, high: float) -> None:
    """Newcombe, Statistics in Medicine 17 (1998) 857-872, table I, method 3 (Wilson's score, no correction).

    The four cases and their limits are quoted from memory; SciPy, below, gives the same.
    """
    found = wilson(successes, trials)
    assert (found.low, found.high) == pytest.approx((low, high), abs=5e-5)


@given(st.integers(1, 3000).flatmap(lambda n: st.tuples(st.integers(0, n), st.just(n))))
def test_the_interval_is_that_of_scipy(counts: tuple[int, int]) -> None:
    found, other = wilson(*counts), binomtest(*counts).proportion_ci(method="wilson")
    assert (found.low, found.high) == pytest.approx((other.low, other.high), abs=1e-6)
    assert 0 <= found.low <= counts[0] / counts[1] <= found.high <= 1


def test_without_a_print_every_share_is_possible() -> None:
    assert (wilson(0, 0).low, wilson(0, 0).high) == (0.0, 1.0)


# ── the report ──────────────────────────────────────────────────────────────────────────────────────────────────────


@given(st.lists(st.tuples(st.integers(0, 100), st.sampled_from(["held", "broke", "closed"]))))
def test_every_print_is_counted_in_one_level(found: list[tuple[int, str]]) -> None:
    levels = levels_of([Outcome("", r, "", "", "", "", hold) for hold, r in found])
    assert sum(level.printed for level in levels) == len(found)
    assert sum(level.held for level in levels) == sum(r == "held" for _, r in found)
    assert [n for least, most in LEVELS for n in range(least, most + 1)] == list(range(101))


def test_a_few_prints_prove_nothing() -> None:
    """Two of two that broke: their share that holds may be 0 to 66 %."""
    assert against(levels_of(prints(90, 0, broke=2))) == ()
    assert against(levels_of([])) == ()


def test_prints_that_hold_as_they_should_speak_for_the_weights() -> None:
    assert against(levels_of(prints(95, 30, 1) + prints(60, 14, 6) + prints(20, 0, 8))) == ()


@pytest.mark.parametrize(
    ("found", "says"),
    [
        (
            prints(60, 1, broke=9),
            "of 10 prints with a hold of 50 to 69, which should hold, 1 did: hold promises too much",
        ),
        (
            prints(30, 9, closed=1),
            "of 10 prints with a hold of 0 to 49, which should not hold, 9 did: hold is too strict",
        ),
        (prints(95, 12, 8) + prints(60, 40), "prints with a hold of 85 to 100 held less often than those of 50 to 69"),
    ],
    ids=["too much", "too strict", "upside down"],
)
def test_the_report_says_when_the_weights_look_wrong(found: list[Outcome], says: str) -> None:
    (line,) = against(levels_of(found))
    assert line.startswith(says)


# ── the file ────────────────────────────────────────────────────────────────────────────────────────────────────────


def one(result: str = "held", where: str = "") -> Outcome:
    return outcome_of(FACTS, load_process("nozzle-0.4"), Seen(result, where, "2026-11-27"))


def test_a_print_is_kept_with_process_face_name_and_measures(tmp_path: Path) -> None:
    catalogue = tmp_path / "c.sqlite"
    kept.add(catalogue, one("broke", "at the r\nof Marlie\u202e"))
    (found,) = kept.read(catalogue).outcomes
    assert (found.name, found.face, found.process, found.hold) == ("Marlie", "Anton Regular", "nozzle-0.4", 88)
    assert found.where == "at the r of Marlie"
    assert found.measures["neck_mm"] == 2.4 and found.measures["base_offset_mm"] == 1.0
    assert found.measures["least_wall_mm"] == 0.8 and found.measures["stray_mm"] == pytest.approx(0.1125)


@given(st.text(), st.text(max_size=300))
def test_any_name_and_any_words_come_back_in_one_line(
    tmp_path_factory: pytest.TempPathFactory, name: str, where: str
) -> None:
    catalogue = tmp_path_factory.mktemp("any") / "c.sqlite"
    for _ in range(2):
        kept.add(catalogue, outcome_of(FACTS | {"name": name}, None, Seen("held", where, "2026-11-27")))
    found = kept.read(catalogue)
    assert len(found.outcomes) == 2 and not found.unreadable
    assert found.outcomes[0] == found.outcomes[1] and len(found.outcomes[0].where) <= 120


def test_a_write_that_was_cut_off_costs_one_print(tmp_path: Path) -> None:
    catalogue = tmp_path / "c.sqlite"
    kept.add(catalogue, one())
    with kept.path_of(catalogue).open("ab") as file:
        file.write(b'{"day": "2026-11-')
    kept.add(catalogue, one("broke"))
    found = kept.read(catalogue)
    assert [o.result for o in found.outcomes] == ["held", "broke"] and found.unreadable == 1


@pytest.mark.parametrize(
    "line", [b"\xff\xfe", b"[]", b"{}", b"null", b'{"hold": true}', b"[" * 100_000,
             json.dumps(one().as_json() | {"hold": 101}).encode(),
             json.dumps(one().as_json() | {"result": "x"}).encode(),
             json.dumps(one().as_json() | {"measures": 3}).encode()],
    ids=["no text", "list", "empty", "null", "true", "deep", "hold 101", "result x", "measures 3"],
)  # fmt: skip
def test_a_line_that_holds_no_print_is_counted_and_passed_over(line: bytes, tmp_path: Path) -> None:
    catalogue = tmp_path / "c.sqlite"
    kept.add(catalogue, one())
    with kept.path_of(catalogue).open("ab") as file:
        file.write(line + b"\n")
    assert kept.read(catalogue) == kept.Kept((one(),), 1)


def test_the_last_print_can_be_taken_back(tmp_path: Path) -> None:
    catalogue = tmp_path / "c.sqlite"
    kept.add(catalogue, one())
    kept.add(catalogue, one("broke"))
    assert kept.take_back(catalogue).result == "broke"
    assert kept.read(catalogue).outcomes == (one(),)
    kept.take_back(catalogue)
    with pytest.raises(LetterholdError, match="no print is kept yet"):
        kept.take_back(catalogue)


@pytest.mark.parametrize("facts", [{}, {"hold": 3}, FACTS | {"hold": "88"}, FACTS | {"offsets_mm": [1]}])
def test_what_is_no_job_sheet_of_a_tag_is_refused(facts: dict[str, object]) -> None:
    with pytest.raises(LetterholdError, match="the job sheet is not one of a tag; make the tag again"):
        outcome_of(facts, None, Seen("held", "", "2026-11-27"))


# ── with a catalogue ────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture
def catalogue(tmp_path: Path) -> Path:
    """Two small fonts, scanned."""
    from hostile import good_font

    from catalogue.gather.scan import Scan, scan_into

    folder = tmp_path / "fonts"
    folder.mkdir()
    for number in range(2):
        (folder / f"{number}.ttf").write_bytes(good_font() + bytes(number))
    target = tmp_path / "data" / "c.sqlite"
    scan_into(target, Scan([folder], ("Al",), 1))
    return target


@pytest.fixture
def tag(tmp_path: Path) -> Path:
    """A folder with the job sheet of a tag."""
    folder = tmp_path / "shop" / "12-marlie"
    folder.mkdir(parents=True)
    (folder / "job.json").write_text(json.dumps(FACTS))
    return folder


def run(capsys: pytest.CaptureFixture[str], catalogue: Path, *words: str) -> tuple[int, str, str]:
    status = main(["printed", *words, "--catalogue", str(catalogue)])
    out, err = capsys.readouterr()
    return status, out, err


def test_prints_outlive_a_scan_and_a_repair(
    catalogue: Path, tag: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """And the catalogue stays one of its schema: nothing in it changes."""
    before = catalogue.read_bytes()
    assert run(capsys, catalogue, str(tag), "--result", "broke", "--where", "at the r")[0] == 0
    assert catalogue.read_bytes() == before
    (tmp_path / "fonts" / "0.ttf").unlink()
    assert main(["health", "--repair", "--yes", "--catalogue", str(catalogue)]) == 0
    assert main(["scan", str(tmp_path / "fonts"), "--catalogue", str(catalogue)]) == 0
    capsys.readouterr()
    facts = json.loads(run(capsys, catalogue, "--report", "--json")[1])
    assert facts["prints"] == 1 and facts["levels"][-1]["broke"] == 1
    assert main(["health", "--catalogue", str(catalogue)]) == 0, "and it is nothing left over"


def test_a_tag_is_named_by_folder_sheet_or_order(
    catalogue: Path, tag: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = "order,done,name,face,hold,folder,reason\n12,yes,Marlie,Anton Regular,88,12-marlie,\n13,no,X,,,,lacks X\n"
    (tag.parent / "results.csv").write_text(rows)
    shop = str(tag.parent)
    for words in ((str(tag),), (str(tag / "job.json"),), ("12", "--in", shop)):
        status, out, _ = run(capsys, catalogue, *words, "--result", "held")
        assert (status, out) == (0, "kept: “Marlie” in Anton Regular on nozzle-0.4, hold 88: it held\n")
    for order, says in (("14", "no order '14' in"), ("13", "order 13 was not made: lacks X")):
        status, _, err = run(capsys, catalogue, order, "--in", shop, "--result", "held")
        assert status == 2 and says in err


def test_the_report_in_words(catalogue: Path, tag: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "no print is kept yet" in run(capsys, catalogue, "--report")[1]
    for _ in range(8):
        run(capsys, catalogue, str(tag), "--result", "held")
    out = run(capsys, catalogue, "--report")[1]
    assert "  85 to 100         8     8      0       0   100%, 68% to 100%\n" in out
    assert "nothing in these counts speaks against the weights" in out and "not for children under 3" in out
    assert "no print is kept yet" in run(capsys, catalogue, "--report", "--process", "nozzle-0.6")[1]
    assert run(capsys, catalogue, "--undo")[1].startswith("taken back: “Marlie” in Anton Regular")
    assert json.loads(run(capsys, catalogue, "--report", "--json")[1])["prints"] == 7


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ((), "give the TAG that was printed with --result, or --report, or --undo"),
        (("TAG",), "what became of it? Give --result with one of held, broke, closed"),
        (("TAG", "--report"), "give the TAG that was printed with --result, or --report, or --undo"),
        (("nowhere", "--result", "held"), "nowhere: no job.json there; name the folder of a tag"),
        (("12", "--in", "nowhere", "--result", "held"), "nowhere: no results.csv there; name the folder that"),
    ],
)
def test_wrong_use_says_what_to_do(
    words: tuple[str, ...], says: str, catalogue: Path, tag: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, _, err = run(capsys, catalogue, *(str(tag) if w == "TAG" else w for w in words))
    assert status == 2 and says in err
    assert kept.read(catalogue).outcomes == ()


def test_a_catalogue_that_is_not_there_gets_no_prints(
    tmp_path: Path, tag: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    status, _, err = run(capsys, tmp_path / "none.sqlite", str(tag), "--result", "held")
    assert status == 2 and "no catalogue there yet" in err
    assert not list(tmp_path.glob("none*"))
