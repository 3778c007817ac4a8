"""The test print: its files read back by other libraries, its features measured on the mesh that is written.

What the steps should be is common practice without a published source; what is checked here is that the coupon has the
sizes it says, as one closed body, light and quick enough, with numbers a printer can lay.
"""

from __future__ import annotations

import io
import itertools
import json
import math
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
import shapely
import trimesh
from hypothesis import given
from hypothesis import strategies as st
from lxml import etree
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry
from tag_checks import stl_faults, threemf_faults

from catalogue.commands.main import main
from catalogue.judge.process import Process, built_in, load_process
from catalogue.tag.coupon.coupon import Coupon, make_coupon
from catalogue.tag.coupon.figures import figures, width_of
from catalogue.tag.coupon.files import FILES, coupon_files
from catalogue.tag.coupon.parts import GRIP_U, round_neck
from catalogue.tag.coupon.sizes import GAPS_MM, HOLES_MM, NECKS_MM, WALLS_MM, size_text, sizes_for
from catalogue.tag.ring_places import OUTER_MM

NEAR_MM = 0.003
"""Three steps of the grid that outlines lie on: either edge is rounded to one."""


@lru_cache(maxsize=8)
def coupon(name: str) -> Coupon:
    return make_coupon(load_process(name))


@lru_cache(maxsize=8)
def files(name: str) -> dict[str, bytes]:
    return coupon_files(coupon(name))


@lru_cache(maxsize=16)
def cut_at(name: str, height_mm: float) -> BaseGeometry:
    """What the written STL is made of at a height: trimesh's section, put together by the even-odd rule."""
    body = trimesh.load(io.BytesIO(files(name)["coupon.stl"]), file_type="stl")
    loops = body.section(plane_origin=[0, 0, height_mm], plane_normal=[0, 0, 1]).discrete
    region: BaseGeometry = Polygon()
    for loop in loops:
        region = shapely.symmetric_difference(region, Polygon(np.asarray(loop)[:, :2]).buffer(0))
    return region


def runs(region: BaseGeometry, y_mm: float) -> list[float]:
    """Lengths of what a level line meets, from left to right."""
    met = region.intersection(LineString([(-1, y_mm), (500, y_mm)]))
    parts = [p for p in shapely.get_parts(met) if p.length > 0]
    return [p.length for p in sorted(parts, key=lambda p: p.bounds[0])]


def height_of(name: str, kind: str) -> float:
    return next(row.middle_mm for row in coupon(name).rows if row.kind == kind)


# ── the body ────────────────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("name", built_in())
def test_the_body_passes_what_a_tag_passes(name: str) -> None:
    """trimesh: closed, one body, volume; lib3mf, strict: no warning, millimetres, every object closed."""
    made = coupon(name)
    assert stl_faults(made, files(name)["coupon.stl"]) == []  # type: ignore[arg-type]
    assert threemf_faults(made, files(name)["coupon.3mf"]) == []  # type: ignore[arg-type]


@pytest.mark.parametrize("name", built_in())
def test_it_takes_less_than_12_g_and_45_minutes(name: str) -> None:
    made = coupon(name)
    assert made.mass_g < 12 and made.print_minutes < 45
    assert made.size_mm[0] < made.process.bed_mm[0] and made.size_mm[1] < made.process.bed_mm[1]
    layers = [b.top_mm / made.process.layer_height_mm for b in made.bands]
    assert layers == pytest.approx([round(n) for n in layers]), "whole layers"


@pytest.mark.parametrize("name", built_in())
def test_bands_stand_inside_the_ones_below(name: str) -> None:
    for below, above in itertools.pairwise(coupon(name).bands):
        assert above.bottom_mm == below.top_mm
        assert shapely.difference(above.region, below.region).area < 1e-6


# ── its features, on the mesh that is written ───────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("name", built_in())
def test_walls_are_as_wide_as_they_say(name: str) -> None:
    made = coupon(name)
    found = runs(cut_at(name, made.size_mm[2] - 0.05), height_of(name, "walls"))
    assert found == pytest.approx(made.sizes.walls_mm, abs=NEAR_MM)


@pytest.mark.parametrize("name", built_in())
def test_gaps_and_holes_go_through_the_whole_thickness(name: str) -> None:
    """At the foot and at the head; a hole's polygon is never inside its circle, and strays less than 0.01 mm."""
    made = coupon(name)
    for height in (0.05, made.size_mm[2] - 0.05):
        region = cut_at(name, height)
        solid = shapely.union_all([Polygon(p.exterior) for p in shapely.get_parts(region)])
        openings = shapely.difference(solid, region)
        openings = openings.intersection(shapely.box(OUTER_MM, 0, 500, 500))  # without the ring's hole
        gaps = runs(openings, height_of(name, "gaps") + 0.01)
        assert gaps == pytest.approx(made.sizes.gaps_mm, abs=NEAR_MM)
        at = height_of(name, "holes")
        holes = [p for p in shapely.get_parts(openings) if abs(p.centroid.y - at) < 0.05]
        across = sorted(2 * math.sqrt(p.area / math.pi) for p in holes)
        assert across == pytest.approx(made.sizes.holes_mm, abs=0.01)


@pytest.mark.parametrize("name", built_in())
def test_stems_are_as_wide_as_they_say(name: str) -> None:
    made = coupon(name)
    for height in (0.05, made.size_mm[2] - 0.05):
        found = runs(cut_at(name, height), height_of(name, "necks"))
        assert found[: len(made.sizes.necks_mm)] == pytest.approx(made.sizes.necks_mm, abs=NEAR_MM)


@given(st.floats(0.3, 2.5), st.floats(0.5, 1.05))
def test_two_round_shapes_meet_in_a_chord_of_the_neck(width_mm: float, unit_mm: float) -> None:
    """Chord of two circles of radius r, d apart: 2·√(r² - d²/4) (any handbook of geometry); nowhere is it narrower."""
    radius = GRIP_U * unit_mm
    shape = round_neck(0.0, width_mm, unit_mm)
    apart = -2 * shape.centroid.y  # it is the same above and below the neck
    assert 2 * math.sqrt(radius**2 - apart**2 / 4) == pytest.approx(width_mm, abs=1e-6)
    points = shapely.get_coordinates(shape)
    off = np.minimum(np.hypot(*points.T), np.hypot(points[:, 0], points[:, 1] + apart)) - radius
    assert np.abs(off).max() < 1e-9, "every point lies on one of the two circles"
    widths = [runs(shapely.affinity.translate(shape, 10, 0), y)[0] for y in np.linspace(-apart, 0, 41)[1:-1]]
    assert min(widths) == pytest.approx(width_mm, abs=1e-6)


def test_the_ring_is_the_ring_of_a_tag() -> None:
    """0.30 and 0.15 in (common practice): half of it on the plate, its hole open."""
    made = coupon("nozzle-0.4")
    region = cut_at("nozzle-0.4", 1.5)
    ring = min(shapely.get_parts(region), key=lambda p: p.bounds[0])
    left, low, right, high = ring.bounds
    assert (right - left, high - low) == pytest.approx((7.62, 7.62), abs=0.01)
    (hole,) = ring.interiors
    assert 2 * math.sqrt(Polygon(hole).area / math.pi) == pytest.approx(3.81, abs=0.01)
    assert made.bands[1].top_mm == pytest.approx(0.08 * 25.4, abs=0.1), "0.08 in, in whole layers"


# ── sizes and numbers ───────────────────────────────────────────────────────────────────────────────────────────────


def test_the_steps_of_usual_nozzles() -> None:
    assert (WALLS_MM[0], WALLS_MM[-1]) == (0.3, 1.2)
    assert (GAPS_MM[0], GAPS_MM[-1]) == (0.05, 0.6)
    assert (HOLES_MM[0], HOLES_MM[-1]) == (0.3, 2.0)
    found = sizes_for(load_process("nozzle-0.25"))
    assert found == sizes_for(load_process("nozzle-0.4")) and found.necks_mm == NECKS_MM


@given(st.floats(0.1, 3.0))
def test_steps_rise_and_their_numbers_fit_between_features(nozzle_mm: float) -> None:
    found = sizes_for(Process("any", nozzle_mm, nozzle_mm * 1.1, nozzle_mm * 2, nozzle_mm, nozzle_mm / 2))
    for steps in (found.walls_mm, found.gaps_mm, found.holes_mm, found.necks_mm):
        assert all(a < b for a, b in itertools.pairwise(steps)), "each once"
        for mm in steps:
            assert float(size_text(mm)) == mm, "a number reads as the size it is"
            assert width_of(size_text(mm)) < 10, "features stand 10 units apart"


@pytest.mark.parametrize("figure", "0123456789")
def test_every_stroke_of_a_figure_prints(figure: str) -> None:
    """One square wide, and so is what it encloses: an opening takes nothing away, a closing fills nothing."""
    square = 0.8
    drawn = figures(figure, 0.0, 0.0, square)
    shrunk = drawn.buffer(-0.49 * square, join_style="mitre")
    assert shrunk.buffer(0.49 * square, join_style="mitre").area == pytest.approx(drawn.area, rel=1e-6)
    grown = drawn.buffer(0.49 * square, join_style="mitre")
    assert grown.buffer(-0.49 * square, join_style="mitre").area == pytest.approx(drawn.area, rel=1e-6)
    assert drawn.geom_type == "Polygon", "in one piece"


def test_no_two_figures_look_alike() -> None:
    """Two differ by a stroke at least, two squares long."""
    for one, other in itertools.combinations("023456789", 2):
        a, b = figures(one, 0.0, 0.0, 1.0), figures(other, 0.0, 0.0, 1.0)
        assert shapely.symmetric_difference(a, b).area >= 1.0, (one, other)


# ── the files ───────────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_drawing_is_to_scale() -> None:
    root = etree.fromstring(files("nozzle-0.4")["coupon.svg"])
    width, height = (float(v) for v in root.get("viewBox").split()[2:])
    assert root.get("width") == f"{width:.3f}mm" and root.get("height") == f"{height:.3f}mm"


def test_the_sheet_says_what_to_look_at_and_minds_what_can_hurt() -> None:
    sheet = files("nozzle-0.4")["coupon.html"].decode()
    for text in ("--like nozzle-0.4 --walls 0.8,1,1.2 --gaps 0.5,0.6", "under 3: small parts", "6.7 g", "32 minutes",
                 "keep your eyes away", "lamp", "PLA softens"):  # fmt: skip
        assert text in sheet
    assert not {"safe", "certified", "compliant"} & set(sheet.casefold().split())


def test_the_same_printer_gives_the_same_bytes() -> None:
    assert coupon_files(make_coupon(load_process("nozzle-0.4"))) == files("nozzle-0.4")


def test_the_command_writes_them(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["process", "coupon", "--out", str(tmp_path / "c"), "--process", "nozzle-0.6", "--json"]) == 0
    facts = json.loads(capsys.readouterr().out)
    assert sorted(p.name for p in (tmp_path / "c").iterdir()) == sorted(FILES)
    assert facts["process"] == "nozzle-0.6" and facts["mass_g"] < 12 and facts["walls_mm"][-1] == 1.8
    assert (tmp_path / "c" / "coupon.stl").read_bytes() == files("nozzle-0.6")["coupon.stl"]


def test_a_file_in_the_place_of_the_folder_is_reported(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (tmp_path / "c").write_text("mine")
    assert main(["process", "coupon", "--out", str(tmp_path / "c")]) == 2
    assert "a file of that name is there; give a folder" in capsys.readouterr().err
    assert (tmp_path / "c").read_text() == "mine"
