"""Two engines that share no code see the same ink; where they do not, the letter is named with both areas."""

from __future__ import annotations

import string
from pathlib import Path
from typing import Any

import pytest
from conftest import demo_sample, font_bytes, rectangle, tiny_font, tiny_variable_font

from scanner import second_engine
from scanner.raster import Rasteriser
from scanner.second_engine import ink_differences
from scanner.shaping import sfnt_bytes

LETTERS = string.ascii_letters + string.digits


@pytest.mark.parametrize("path", demo_sample(), ids=lambda path: path.name)
def test_the_engines_agree_on_every_demo_face(path: Path) -> None:
    # FreeType counts covered pixel area with a scan converter of its own (exact coverage, the non-zero rule).
    assert ink_differences(sfnt_bytes(path.read_bytes()), 0, {}, LETTERS) == ()


@pytest.mark.parametrize("weight", [100.0, 500.0, 900.0])
def test_they_agree_at_any_place_of_an_axis(weight: float) -> None:
    assert ink_differences(font_bytes(tiny_variable_font()), 0, {"wght": weight}, "Al") == ()


def test_overlaps_counters_and_dots_are_seen_alike() -> None:
    assert ink_differences(font_bytes(tiny_font()), 0, {}, "ABCDilf ☃") == ()


def test_a_letter_that_one_engine_reads_otherwise_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """A rasteriser that knows no variation draws l 100 units wide; at weight 900 its outline is 300 by 700."""

    def without_variation(data: bytes, face_index: int, coordinates: Any, px_per_em: int) -> Rasteriser:
        return Rasteriser(data, face_index, None, px_per_em)

    monkeypatch.setattr(second_engine, "Rasteriser", without_variation)
    (found,) = ink_differences(font_bytes(tiny_variable_font()), 0, {"wght": 900.0}, "Al")
    assert found.character == "l"
    assert (found.outline_em2, found.raster_em2) == (pytest.approx(0.21), pytest.approx(0.07, rel=1e-3))
    # 0.14 em² apart, of which flattening may account for 0.0005 em along 2 em of outline.
    assert found.share == pytest.approx((0.14 - 0.0005 * 2.0) / 0.21, rel=1e-3)


def test_what_flattening_costs_is_no_difference() -> None:
    # A full stop of four straight sides 6 units wide: a hundredth of its ink is 0.4 square units.
    font = tiny_font(glyphs={".notdef": [], "period": [rectangle(0, 0, 6, 6)]}, cmap={0x2E: "period"})
    assert ink_differences(font_bytes(font), 0, {}, ".") == ()
