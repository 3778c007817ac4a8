"""What is changed at one place of a name: forms off, a gap closed, lines nearer, a bridge; on blocks of known size.

Sources: gap and neck of facing blocks are geometry (two faces ``g`` apart join from an offset of ``g / 2`` on); least
wall, least gap and lines of a neck are the built-in 0.4 mm profile, common design tables. Font: ``conftest.tiny_font``.
"""

from __future__ import annotations

import itertools
import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from conftest import TINY, absent, demo_paths, font_bytes, rectangle, tiny_font
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry.base import BaseGeometry
from tag_checks import print_faults, stl_faults, threemf_faults

from catalogue.commands.main import parser_of
from catalogue.errors import LetterholdError
from catalogue.gather.scan import Scan, scan_into
from catalogue.judge.hold import NECK_LINES, STRAY_LINES
from catalogue.judge.process import load_process
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.page import links
from catalogue.page.place import Hand, Place
from catalogue.tag.bridges import base_width_mm
from catalogue.tag.exports.facts import JobFacts
from catalogue.tag.exports.stl import stl
from catalogue.tag.exports.threemf import threemf
from catalogue.tag.fit import Fit, fit
from catalogue.tag.levers import BY_HAND, USUAL_BY_HAND, Levers, by_hand_of
from catalogue.tag.orders import read_orders
from catalogue.tag.tag import make_tag
from catalogue.tag.trial import FitFace
from scanner.alphabet import read_words
from scanner.lettering import Typesetter
from scanner.regions import polygons_of
from scanner.shaping import Shaper

PROCESS = load_process("nozzle-0.4")
EM_MM = 20.0
STRAY_MM = STRAY_LINES * PROCESS.line_width_mm
FIXED = Levers(tracking_em=0.0, thicken_mm=0.0, base_offset_mm=0.5, size_fixed=True)
"""Nothing may move but what is set free."""

HYPHEN = {
    ".notdef": TINY[".notdef"], "A": TINY["A"], "i": TINY["i"], "hyphen": [rectangle(130, 300, 330, 400)],
    "space": [],
}  # fmt: skip


def hyphen_font() -> bytes:
    """Blocks 8 mm wide and 1.2 mm apart at 20 mm an em; a hyphen 4 mm wide, 2.8 mm after one and 3.6 mm before one."""
    cmap = {0x20: "space", 0x41: "A", 0x69: "i", 0x2D: "hyphen"}
    return font_bytes(tiny_font(glyphs=HYPHEN, cmap=cmap, advance=460))


def solved(name: str, levers: Levers, font: bytes | None = None) -> Fit:
    """The fit of a name at 20 mm an em; blocks of the usual tiny font are 2 mm apart, a dot 1 mm above its stem."""
    asked = Request.of(name, Size("cap-height", 14.0), PROCESS, default_stack())
    setter = Typesetter(Shaper(font or font_bytes(tiny_font())))
    return fit(FitFace(setter, 0.7), asked, EM_MM, levers)


def gaps_of(found: Fit) -> list[float]:
    return [float(shapely.distance(a, b)) for a, b in itertools.pairwise(found.letters)]


def width_across(region: BaseGeometry, x: float, y: float) -> float:
    """How wide a region is along a level line through a place."""
    here = shapely.intersection(region, shapely.LineString([(x - 30, y), (x + 30, y)]))
    return float(sum(p.length for p in shapely.get_parts(here) if p.distance(shapely.Point(x, y)) < 1e-9))


# ── nothing moves unasked ───────────────────────────────────────────────────────────────────────────────────────────


def test_nothing_is_changed_by_hand_unless_set_free_or_where_the_name_holds() -> None:
    assert not solved("AA", FIXED).holds
    for first in (False, True):
        free = Levers(by_hand=BY_HAND, by_hand_first=first, base_offset_mm=1.2)
        assert solved("AAi", free).changes == solved("AAi", replace(free, by_hand=())).changes


def test_the_levers_of_the_whole_name_come_first_unless_outline_is_to_be_saved() -> None:
    usual = Levers(tracking_em=0.0, thicken_mm=0.0, by_hand=(*USUAL_BY_HAND,), size_fixed=True)
    assert [c.lever for c in solved("A-A", usual, hyphen_font()).changes] == ["base offset"]
    first = solved("A-A", replace(usual, by_hand_first=True), hyphen_font())
    assert first.holds and first.setting.base_offset_mm == 1.0
    assert {c.lever for c in first.changes} == {"gap"}


# ── gaps ────────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_gap_is_closed_to_twice_the_offset_and_what_a_print_strays() -> None:
    found = solved("AA", replace(FIXED, by_hand=("gaps",)))
    assert found.holds and len(polygons_of(found.base)) == 1
    (gap,) = gaps_of(found)
    least = 2 * (0.5 - STRAY_MM)
    assert least - 0.002 * EM_MM - 1e-6 <= gap <= least + 1e-6  # in steps of 0.002 em
    (change,) = found.changes
    assert change.text == f"gap between A and A closed by {2 - gap:.2f} mm: {change.bought}"
    assert "base 2 → 1 piece" in change.bought


def test_a_gap_is_closed_there_and_nowhere_else() -> None:
    # Blocks 1.2 mm apart join at 1 mm of offset, the hyphen does not: its two gaps close, all others stay.
    found = solved("AA-AA", replace(FIXED, base_offset_mm=1.0, by_hand=("gaps",)), hyphen_font())
    assert found.holds
    first, before, after, last = gaps_of(found)
    assert (first, last) == pytest.approx((1.2, 1.2))
    assert PROCESS.least_gap_mm <= before < 2.0 and PROCESS.least_gap_mm <= after < 2.0
    assert [c.lever for c in found.changes] == ["gap", "gap"]


def test_no_gap_closes_beyond_the_least_and_more_than_three_are_the_faces_spacing() -> None:
    # At 0.2 mm of offset blocks would have to come nearer than 0.5 mm: that fuses in print.
    assert not solved("AA", replace(FIXED, base_offset_mm=0.2, by_hand=("gaps",))).holds
    assert solved("AAAA", replace(FIXED, by_hand=("gaps",))).holds
    assert not solved("AAAAA", replace(FIXED, by_hand=("gaps",))).holds


def test_letters_that_grow_and_move_leave_the_least_gap_where_one_is_closed() -> None:
    # Four gaps are too wide for the offset and three may close: tracking does the rest, and closed gaps know of it.
    free = Levers(base_offset_mm=0.35, size_fixed=True, by_hand=("gaps",))
    found = solved("AAA-A", free, hyphen_font())
    assert found.holds and {"gap", "tracking"} <= {c.lever for c in found.changes}
    assert min(gaps_of(found)) >= PROCESS.least_gap_mm - 1e-3


# ── bridges ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_bridge_ties_a_dot_in_base_and_middle_and_leaves_the_top() -> None:
    bare = solved("i", replace(FIXED, base_offset_mm=0.4))
    found = solved("i", replace(FIXED, base_offset_mm=0.4, by_hand=USUAL_BY_HAND))
    assert not bare.holds and found.holds
    assert found.top.equals(bare.top)
    # The stem ends at 9 mm, the dot begins at 10 mm, both from 2 to 4 mm: half-way the bridge stands alone.
    (bridge,) = found.bridges
    middle = bridge.line.interpolate(0.5, normalized=True)
    assert (middle.x, middle.y) == pytest.approx((3.0, 9.5), abs=0.6) and bridge.length_mm == pytest.approx(1.0)
    assert width_across(found.middle, 3.0, 9.5) == pytest.approx(PROCESS.least_wall_mm, abs=0.02)
    assert width_across(found.base, 3.0, 9.5) == pytest.approx(base_width_mm(PROCESS), abs=0.02)
    assert found.measured.neck_mm >= NECK_LINES * PROCESS.line_width_mm
    assert found.changes[-1].said == "bridge 0.80 mm wide ties the dot of i, over 1.00 mm"
    assert not {s.kind for s in found.weak_spots()} & {"gap", "loose part", "neck"}


def test_a_bridge_ends_round() -> None:
    found = solved("i", replace(FIXED, base_offset_mm=0.4, by_hand=("bridges",)))
    (bridge,) = found.bridges
    width = PROCESS.least_wall_mm
    drawn = shapely.buffer(bridge.line, width / 2)
    length = bridge.line.length
    assert drawn.area == pytest.approx(length * width + np.pi * width**2 / 4, rel=0.01)  # a bar and two half discs


def test_letters_are_bridged_only_when_asked() -> None:
    assert not solved("AA", replace(FIXED, by_hand=USUAL_BY_HAND[-1:])).holds
    found = solved("AA", replace(FIXED, by_hand=("letters",)))
    assert found.holds and found.changes[0].said == "bridge 0.80 mm wide ties A to A, over 2.00 mm"
    # Facing walls of 14 mm: the bridge stands in their middle.
    (bridge,) = found.bridges
    assert bridge.line.interpolate(0.5, normalized=True).y == pytest.approx(7.0, abs=0.1)


def test_a_hyphen_is_tied_on_the_side_that_parts() -> None:
    found = solved("A-A", replace(FIXED, base_offset_mm=1.5, by_hand=("bridges",)), hyphen_font())
    assert found.holds  # 2.8 mm join at 1.5 mm of offset, 3.6 mm do not
    assert [b.ties for b in found.bridges] == ["- to A"]
    assert found.bridges[0].length_mm == pytest.approx(3.6)


def test_a_bridge_spans_no_more_than_a_third_of_an_em() -> None:
    far = HYPHEN | {"i": [rectangle(100, 0, 200, 300), rectangle(100, 700, 200, 800)]}  # a dot 8 mm above its stem
    font = font_bytes(tiny_font(glyphs=far, cmap={0x20: "space", 0x69: "i"}))
    assert not solved("i", replace(FIXED, by_hand=("bridges",)), font).holds


# ── lines ───────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_lines_stand_a_least_gap_apart_and_come_nearer_only_where_nothing_else_holds() -> None:
    usual = solved("A\nA", replace(FIXED, by_hand=USUAL_BY_HAND))
    assert usual.baselines_mm == pytest.approx((0.0, -(14.0 + PROCESS.least_gap_mm)), abs=1e-3) and not usual.changes
    tight = replace(FIXED, base_offset_mm=0.2)
    assert not solved("A\nA", tight).holds  # 0.5 mm apart: joined from 0.25 mm on
    found = solved("A\nA", replace(tight, by_hand=("lines",)))
    assert found.holds and found.changes[0].said == "lines 0.35 mm nearer than the least gap"
    assert -found.baselines_mm[1] == pytest.approx(14.0 + PROCESS.least_gap_mm - found.setting.nearer_mm, abs=1e-3)
    assert 0.5 - found.setting.nearer_mm <= 2 * (0.2 - STRAY_MM) + 1e-6


@pytest.mark.parametrize(
    "asked_mm, made_mm",
    [(15.5, 15.5), (6.0, 14.0 + PROCESS.least_gap_mm)],  # the second would lay one line on the other
)
def test_line_spacing_is_as_asked_and_never_lays_lines_on_each_other(asked_mm: float, made_mm: float) -> None:
    found = solved("A\nA\nA", replace(FIXED, base_offset_mm=1.0, line_spacing_mm=asked_mm))
    assert found.holds
    assert [a - b for a, b in itertools.pairwise(found.baselines_mm)] == pytest.approx([made_mm] * 2, abs=1e-3)


# ── forms ───────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_contextual_forms_go_where_they_part_a_name() -> None:
    # Before a block an A becomes an i, whose stem stands 6 mm away from it: plain blocks are 2 mm apart.
    part = "feature calt { sub A' A by i; } calt;"
    font = font_bytes(tiny_font(features=part))
    tight = replace(FIXED, base_offset_mm=1.2)
    assert not solved("AA", tight, font).holds
    found = solved("AA", replace(tight, by_hand=USUAL_BY_HAND), font)
    assert found.holds and found.setting.plain
    assert found.changes[0].said == "contextual forms and ligatures off" and "2 → 1 piece" in found.changes[0].bought
    assert gaps_of(found) == pytest.approx([2.0])


def test_plain_forms_leave_what_a_script_needs() -> None:
    fancy = "feature liga { sub f i by f_i; } liga; feature rlig { sub l l by l.alt; } rlig;"
    setter = Typesetter(Shaper(font_bytes(tiny_font(features=fancy))))
    count = [len(one.set(text).letters) for one in (setter, setter.plain) for text in ("fi", "ll")]
    assert count == [1, 1, 2, 1]  # required ligatures stay (OpenType feature registry: rlig)


# ── laws ────────────────────────────────────────────────────────────────────────────────────────────────────────────


@settings(max_examples=25, deadline=None)
@given(
    name=st.text("Ai-", min_size=2, max_size=5).filter(lambda t: t.strip("-") != ""),
    offset_mm=st.floats(0.3, 1.4).map(lambda v: round(v, 2)),
    kinds=st.sets(st.sampled_from(BY_HAND)),
)
def test_what_is_changed_by_hand_holds_or_is_left(name: str, offset_mm: float, kinds: set[str]) -> None:
    levers = replace(FIXED, base_offset_mm=offset_mm)
    bare = solved(name, levers, hyphen_font())
    found = solved(name, replace(levers, by_hand=tuple(kinds)), hyphen_font())
    if not found.holds:
        assert not bare.holds and found.setting == bare.setting
        return
    assert len(polygons_of(found.base)) == 1
    assert found.measured.neck_mm >= NECK_LINES * PROCESS.line_width_mm
    assert shapely.difference(found.middle, found.base).area < 1e-9
    assert all(gap >= PROCESS.least_gap_mm - 1e-3 for gap in gaps_of(found))
    # Letters keep their shapes: only places change.
    for one, other in zip(found.letters, bare.letters, strict=True):
        assert one.area == pytest.approx(other.area)


@pytest.mark.parametrize(
    "file, name, offset_mm, kinds",
    [
        ("Pacifico-Regular.ttf", "Anne-Marie", None, ("gaps",)),
        ("Pacifico-Regular.ttf", "Anne-Marie", None, ("bridges",)),
        ("Lobster-Regular.ttf", "O’Brien", None, ("gaps", "bridges")), ("VarelaRound-Regular.ttf", "Zoë", 0.3, BY_HAND),
        ("Anton-Regular.ttf", "Jiří\nMia", 0.2, BY_HAND), ("LobsterTwo-Bold.ttf", "Anne-Marie", None, ("gaps",)),
    ],
)  # fmt: skip
def test_real_names_changed_by_hand_print_in_one_piece(
    demo_font: Callable[[str], Path], file: str, name: str, offset_mm: float | None, kinds: tuple[str, ...]
) -> None:
    shaper = Shaper.open(demo_font(file))
    cap = shaper.metric("cpht") / shaper.upem or 0.7
    asked = Request.of(name, Size("cap-height", 14.0), PROCESS, default_stack())
    levers = Levers(base_offset_mm=offset_mm, size_fixed=True, by_hand=kinds, by_hand_first=True)
    found = fit(FitFace(Typesetter(shaper), cap, joining=0.9 if "P" in file else 0.0), asked, 14.0 / cap, levers)
    assert found.holds and any(c.said and c.bought for c in found.changes)
    tag = make_tag(found, file)
    assert [*print_faults(tag), *stl_faults(tag, stl(tag)), *threemf_faults(tag, threemf(tag))] == []
    facts = JobFacts(tag).as_json()
    said = [c.text for c in found.changes if c.said]
    assert said == facts["changes"][-len(said) :]
    count = facts["by_hand"]
    assert len(said) == len(count["gaps"]) + len(count["bridges"]) + count["forms_off"] + (count["lines_nearer_mm"] > 0)


# ── asked for by command, table and address ─────────────────────────────────────────────────────────────────────────


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Path:
    files = [p for p in demo_paths() if p.name == "Pacifico-Regular.ttf"]
    if not files:
        absent("demo fonts are missing; install the extra `demo`: pip install 'letterhold[demo]'")
    target = tmp_path_factory.mktemp("catalogue") / "c.sqlite"
    scan_into(target, Scan(files, read_words(None)[:4], workers=1))
    return target


def run(catalogue: Path, *arguments: str) -> int:
    options = parser_of(arguments).parse_args([*arguments, "--catalogue", str(catalogue)])
    return int(options.run(options))


def test_the_command_takes_changes_by_hand_and_line_spacing(
    catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ("tag", r"Anne-Marie\nBo", "--face", "Pacifico", "--out", str(tmp_path / "x"), "--formats", "svg")
    assert run(catalogue, *arguments, "--by-hand", "gaps,bridges", "--line-spacing", "17mm", "--json") == 0
    found = json.loads(capsys.readouterr().out)
    assert found["line_spacing_mm"] == [17.0]
    assert found["by_hand"]["gaps"] or found["by_hand"]["bridges"]
    job = (tmp_path / "x" / "job.html").read_text(encoding="utf-8")
    assert all(change in job for change in found["changes"])
    with pytest.raises(LetterholdError, match="glue is no change by hand; name some of forms, gaps"):
        run(catalogue, *arguments, "--by-hand", "glue")


def test_orders_take_them_by_columns(catalogue: Path, tmp_path: Path) -> None:
    table = tmp_path / "orders.csv"
    table.write_text(
        "name,face,ring,behind,by_hand,line_spacing\n"
        "Anne-Marie,Pacifico Regular,level,,gaps bridges,\n"
        "Bo,Pacifico Regular,corner,plate,,\n"
        "Bo\\nMia,Pacifico Regular,end,,none,17mm\n"
        "Mia,Pacifico Regular,,board,,\n"
        "Mia,Pacifico Regular,,,glue,\n"
        "Mia,Pacifico Regular,,,,tall\n",
        encoding="utf-8",
    )
    out = tmp_path / "shop"
    assert run(catalogue, "orders", str(table), "--out", str(out), "--formats", "svg") == 1
    jobs = {p.parent.name: json.loads(p.read_text(encoding="utf-8")) for p in out.glob("*/job.json")}
    hyphen, plate, lines = (jobs[k] for k in ("1-anne-marie", "2-bo", "3-bo-mia"))
    assert hyphen["by_hand"]["gaps"] or hyphen["by_hand"]["bridges"]
    assert abs(hyphen["ring"]["tilt_deg"]) < 15 and abs(lines["ring"]["tilt_deg"] + 90) < 20
    assert plate["behind"] == "plate" and lines["line_spacing_mm"] == [17.0]
    results = (out / "results.csv").read_text(encoding="utf-8")
    for words in (
        "behind is 'board'; write plate or bar", "glue is no change by hand", "'tall' is not a length"
    ):  # fmt: skip
        assert words in results


def test_tags_that_differ_by_hand_are_different_orders() -> None:
    rows = read_orders(b"name,by_hand,behind,line_spacing\nBo,,,\nBo,gaps,,\nBo,,plate,\nBo,,,20mm\n")
    assert len({row.key for row in rows}) == 4


def test_an_address_carries_them() -> None:
    hand = Hand(behind="plate", by_hand=("gaps", "bridges"), line_spacing_mm=22.0)
    assert links.read(links.write(Place(hand=hand)), ("nozzle-0.4",)).hand == hand
    assert "changes at single places “glue”" in links.read_and_report({"by_hand": "glue"}, ("nozzle-0.4",))[1]


def test_the_words_of_the_option() -> None:
    assert by_hand_of("Bridges, gaps") == ("gaps", "bridges") and by_hand_of("none") == ()
    for text in ("", "glue", "gaps glue"):
        with pytest.raises(LetterholdError, match="or write none"):
            by_hand_of(text)
