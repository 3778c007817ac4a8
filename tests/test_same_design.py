"""Equal designs share their measures: what the digest of a flattened alphabet sees, and what it does not."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from conftest import TINY, font_bytes, rectangle, tiny_font
from fontTools.ttLib import TTFont

from scanner.lettering import Typesetter
from scanner.measuring import cap_height, measure, x_height
from scanner.same_design import Designs, design_digest
from scanner.shaping import Shaper, sfnt_bytes
from scanner.tables.drawn import draw_alphabet

WORDS = ("Al", "fil", "Bill")
KERNED = "feature kern {{ pos A l {}; }} kern;"


def digest(font: TTFont, flavor: str | None = None) -> bytes:
    drawn = draw_alphabet(Typesetter(Shaper(sfnt_bytes(font_bytes(font, flavor)))), WORDS)
    return design_digest(drawn, cap_height(drawn, None), x_height(drawn, None))


def renumbered() -> TTFont:
    """The glyphs in another order, and one more that no text uses."""
    order = [".notdef", "space", *sorted(set(TINY) - {".notdef", "space"}, reverse=True)]
    return tiny_font(glyphs={name: TINY[name] for name in order} | {"unused": [rectangle(0, 0, 9, 9)]})


def renamed() -> TTFont:
    font = tiny_font()
    font["name"].setName("Another", 1, 3, 1, 0x409)
    font["OS/2"].usWeightClass = 900
    return font


def with_glyph(name: str, *contours: list[tuple[float, float]]) -> TTFont:
    return tiny_font(glyphs=TINY | {name: list(contours)})


def leaning() -> TTFont:
    font = tiny_font()
    font["post"].italicAngle = -10
    return font


@pytest.mark.parametrize(
    ("font", "flavor"),
    [
        (tiny_font, "woff"),
        (tiny_font, "woff2"),
        (renumbered, None),
        (renamed, None),  # names and classes are no part of the drawing
        (lambda: with_glyph("l.alt", rectangle(0, 0, 1, 1)), None),  # no text is set with it
    ],
    ids=["woff", "woff2", "other glyph numbers", "other names", "unused glyph"],
)
def test_files_of_one_design_have_one_digest(font: Callable[[], TTFont], flavor: str | None) -> None:
    assert digest(font(), flavor) == digest(tiny_font())


@pytest.mark.parametrize(
    "font",
    [
        lambda: with_glyph("l", rectangle(100, 0, 201, 700)),  # one unit wider
        lambda: with_glyph("i", *TINY["i"][:1]),  # no dot
        lambda: tiny_font(advance=501),
        lambda: tiny_font(features=KERNED.format(-1)),
        lambda: tiny_font(features="feature liga { sub f i by f_i; } liga;"),
        lambda: tiny_font(cmap={0x20: "space", 0x41: "A", 0x66: "f", 0x69: "i", 0x6C: "l"}),
        lambda: tiny_font(upem=1001),
        leaning,  # the slant of a face whose stems cannot be measured
    ],
    ids=["outline", "part", "advance", "kerning", "ligature", "coverage", "em", "stated slant"],
)
def test_another_drawing_has_another_digest(font: Callable[[], TTFont]) -> None:
    assert digest(font()) != digest(tiny_font())


def test_measures_are_shared_and_those_that_would_be_taken() -> None:
    one, two = (measure(Shaper(font_bytes(f)), WORDS) for f in (tiny_font(), renumbered()))
    assert one is two
    other = measure(Shaper(font_bytes(with_glyph("l", rectangle(100, 0, 201, 700)))), WORDS)
    assert other.table.to_bytes() != one.table.to_bytes()


def test_only_the_last_designs_are_kept() -> None:
    kept, taken = Designs(most=2), []
    measures = measure(Shaper(font_bytes(tiny_font())), WORDS)

    def ask(name: bytes) -> None:
        kept.measured(name, lambda: taken.append(name) or measures)

    for name in (b"a", b"b", b"a", b"c", b"a", b"b"):
        ask(name)
    assert taken == [b"a", b"b", b"c", b"b"]
