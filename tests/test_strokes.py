"""Strokes of real fonts against the lettering standards they follow and against Adobe's own stem widths.

The measure is the product's: widths along the centre line of a letter, their median. Where a standard speaks
of one stem that a median would mix with serifs or arms, the width is taken across that stem.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import matplotlib
import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, box

from scanner.lettering import Typesetter
from scanner.measures.strokes import letter_widths
from scanner.regions import region_from_rings
from scanner.shaping import Shaper

DebianFont = Callable[[str, str], Path]


class Letters:
    """Regions and median strokes of a few letters of one font file, in font units."""

    def __init__(self, path: Path, letters: str) -> None:
        setter = Typesetter(Shaper.open(path))
        self.upem = setter.shaper.upem
        self.region: dict[str, MultiPolygon] = {}
        for letter in letters:
            (placed,) = setter.shaper.shape(letter)
            self.region[letter] = setter.region(placed.glyph)
        inside, _ = letter_widths(list(self.region.values()), self.upem)
        self.stroke = {c: float(np.median(w.widths)) for c, w in zip(letters, inside, strict=True)}

    def height(self, letter: str) -> float:
        """Outline height."""
        bounds = self.region[letter].bounds
        return bounds[3] - bounds[1]


@pytest.mark.parametrize("letter", "HIEl")
def test_opendin_strokes_are_a_seventh_of_the_capitals(letter: str, debian_font: DebianFont) -> None:
    # DIN 1451: stroke one raster, capitals seven (check-values 1.7, a type specimen register; measured
    # 0.1430).
    letters = Letters(debian_font("fonts-opendin", "OSP-DIN.ttf"), "HIEl")
    assert letters.stroke[letter] / letters.height("H") == pytest.approx(1 / 7, rel=0.015)


def test_opendin_capital_is_three_rasters_wide(debian_font: DebianFont) -> None:
    # DIN 1451 Engschrift: letters 3 of 7 rasters wide (same source; measured 0.4289).
    letters = Letters(debian_font("fonts-opendin", "OSP-DIN.ttf"), "H")
    x0, _, x1, _ = letters.region["H"].bounds
    assert (x1 - x0) / letters.height("H") == pytest.approx(3 / 7, rel=0.015)


@pytest.mark.parametrize("letter", "HIEl")
def test_osifont_strokes_are_a_tenth_of_the_capitals(letter: str, debian_font: DebianFont) -> None:
    # ISO 3098-0:1997 type B, d = h/10 (a teaching copy of NF EN ISO 3098-0, table 5).
    letters = Letters(debian_font("fonts-osifont", "osifont.ttf"), "HIEl")
    assert letters.stroke[letter] / letters.height("H") == pytest.approx(0.100, abs=0.005)


def test_osifont_lower_case_is_seven_tenths(debian_font: DebianFont) -> None:
    # ISO 3098-0:1997 type B, c1 = 7/10 h (same source).
    letters = Letters(debian_font("fonts-osifont", "osifont.ttf"), "Hx")
    assert letters.height("x") / letters.height("H") == pytest.approx(0.700, abs=0.001)


def test_ocr_b_stroke_at_its_nominal_size(debian_font: DebianFont) -> None:
    # ISO 1831:1980 table 2, size I: centre-line height of EIGHT 2.40 mm, stroke 0.35 mm nominal. The font's
    # own numbers are outline 787, stroke 100: 100 * 2.40 / 687 = 0.349 mm.
    letters = Letters(debian_font("fonts-ocr-b", "OCRB.otf"), "8I")
    mm_per_unit = 2.40 / (letters.height("8") - letters.stroke["8"])
    assert letters.stroke["8"] * mm_per_unit == pytest.approx(0.349, abs=0.01)
    assert letters.stroke["I"] * mm_per_unit == pytest.approx(0.349, abs=0.01)


FHWA_REGRESSION = {"B": 0.127, "C": 0.144, "D": 0.157, "E": 0.182, "EM": 0.197, "F": 0.191}


@pytest.mark.parametrize("series", FHWA_REGRESSION)
def test_road_sign_series_keep_their_measured_strokes(series: str, debian_font: DebianFont) -> None:
    # Measured from fonts-roadgeek 3.1 with another program: a regression value, not the standard, whose table
    # could not be read. Arms of E are drawn a few units wider than its stem: 0.005 of the cap height.
    letters = Letters(debian_font("fonts-roadgeek", f"RG2014{series}.ttf"), "E")
    assert letters.stroke["E"] / letters.height("E") == pytest.approx(FHWA_REGRESSION[series], abs=0.005)


ADOBE_CORE = {
    "Helvetica": "NimbusSans-Regular",
    "Helvetica-Bold": "NimbusSans-Bold",
    "Helvetica-Oblique": "NimbusSans-Italic",
    "Helvetica-BoldOblique": "NimbusSans-BoldItalic",
    "Times-Roman": "NimbusRoman-Regular",
    "Times-Bold": "NimbusRoman-Bold",
    "Times-Italic": "NimbusRoman-Italic",
    "Times-BoldItalic": "NimbusRoman-BoldItalic",
    "Courier": "NimbusMonoPS-Regular",
    "Courier-Bold": "NimbusMonoPS-Bold",
    "Courier-Oblique": "NimbusMonoPS-Italic",
    "Courier-BoldOblique": "NimbusMonoPS-BoldItalic",
}
"""The twelve text faces of the Adobe Core 14 and the faces of fonts-urw-base35 drawn to replace them."""


def adobe_metric(font: str, key: str) -> float:
    """One number of an Adobe Core 14 AFM file, as matplotlib's wheel carries them."""
    path = Path(matplotlib.get_data_path(), "fonts", "pdfcorefonts", f"{font}.afm")
    for line in path.read_text(encoding="latin-1").splitlines():
        if line.startswith(f"{key} "):
            return float(line.split()[1])
    raise AssertionError(f"{path}: no {key}")


@pytest.mark.parametrize("adobe", ADOBE_CORE)
def test_urw_stem_of_l_is_adobes_dominant_stem(adobe: str, debian_font: DebianFont) -> None:
    # StdVW, "dominant vertical stem", is measured horizontally (Adobe Type 1 Font Format, 5.6); ours is
    # measured across the stroke, so a stem that leans by a degrees is 1 / cos a as wide along the baseline.
    # Within 5 units of 1000: the URW faces are redrawings (worst -4 by another program).
    letters = Letters(debian_font("fonts-urw-base35", f"{ADOBE_CORE[adobe]}.otf"), "l")
    assert letters.upem == 1000
    lean = math.radians(adobe_metric(adobe, "ItalicAngle"))
    assert letters.stroke["l"] / math.cos(lean) == pytest.approx(adobe_metric(adobe, "StdVW"), abs=5)


def test_the_core_fonts_tell_the_weights_apart() -> None:
    # A check that could pass with any number would be none: bold stems are at least 40 % wider than the
    # regular.
    for plain, bold in (
        ("Helvetica", "Helvetica-Bold"),
        ("Times-Roman", "Times-Bold"),
        ("Courier", "Courier-Bold"),
    ):
        assert adobe_metric(bold, "StdVW") > 1.4 * adobe_metric(plain, "StdVW")


# --- exact shapes -------------------------------------------------------------------------------------------


def test_a_bar_has_one_width() -> None:
    inside, channels = letter_widths([box(0, 0, 80, 700)], 1000)
    assert inside[0].widths == pytest.approx(80, abs=1e-6)  # exact for parallel walls, whatever the pixel
    assert len(channels[0].widths) == 0
    # Pixels of the ridge, without half a stroke at each ending: 620 long, counted once or twice as the middle
    # falls on a pixel or between two. A weight, not a length to rely on.
    assert 0.95 * 620 <= inside[0].length <= 2.05 * 620


def test_a_turned_bar_keeps_its_width() -> None:
    for angle in (7, 30, 45, 77):
        bar = shapely.affinity.rotate(box(0, 0, 80, 700), angle)
        assert np.median(letter_widths([bar], 1000)[0][0].widths) == pytest.approx(80, rel=1e-3)


def test_a_ring_has_the_width_of_its_wall() -> None:
    # check-values G6: R - r. Chords of the ring stray by 1e-5.
    ring = shapely.Point(0, 0).buffer(300, quad_segs=256).difference(shapely.Point(0, 0).buffer(220, quad_segs=256))
    assert letter_widths([ring], 1000)[0][0].widths == pytest.approx(80, rel=2e-3)


def test_a_cross_keeps_the_widths_of_both_bars() -> None:
    cross = box(-50, -400, 50, 400).union(box(-300, -20, 300, 20))
    quantiles = letter_widths([cross], 1000)[0][0].quantiles()
    assert quantiles[1] == pytest.approx(40, rel=0.01)
    assert np.median(quantiles) in (pytest.approx(40, rel=0.01), pytest.approx(100, rel=0.01))


def test_the_channel_of_a_u_is_as_wide_as_its_opening() -> None:
    u = box(0, 0, 500, 700).difference(box(100, 100, 400, 700))
    inside, channels = letter_widths([u], 1000)
    assert np.median(inside[0].widths) == pytest.approx(100, rel=1e-3)
    assert np.median(channels[0].widths) == pytest.approx(300, rel=0.01)


def test_letters_measured_together_are_measured_as_alone() -> None:
    shapes = [box(0, 0, 80, 700), MultiPolygon(), box(-300, 0, 500, 60)]
    together = letter_widths(shapes, 1000)[0]
    for shape, widths in zip(shapes, together, strict=True):
        alone = letter_widths([shape], 1000)[0][0]
        assert alone.quantiles() == pytest.approx(widths.quantiles(), rel=1e-6, nan_ok=True)
    assert np.isnan(together[1].quantiles()).all()


def test_strokes_scale_with_the_em() -> None:
    bow = region_from_rings([np.array([(0, 0), (200, 0), (260, 700), (180, 700)], dtype=float)])
    small = letter_widths([bow], 1000)[0][0].quantiles()
    large = letter_widths([shapely.affinity.scale(bow, 2, 2, origin=(0, 0))], 2000)[0][0].quantiles()
    assert large == pytest.approx(2 * small, rel=1e-2)
