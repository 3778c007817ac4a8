"""Words of a name: as near as asked, never nearer than the face sets them already, letters untouched."""

from __future__ import annotations

import pytest
import shapely
from conftest import font_bytes, tiny_font
from hypothesis import given
from hypothesis import strategies as st

from catalogue.judge.lines import MOST_LINES
from catalogue.judge.process import built_in, load_process
from catalogue.judge.spacing import lines_of, set_words, word_space
from catalogue.judge.stack import default_stack, words_apart_mm
from scanner.lettering import Letter, Typesetter
from scanner.names import LetteringError
from scanner.shaping import Shaper

NEAR = 0.5
"""How exactly a distance is met: 0.0005 em of 1000 units."""


@pytest.fixture(scope="module")
def blocks() -> Typesetter:
    """The tiny font: blocks A 400 wide and stems l 100 wide, every advance 500, that of the space too."""
    return Typesetter(Shaper(font_bytes(tiny_font())))


def gaps(letters: tuple[Letter, ...]) -> list[float]:
    return [float(shapely.distance(a.region, b.region)) for a, b in zip(letters, letters[1:], strict=False)]


@given(apart=st.floats(0.0, 1000.0))
def test_words_stand_apart_as_asked_or_as_the_face_sets_them(blocks: Typesetter, apart: float) -> None:
    within, between = gaps(blocks.set("Al A").letters)
    lettering, taken = set_words(blocks, "Al A", apart)
    assert gaps(lettering.letters) == pytest.approx([within, min(apart, between)], abs=NEAR)
    assert taken == pytest.approx(max(0.0, between - apart), abs=NEAR)


@pytest.mark.parametrize("process", built_in())
@pytest.mark.parametrize("base", [0.4, 0.7, 1.0, 1.4])
def test_words_read_as_two_and_hold_with_a_margin(base: float, process: str) -> None:
    """The rule is ours: middle layers a least gap apart where the base still joins with a quarter line to spare."""
    profile, stack = load_process(process), default_stack(base)
    apart = words_apart_mm(stack, profile)
    assert apart >= profile.least_gap_mm
    joins_with = base - apart / 2
    between_middles = apart - 2 * stack[1].offset_mm
    margin = profile.line_width_mm / 4
    assert joins_with >= margin - 1e-9 or apart == profile.least_gap_mm
    assert between_middles == pytest.approx(profile.least_gap_mm) or joins_with <= margin + 1e-9


def test_a_name_of_one_word_is_set_as_ever(blocks: Typesetter) -> None:
    assert set_words(blocks, "Al", 0.0) == (blocks.set("Al"), 0.0)


def test_every_space_of_a_name_is_narrowed(blocks: Typesetter) -> None:
    assert gaps(set_words(blocks, "A l  A", 50.0)[0].letters) == pytest.approx([50, 50], abs=NEAR)


def test_words_whose_heights_never_meet_do_not_slide_past_each_other(blocks: Typesetter) -> None:
    # A distance below 0 can never be met, as little as that of a word high above the other.
    before, after = (letter.region.bounds for letter in set_words(blocks, "A A", -1.0)[0].letters)
    assert before[2] - after[0] == pytest.approx(100)  # a tenth of the em


def test_a_face_without_a_space_has_a_quarter_em(blocks: Typesetter) -> None:
    assert word_space(blocks) == 500
    narrow = Typesetter(Shaper(font_bytes(tiny_font(features="feature kern { pos space <0 0 -500 0>; } kern;"))))
    assert word_space(narrow) == 250


def test_a_name_has_one_to_six_lines() -> None:
    assert lines_of("A\n" * MOST_LINES) == [["A"]] * 6
    with pytest.raises(LetteringError, match="has 7 lines; 6 are the most"):
        lines_of("A\n" * 7)
    with pytest.raises(LetteringError, match="the name is empty"):
        lines_of(" \n")
