"""Regions of glyphs against two programs that know nothing of ours, and against exact areas.

FreeType's smooth raster counts covered pixel area (its own scan converter, the non-zero rule); fontTools'
area pen integrates curves in closed form but adds up overlaps, so it judges only letters without any.
"""

from __future__ import annotations

import io
import string
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely
from conftest import TINY, demo_sample, font_bytes, rectangle, tiny_font, tiny_variable_font
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.areaPen import AreaPen
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.ttLib import TTCollection, TTFont
from fontTools.varLib import instancer
from hypothesis import assume, given
from hypothesis import strategies as st
from shapely import MultiPolygon, Polygon, box
from shapely.affinity import rotate

from scanner.lettering import Typesetter
from scanner.raster import RasterError, Rasteriser
from scanner.regions import GRID, SPECK, polygons_of, region_from_rings
from scanner.shaping import FLATTEN_EM, Shaper, sfnt_bytes

PX_PER_EM = 512
"""FreeType's raster in these tests; a hairline of 0.02 em has ten pixels, each with 256 levels."""


def letter_region(
    data: bytes, letter: str, coordinates: dict[str, float] | None = None, index: int = 0
) -> MultiPolygon:
    setter = Typesetter(Shaper(sfnt_bytes(data), index, coordinates))
    (glyph,) = setter.shaper.shape(letter)
    return setter.region(glyph.glyph)


def read(path: Path) -> TTFont:
    """A font in memory, so that no file stays open."""
    return TTFont(io.BytesIO(path.read_bytes()))


def test_every_letter_of_every_demo_file_has_the_area_of_freetypes_raster(
    demo_fonts: tuple[Path, ...],
) -> None:
    # Within 0.5 %: chords cost up to FLATTEN_EM = 0.0005 em at each wall, which a hairline feels most; the
    # worst of 5,512 letters was 0.44 % (measured 2026-11).
    compared = 0
    wrong = []
    for path in demo_fonts:
        data = sfnt_bytes(path.read_bytes())
        setter, raster = Typesetter(Shaper(data)), Rasteriser(data, px_per_em=PX_PER_EM)
        for letter in string.ascii_letters:
            for placed in setter.shaper.shape(letter):
                ours = setter.region(placed.glyph).area / setter.shaper.upem**2
                theirs = raster.glyph(placed.glyph).area_em2
                compared += 1
                if abs(ours - theirs) > 0.005 * theirs:
                    wrong.append((path.name, letter, ours, theirs))
    assert wrong == []
    assert compared >= 0.99 * 52 * len(demo_fonts)  # a demo font without Latin letters would weaken the check


def test_letters_without_overlaps_have_the_area_of_the_area_pen(demo_fonts: tuple[Path, ...]) -> None:
    # One face a family (the first file of each package): a sample, for reading glyphs through fontTools is
    # slow.
    compared = 0
    wrong = []
    for path in demo_sample():
        shaper = Shaper.open(path)
        font = read(path)
        glyphs, names = font.getGlyphSet(), font.getGlyphOrder()
        for letter in string.ascii_letters:
            for placed in shaper.shape(letter):
                rings = shaper.rings(placed.glyph)
                if not rings or overlap(rings):
                    continue
                pen = AreaPen(glyphs)
                glyphs[names[placed.glyph]].draw(pen)
                ours, theirs = region_from_rings(rings).area, abs(pen.value)
                compared += 1
                if abs(ours - theirs) > 0.005 * theirs:
                    wrong.append((path.name, letter, ours, theirs))
    assert wrong == []
    assert compared > 1200  # most letters of most demo faces are drawn without overlaps


def overlap(rings: tuple[np.ndarray, ...]) -> bool:
    """Whether contours cross themselves or each other, or nest without turning the other way."""
    lines = np.array([shapely.linearrings(r) for r in rings], dtype=object)
    if not shapely.is_simple(lines).all():
        return True
    discs = shapely.polygons(lines)
    inside = np.zeros(len(lines), dtype=int)
    turns = np.where(shapely.is_ccw(lines), 1, -1)
    for i in range(len(lines)):
        for j in range(len(lines)):
            if i != j and lines[i].intersects(lines[j]):
                return True
            if i != j and discs[j].contains(lines[i]):
                inside[i] += turns[j]
    winding = turns + inside
    return not (set(winding.tolist()) <= {0, 1} or set(winding.tolist()) <= {0, -1})


AREAS = {"A": 280_000, "B": 180_000, "C": 220_000, "D": 280_000, "i": 55_000, "l": 70_000, "f": 76_000}


@pytest.mark.parametrize("letter", AREAS)
@pytest.mark.parametrize("cff", [False, True], ids=["glyf", "cff"])
def test_tiny_letters_have_their_exact_area_under_the_non_zero_rule(letter: str, cff: bool) -> None:
    assert letter_region(font_bytes(tiny_font(cff=cff)), letter).area == AREAS[letter]


def test_non_zero_rule_keeps_a_window_only_when_it_turns_the_other_way() -> None:
    data = font_bytes(tiny_font())
    window, solid, crossing = (letter_region(data, c) for c in "BDC")
    assert [len(p.interiors) for p in window.geoms] == [1]
    assert [len(p.interiors) for p in solid.geoms] == [0]
    assert len(crossing.geoms) == 1  # two blocks that overlap are one piece
    assert len(letter_region(data, "i").geoms) == 2


def test_an_island_in_a_window_is_a_piece_of_its_own() -> None:
    rings = [rectangle(0, 0, 100, 100), rectangle(20, 20, 80, 80)[::-1], rectangle(40, 40, 60, 60)]
    region = region_from_rings([np.array(r, dtype=float) for r in rings])
    assert region.area == 10_000 - 3_600 + 400
    assert len(region.geoms) == 2


def test_neighbours_with_a_shared_slanted_edge_become_one_polygon() -> None:
    # Union before any division by the em, on an integer grid: a slanted edge shared by two triangles
    # vanishes.
    rng = np.random.default_rng(7)
    one_piece = 0
    for _ in range(300):
        a, b, c, d = rng.integers(0, 2000, size=(4, 2)).astype(float)
        cross = (b - a)[0] * (c - a)[1] - (b - a)[1] * (c - a)[0]
        other = (b - a)[0] * (d - a)[1] - (b - a)[1] * (d - a)[0]
        if abs(cross) < 4000 or abs(other) < 4000 or cross * other > 0:
            one_piece += 1
            continue
        first = np.array([a, b, c] if cross > 0 else [b, a, c])
        second = np.array([a, b, d] if other > 0 else [b, a, d])
        one_piece += len(region_from_rings([first, second]).geoms) == 1
    assert one_piece == 300


@given(st.lists(st.tuples(st.integers(0, 900), st.integers(0, 900), st.integers(0, 179)), min_size=2, max_size=5))
def test_crossing_strokes_make_the_exact_union(strokes: list[tuple[int, int, int]]) -> None:
    """Bars at any angle over each other, against GEOS's own union of the same bars on the grid. Edges that cross
    between grid points are where an integer clipper loses area: rounded to a sixteenth of a unit they lose more."""
    bars = [rotate(box(x, y, x + 2000, y + 60), degrees, origin=(x, y)) for x, y, degrees in strokes]
    rings = [np.rint(shapely.get_coordinates(bar)[:-1] * GRID) / GRID for bar in bars]
    whole = shapely.union_all([Polygon(ring) for ring in rings])
    assume(all(Polygon(hole).area > 2 * SPECK for part in polygons_of(whole) for hole in part.interiors))
    found = region_from_rings(rings)
    assert shapely.symmetric_difference(found, whole).area < 2e-5 * whole.area


def test_specks_are_dropped_and_shapes_kept() -> None:
    # SPECK is 4 square units: a 2 x 2 square goes, 2 x 3 stays; the grid keeps 1/16 unit.
    assert SPECK == 4.0
    assert region_from_rings([np.array(rectangle(0, 0, 2, 2), dtype=float)]).is_empty
    assert region_from_rings([np.array(rectangle(0, 0, 2, 3), dtype=float)]).area == 6
    assert region_from_rings([np.array(rectangle(0, 0, 10 + 1 / GRID, 16), dtype=float)]).area == 161


def test_flattening_strays_no_further_than_it_says() -> None:
    # A disc of four cubic arcs (the usual 0.5523 handles stray 0.027 % of the radius by themselves).
    k, r = 0.5522847498, 400.0
    builder = FontBuilder(1000, isTTF=False)
    builder.setupGlyphOrder([".notdef", "o"])
    builder.setupCharacterMap({0x6F: "o"})
    pen = T2CharStringPen(1000, None, roundTolerance=0)
    pen.moveTo((r, 0))
    pen.curveTo((r, k * r), (k * r, r), (0, r))
    pen.curveTo((-k * r, r), (-r, k * r), (-r, 0))
    pen.curveTo((-r, -k * r), (-k * r, -r), (0, -r))
    pen.curveTo((k * r, -r), (r, -k * r), (r, 0))
    pen.closePath()
    empty = T2CharStringPen(1000, None).getCharString()
    builder.setupCFF("Disc", {}, {".notdef": empty, "o": pen.getCharString()}, {})
    builder.setupHorizontalMetrics({".notdef": (1000, 0), "o": (1000, 0)})
    builder.setupHorizontalHeader()
    builder.setupNameTable({"familyName": "Disc", "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    (ring,) = Shaper(font_bytes(builder.font)).rings(1)
    middles = (ring + np.roll(ring, 1, axis=0)) / 2
    strays = np.abs(np.hypot(*middles.T) - r)
    assert strays.max() <= FLATTEN_EM * 1000 + 0.00028 * r
    assert np.hypot(*ring.T) == pytest.approx(r, abs=0.00028 * r)
    assert FLATTEN_EM <= 0.0005


@pytest.mark.parametrize("flavor", ["woff", "woff2"])
def test_web_fonts_give_the_same_regions(flavor: str, demo_font: Callable[[str], Path]) -> None:
    path = demo_font("Pacifico-Regular.ttf")
    packed = font_bytes(read(path), flavor)
    assert packed[:3] == b"wOF"
    for letter in "QRaegi":
        assert letter_region(packed, letter).equals(letter_region(path.read_bytes(), letter))


def test_each_face_of_a_collection_gives_its_own_regions() -> None:
    plain = tiny_font()
    other = tiny_font(glyphs={**TINY, "l": [rectangle(0, 0, 250, 700)]})
    collection = TTCollection()
    collection.fonts = [plain, other]
    out = io.BytesIO()
    collection.save(out)
    data = out.getvalue()
    assert data[:4] == b"ttcf"
    assert letter_region(data, "l", index=0).equals(letter_region(font_bytes(tiny_font()), "l"))
    assert letter_region(data, "l", index=1).area == 250 * 700


def test_cff_curves_give_the_same_regions(demo_font: Callable[[str], Path]) -> None:
    # A real TrueType face written again as CFF, quadratic curves raised to cubic ones, which is exact; CFF
    # stores 1/65536 units. Chords fall elsewhere on the two kinds of curve: walls agree within two flattening
    # tolerances.
    path = demo_font("TitanOne-Regular.ttf")
    source = read(path)
    wanted = {".notdef": ".notdef"} | {source.getBestCmap()[ord(c)]: c for c in "SaegB&"}
    builder = FontBuilder(source["head"].unitsPerEm, isTTF=False)
    builder.setupGlyphOrder(list(wanted))
    builder.setupCharacterMap({ord(c): name for name, c in wanted.items() if len(c) == 1})
    glyphs = source.getGlyphSet()
    programs = {}
    for name in wanted:
        pen = T2CharStringPen(600, glyphs, roundTolerance=0)
        glyphs[name].draw(pen)
        programs[name] = pen.getCharString()
    builder.setupCFF("Again", {}, programs, {})
    builder.setupHorizontalMetrics(dict.fromkeys(wanted, (600, 0)))
    builder.setupHorizontalHeader()
    builder.setupNameTable({"familyName": "Again", "styleName": "Regular"})
    builder.setupOS2()
    builder.setupPost()
    data = font_bytes(builder.font)
    for letter in "SaegB&":
        ours, theirs = letter_region(data, letter), letter_region(path.read_bytes(), letter)
        difference = ours.symmetric_difference(theirs).area
        assert difference <= 2 * FLATTEN_EM * source["head"].unitsPerEm * theirs.length
        assert ours.area == pytest.approx(theirs.area, rel=2e-3)


def test_a_variable_instance_is_the_font_cut_at_that_weight(demo_font: Callable[[str], Path]) -> None:
    # fontTools' instancer rounds coordinates to whole units, HarfBuzz does not: walls agree within one unit.
    path = demo_font("JosefinSans[wght].ttf")
    static = font_bytes(instancer.instantiateVariableFont(read(path), {"wght": 650}))
    for letter in "BSago":
        moving = letter_region(path.read_bytes(), letter, {"wght": 650.0})
        fixed = letter_region(static, letter)
        assert moving.symmetric_difference(fixed).area <= 1.0 * fixed.length
        assert moving.area != pytest.approx(letter_region(path.read_bytes(), letter).area, rel=0.05)


@pytest.mark.parametrize(("weight", "width"), [(100, 100), (500, 200), (900, 300)])
def test_a_tiny_variable_stem_is_as_wide_as_its_weight_says(weight: float, width: float) -> None:
    data = font_bytes(tiny_variable_font())
    assert letter_region(data, "l", {"wght": weight}).area == width * 700
    drawn = Rasteriser(data, coordinates={"wght": weight}, px_per_em=1000).glyph(Shaper(data).shape("l")[0].glyph)
    assert drawn.area_em2 == pytest.approx(width * 700 / 1e6, rel=1e-3)


# --- the raster itself --------------------------------------------------------------------------------------


def test_raster_draws_by_glyph_id_with_its_place() -> None:
    data = font_bytes(tiny_font())
    raster = Rasteriser(data, px_per_em=1000)
    names = list(TINY)
    dot = raster.glyph(names.index("i"))
    assert dot.coverage.shape == (600, 100)
    assert (dot.left_px, dot.top_px) == (100, 600)
    assert dot.coverage[50].max() == 255 and dot.coverage[120].max() == 0  # the dot, then the gap under it
    assert raster.glyph(names.index("space")).area_em2 == 0
    assert raster.glyph(names.index("C")).area_em2 == pytest.approx(0.22, rel=1e-3)


def test_raster_refuses_what_it_cannot_draw() -> None:
    data = font_bytes(tiny_font())
    with pytest.raises(RasterError, match=r"^FreeType cannot open this face; get the font again from its source$"):
        Rasteriser(b"no font at all")
    with pytest.raises(RasterError, match=r"^FreeType cannot draw glyph 999; get the font again from its source$"):
        Rasteriser(data).glyph(999)
    with pytest.raises(RasterError, match=r"^0 px per em is outside 1 to 4096; ask for a smaller picture$"):
        Rasteriser(data, px_per_em=0)
