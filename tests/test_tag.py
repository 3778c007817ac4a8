"""The fit, the ring and the finished tag, against worked figures and real faces."""

from __future__ import annotations

import json
import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from conftest import font_bytes, tiny_font, tiny_variable_font
from shapely import Point
from shapely.geometry import MultiPolygon, box
from shapely.geometry.base import BaseGeometry

from catalogue.commands.main import parser_of
from catalogue.judge.hold import STRAY_LINES
from catalogue.judge.process import load_process
from catalogue.judge.reach import MOST_TRACKING_EM
from catalogue.judge.request import Request, Size
from catalogue.judge.spacing import lines_of
from catalogue.judge.stack import default_stack
from catalogue.tag.backing import behind
from catalogue.tag.fit import Fit, fit
from catalogue.tag.levers import Levers, Weights
from catalogue.tag.printing import mass_of, snapped_height
from catalogue.tag.ring import RingError, RingWish, bond_mm, disc, seat, tilt_deg
from catalogue.tag.ring_places import HOLE_MM, LEVEL_DEG, OUTER_MM
from catalogue.tag.small_parts import DEEP_MM, DIAMETER_MM, LONGEST_MM, diameter_mm, least_width_mm, may_fit
from catalogue.tag.tag import Look, make_tag
from catalogue.tag.trial import FitFace
from scanner.lettering import LetteringError, Typesetter
from scanner.regions import polygons_of
from scanner.shaping import Shaper

PROCESS = load_process("nozzle-0.4")
WALL_MM = 1.905


def asked(name: str, base_offset_mm: float = 1.0) -> Request:
    """A request in the default process; sizes are given to the fit in mm an em."""
    return Request.of(name, Size("cap-height", 14.0), PROCESS, default_stack(base_offset_mm))


def real(path: Path, name: str, levers: Levers | None = None, cap_mm: float = 14.0) -> Fit:
    shaper = Shaper.open(path)
    cap = shaper.metric("cpht") / shaper.upem or 0.7
    return fit(FitFace(Typesetter(shaper), cap), asked(name), cap_mm / cap, levers or Levers())


def tiny(name: str, levers: Levers, start_offset_mm: float = 0.8) -> Fit:
    """Blocks 8 × 14 mm, 2 mm apart: 400 × 700 units at an advance of 500, at 20 mm an em."""
    setter = Typesetter(Shaper(font_bytes(tiny_font())))
    return fit(FitFace(setter, 0.7), asked(name, start_offset_mm), 20.0, levers)


# ── published and worked figures ────────────────────────────────────────────────────────────────────────────────────


def test_ring_sizes() -> None:
    # 0.30 and 0.15 in are 7.62 and 3.81 mm, wall 1.905 mm: check-values section 6, common practice, no source.
    assert (pytest.approx(0.30 * 25.4), pytest.approx(0.15 * 25.4)) == (OUTER_MM, HOLE_MM)
    assert pytest.approx(WALL_MM) == (OUTER_MM - HOLE_MM) / 2
    assert Point(0, 0).distance(disc(0, 0, HOLE_MM, around=True).exterior) >= HOLE_MM / 2 - 1e-9  # never too small: G21


def test_heights_snap_to_whole_layers() -> None:
    # Check-values section 6: 10, 14, 23 and 32 layers of 0.2 mm.
    assert [snapped_height(h, 0.2) for h in (2.032, 2.794, 4.572, 6.350)] == [2.0, 2.8, 4.6, 6.4]


def test_mass_of_a_plate() -> None:
    # 60 × 20 × 2.794 mm of PLA at 1.24 g/cm³ (ASTM D792, resin data sheet): 4.16 g.
    assert mass_of(60 * 20 * 2.794, PROCESS) == pytest.approx(4.157, abs=0.001)


def test_small_parts_cylinder() -> None:
    # 16 CFR 1501.4: 1.25 in across, 2.25 in deep at most; the inch figures govern.
    assert (pytest.approx(31.75), pytest.approx(57.15)) == (DIAMETER_MM, DEEP_MM)
    assert pytest.approx(65.377, abs=0.001) == LONGEST_MM
    assert diameter_mm(box(0, 0, 60, 20), 6.35) == pytest.approx(math.sqrt(60**2 + 20**2 + 6.35**2))
    assert not may_fit(box(0, 0, 66, 5), 2.0)  # longer than any line inside
    assert may_fit(box(0, 0, 60, 20), 2.794)  # 63.3 mm: may fit
    assert not may_fit(box(0, 0, 32, 32), 2.0)  # wider than the cylinder whichever way it lies
    assert may_fit(box(0, 0, 31, 31), 2.0)
    # Least width of a regular triangle of side a is its height, a √3 / 2.
    triangle = shapely.Polygon([(0, 0), (40, 0), (20, 40 * math.sqrt(3) / 2)])
    assert least_width_mm(triangle) == pytest.approx(20 * math.sqrt(3))


@pytest.mark.parametrize("apart", [4.0, 5.0, 6.0, 7.0])
def test_bond_without_a_hole_is_the_chord_of_two_discs(apart: float) -> None:
    # G14: the neck of two overlapping discs r at a distance d is 2 √(r² − (d/2)²).
    r = OUTER_MM / 2
    angles = 2 * np.pi * (np.arange(20000) + 0.5) / 20000
    share = float((np.hypot(r * np.cos(angles) - apart, r * np.sin(angles)) < r).mean())
    assert bond_mm(share, hole_mm=0.0) == pytest.approx(2 * math.sqrt(r**2 - (apart / 2) ** 2), rel=1e-3)


def test_bond_of_half_a_ring_is_two_walls() -> None:
    assert bond_mm(0.5) == pytest.approx(2 * WALL_MM)
    assert bond_mm(0.7) == pytest.approx(2 * WALL_MM)


def test_tilt() -> None:
    # The centre of mass hangs under the hole: straight below is level, at 45° below to the right turns by 45°.
    assert tilt_deg(0, 5, (0, 0)) == 0
    assert tilt_deg(0, 5, (5, 0)) == pytest.approx(-45)
    assert tilt_deg(5, 5, (0, 0)) == pytest.approx(45)


# ── the fit ─────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_nothing_is_changed_where_the_name_holds() -> None:
    solved = tiny("AA", Levers(), start_offset_mm=1.2)
    assert solved.holds and solved.changes == ()


def test_offset_is_the_least_that_joins_parallel_faces() -> None:
    # G12 and G16: faces 2 mm apart join from an offset of 1 mm on, at once over their whole length; with a quarter
    # line in reserve, in steps of 0.02 mm.
    solved = tiny("AA", Levers(tracking_em=0.0, thicken_mm=0.0))
    assert solved.holds
    reserve = STRAY_LINES * PROCESS.line_width_mm
    assert 1.0 + reserve <= solved.setting.base_offset_mm <= 1.0 + reserve + 0.02
    assert [c.lever for c in solved.changes] == ["base offset"]
    assert "2 → 1 piece" in solved.changes[0].bought


def test_tracking_comes_before_thickening_and_offset() -> None:
    # 2 mm less 2 × 0.8 mm of offset leaves 0.4 mm, and twice the reserve, in em of 20 mm; steps of 0.002 em.
    solved = tiny("AA", Levers())
    assert [c.lever for c in solved.changes] == ["tracking"]
    needed = (0.4 + 2 * STRAY_LINES * PROCESS.line_width_mm) / 20
    assert -needed - 0.002 <= solved.setting.tracking_em <= -needed


def test_a_reserve_is_told_and_costs_no_other_size_and_no_heavier_letters() -> None:
    # 0.05 mm to spare: tracking alone may give the reserve; where it is fixed the name stays as it is.
    solved = tiny("AA", Levers(base_offset_mm=1.05))
    assert [c.lever for c in solved.changes] == ["tracking"]
    assert solved.changes[0].bought == "offset to spare 0.05 → 0.13 mm"
    assert tiny("AA", Levers(tracking_em=0.0, base_offset_mm=1.05)).changes == ()


def test_what_just_holds_is_taken_where_no_lever_gives_a_reserve() -> None:
    # 0.05 mm to spare is less than the reserve, but one piece with a neck over the whole height (G16).
    solved = tiny("AA", Levers(tracking_em=0.0, thicken_mm=0.0, base_offset_mm=1.05, size_fixed=True))
    assert solved.holds and solved.changes == ()
    assert "no margin: 0.050 mm of offset to spare" in solved.hold.reasons[0].text


def test_fixed_levers_stay() -> None:
    levers = Levers(tracking_em=-0.01, thicken_mm=0.15, base_offset_mm=0.9, size_fixed=True)
    solved = tiny("AA", levers)
    setting = solved.setting
    assert (setting.tracking_em, setting.thicken_mm, setting.base_offset_mm, setting.em_mm) == (-0.01, 0.15, 0.9, 20.0)


def test_nearest_miss_is_told() -> None:
    solved = tiny("AA", Levers(tracking_em=0.0, thicken_mm=0.0, base_offset_mm=0.5, size_fixed=True))
    assert not solved.holds
    assert solved.misses == ("base in 2 pieces: needs an offset of 1.00 mm, has 0.50 mm",)
    assert not solved.hold.holds


STRAY_A_SIDE_MM = STRAY_LINES * PROCESS.line_width_mm / 2
"""Where strokes have to be thickened they get a margin as well: half of what a printed outline strays, a side."""


def test_thickening_is_the_least_that_makes_strokes_walls_with_a_margin() -> None:
    # f: stem 100 and bar 60 units; at 10 mm an em the bar is 0.6 mm, so 0.1 mm a side makes it 0.8 mm.
    setter = Typesetter(Shaper(font_bytes(tiny_font())))
    solved = fit(FitFace(setter, 0.7), asked("f"), 10.0, Levers())
    assert solved.holds
    assert solved.setting.thicken_mm == pytest.approx(0.1 + STRAY_A_SIDE_MM, abs=0.011)


def variable(levers: Levers, name: str = "l", em_mm: float = 10.0) -> Fit:
    """A stem of 100 units at weight 100 that grows to 300 at 900: a quarter unit a step of weight."""
    data = font_bytes(tiny_variable_font())
    weights = Weights(100.0, 900.0, lambda w: Typesetter(Shaper(data, 0, {"wght": w})))
    return fit(FitFace(Typesetter(Shaper(data)), 0.7, weights=weights), asked(name), em_mm, levers)


def test_weight_is_the_least_that_makes_strokes_walls_with_a_margin() -> None:
    # At 5 mm an em the stem of 0.5 mm needs 0.8 and a quarter line, 0.9125 mm: 182.5 units, weight 100 + 82.5 × 4 =
    # 430, the next step of 25 is 450.
    solved = variable(Levers(weight_free=True, size_fixed=True), em_mm=5.0)
    assert solved.holds and solved.setting.thicken_mm == 0
    assert solved.setting.weight == 450
    assert [c.lever for c in solved.changes] == ["weight"]


def test_weight_stays_where_it_is_put() -> None:
    # Set by hand it is no lever: at 200 the stem is 125 units, 0.625 mm, so 0.09 mm a side are still missing.
    solved = variable(Levers(weight=200.0, weight_free=True, size_fixed=True), em_mm=5.0)
    assert solved.setting.weight == 200 and solved.setting.thicken_mm == pytest.approx(
        0.09 + STRAY_A_SIDE_MM, abs=0.011
    )
    kept = variable(Levers(size_fixed=True), em_mm=5.0)
    assert kept.setting.weight == 100 and kept.setting.thicken_mm == pytest.approx(0.15 + STRAY_A_SIDE_MM, abs=0.011)


@pytest.mark.parametrize("file", ["Pacifico-Regular.ttf", "Anton-Regular.ttf", "VarelaRound-Regular.ttf"])
def test_letters_that_melt_together_are_no_hold(demo_font: Callable[[str], Path], file: str) -> None:
    # Trade limits: tables ask 0.8 mm strokes and 0.5 mm gaps (check-values section 4). A lower-case n needs two strokes
    # and a gap, 2.1 mm, which no face draws in capitals of 2.3 mm; at 14 mm all have room.
    small = real(demo_font(file), "Marlie", Levers(size_fixed=True), cap_mm=2.3)
    assert not small.holds and not small.hold.holds
    told = next(m for m in small.misses if m.startswith("cannot be read"))
    from_mm = float(told.partition("capitals from about ")[2].split()[0])
    assert 2.3 < from_mm < 10
    assert real(demo_font(file), "Marlie", Levers(size_fixed=True), cap_mm=from_mm).holds
    assert not any("cannot be read" in m for m in real(demo_font(file), "Marlie").misses)


def test_size_grows_rather_than_blot(demo_font: Callable[[str], Path]) -> None:
    # With the size free, a hairline face at 5 mm gets larger until its letters can be read.
    solved = real(demo_font("GreatVibes-Regular.ttf"), "Marlie", cap_mm=6.0)
    assert solved.holds and solved.cap_height_mm > 6.0
    assert solved.measured.closed <= solved.measured.openings / 2


def test_the_geometry_library_s_complaint_is_one_line(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object, **__: object) -> None:
        raise shapely.errors.GEOSException("TopologyException: side location conflict")

    monkeypatch.setattr("catalogue.tag.shapes.offset", broken)
    with pytest.raises(ValueError, match=r"^the outlines of this name defeat .*; choose another face or size$"):
        tiny("AA", Levers())


def test_lines_and_words() -> None:
    assert lines_of("Anna  Lee\n\n Bo ") == [["Anna", "Lee"], ["Bo"]]
    assert lines_of("محمد علي") == [["علي", "محمد"]]  # in visual order
    with pytest.raises(LetteringError):
        lines_of(" \n ")


@pytest.mark.parametrize(
    "file, name",
    [
        ("Pacifico-Regular.ttf", "Marlie"), ("GreatVibes-Regular.ttf", "Marlie"), ("Anton-Regular.ttf", "Anne-Marie"),
        ("Lobster-Regular.ttf", "Zoë"), ("VarelaRound-Regular.ttf", "Đặng"), ("Amiri-Regular.ttf", "محمد"),
        ("Amiri-Regular.ttf", "محمد علي"), ("VarelaRound-Regular.ttf", "Anna Lee\nBo"),
    ],
)  # fmt: skip
def test_real_names_hold_and_print_in_one_piece(demo_font: Callable[[str], Path], file: str, name: str) -> None:
    solved = real(demo_font(file), name)
    assert solved.holds, solved.misses
    assert len(polygons_of(solved.base)) == 1
    assert solved.measured.neck_mm >= 2 * PROCESS.line_width_mm
    assert solved.hold.holds
    for inner, outer in ((solved.top, solved.middle), (solved.middle, solved.base)):
        assert shapely.difference(inner, outer).area < 1e-9
    # No lever past its end, and none moved that was not needed.
    assert -MOST_TRACKING_EM <= solved.setting.tracking_em <= 0
    assert all(change.bought for change in solved.changes)

    tag = make_tag(solved, file)
    low, base, ring = tag.bands[0].region, tag.layers[0].region, tag.ring
    # A print simulation of another kind: an opening of the picture by the line width leaves one piece.
    assert _pieces_printed(low) == 1
    # The hole is round, open, and keeps the least gap from what stands above the base.
    hole = Point(ring.x_mm, ring.y_mm)
    assert low.distance(hole) >= HOLE_MM / 2 - 0.002
    for part in tag.layers[2:]:
        assert part.region.distance(hole) >= HOLE_MM / 2 + PROCESS.least_gap_mm - 0.01
    # Around the hole there is a whole wall.
    rim = hole.buffer(OUTER_MM / 2 - 0.02, quad_segs=64).difference(hole.buffer(HOLE_MM / 2 + 0.02, quad_segs=64))
    assert rim.difference(low).area < 0.02
    # Most of its outside lies within the base, and the bond is at least what is asked by default: four lines.
    assert ring.overlap_share >= 0.5
    assert ring.bond_mm >= 4 * PROCESS.line_width_mm
    assert len(polygons_of(base)) == 1
    # Letters hang together by two lines with the hole cut.
    assert len(polygons_of(low.buffer(-PROCESS.line_width_mm))) >= 1


def test_joined_scripts_are_not_tracked(demo_font: Callable[[str], Path]) -> None:
    for file, name in (("Pacifico-Regular.ttf", "Marlie"), ("Amiri-Regular.ttf", "محمد علي")):
        solved = real(demo_font(file), name, Levers(base_offset_mm=0.3))
        assert solved.setting.tracking_em == 0


def test_a_larger_margin_never_needs_more(demo_font: Callable[[str], Path]) -> None:
    path = demo_font("VarelaRound-Regular.ttf")
    tracked = [
        real(path, "Hanna", Levers(thicken_mm=0.0, base_offset_mm=o)).setting.tracking_em for o in (0.8, 1.0, 1.3)
    ]
    assert tracked == sorted(tracked)


# ── a plate or a bar behind the name ────────────────────────────────────────────────────────────────────────────────

APART = Levers(tracking_em=0.0, thicken_mm=0.0, base_offset_mm=0.5, size_fixed=True)


@pytest.mark.parametrize("backing", ["plate", "bar"])
def test_what_stands_behind_holds_letters_that_stand_apart(backing: str) -> None:
    # Blocks 2 mm apart at an offset of 0.5 mm are two pieces; a bar reaches 3.6 mm up from the baseline, 0.4 mm down.
    assert not tiny("AAA", APART).holds
    solved = tiny("AAA", replace(APART, backing=backing))
    assert solved.holds and solved.changes == () and len(polygons_of(solved.base)) == 1
    assert shapely.difference(solved.top, solved.base).area < 1e-9
    assert not {s.kind for s in solved.weak_spots()} & {"gap", "loose part", "neck"}
    tag = make_tag(solved, "blocks")
    assert _pieces_printed(tag.outline) == 1


def test_a_plate_carries_dots_and_lines_and_a_bar_one_line() -> None:
    # The dot of i stands 1 mm above its stem; a bar along the baseline does not reach it.
    assert tiny("ii\nAA", replace(APART, backing="plate")).holds
    assert not tiny("ii", replace(APART, backing="bar", base_offset_mm=0.4)).holds
    with pytest.raises(LetteringError, match="take a plate"):
        tiny("A\nA", replace(APART, backing="bar"))


def test_a_plate_is_the_rounded_outline_not_a_box() -> None:
    plate = behind("plate", [box(0, 0, 4, 14), box(10, 0, 14, 14), box(20, 0, 24, 6)], 1, 20.0)
    assert len(polygons_of(plate)) == 1 and not plate.interiors
    assert plate.area < 0.9 * box(0, 0, 24, 14).area  # the step down to the low block stays
    far = behind("plate", [box(0, 0, 4, 4), box(90, 0, 94, 4)], 1, 20.0)  # too far for any closing: the hull
    assert len(polygons_of(far)) == 1 and behind("", [box(0, 0, 1, 1)], 1, 20.0).is_empty


def test_the_command_puts_a_plate_behind(catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    fixed = ("--tracking", "0", "--thicken", "0", "--offset", "0.1mm", "--cap-height", "14mm", "--formats", "svg")
    arguments = ("tag", "Marlie", "--face", "Anton", "--out", str(tmp_path / "x"), *fixed, "--behind", "plate")
    assert run(catalogue, *arguments) == 0
    assert "a plate behind the name" in capsys.readouterr().out
    assert "a plate behind the name" in (tmp_path / "x" / "job.html").read_text(encoding="utf-8")


# ── the ring ────────────────────────────────────────────────────────────────────────────────────────────────────────


PLATE, UPPER, SEEDS = box(0, 0, 60, 20), box(0.5, 0.5, 59.5, 19.5), np.array([[30.0, 10.0]])


@pytest.mark.parametrize(
    "side, where",
    [("left", (-2, 10)), ("right", (62, 10)), ("top", (30, 22)), ("0", (62, 10)), ("90", (30, 22)), ("270", (30, -2))],
)
def test_ring_goes_where_it_is_wished(side: str, where: tuple[float, float]) -> None:
    seated = seat(PLATE, UPPER, SEEDS, PROCESS, RingWish(side))
    assert math.dist((seated.ring.x_mm, seated.ring.y_mm), where) < 1.0
    assert seated.ring.overlap_share >= 0.5
    if side in ("top", "90"):
        assert abs(seated.ring.tilt_deg) < 1.0


def test_nothing_thinner_than_a_line_stands_above_the_ring(demo_font: Callable[[str], Path]) -> None:
    # The web beside the ring runs out to nothing along it; above the ring's height that would be a loose sliver.
    for file, name in (("Pacifico-Regular.ttf", "Hanna"), ("Arvo-Bold.ttf", "Ora"), ("Anton-Regular.ttf", "Jo")):
        tag = make_tag(real(demo_font(file), name), file)
        base = tag.layers[0].region
        web = base.difference(base.buffer(-0.2).buffer(0.2)).intersection(Point(tag.ring.x_mm, tag.ring.y_mm).buffer(9))
        assert max((p.area for p in polygons_of(web)), default=0.0) < 0.1, file
        assert tag.ring.overlap_share >= 0.5


@pytest.mark.parametrize(
    "file, name",
    [("Pacifico-Regular.ttf", "Marlie"), ("Anton-Regular.ttf", "Jay"), ("GreatVibes-Regular.ttf", "Ylva"),
     ("VarelaRound-Regular.ttf", "Lu"), ("Lobster-Regular.ttf", "Anna\nBo")],
)  # fmt: skip
def test_a_name_hangs_level_when_asked(demo_font: Callable[[str], Path], file: str, name: str) -> None:
    # The centre of mass hangs under the hole: a place within tan 12° of above it; over a dip the ring stands on a lug.
    tag = make_tag(real(demo_font(file), name), file, Look(ring=RingWish("level")))
    assert abs(tag.ring.tilt_deg) <= LEVEL_DEG + 3  # ring and web move the centre a little
    assert len(polygons_of(tag.outline)) == 1 and tag.ring.bond_mm >= 4 * PROCESS.line_width_mm
    hole = Point(tag.ring.x_mm, tag.ring.y_mm)
    assert tag.outline.distance(hole) >= HOLE_MM / 2 - 0.002
    assert _pieces_printed(tag.outline) == 1


@pytest.mark.parametrize(
    "file, name",
    [("Pacifico-Regular.ttf", "Marlie"), ("Anton-Regular.ttf", "Jay"), ("GreatVibes-Regular.ttf", "Ylva"),
     ("VarelaRound-Regular.ttf", "Lu"), ("Lobster-Regular.ttf", "Anna\nBo"), ("Arvo-Bold.ttf", "Tim")],
)  # fmt: skip
def test_a_name_hangs_lengthwise_by_its_left_end_by_default(
    demo_font: Callable[[str], Path], file: str, name: str
) -> None:
    # The line from the hole to the centre of mass is the name's own line: a quarter turn, give or take 12°.
    tag = make_tag(real(demo_font(file), name), file)
    assert abs(tag.ring.tilt_deg + 90) <= LEVEL_DEG + 3  # ring and web move the centre a little
    assert tag.ring.x_mm < 0.35 * tag.size_mm[0] and _pieces_printed(tag.outline) == 1


def test_the_corner_is_the_upper_left_and_where_nothing_hangs_straight_the_end_is_taken() -> None:
    for side in ("corner", "upper-left"):
        ring = seat(PLATE, UPPER, SEEDS, PROCESS, RingWish(side)).ring
        assert ring.x_mm < 10 and ring.y_mm > 14
    # A plate with a slot in its left side, 6 mm high and 12 mm deep: no ring of 7.62 mm sits there.
    slot = box(-1, 7, 12, 13)
    ring = seat(PLATE.difference(slot), UPPER.difference(slot.buffer(0.5)), SEEDS, PROCESS, RingWish()).ring
    assert ring.x_mm < 2


def test_ring_says_what_to_do() -> None:
    with pytest.raises(RingError, match="try another --ring"):
        seat(PLATE, UPPER, SEEDS, PROCESS, RingWish("left", 20.0))
    with pytest.raises(RingError, match="135"):
        seat(PLATE, UPPER, SEEDS, PROCESS, RingWish("below"))
    for turn in ("999", "1e308", "nan", "-inf"):  # an angle is within a turn
        with pytest.raises(RingError, match="up to 360 degrees"):
            seat(PLATE, UPPER, SEEDS, PROCESS, RingWish(turn))


# ── the command ─────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Path:
    from conftest import absent, demo_paths

    from catalogue.gather.scan import Scan, scan_into
    from scanner.alphabet import read_words

    wanted = ("Pacifico-Regular.ttf", "Anton-Regular.ttf")
    files = [p for p in demo_paths() if p.name in wanted]
    if len(files) < len(wanted):
        absent("demo fonts are missing; install the extra `demo`: pip install 'letterhold[demo]'")
    target = tmp_path_factory.mktemp("catalogue") / "c.sqlite"
    scan_into(target, Scan(files, read_words(None)[:4], workers=1))
    return target


def run(catalogue: Path, *arguments: str) -> int:
    """The command as the parser of the program would run it, with its errors."""
    options = parser_of(arguments).parse_args([*arguments, "--catalogue", str(catalogue)])
    return int(options.run(options))


def test_tag_command(catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "marlie"
    arguments = ("tag", "Marlie", "--face", "Pacifico Regular", "--out", str(out), "--json", "--price", "25")
    assert run(catalogue, *arguments) == 0
    found = json.loads(capsys.readouterr().out)
    for key in (
        "files", "cap_height_mm", "tracking_em", "thicken_mm", "offsets_mm", "ring", "size_mm", "volume_mm3", "mass_g",
        "colour_changes_mm", "cautions", "hold",
    ):  # fmt: skip
        assert key in found  # the contract of product.md
    assert set(found["ring"]) >= {"x_mm", "y_mm", "bond_mm", "overlap_share"}
    assert all(Path(p).is_file() for p in found["files"].values())
    assert sorted(p.name for p in out.iterdir()) == sorted(found["files"])
    before = {p.name: p.read_bytes() for p in out.iterdir()}
    assert run(catalogue, *arguments) == 0  # its own files may be written again, and come out the same
    assert {p.name: p.read_bytes() for p in out.iterdir()} == before


def test_tag_command_says_no(catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    fixed = ("--tracking", "0", "--thicken", "0", "--offset", "0.1mm", "--cap-height", "14mm")
    out = tmp_path / "no"
    assert run(catalogue, "tag", "Marlie", "--face", "Anton", "--out", str(out), *fixed) == 1
    assert "nearest miss: base in " in capsys.readouterr().err
    assert not out.exists()


@pytest.mark.parametrize(
    "more, words",
    [
        (("--formats", "gif"), "svg,dxf,stl,3mf,png"), (("--colours", "navy,sky"), "give base, middle and top"),
        (("--colours", "navy,sky,beigeish"), "#rrggbb"), (("--tracking", "0.1"), "-0.02"), (("--ring", "below"), "135"),
        (("--weight", "600"), "no weight axis"), (("--process", "0.4"), "did you mean nozzle-0.4"),
        (("--price", "-1"), "25"), (("--width", "2mm"), "wider"),
    ],
)  # fmt: skip
def test_wrong_use(catalogue: Path, tmp_path: Path, more: tuple[str, ...], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        run(catalogue, "tag", "Marlie", "--face", "Anton", "--out", str(tmp_path / "x"), *more)


def test_folder_with_other_files_is_left_alone(catalogue: Path, tmp_path: Path) -> None:
    (tmp_path / "letter.txt").write_text("mine")
    with pytest.raises(ValueError, match="holds other files"):
        run(catalogue, "tag", "Marlie", "--face", "Anton", "--out", str(tmp_path))


def test_missing_letters_are_named(catalogue: Path, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="lacks 鑫"):
        run(catalogue, "tag", "Bo 鑫", "--face", "Anton", "--out", str(tmp_path / "x"))


def test_width_is_met(catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    out = tmp_path / "wide"
    arguments = ("--width", "70mm", "--ring", "top", "--formats", "svg", "--json", "--out", str(out))
    assert run(catalogue, "tag", "Marlie", "--face", "Anton", *arguments) == 0
    assert json.loads(capsys.readouterr().out)["size_mm"][0] == pytest.approx(70, abs=0.05)


def test_a_tag_larger_than_the_bed_is_told(catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    # The bed of the built-in profiles is 220 × 220 mm.
    arguments = ("tag", "Marlie", "--face", "Anton", "--formats", "svg", "--json")
    for width, told in (("230mm", True), ("210mm", False)):
        assert run(catalogue, *arguments, "--width", width, "--out", str(tmp_path / width)) == 0
        cautions = json.loads(capsys.readouterr().out)["cautions"]
        assert cautions[0].startswith("Larger than the bed: the tag is ") == told
        assert ("Larger than the bed" in (tmp_path / width / "job.html").read_text()) == told


def test_the_job_sheet_says_which_colour_comes_next(
    catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ("tag", "Marlie", "--face", "Anton", "--formats", "svg", "--colours", "red,#ff00ff,white")
    assert run(catalogue, *arguments, "--out", str(tmp_path / "three")) == 0
    assert "change to #ff00ff at 2.80 mm, then white at 4.60 mm" in capsys.readouterr().out
    sheet = (tmp_path / "three" / "job.html").read_text()
    assert "<li>Change to #ff00ff at 2.80 mm.</li><li>Change to white at 4.60 mm.</li>" in sheet
    assert run(catalogue, *arguments, "--layers", "1", "--out", str(tmp_path / "one")) == 0
    assert "change to" not in capsys.readouterr().out


def test_words_set_close_and_two_lines_are_told(
    catalogue: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    arguments = ("--face", "Pacifico Regular", "--formats", "svg", "--out", str(tmp_path / "x"))
    assert run(catalogue, "tag", "Ana Luisa Costa", *arguments) == 0
    told = capsys.readouterr().out
    assert "word space narrower by " in told and "→ 1 piece" in told
    assert 'two lines may read better: "Ana Luisa\\nCosta"' in told
    assert run(catalogue, "tag", "Ana Luisa\\nCosta", *arguments) == 0
    told = capsys.readouterr().out
    assert told.startswith("“Ana Luisa / Costa” in Pacifico Regular")


def _pieces_printed(region: BaseGeometry | MultiPolygon, px_per_mm: float = 30.0) -> int:
    """Pieces after a picture of the region is opened by a disc of the line width."""
    from PIL import Image, ImageDraw
    from skimage.measure import label
    from skimage.morphology import disk, opening

    x0, y0, x1, y1 = region.bounds
    picture = Image.new("1", (int((x1 - x0 + 2) * px_per_mm), int((y1 - y0 + 2) * px_per_mm)))
    pen = ImageDraw.Draw(picture)
    for polygon in polygons_of(region):
        for ring, ink in ((polygon.exterior, 1), *((hole, 0) for hole in polygon.interiors)):
            points = (shapely.get_coordinates(ring) - (x0 - 1, y0 - 1)) * px_per_mm
            pen.polygon([(x, y) for x, y in points.tolist()], fill=ink)
    opened = opening(np.asarray(picture, dtype=np.uint8), disk(int(PROCESS.line_width_mm / 2 * px_per_mm)))
    sizes = np.bincount(label(opened, connectivity=1).ravel())[1:]
    return int((sizes > (0.5 * px_per_mm) ** 2).sum())


def test_a_base_that_touches_itself_in_a_point_keeps_its_ring() -> None:
    # Two holes that share a corner: no solid in space, so the base is shrunk by a hair; the ring has to stay on it.
    solved = tiny("AA", Levers(), start_offset_mm=1.2)
    holes = box(3.0, 5.0, 4.5, 6.5).union(box(4.5, 6.5, 6.0, 8.0))
    tag = make_tag(replace(solved, base=solved.base.difference(holes)), "blocks")
    assert len(polygons_of(tag.outline)) == 1
    assert len(polygons_of(shapely.union_all([layer.region for layer in tag.layers if layer.bottom_mm == 0]))) == 1
