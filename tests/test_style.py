"""The style numbers of a face, against geometry that is known and against what fonts state of themselves."""

from __future__ import annotations

import io
import math
from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest
import shapely
from conftest import demo_paths
from fontTools.ttLib import TTFont
from fontTools.ttLib.scaleUpem import scale_upem
from hypothesis import given
from hypothesis import strategies as st
from shapely.affinity import scale, skew, translate
from shapely.geometry.base import BaseGeometry

from scanner.alphabet import CHARACTERS
from scanner.measures.features import FEATURES, MEANINGS
from scanner.measures.style import LETTERS, style_features
from scanner.measuring import measure
from scanner.records import Table, table_shapes
from scanner.shaping import Shaper

NOTHING = Table(**{name: np.full(shape, np.nan) for name, shape in table_shapes().items()})

DISC = shapely.Point(350, 350).buffer(350, quad_segs=64)
SQUARE = shapely.box(0, 0, 700, 700)
RING = DISC.difference(shapely.Point(350, 350).buffer(200, quad_segs=64))


def numbers(letters: dict[str, BaseGeometry], cap_em: float = 0.7) -> dict[str, float]:
    """Style of a face whose letters are given; cap height 700 units of 1000."""
    regions = [letters.get(c, shapely.MultiPolygon()) for c in CHARACTERS]
    advances = np.array([0.0 if r.is_empty else r.bounds[2] + 60 for r in regions])
    return dict(zip(FEATURES, style_features(regions, advances, NOTHING, 1000, cap_em, 0.5).tolist(), strict=True))


def every(shape: BaseGeometry, letters: Sequence[str] = LETTERS) -> dict[str, BaseGeometry]:
    return dict.fromkeys(letters, shape)


def style_of(path: Path) -> dict[str, float]:
    """Style of a font file's face."""
    return dict(zip(FEATURES, measure(Shaper.open(path, 0), ["Marlie"]).style, strict=True))


def test_every_number_has_a_definition_and_a_place() -> None:
    assert tuple(MEANINGS) == FEATURES
    assert all(MEANINGS.values())
    assert len(numbers(every(DISC))) == len(FEATURES)


def test_a_convex_contour_turns_once() -> None:
    """The turning of a simple closed curve is one full turn (Hopf's Umlaufsatz, 1935)."""
    for shape in (DISC, SQUARE, skew(SQUARE, 20)):
        assert numbers(every(shape))["turning"] == pytest.approx(1.0, abs=0.01)


def test_disc_and_square() -> None:
    """A disc fills π/4 of its box and has no corner; a square fills its box, has four corners and level walls."""
    disc, square = numbers(every(DISC)), numbers(every(SQUARE))
    assert disc["rectangular_o"] == pytest.approx(math.pi / 4, abs=0.002)
    assert square["rectangular_o"] == pytest.approx(1.0, abs=1e-6)
    assert (disc["corners"], square["corners"]) == (0, 4)
    assert square["corner"] == pytest.approx(1.0, abs=0.01)
    assert square["level"] == pytest.approx(0.5, abs=0.02)
    assert square["upright"] == pytest.approx(0.5, abs=0.02)
    assert disc["mirror"] > 0.97 and disc["turned"] > 0.97
    assert (disc["aspect_o"], disc["aspect_O"]) == (pytest.approx(1.0), pytest.approx(1.0))


def test_level_and_upright_edges_are_found_exactly() -> None:
    """A stair has nothing else; a square turned by 45° has none of them; a disc's polygon next to none."""
    stair = shapely.union_all([shapely.box(0, 0, 100 * k, 700 - 100 * k) for k in range(1, 7)])
    assert numbers(every(stair))["on_axes"] == pytest.approx(1.0)
    assert numbers(every(shapely.affinity.rotate(SQUARE, 45)))["on_axes"] == pytest.approx(0.0)
    assert numbers(every(DISC))["on_axes"] < 0.05
    half = numbers(every(shapely.Polygon([(0, 0), (700, 0), (350, 350)])))["on_axes"]
    assert half == pytest.approx(1 / (1 + math.sqrt(2)), abs=1e-6)  # base against two legs of a right triangle


def test_details_of_a_design_are_plain_ratios() -> None:
    """Heights over the cap height (700) and advances over advances, from boxes whose sides are known."""
    tall = {c: shapely.box(0, 0, 300, 700) for c in LETTERS}
    tall |= {c: shapely.box(0, 0, 300, 500) for c in "vxz"} | {c: shapely.box(0, -10, 340, 510) for c in "ceo"}
    tall |= {"t": shapely.box(0, 0, 200, 630), "f": shapely.box(0, 0, 200, 735), "Q": shapely.box(0, -140, 640, 700)}
    tall |= {"j": shapely.box(0, -210, 100, 770), "i": shapely.box(0, 0, 100, 770), "O": shapely.box(0, 0, 640, 714)}
    tall |= {c: shapely.box(0, 0, 640, 714) for c in "CG"}
    found = numbers(tall)
    assert found["top_t"] == pytest.approx(0.9) and found["top_f"] == pytest.approx(1.05)
    assert found["top_dot"] == pytest.approx(1.1) and found["depth_j"] == pytest.approx(0.3)
    assert found["depth_Q"] == pytest.approx(0.2)
    assert found["over_lower"] == pytest.approx(10 / 700) and found["over_upper"] == pytest.approx(14 / 700)
    assert found["E_to_O"] == pytest.approx(360 / 700)  # advances are the boxes' widths and 60
    assert found["t_to_n"] == pytest.approx(260 / 360)


def test_holes_and_parts() -> None:
    """A ring is open inside by (r/R)²; two halves with a slit between are a cut letter without a hole."""
    ring = numbers(every(RING))
    assert ring["hollow"] == 1 and ring["closed"] == 1 and ring["pieces"] == 1
    assert ring["hollow_area"] == pytest.approx((200 / 350) ** 2, abs=0.001)
    cut = numbers(every(RING.difference(shapely.box(320, -10, 380, 710))))
    assert (cut["broken"], cut["closed"], cut["pieces"]) == (1, 0, 2)


def bar(round_ends: bool) -> BaseGeometry:
    """A stem 100 wide and 700 high, its ends cut off or round."""
    return shapely.LineString([(350, 50), (350, 650)]).buffer(50) if round_ends else shapely.box(300, 0, 400, 700)


def with_stroke(letters: dict[str, BaseGeometry], stroke_em: float) -> dict[str, float]:
    """As ``numbers``, with a table that says how thick the strokes are."""
    table = Table(**{name: np.full(shape, np.nan) for name, shape in table_shapes().items()})
    table.strokes[:] = stroke_em
    table.length[:] = 1.0
    regions = [letters.get(c, shapely.MultiPolygon()) for c in CHARACTERS]
    advances = np.array([0.0 if r.is_empty else r.bounds[2] + 60 for r in regions])
    return dict(zip(FEATURES, style_features(regions, advances, table, 1000, 0.7, 0.5).tolist(), strict=True))


def test_ends_of_strokes() -> None:
    """A stem has two ends: round ones without a corner, or cut off with two; a triangle's are points."""
    cut, soft = with_stroke(every(bar(False)), 0.1), with_stroke(every(bar(True)), 0.1)
    assert (cut["ends"], cut["ends_round"], cut["ends_point"]) == (2, 0, 0)
    assert (soft["ends"], soft["ends_round"], soft["ends_point"]) == (2, 1, 0)
    spike = shapely.Polygon([(300, 0), (400, 0), (350, 700)])
    assert with_stroke(every(spike), 0.1)["ends_point"] == pytest.approx(0.5)


def test_clean_even_strokes_have_just_their_edges() -> None:
    """A ring of even width w: contour 2π(R + r), ink π(R² - r²); length · w / (2 · ink) is 1 whatever the radii."""
    ring = with_stroke(every(RING), 0.15)
    assert ring["perimeter"] == pytest.approx(1.0, abs=0.01)
    crumbs = shapely.union_all([RING, *(shapely.box(x, 800, x + 10, 810) for x in range(0, 700, 100))])
    assert with_stroke(every(crumbs), 0.15)["specks"] == 7


def test_parallel_lines_are_counted() -> None:
    """Stems drawn once, as two lines, as three."""
    stems = "ITFPELYilrft"
    for count in (1, 2, 3):
        lines = shapely.union_all([shapely.box(100 + 60 * k, 0, 130 + 60 * k, 700) for k in range(count)])
        assert numbers(every(lines, stems))["lines"] == count


def test_a_ruled_stem_neither_swells_nor_bends() -> None:
    wedge = shapely.Polygon([(200, 0), (400, 0), (320, 700), (280, 700)])
    wave = shapely.LineString([(300 + 40 * math.sin(math.pi * y / 140), y) for y in range(0, 701, 10)]).buffer(40)
    ruled, swelling, bent = (numbers(every(shape, "ITFPELYilrft")) for shape in (bar(False), wedge, wave))
    assert (ruled["stem_swell"], ruled["stem_bend"]) == (0, 0)
    assert swelling["stem_swell"] > 0.05 and swelling["stem_bend"] < 0.02
    assert bent["stem_bend"] > 0.05


def test_capitals_stand_in_for_missing_small_letters() -> None:
    """A face of capitals has the numbers of one whose small letters are those capitals."""
    alone = numbers(every(RING, LETTERS[:26]))
    twice = numbers(every(RING))
    assert (alone["smalls"], twice["smalls"]) == (0, 26)
    for name in ("width_lower", "aspect_o", "mirror", "case", "fill_lower", "pieces", "closed"):
        assert alone[name] == pytest.approx(twice[name], rel=0.45 if name == "width_lower" else 1e-6), name


def test_lean_is_measured() -> None:
    for degrees in (-8.0, 0.0, 12.0, 20.0):
        leaning = numbers(every(skew(shapely.box(0, 0, 90, 700), degrees, origin=(0, 0))))
        assert leaning["slant"] == pytest.approx(degrees, abs=0.3)


def test_a_serif_is_an_overhang_on_both_sides_and_an_exit_stroke_on_one() -> None:
    stem = shapely.box(100, 0, 200, 700)
    serifs, exits = shapely.box(40, 0, 260, 60), shapely.box(100, 0, 260, 60)
    letters = "TFPIilr"
    two = numbers(every(stem.union(serifs), letters) | every(_legs(stem.union(serifs)), "Hhn"))
    one = numbers(every(stem.union(exits), letters) | every(_legs(stem.union(exits)), "Hhn"))
    assert two["serif"] == pytest.approx(0.6, abs=0.03)
    assert two["serif_thick"] == pytest.approx(0.6, abs=0.1)  # a pixel is 0.09 of this stem
    assert two["serif_share"] == 1 and two["exit"] == pytest.approx(0.0, abs=0.03)
    assert one["serif_share"] == 0 and one["exit"] == pytest.approx(0.6, abs=0.03)


def _legs(leg: BaseGeometry) -> BaseGeometry:
    bar = shapely.box(150, 600, 550, 700)
    return shapely.union_all([leg, translate(leg, 400), bar])


@given(st.floats(0.2, 5.0))
def test_numbers_do_not_know_the_size(factor: float) -> None:
    letters = every(RING) | every(SQUARE, "HIil") | every(skew(SQUARE, 15), "vwk")
    larger = {c: scale(r, factor, factor, origin=(0, 0)) for c, r in letters.items()}
    here = np.array(list(numbers(letters).values()))
    regions = [larger.get(c, shapely.MultiPolygon()) for c in CHARACTERS]
    advances = np.array([0.0 if r.is_empty else r.bounds[2] + 60 * factor for r in regions])
    there = style_features(regions, advances, NOTHING, 1000 * factor, 0.7, 0.5)
    np.testing.assert_allclose(there, here, rtol=0.03, atol=0.03)  # likeness is taken on a raster


def test_units_per_em_do_not_show(demo_font: Callable[[str], Path]) -> None:
    """The same font at another number of units per em (fontTools scales it) has the same style."""
    path = demo_font("Lobster-Regular.ttf")
    font = TTFont(path)
    scale_upem(font, 2 * font["head"].unitsPerEm)
    out = io.BytesIO()
    font.save(out)
    other = measure(Shaper(out.getvalue(), 0, {}), ["Marlie"]).style
    np.testing.assert_allclose(other, list(style_of(path).values()), rtol=0.03, atol=0.03)


def test_nothing_measured_is_nan() -> None:
    nothing = numbers({})
    assert (nothing["capitals"], nothing["smalls"]) == (0, 0)
    assert all(math.isnan(v) for k, v in nothing.items() if k not in ("capitals", "smalls"))
    few = numbers(every(DISC, "MABC"))
    assert few["capitals"] == 4 and math.isnan(few["x_height"]) and math.isnan(few["joined"])


@pytest.mark.parametrize(
    "package, file",
    [
        ("fonts-urw-base35", "NimbusSans-Italic.otf"), ("fonts-urw-base35", "C059-Italic.otf"),
        ("fonts-urw-base35", "P052-Italic.otf"), ("fonts-urw-base35", "NimbusMonoPS-Italic.otf"),
        ("fonts-urw-base35", "URWGothic-BookOblique.otf"), ("fonts-liberation", "LiberationSans-Italic.ttf"),
    ],
)  # fmt: skip
def test_lean_as_the_font_states_it(debian_font: Callable[[str, str], Path], package: str, file: str) -> None:
    """The measured lean is the italic angle of the post table (OpenType: degrees from upright, right is below 0)."""
    path = debian_font(package, file)
    stated = -TTFont(path)["post"].italicAngle
    assert style_of(path)["slant"] == pytest.approx(stated, abs=2.5)


@pytest.mark.parametrize(
    "file, serifs",
    [
        ("LiberationSerif-Regular.ttf", True), ("DejaVuSerif.ttf", True),
        ("LiberationSans-Regular.ttf", False), ("DejaVuSans.ttf", False),
    ],
)  # fmt: skip
def test_serifs_as_panose_states_them(debian_font: Callable[[str, str], Path], file: str, serifs: bool) -> None:
    """PANOSE serif style of text faces: 2 to 10 have serifs, 11 to 15 have none (OpenType, table OS/2)."""
    path = debian_font("fonts-dejavu-core fonts-liberation", file)
    assert (TTFont(path)["OS/2"].panose.bSerifStyle <= 10) == serifs
    assert (style_of(path)["serif_share"] >= 0.5) == serifs


def test_one_width_as_the_font_states_it() -> None:
    """Faces that state isFixedPitch (OpenType, table post, bytes 12 to 16) have small letters of one width."""
    stated = [p for p in demo_paths() if Shaper.open(p, 0).table("post")[12:16] != bytes(4)]
    assert len({p.parent for p in stated}) >= 2
    for path in {p.parent: p for p in stated}.values():
        style = style_of(path)
        assert style["width_spread_lower"] < 0.01 and style["width_spread_upper"] < 0.01
