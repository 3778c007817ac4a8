"""Exports read back by other libraries: trimesh, lib3mf, ezdxf, svgpathtools; volumes against area × height."""

from __future__ import annotations

import io
import json
import os
import random
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable
from dataclasses import replace
from functools import lru_cache
from pathlib import Path

import ezdxf
import lib3mf
import numpy as np
import pytest
import shapely
import svgpathtools
import trimesh
from shapely import Polygon, box
from shapely.geometry import MultiPolygon
from tag_checks import faults, print_faults, stl_faults, threemf_faults

from catalogue.draw.picture import Shape, svg
from catalogue.judge.process import load_process
from catalogue.judge.request import Request, Size
from catalogue.judge.stack import default_stack
from catalogue.tag.colours import hex_of
from catalogue.tag.exports.dxf import dxf
from catalogue.tag.exports.facts import JobFacts, Sale
from catalogue.tag.exports.files import FORMATS, tag_files
from catalogue.tag.exports.hanging import hanging
from catalogue.tag.exports.jobsheet import html
from catalogue.tag.exports.mesh import Mesh, is_closed, prism, union, united
from catalogue.tag.exports.stl import stl, stl_of
from catalogue.tag.exports.svg import CHAIN_MM, TURN_DEG, View, all_svg, layer_svg, preview, walls
from catalogue.tag.exports.threemf import Placed, plate_threemf, threemf
from catalogue.tag.fit import fit
from catalogue.tag.levers import Levers
from catalogue.tag.ring import hang_text
from catalogue.tag.solids import clean
from catalogue.tag.tag import Band, Look, Tag, make_tag
from catalogue.tag.trial import FitFace
from scanner.lettering import Typesetter
from scanner.shaping import Shaper

PROCESS = load_process("nozzle-0.4")

TAGS = (
    ("Pacifico-Regular.ttf", "Marlie"),
    ("Anton-Regular.ttf", "Anne-Marie"),
    ("GreatVibes-Regular.ttf", "Marlie"),
    ("Lobster-Regular.ttf", "Zoë"),
    ("VarelaRound-Regular.ttf", "Đặng"),
    ("Amiri-Regular.ttf", "محمد"),
    ("Pacifico-Regular.ttf", "Anna\nBo"),
)
"""A script, a block, a hairline script, accents once and twice, right to left, two lines."""


@lru_cache(maxsize=32)
def made(path: Path, name: str, layers: int = 3) -> Tag:
    shaper = Shaper.open(path)
    cap = shaper.metric("cpht") / shaper.upem or 0.7
    request = Request.of(name, Size("cap-height", 14.0), PROCESS, default_stack())
    solved = fit(FitFace(Typesetter(shaper), cap), request, 14 / cap, Levers())
    return make_tag(solved, path.stem, Look(layers=layers))


def sheet(tag: Tag) -> str:
    """The job sheet of a tag."""
    return html(JobFacts(tag), svg(preview(tag)))


@pytest.fixture(params=TAGS, ids=[f"{f.split('-')[0]}-{n.split()[0]}" for f, n in TAGS])
def tag(request: pytest.FixtureRequest, demo_font: Callable[[str], Path]) -> Tag:
    return made(demo_font(request.param[0]), request.param[1])


def test_bands_are_closed_and_have_the_volume_of_area_times_height(tag: Tag) -> None:
    # Analytic: a prism's volume is area × height; trimesh merges equal coordinates, which shows pinched points.
    for band in tag.bands:
        mesh = prism(band.region, band.bottom_mm, band.top_mm)
        expected = band.region.area * (band.top_mm - band.bottom_mm)
        assert mesh.volume_mm3 == pytest.approx(expected, rel=1e-9)
        merged = trimesh.Trimesh(mesh.points, mesh.triangles, process=True)
        assert merged.is_watertight and merged.is_winding_consistent
        assert is_closed(mesh)
    assert sum(b.region.area * (b.top_mm - b.bottom_mm) for b in tag.bands) == pytest.approx(tag.volume_mm3, rel=1e-9)


def test_stl_reads_back_as_one_closed_body(tag: Tag) -> None:
    data = stl(tag)
    (count,) = struct.unpack_from("<I", data, 80)
    assert len(data) == 84 + 50 * count and not data.startswith(b"solid")  # STL binary layout, check-values section 7
    body = trimesh.load(io.BytesIO(data), file_type="stl")
    assert body.is_watertight and body.is_winding_consistent and body.body_count == 1
    assert body.volume == pytest.approx(tag.volume_mm3, rel=1e-5)  # coordinates in single precision
    assert body.extents == pytest.approx(tag.size_mm, abs=1e-4)


def test_3mf_passes_strict_reading_with_colours_and_units(tag: Tag, tmp_path: Path) -> None:
    path = tmp_path / "tag.3mf"
    path.write_bytes(threemf(tag))
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    assert model.GetUnit() == lib3mf.ModelUnit.MilliMeter
    objects = model.GetMeshObjects()
    names = []
    while objects.MoveNext():
        body = objects.GetCurrentMeshObject()
        assert body.IsManifoldAndOriented()
        names.append(body.GetName())
    assert names == [b.name for b in tag.bands]
    materials = model.GetBaseMaterialGroups()
    assert materials.MoveNext()
    group = materials.GetCurrentBaseMaterialGroup()
    wanted = {b.colour: hex_of(b.colour) for b in tag.bands}
    found = {}
    for number in group.GetAllPropertyIDs():
        colour = group.GetDisplayColor(number)
        found[group.GetName(number)] = f"#{colour.Red:02x}{colour.Green:02x}{colour.Blue:02x}"
    assert found == wanted
    items = model.GetBuildItems()
    assert items.Count() == 1
    low = np.concatenate([prism(b.region, b.bottom_mm, b.top_mm).points for b in tag.bands]).min(axis=0)
    assert (low >= 0).all()  # positive octant, core specification 4.2
    assert all(i.date_time == (1980, 1, 1, 0, 0, 0) for i in zipfile.ZipFile(path).infolist())


def test_dxf_has_no_audit_error_and_is_in_millimetres(tag: Tag) -> None:
    document = ezdxf.read(io.StringIO(dxf(tag).decode()))
    assert document.audit().errors == []
    assert document.units == 4 and document.header["$MEASUREMENT"] == 1  # 4: mm, check-values section 7
    for part in tag.layers:
        lines = document.modelspace().query(f'LWPOLYLINE[layer=="{part.layer.upper()}"]')
        rings = [Polygon([(x, y) for x, y, *_ in line.get_points()]) for line in lines]
        assert all(line.closed for line in lines)
        # Holes lie in shells and shells in holes: with even-odd, the area is that of the symmetric difference.
        total = Polygon()
        for ring in rings:
            total = total.symmetric_difference(ring)
        assert total.area == pytest.approx(part.region.area, rel=1e-9)


def test_svg_is_in_millimetres_and_has_the_areas_of_the_layers(tag: Tag, tmp_path: Path) -> None:
    for part in tag.layers:
        path = tmp_path / f"{part.layer}.svg"
        path.write_text(layer_svg(tag, part), encoding="utf-8")
        paths, _, attributes = svgpathtools.svg2paths2(str(path))
        width, height = (float(attributes[k].removesuffix("mm")) for k in ("width", "height"))
        assert attributes["viewBox"] == f"0 0 {width:.3f} {height:.3f}"  # one user unit is one mm
        # svgpathtools' signed areas: holes turn against their shells in the data as shapely orders them.
        area = Polygon()
        for loop in (piece for whole in paths for piece in whole.continuous_subpaths()):
            area = area.symmetric_difference(Polygon([(line.start.real, line.start.imag) for line in loop]))
        assert area.area == pytest.approx(part.region.area, rel=1e-6)


def test_repeat_gives_the_same_bytes(demo_font: Callable[[str], Path]) -> None:
    path = demo_font("Lobster-Regular.ttf")
    one = made(path, "Zoë")
    made.cache_clear()
    two = made(path, "Zoë")
    assert one is not two
    for write in (stl, threemf, dxf, all_svg, lambda t: svg(preview(t)), sheet):
        assert write(one) == write(two)


def test_another_process_gives_the_same_drawing(demo_font: Callable[[str], Path]) -> None:
    # Sets of text have another order in each process (PYTHONHASHSEED); 1 and 4 put ezdxf's classes differently.
    script = (
        "import hashlib, sys; sys.path[:0] = sys.argv[2:]; from pathlib import Path;"
        "from test_exports import dxf, made;"
        "print(hashlib.sha256(dxf(made(Path(sys.argv[1]), 'Bo'))).hexdigest())"
    )
    command = [sys.executable, "-c", script, str(demo_font("Anton-Regular.ttf")), str(Path(__file__).parent)]
    found = {
        subprocess.run(command, env=os.environ | {"PYTHONHASHSEED": seed}, check=True, capture_output=True).stdout
        for seed in ("1", "4")
    }
    assert len(found) == 1


def test_job_sheet_has_the_cautions_and_none_of_the_words_that_promise(tag: Tag) -> None:
    facts = JobFacts(tag, Sale("yes", "OFL-1.1"), price_per_kg=25.0)
    found = facts.as_json()
    json.dumps(found)
    page = html(facts, svg(preview(tag)))
    assert "Not a toy" in page and "no certificate" in page  # wording of check-values section 5
    for word in ("safe", "certified", "compliant"):
        assert word not in page.casefold()
    assert found["material_cost"] == pytest.approx(tag.mass_g * 0.025, abs=1e-3)
    assert sum(v["mass_g"] for v in found["colours"].values()) == pytest.approx(tag.mass_g, abs=1e-3)


def test_names_are_escaped(demo_font: Callable[[str], Path]) -> None:
    tag = made(demo_font("Anton-Regular.ttf"), "A&B")
    for text in (all_svg(tag), svg(preview(tag)), sheet(tag)):
        assert "A&amp;B" in text and "A&B" not in text
    model = zipfile.ZipFile(io.BytesIO(threemf(tag))).read("3D/3dmodel.model").decode()
    assert "A&amp;B" in model


def test_two_and_one_layer_tags(demo_font: Callable[[str], Path]) -> None:
    for layers, height, bodies in ((2, 4.6, 3), (1, 2.8, 2)):
        tag = made(demo_font("Pacifico-Regular.ttf"), "Bo", layers)
        assert len(tag.bands) == bodies and tag.size_mm[2] == height
        body = trimesh.load(io.BytesIO(stl(tag)), file_type="stl")
        assert body.is_watertight and body.body_count == 1


def test_known_solids() -> None:
    # A plate with a hole: volume (10 × 10 − 4) × 2 and genus 1, so Euler number 0 (G22, measured with manifold3d).
    plate = MultiPolygon([box(0, 0, 10, 10).difference(box(4, 4, 6, 6))])
    mesh = prism(plate, 1.0, 3.0)
    assert mesh.volume_mm3 == pytest.approx(192.0, rel=1e-12)
    body = trimesh.load(io.BytesIO(stl_of(mesh)), file_type="stl")
    assert body.is_watertight and body.euler_number == 0


def test_regions_that_touch_themselves_in_a_point_become_solids() -> None:
    # Two squares that share a corner are valid in the plane, but their prism's corner edge has four walls.
    bow = MultiPolygon([box(0, 0, 2, 2), box(2, 2, 4, 4)])
    assert not is_closed(prism(bow, 0.0, 1.0))
    mesh = prism(clean(bow), 0.0, 1.0)
    assert is_closed(mesh) and trimesh.Trimesh(mesh.points, mesh.triangles, process=True).is_watertight


def test_collinear_points_stay_in_the_caps() -> None:
    # The fault that a matching volume hides: a triangulation that drops a point on a straight edge.
    edge = [(x / 10, 0.0) for x in range(101)]
    mesh = prism(MultiPolygon([Polygon([*edge, (10, 5), (0, 5)])]), 0.0, 1.0)
    assert is_closed(mesh)
    assert not is_closed(Mesh(mesh.points, mesh.triangles[:-1]))


def test_stacked_bands_join_without_inner_faces() -> None:
    low = Band("low", "navy", MultiPolygon([box(0, 0, 10, 10)]), 0.0, 2.0)
    high = Band("high", "sky", MultiPolygon([box(3, 3, 7, 7)]), 2.0, 5.0)
    mesh = union((low, high))
    assert is_closed(mesh) and mesh.volume_mm3 == pytest.approx(200 + 48)
    area = trimesh.Trimesh(mesh.points, mesh.triangles).area
    assert area == pytest.approx(2 * 100 + 4 * 10 * 2 + 4 * 4 * 3)  # the covered 4 × 4 counts neither above nor below


# ── a sample of what bench/tag_numbers.py does over every demo face ─────────────────────────────────────────────────

SAMPLE_NAMES = ("Anne-Marie", "Quỳnh", "Željko", "J & K", "Mia\nNoah", "Fjodor", "Anna Lee", "WILLIAM")


def test_a_sample_of_faces_and_names_has_no_fault(demo_fonts: tuple[Path, ...]) -> None:
    """Twelve faces × four names, seeded: trimesh, lib3mf, ezdxf and lxml read the files, the simulated print agrees."""
    chance = random.Random(26)
    done = 0
    for path in chance.sample(demo_fonts, 12):
        setter = Typesetter(Shaper.open(path))
        cap = setter.shaper.metric("cpht") / setter.shaper.upem or 0.7
        for name in chance.sample(SAMPLE_NAMES, 4):
            process = load_process(chance.choice(("nozzle-0.4", "nozzle-0.25", "nozzle-0.6")))
            if setter.missing(name):
                continue
            request = Request.of(name, Size("cap-height", chance.choice((10.0, 14.0, 18.0))), process, default_stack())
            solved = fit(FitFace(setter, cap), request, request.size.mm / cap, Levers())
            if not solved.holds:
                assert solved.misses
                continue
            tag = make_tag(solved, path.stem)
            assert faults(tag, tag_files(JobFacts(tag), FORMATS)) == [], (path.name, name, process.name)
            done += 1
    assert done >= 30


def test_the_checks_see_what_is_wrong(demo_font: Callable[[str], Path]) -> None:
    # A check that cannot fail proves nothing: a bridge thinner than a line, a missing triangle, an overhang.
    tag = made(demo_font("Anton-Regular.ttf"), "Bo")
    hair = MultiPolygon([box(0, 0, 10, 30).union(box(10, 14.9, 20, 15.1)).union(box(20, 0, 30, 30))])
    low = replace(tag.bands[0], region=hair)
    seeds = np.array([[5.0, 15.0], [25.0, 15.0]]) + tag.origin_mm
    apart = replace(tag, bands=(low, *tag.bands[1:]), fit=replace(tag.fit, seeds=seeds))
    assert "print: letters come apart when shrunk by a line" in print_faults(apart)
    wide = replace(tag.bands[-1], region=clean(tag.bands[-1].region.buffer(3)))
    assert any("hangs over" in f for f in print_faults(replace(tag, bands=(*tag.bands[:-1], wide))))
    data = stl(tag)
    (count,) = struct.unpack_from("<I", data, 80)
    assert stl_faults(tag, data[:80] + struct.pack("<I", count - 1) + data[84:-50])
    assert stl_faults(tag, stl_of(prism(tag.bands[0].region, 0.0, 2.0)))
    assert threemf_faults(replace(tag, bands=tag.bands[:-1]), threemf(tag))


def test_the_skin_equals_the_boolean_of_solids(tag: Tag) -> None:
    # manifold3d unites the same bands as solids: same volume, same area, same genus.
    ours = union(tag.bands)
    theirs = united([prism(b.region, b.bottom_mm, b.top_mm) for b in tag.bands])
    one, two = (trimesh.Trimesh(m.points, m.triangles) for m in (ours, theirs))
    assert one.volume == pytest.approx(two.volume, rel=1e-9)
    assert one.area == pytest.approx(two.area, rel=1e-6)
    assert one.euler_number == two.euler_number


def test_a_plate_stores_each_tag_once_and_keeps_its_places(demo_font: Callable[[str], Path], tmp_path: Path) -> None:
    # 3MF core specification 3.4.3: build items place objects by a transform; lib3mf reads it strictly.
    one, two = made(demo_font("Anton-Regular.ttf"), "Bo"), made(demo_font("Pacifico-Regular.ttf"), "Bo")
    places = [Placed(one, 5.0, 5.0), Placed(one, 60.0, 5.0), Placed(two, 5.0, 40.0)]
    path = tmp_path / "plate.3mf"
    path.write_bytes(plate_threemf(places, "plate 1"))
    assert path.read_bytes() == plate_threemf(places, "plate 1")
    model = lib3mf.Wrapper().CreateModel()
    reader = model.QueryReader("3mf")
    reader.SetStrictModeActive(True)
    reader.ReadFromFile(str(path))
    assert reader.GetWarningCount() == 0
    assert model.GetMeshObjects().Count() == len(one.bands) + len(two.bands)
    items = model.GetBuildItems()
    moved = []
    while items.MoveNext():
        fields = items.GetCurrent().GetObjectTransform().Fields
        moved.append((fields[3][0], fields[3][1]))
    assert moved == [(p.x_mm, p.y_mm) for p in places]


def test_nothing_half_written_is_left_when_the_disk_is_full(demo_font: Callable[[str], Path], tmp_path: Path) -> None:
    # A limit on file size stands in for the disk: writing past it fails as on a full one (setrlimit, POSIX).
    resource = pytest.importorskip("resource")
    from catalogue.atomic import write_file

    data = stl(made(demo_font("Anton-Regular.ttf"), "Bo"))
    target = tmp_path / "tag.stl"
    write_file(target, b"old")
    before = resource.getrlimit(resource.RLIMIT_FSIZE)
    resource.setrlimit(resource.RLIMIT_FSIZE, (len(data) // 2, before[1]))
    try:
        with pytest.raises(OSError):
            write_file(target, data)
    finally:
        resource.setrlimit(resource.RLIMIT_FSIZE, before)
    assert target.read_bytes() == b"old" and list(tmp_path.iterdir()) == [target]
    write_file(target, data)
    assert target.read_bytes() == data


# ── pictures and words ──────────────────────────────────────────────────────────────────────────────────────────────


def test_walls_are_painted_from_the_back(demo_font: Callable[[str], Path]) -> None:
    # Painter's order is exact only for pieces of wall that reach back little; none reaches farther than the limit.
    region = made(demo_font("Pacifico-Regular.ttf"), "Marlie").bands[0].region
    view, turn = View(), np.radians(TURN_DEG)
    patches = walls(region, 0.0, 2.0, view, "#274c77")
    rise = np.sin(np.radians(view.rise_deg))
    depth = [-p.points[: len(p.points) // 2, 1] / rise for p in patches]  # bottom edges: height 0
    assert max(d.max() - d.min() for d in depth) <= CHAIN_MM + 1e-9
    middles = [(d.max() + d.min()) / 2 for d in depth]
    assert middles == sorted(middles, reverse=True)
    assert turn  # the tag is turned: a side view would show no order


@pytest.mark.parametrize(
    "turn, words",
    [
        (0, "level"), (-84, "left end on top (turned by 84° clockwise)"), (84, "right end on top"),
        (-30, "right end lower"), (30, "left end lower"), (170, "upside down"),
    ],
)  # fmt: skip
def test_how_it_hangs_is_told_in_words(turn: float, words: str) -> None:
    # A ring at the left of the centre of mass turns the name clockwise: its right end drops (G: centre under the hole).
    assert words in hang_text(turn)


def test_it_hangs_with_its_centre_of_mass_under_the_hole(tag: Tag) -> None:
    scene = hanging(tag)
    *layers, wire = [item.region for item in scene.items if isinstance(item, Shape)]
    outline = shapely.union_all(layers)
    ring_x = shapely.centroid(wire).x  # the key ring hangs straight above the hole
    assert shapely.centroid(outline).x == pytest.approx(ring_x, abs=1.0)
    assert shapely.centroid(outline).y > shapely.centroid(wire).y  # y runs down on a sheet
    assert shapely.union_all([outline, wire]).bounds[0] >= 0
    assert "How it hangs" in sheet(tag)


def test_the_job_sheet_states_forces_with_their_range_and_source(tag: Tag) -> None:
    page = sheet(tag)
    found = JobFacts(tag).as_json()["strength_n"]
    assert set(found) == {"bending", "tension"}
    for part in found.values():  # Materiale Plastice 11509: 16, 33 and 47 MPa
        assert part["flat"] / part["upright"] == pytest.approx(33 / 16, rel=1e-3)
        assert part["on_edge"] / part["upright"] == pytest.approx(47 / 16, rel=1e-3)
    assert page.index("Held next to the ring and bent") < page.index("Pulled straight")
    assert "EN 71-1" in page and "An estimate by beam theory" in page
