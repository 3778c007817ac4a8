"""Our own stem and cap height against the weight digit that type designers put into their fonts.

Source: PANOSE Classification Metrics Guide, section 2.3 (Hewlett-Packard 1991-97, the PANOSE 1.0 guide):
WeightRat = CapH / WStem(E), serif faces WStem(I); the stem is taken across itself, half-way between the upper
two arms of E. Digits of family kind 2 (Latin Text), for which the rule is stated, are compared, and those of
kind 0 ("any"), which the URW faces leave there; the hand-written, decorative and symbol kinds read the digit
otherwise.

Designers set the digit loosely: bold fonts often measure Demi, as the guide's own notes say. So the gate is
one class.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
from conftest import DEBIAN_FOLDER, absent
from shapely import LineString, MultiPolygon, box, get_parts

from scanner.lettering import Typesetter
from scanner.measures.strokes import PX_PER_EM, across, segments
from scanner.shaping import Shaper

WEIGHTS = ((35, 2), (18, 3), (10, 4), (7.5, 5), (5.5, 6), (4.5, 7), (3.5, 8), (2.5, 9), (2.0, 10), (0, 11))
"""Least ratio of each class, inclusive, and its digit: 2 Very Light ... 11 Extra Black."""

DEBIAN_PACKAGES = {
    "fonts-urw-base35": "urw-base35/*.otf",
    "fonts-roadgeek": "roadgeek/*.ttf",
    "fonts-national-park": "national-park/*.otf",
    "fonts-ocr-a": "ocr-a/*.ttf",
    "fonts-ocr-b": "ocr-b/*.otf",
    "fonts-opendin": "opendin/*.ttf",
    "fonts-osifont": "osifont/*.ttf",
    "fonts-routed-gothic": "routed-gothic/*.ttf",
}


def weight_digit(ratio: float) -> int:
    """The PANOSE 1.0 weight digit of a ratio, taken to two decimals as the guide says."""
    return next(digit for least, digit in WEIGHTS if round(ratio, 2) >= least)


@dataclass(frozen=True)
class Judged:
    """One face: what we measure and what the font says."""

    name: str
    ratio: float
    digit: int

    @property
    def ours(self) -> int:
        return weight_digit(self.ratio)

    @property
    def off(self) -> int:
        return self.ours - self.digit


def stem(region: MultiPolygon, height: float, upem: float) -> float:
    """Width across the first stem met on a level line."""
    x0, _, x1, _ = region.bounds
    first = min(
        get_parts(region.intersection(LineString([(x0 - 1, height), (x1 + 1, height)]))),
        key=lambda g: g.bounds,
    )
    middle = np.array([[(first.bounds[0] + first.bounds[2]) / 2, height]])
    widths = across(middle, segments(region), step=1.5 * upem / PX_PER_EM)
    assert widths[0] > 0
    return float(widths[0])


def cap_height_to_stem(setter: Typesetter, serif: bool) -> float | None:
    """WeightRat of a face; None when it draws E, I or H as no single glyph."""
    regions = {}
    for letter in "EIH":
        placed = setter.shaper.shape(letter)
        if len(placed) != 1 or placed[0].glyph == 0 or setter.region(placed[0].glyph).is_empty:
            return None
        regions[letter] = setter.region(placed[0].glyph)
    upem = setter.shaper.upem
    cap = regions["H"].bounds[3]
    # Upper two arms of E: the top one, and one near the middle; half-way between them is near 3/4.
    width = stem(regions["I"], cap / 2, upem) if serif else stem(regions["E"], 0.74 * cap, upem)
    return cap / width


def judged_faces(paths: tuple[Path, ...]) -> Iterator[Judged]:
    for path in paths:
        setter = Typesetter(Shaper.open(path))
        panose = setter.shaper.table("OS/2")[32:42]  # OpenType OS/2: ten bytes at offset 32
        if len(panose) < 10 or panose[0] not in (0, 2) or panose[2] < 2:
            continue  # of another kind, or weight 0 (any) or 1 (no fit)
        ratio = cap_height_to_stem(setter, serif=2 <= panose[1] <= 10)  # serif styles 2 to 10, sans 11 to 15
        if ratio is not None:
            yield Judged(path.name, ratio, panose[2])


def debian_paths() -> tuple[Path, ...]:
    found: list[Path] = []
    for package, pattern in DEBIAN_PACKAGES.items():
        files = sorted(DEBIAN_FOLDER.rglob(pattern))
        if not files:
            absent(f"no {pattern}; apt-get install {package}")
        found += files
    return tuple(found)


def report(faces: list[Judged]) -> str:
    near = sum(abs(f.off) <= 1 for f in faces) / len(faces)
    same = sum(f.off == 0 for f in faces) / len(faces)
    far = [f"  {f.name}: ratio {f.ratio:.2f}, ours {f.ours}, the font says {f.digit}" for f in faces if abs(f.off) > 1]
    return "\n".join([f"{len(faces)} faces: same class {same:.1%}, within one {near:.1%}; exceptions:", *far])


def test_weight_agrees_within_one_class(demo_fonts: tuple[Path, ...]) -> None:
    demo, debian = list(judged_faces(demo_fonts)), list(judged_faces(debian_paths()))
    print(f"demo: {report(demo)}\nDebian: {report(debian)}")
    assert len(demo) >= 30 and len(debian) >= 40, "too few faces set the digit for the check to say anything"
    faces = demo + debian
    assert sum(abs(f.off) <= 1 for f in faces) >= 0.75 * len(faces), report(faces)


@pytest.mark.parametrize("factor", [0.5, 2.0])
def test_the_gate_would_notice_a_wrong_stem(factor: float, demo_fonts: tuple[Path, ...]) -> None:
    # With every stem twice or half as wide the gate would not be passed.
    faces = [*judged_faces(demo_fonts), *judged_faces(debian_paths())]
    near = sum(abs(weight_digit(f.ratio * factor) - f.digit) <= 1 for f in faces)
    assert near < 0.75 * len(faces)


# Another program's ratios for the same files, check values 2a; 1.5 % for its cuts at another height.
MEASURED = {
    ("fonts-urw-base35", "NimbusSans-Regular.otf"): 7.84,
    ("fonts-urw-base35", "NimbusSans-Bold.otf"): 4.86,
    ("fonts-opendin", "OSP-DIN.ttf"): 7.00,
    ("fonts-osifont", "osifont.ttf"): 10.49,
    ("fonts-ocr-b", "OCRB.otf"): 7.13,  # 713 / 100: H is 713 high, the table's 723 is another letter's height
    ("fonts-national-park", "NationalPark-Thin.otf"): 18.92,
    ("fonts-national-park", "NationalPark-Heavy.otf"): 5.15,
    ("fonts-roadgeek", "RG2014D.ttf"): 6.37,
    ("fonts-routed-gothic", "routed-gothic.ttf"): 7.67,
}


@pytest.mark.parametrize(("package", "filename"), MEASURED)
def test_the_ratio_is_the_one_another_program_measured(package: str, filename: str, debian_font: object) -> None:
    path = debian_font(package, filename)  # type: ignore[operator]
    assert cap_height_to_stem(Typesetter(Shaper.open(path)), serif=False) == pytest.approx(
        MEASURED[package, filename], rel=0.015
    )


@pytest.mark.parametrize(
    ("ratio", "digit"),
    [(40, 2), (35, 2), (34.99, 3), (18, 3), (17.99, 4), (10, 4), (7.5, 5), (7.49, 6), (5.5, 6), (4.5, 7),
     (4.86, 7), (3.5, 8), (2.5, 9), (2.0, 10), (1.99, 11)],
)  # fmt: skip
def test_class_limits_are_inclusive_at_their_lower_end(ratio: float, digit: int) -> None:
    assert weight_digit(ratio) == digit


def test_the_stem_is_taken_across_itself() -> None:
    # A leaning stem of horizontal width 100 at 12 degrees is 100 cos 12 = 97.8 across.
    from shapely.affinity import skew

    leaning = MultiPolygon([skew(box(0, 0, 100, 700), xs=12, origin=(0, 0))])
    assert stem(leaning, 350, 1000) == pytest.approx(100 * np.cos(np.radians(12)), rel=1e-6)
