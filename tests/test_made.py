"""A name as made, predicted over all faces: laws of the search, the order of the lines, and what the fit says."""

from __future__ import annotations

import json
from dataclasses import fields, replace
from pathlib import Path

import numpy as np
import pytest
from conftest import copy_demo_fonts
from hypothesis import given
from hypothesis import strategies as st

from catalogue.commands.main import main
from catalogue.errors import LetterholdError
from catalogue.judge.changes import Changes
from catalogue.judge.check import check_face
from catalogue.judge.craft import craft_of
from catalogue.judge.kin import Kin
from catalogue.judge.listing import Wanted
from catalogue.judge.made import name_of
from catalogue.judge.made_listing import MadeName, known_of, made_name
from catalogue.judge.made_order import in_turn, ordered
from catalogue.judge.made_search import Lever, Settings, best_settings, least
from catalogue.judge.neck_needs import past_needed, sampled_needed
from catalogue.judge.predicted_necks import passages, predicted_neck
from catalogue.judge.process import load_process
from catalogue.judge.ranking import can_predict, rank
from catalogue.judge.reach import CHANGES, Reach
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.columns import load_columns
from catalogue.store.database import Store
from catalogue.tag.fitted import Asked as Fitting
from catalogue.tag.fitted import as_made
from catalogue.tag.levers import Levers
from catalogue.tag.making import fit_face
from scanner.measures.features import FEATURES
from scanner.records import LENS_WIDTHS_EM, OWN_OFFSETS_EM

PROCESS = load_process("nozzle-0.4")
NO_PASSAGES = np.empty((0, len(OWN_OFFSETS_EM), 1))


def asked(name: str, cap_height_mm: float = 14.0) -> Request:
    return Request.of(name, Size("cap-height", cap_height_mm), PROCESS, default_stack())


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Heavy block letters, a joined script, a hairline script, a hand with a weight axis and a slab serif."""
    folder = copy_demo_fonts(
        tmp_path_factory.mktemp("fonts"),
        ("fontpkg_anton", "fontpkg_great_vibes", "fontpkg_lobster", "fontpkg_caveat", "fontpkg_zilla_slab"),
    )
    path = tmp_path_factory.mktemp("catalogue") / "c.sqlite"
    assert main(["scan", str(folder), "--catalogue", str(path), "--workers", "2"]) == 0
    return path


def made(path: Path, name: str = "Marlie", reach: Reach | None = None, cap_height_mm: float = 14.0) -> MadeName:
    with Store(path) as store:
        return made_name(load_columns(store), asked(name, cap_height_mm), reach or Reach(), known_of(store))


# ── what necks need ─────────────────────────────────────────────────────────────────────────────────────────────────


rising = st.lists(st.floats(0.0, 0.05), min_size=len(LENS_WIDTHS_EM), max_size=len(LENS_WIDTHS_EM))


@given(rising, st.floats(0.01, 0.5), st.floats(0.0, 0.2))
def test_at_the_offset_needed_a_joint_has_its_neck_and_not_before(steps: list[float], width: float, gap: float) -> None:
    """``past_needed`` is ``predicted_neck`` the other way, jumps included."""
    lens = np.cumsum(steps).reshape(1, -1, 1)
    past = past_needed(lens, np.array([width]))[0]

    def neck(more: float) -> float:
        offset = gap / 2 + past + more
        return float(predicted_neck(np.array([[gap]]), lens, NO_PASSAGES, offset)[0])

    assert neck(1e-6) >= width - 1e-4
    assert past[0] <= 1e-6 or neck(-1e-4) <= width + 1e-9


@given(st.lists(st.floats(0.0, 0.08), min_size=8, max_size=8), st.floats(0.02, 0.4))
def test_at_the_offset_needed_a_passage_is_wide_enough(steps: list[float], width: float) -> None:
    widths = np.cumsum(steps).reshape(1, -1, 1)
    offset = sampled_needed(widths, np.array([width]), 0.5)[0]
    assert passages(widths, np.maximum(offset, 0.0) + 1e-6)[0, 0] >= width - 1e-4


def test_a_passage_that_was_not_measured_asks_for_nothing() -> None:
    assert sampled_needed(np.full((1, 8, 1), np.nan), np.array([0.05]), 0.5)[0, 0] == -np.inf


# ── the search ──────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_lever_goes_as_far_as_needed_in_steps_and_to_its_end_where_nothing_helps() -> None:
    zero = np.zeros(3)
    start = Settings(np.ones(3), zero, zero, zero, np.ones(3))
    wanted = np.array([0.033, 0.0, 9.0])
    found = least(lambda at: at.thicken_mm >= wanted, start, Lever("thicken_mm", np.full(3, 0.4), 0.01))
    assert found.thicken_mm.tolist() == pytest.approx([0.04, 0.01, 0.4])  # the least asks, so one step at least


def test_what_holds_as_set_holds_as_made(catalogue: Path) -> None:
    name = made(catalogue)
    holding = np.isin(name.kin.ids, name.ranking.ids[name.ranking.holds])
    assert holding.any() and name.made.holds[holding].all()


def test_fewer_levers_never_hold_more(catalogue: Path) -> None:
    with_all = made(catalogue).made.holds
    for kept in CHANGES:
        assert not (made(catalogue, reach=Reach(frozenset(CHANGES) - {kept})).made.holds & ~with_all).any()


def test_only_what_may_change_changes(catalogue: Path) -> None:
    at = made(catalogue, reach=Reach(frozenset({"offset"}), most_offset_mm=1.2)).made.settings
    assert at.base_offset_mm.max() <= 1.2 and at.base_offset_mm.min() >= 1.0
    assert not at.thicken_mm.any() and not at.tracking_em.any()


def test_joined_letters_are_not_tracked(catalogue: Path) -> None:
    name = made(catalogue)
    joined = np.array([face.joining >= 0.5 for face in name.kin.faces])
    assert joined.any() and not name.made.settings.tracking_em[joined].any()


@pytest.mark.parametrize("text", ["Marlie", "Anna Lee", "Mia\nNoah"])
def test_the_prediction_comes_near_the_fit(catalogue: Path, text: str) -> None:
    """Limits are wider than those of ``bench/made_numbers.py``: here every face counts. Letters of one line may hang
    together by way of the other, which no chain knows: of two lines the offset is an upper bound."""
    name = made(catalogue, text)
    for k, face in enumerate(name.kin.faces):
        if face.contextual < 0.1 and not face.variable:
            at, solved = name.made.settings, fit_face(face, asked(text), Levers(weight_free=True))
            assert bool(name.made.holds[k]) == solved.holds, face.title
            assert at.thicken_mm[k] == pytest.approx(solved.setting.thicken_mm, abs=0.1), face.title
            assert at.base_offset_mm[k] >= solved.setting.base_offset_mm - 0.3, face.title
            assert "\n" in text or at.base_offset_mm[k] <= solved.setting.base_offset_mm + 0.3, face.title


def test_a_hairline_is_made_heavier_by_its_own_weights_first(catalogue: Path) -> None:
    """Caveat has weights 400 to 700; at capitals of 8 mm its strokes are no walls (0.8 mm)."""
    with_weight = made(catalogue, "Ida", cap_height_mm=8.0)
    without = made(catalogue, "Ida", Reach(frozenset(CHANGES) - {"weight"}), 8.0)
    caveat = next(k for k, f in enumerate(with_weight.kin.faces) if f.title == "Caveat Regular")
    assert with_weight.made.weights.moved[caveat] and not without.made.weights.moved[caveat]
    thicker = without.made.settings.thicken_mm[caveat]
    assert with_weight.made.settings.thicken_mm[caveat] < thicker
    assert "weight" in with_weight.row(caveat).both


# ── the order ───────────────────────────────────────────────────────────────────────────────────────────────────────


def kin(families: str, groups: str, sellable: str) -> Kin:
    """One face a character; a dot is a face of no group."""
    number = np.array([-1 if g == "." else ord(g) - ord("a") for g in groups])
    family = np.array([ord(f) for f in families])
    sell = np.array([s == "y" for s in sellable])
    count = len(families)
    return Kin((), np.arange(count), family, number, sell, np.full(count, -1))


@pytest.mark.parametrize(
    ("families", "groups", "sellable", "band", "order"),
    [
        ("AAB", "aab", "yyy", "000", [0, 2]),  # one line a family, its first
        ("ABCD", "aaab", "yyyy", "0000", [0, 3, 1, 2]),  # no group again before each has had its turn
        ("ABCD", "aaab", "yyyy", "0001", [0, 1, 2, 3]),  # turns are taken inside a band
        ("ABCD", "aaab", "yynn", "0000", [0, 1, 2, 3]),  # and inside what may be sold
        ("ABCDEF", ".aaabb", "yyyyyy", "000000", [1, 4, 2, 5, 3, 0]),  # faces of no group in the third round
    ],
)
def test_groups_take_turns(families: str, groups: str, sellable: str, band: str, order: list[int]) -> None:
    bands = np.array([int(b) for b in band])
    assert in_turn(np.arange(len(families)), kin(families, groups, sellable), bands).tolist() == order


def test_orders_put_first_what_they_say(catalogue: Path) -> None:
    name = made(catalogue)
    every = np.ones(len(name.kin.ids), dtype=bool)

    def places(order: str) -> np.ndarray:
        return ordered(name.made, name.kin, name.craft, order, every)

    assert (np.diff(name.made.hold[places("hold")]) <= 0).all()
    holding = places("change")[name.made.holds[places("change")]]
    assert (np.diff(np.round(name.made.cost_mm[holding], 3)) >= 0).all()
    assert sorted(places("plain")) == sorted(places("hold"))
    families = name.kin.family[places("mixed")]
    assert len(set(families.tolist())) == len(families) < len(places("plain"))


def test_craft_falls_with_letters_that_are_missing(catalogue: Path) -> None:
    with Store(catalogue) as store:
        face = store.faces()[0]
    features = np.full((2, len(FEATURES)), np.nan)
    whole, bare = craft_of([replace(face, missing=""), replace(face, missing="ÄÖÜäöüßéèêëáàâ")], features).figure
    assert bare < whole <= 100


# ── words and commands ──────────────────────────────────────────────────────────────────────────────────────────────


def test_changes_in_words() -> None:
    changes = Changes(0.15, 1.3, 0.3, -0.02, 0.6, 1.1, 15.4, "525")
    assert changes.words == (
        "weight 525", "thicken 0.15 mm", "words 0.6 mm closer", "tracking -0.020 em", "offset 1.3 mm",
        "capitals 15.4 mm",
    )  # fmt: skip
    assert Changes().words == ()


def test_an_unknown_change_is_named() -> None:
    with pytest.raises(LetterholdError, match="change 'paint' is not known; use any of weight, thicken, tracking"):
        Reach.of("thicken,paint")


def test_rank_shows_both_figures_and_says_how_it_knows(catalogue: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rank", "Marlie", "--catalogue", str(catalogue), "--verify", "2", "--top", "3"]) == 0
    table = capsys.readouterr().out
    assert "hold  face" in table
    assert "as set" in table and "· as made" in table and "fitted in full: 2 rows" in table
    assert "~ predicted from letter pairs" in table  # the third row


def test_rank_in_json_keeps_hold_and_adds_what_is_made(catalogue: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["rank", "Marlie", "--catalogue", str(catalogue), "--json", "--order", "plain", "--top", "0"])
    rows = {row["face"]: row for row in json.loads(capsys.readouterr().out)}
    main(["rank", "Marlie", "--catalogue", str(catalogue), "--json", "--as-set", "--top", "0"])
    as_set = {row["face"]: row for row in json.loads(capsys.readouterr().out)}
    assert rows.keys() == as_set.keys()
    for number, row in rows.items():
        assert row["hold"] == as_set[number]["hold"]
        assert row["made_hold"] >= min(row["hold"], 50) and row["cost"] >= 0 and 0 <= row["craft"] <= 100
        assert bool(row["change"]) == (row["cost"] > 0) and row["why"]


def test_a_bound_of_the_person_holds_in_the_fit_too(catalogue: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["rank", "Marlie", "--catalogue", str(catalogue), "--json", "--change", "offset", "--most-offset", "1.2mm"])
    for row in json.loads(capsys.readouterr().out):
        assert row["fitted"]
        assert all(text.startswith("offset 1.") and float(text.split()[1]) <= 1.2 for text in row["change"])


@given(st.sets(st.integers(0, 6), min_size=1))
def test_a_face_is_fitted_as_if_alone(catalogue: Path, some: set[int]) -> None:
    """What is predicted of a face does not depend on which others are in the arrays."""
    with Store(catalogue) as store:
        name = name_of(load_columns(store), asked("Marlie"))
    count = len(name.thinnest)
    zero = np.zeros(count)
    start = Settings(np.full(count, 20.0), zero, zero, zero, np.ones(count))
    whole = best_settings(name, start, Reach())
    faces = np.array(sorted(some))
    part = best_settings(name.of(faces), start.of(faces), Reach())
    for f in fields(Settings):
        assert getattr(part, f.name).tolist() == getattr(whole, f.name)[faces].tolist()


# ── several lines ───────────────────────────────────────────────────────────────────────────────────────────────────


def test_two_lines_are_judged_as_they_are_stacked(catalogue: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Lines stand the least gap apart, as a tag sets them: 0.5 mm at this nozzle joins at 0.25 mm of offset. A dot may
    reach the other line sooner than its own stem."""
    with Store(catalogue) as store:
        face = store.find("Anton Regular")
    both, one = check_face(face, asked("Ida\nBo")), check_face(face, asked("Ida"))
    assert both.shown == "Ida / Bo" and both.name == "Ida\nBo"
    assert PROCESS.least_gap_mm / 2 - 0.01 <= both.join_offset_mm <= one.join_offset_mm + 0.01
    assert both.layers[0].area_mm2 > one.layers[0].area_mm2
    assert main(["check", r"Ida\nBo", "--face", "Anton Regular", "--catalogue", str(catalogue)]) == 0
    assert r"letterhold tag 'Ida\nBo'" in capsys.readouterr().out


def test_a_ranking_of_two_lines_asks_for_no_less_than_a_check(catalogue: Path) -> None:
    name = made(catalogue, "Ida\nBo")
    for place, number in enumerate(name.ranking.ids.tolist()):
        face = next(f for f in name.kin.faces if f.id == number)
        if face.contextual < 0.1:
            full = check_face(face, asked("Ida\nBo"))
            assert name.ranking.join_offset_mm[place] >= full.join_offset_mm - 0.03, face.title


def test_the_widest_line_meets_a_width(catalogue: Path) -> None:
    width = Size("width", 60.0)
    with Store(catalogue) as store:
        columns, face = load_columns(store), store.find("Anton Regular")
    ranking = rank(columns, Request.of("Bo\nMarlie", width, PROCESS, default_stack()))
    alone = rank(columns, Request.of("Marlie", width, PROCESS, default_stack()))
    assert sorted(ranking.em_mm.tolist()) == pytest.approx(sorted(alone.em_mm.tolist()))
    left, _, right, _ = check_face(face, Request.of("Bo\nMarlie", width, PROCESS, default_stack())).regions[0].bounds
    assert right - left == pytest.approx(60.0, abs=0.05)


def test_a_long_name_is_proposed_in_two_lines(catalogue: Path, capsys: pytest.CaptureFixture[str]) -> None:
    main(["rank", "Anna Maria Fernanda", "--catalogue", str(catalogue), "--verify", "0", "--top", "1"])
    assert r'in two lines, "Anna Maria\nFernanda", it is 0.5' in capsys.readouterr().out
    main(["rank", "Li Wei", "--catalogue", str(catalogue), "--verify", "0", "--top", "1"])
    assert "in two lines" not in capsys.readouterr().out


def test_a_name_that_no_table_predicts_is_fitted_too(catalogue: Path) -> None:
    """Vietnamese letters are in no table (``scanner.alphabet``): measured as set, then fitted like any other name."""
    request = asked("Nguyễn")
    assert not can_predict(request.name)
    with Store(catalogue) as store:
        found = as_made(store, Fitting(request, Reach(), size_fixed=False), Wanted(8, 8), "hold")
    assert found.rows and all(row.fitted for row in found.rows)
    assert [row.hold for row in found.rows] == sorted((row.hold for row in found.rows), reverse=True)
    for row in found.rows:
        solved = fit_face(row.ranked.face, request, Fitting(request, Reach(), size_fixed=False).levers)
        assert (row.hold, row.holds) == (solved.hold.hold, solved.holds)
