"""Setting text: kerning, ligatures, joins, scripts, languages, and what is refused."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from conftest import TINY, demo_sample, font_bytes, rectangle, tiny_font
from fontTools.ttLib import newTable

from scanner.alphabet import pair_texts, read_words
from scanner.face import open_faces
from scanner.lettering import LONGEST_NAME, Lettering, LetteringError, Typesetter
from scanner.measures.joins import join_offset
from scanner.regions import polygons_of
from scanner.shaping import FontError, Shaper

DemoFont = Callable[[str], Path]


def setter_of(**options: object) -> Typesetter:
    return Typesetter(Shaper(font_bytes(tiny_font(**options))))  # type: ignore[arg-type]


def pieces(lettering: Lettering) -> int:
    return len(polygons_of(lettering.region))


# --- placing ------------------------------------------------------------------------------------------------


def test_letters_stand_one_advance_apart() -> None:
    lettering = setter_of().set("ll")
    assert [letter.text for letter in lettering.letters] == ["l", "l"]
    assert [letter.region.bounds for letter in lettering.letters] == [(100, 0, 200, 700), (600, 0, 700, 700)]
    assert join_offset(lettering.region) == 200  # half of the 400 between the stems


def test_kerning_moves_letters() -> None:
    kern = "feature kern { pos A l -120; } kern;"
    plain, kerned = setter_of().set("All"), setter_of(features=kern).set("All")
    both = zip(plain.letters, kerned.letters, strict=True)
    assert [b.region.bounds[0] - a.region.bounds[0] for a, b in both] == [0, -120, -120]


def test_kerning_of_a_real_face(demo_font: DemoFont) -> None:
    # Lora draws A and V apart from each other by less than its advances: -39 units (read with hb-shape's
    # library).
    shaper = Shaper.open(demo_font("Lora[wght].ttf"))
    alone = sum(placed.advance for letter in "AV" for placed in shaper.shape(letter))
    assert sum(placed.advance for placed in shaper.shape("AV")) < alone


def test_a_ligature_is_one_letter_that_stands_for_several() -> None:
    setter = setter_of(features="feature liga { sub f i by f_i; } liga;")
    lettering = setter.set("lfil")
    assert [letter.text for letter in lettering.letters] == ["l", "fi", "l"]
    assert pieces(setter.set("fi")) == 1  # f and i apart are three pieces: stem with bar, stem, dot
    assert pieces(setter_of().set("fi")) == 3


def test_a_ligature_of_a_real_face(demo_font: DemoFont) -> None:
    lettering = Typesetter(Shaper.open(demo_font("ZillaSlab-Regular.ttf"))).set("Affi")
    assert [letter.text for letter in lettering.letters] == ["A", "ffi"]


def test_a_letter_may_change_with_its_place() -> None:
    features = "feature calt { sub l l' by l.alt; } calt;"
    heights = [letter.region.bounds[3] for letter in setter_of(features=features).set("lll").letters]
    assert heights == [700, 300, 700]  # the third follows an l.alt, not an l


def test_cursive_attachment_lifts_the_next_letter() -> None:
    features = """feature curs {
        pos cursive A <anchor NULL> <anchor 500 0>;
        pos cursive l <anchor 0 -150> <anchor NULL>;
    } curs;"""
    first, second = setter_of(features=features).set("Al").letters
    assert first.region.bounds[1] == 0
    assert second.region.bounds[1] == 150  # entry at -150 meets the exit at 0


def test_tracking_is_added_between_letters_only() -> None:
    setter = setter_of()
    wide = setter.set("lll", tracking_em=0.1)
    assert [letter.region.bounds[0] for letter in wide.letters] == [100, 700, 1300]


def test_a_character_without_width_is_not_tracked(demo_font: Callable[[str], Path]) -> None:
    """U+200B ZERO WIDTH SPACE is ignorable by default (Unicode 15, DerivedCoreProperties): nobody sees it."""
    setter = Typesetter(Shaper.open(demo_font("Anton-Regular.ttf")))
    plain, marked = (setter.set(text, tracking_em=-0.05) for text in ("Mia", "Mi\u200ba"))
    assert marked.letters[-1].region.bounds == pytest.approx(plain.letters[-1].region.bounds)


def test_space_moves_but_is_no_letter() -> None:
    lettering = setter_of().set("l l")
    assert [letter.region.bounds[0] for letter in lettering.letters] == [100, 1100]
    assert lettering.missing == ()


def test_missing_letters_are_named_once_and_not_drawn() -> None:
    lettering = setter_of().set("lZxlZ")
    assert lettering.missing == ("Z", "x")
    assert [letter.text for letter in lettering.letters] == ["l", "l"]


# --- scripts and languages ----------------------------------------------------------------------------------


def test_arabic_runs_right_to_left_and_joins_in_one_piece(demo_font: DemoFont) -> None:
    # Muhammad has no dots and no letter that breaks the joining before its last: one piece by the script's
    # rules.
    setter = Typesetter(Shaper.open(demo_font("Amiri-Regular.ttf")))
    lettering = setter.set("محمد")
    assert pieces(lettering) == 1
    assert [letter.text for letter in lettering.letters] == [
        "د",
        "م",
        "ح",
        "م",
    ]  # visual order, left to right
    starts = [letter.region.bounds[0] for letter in lettering.letters]
    assert starts == sorted(starts)
    alone = {placed.glyph for letter in "محمد" for placed in setter.shaper.shape(letter)}
    joined = {placed.glyph for placed in setter.shaper.shape("محمد")}
    assert not alone & joined  # initial, medial and final forms, none of them isolated


def test_arabic_that_breaks_stays_in_pieces(demo_font: DemoFont) -> None:
    # Fatima: alef does not join to the left, and three dots are loose parts: f's one, teh marbuta's two in
    # one shape.
    lettering = Typesetter(Shaper.open(demo_font("Amiri-Regular.ttf"))).set("فاطمة")
    assert pieces(lettering) > 2
    assert lettering.missing == ()


def test_devanagari_hangs_from_one_head_line(demo_font: DemoFont) -> None:
    setter = Typesetter(Shaper.open(demo_font("NotoSansDevanagari[wdth,wght].ttf")))
    assert pieces(setter.set("राहुल")) == 1
    # In prya the sign for i is written after its consonants and drawn before them.
    letters = setter.set("प्रिया").letters
    assert letters[0].text == letters[1].text == "प्रि"
    sign = setter.shaper.shape("प्रि")[0].glyph
    assert sign != setter.shaper.shape("प")[0].glyph
    # A conjunct is one glyph where its letters alone are three characters.
    assert len(setter.shaper.shape("क्ष")) == 1


@pytest.mark.parametrize("language", [None, "en", "ro"])
def test_locl_follows_the_language(language: str | None) -> None:
    features = "languagesystem DFLT dflt; languagesystem latn dflt; languagesystem latn ROM;\n"
    features += "feature locl { script latn; language ROM; sub l by l.alt; } locl;"
    lettering = setter_of(features=features).set("l", language)
    assert lettering.letters[0].region.bounds[3] == (300 if language == "ro" else 700)


def test_locl_of_a_real_face(demo_font: DemoFont) -> None:
    # Romanian wants a comma below s where the code point's own drawing has a cedilla.
    shaper = Shaper.open(demo_font("FiraSans-Regular.ttf"))
    assert shaper.shape("ş", "ro")[0].glyph == shaper.shape("ș")[0].glyph
    assert shaper.shape("ş", "tr")[0].glyph == shaper.shape("ş")[0].glyph != shaper.shape("ș")[0].glyph


def test_a_language_does_not_stick_to_the_next_text(demo_font: DemoFont) -> None:
    shaper = Shaper.open(demo_font("FiraSans-Regular.ttf"))
    before = shaper.shape("ş")
    shaper.shape("ş", "ro")
    assert shaper.shape("ş") == before


# --- refusals -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "message"),
    [
        pytest.param("", "the name is empty; type at least one letter", id="empty"),
        pytest.param(" \u00a0 ", "the name is empty; type at least one letter", id="only-spaces"),
        pytest.param(
            "l" * (LONGEST_NAME + 1),
            "the name has 201 characters; 200 are the most, shorten it",
            id="over-long",
        ),
        pytest.param("l\x00l", "the name holds a control character; type it again without", id="nul"),
        pytest.param("l\nl", "the name holds a control character; type it again without", id="line-end"),
        pytest.param("l\ud800", "the name holds a control character; type it again without", id="half-a-surrogate"),
    ],
)
def test_names_that_cannot_be_set_are_refused(name: str, message: str) -> None:
    with pytest.raises(LetteringError) as caught:
        setter_of().set(name)
    assert str(caught.value) == message


def test_the_longest_name_is_set() -> None:
    assert len(setter_of().set("l" * LONGEST_NAME).letters) == LONGEST_NAME


def test_an_emoji_is_a_missing_letter() -> None:
    assert setter_of().set("l😀").missing == ("😀",)


def test_upem_zero_is_refused() -> None:
    # HarfBuzz alone would take 1000 and every size would be wrong. The field is at byte 18 of `head`.
    data = bytearray(font_bytes(tiny_font()))
    head = int.from_bytes(data[data.index(b"head") + 8 :][:4], "big")
    assert int.from_bytes(data[head + 18 : head + 20], "big") == 1000
    data[head + 18 : head + 20] = b"\0\0"
    with pytest.raises(FontError, match=r"^the font states no units per em; get the font again from its source$"):
        Shaper(bytes(data))


@pytest.mark.parametrize(
    ("tables", "kind"),
    [
        ({"CBDT": b"\0\3\0\0", "CBLC": b"\0\3\0\0"}, "bitmap pictures only"),
        ({"EBDT": b"\0\2\0\0"}, "bitmap pictures only"),
        ({"SVG ": b"\0" * 10}, "coloured drawings only"),
        ({}, "no outlines"),
    ],
    ids=["colour-bitmaps", "old-bitmaps", "svg", "nothing"],
)
def test_fonts_without_outlines_are_refused(tables: dict[str, bytes], kind: str) -> None:
    font = tiny_font()
    for tag in ("glyf", "loca"):
        del font[tag]
    for tag, content in tables.items():
        raw = newTable(tag)
        raw.compile = lambda _, content=content: content  # type: ignore[method-assign]
        font[tag] = raw
    with pytest.raises(FontError) as caught:
        open_faces(font_bytes(font), 0)
    assert str(caught.value) == f"it has {kind}, nothing to cut; choose a font with outlines"


@pytest.mark.parametrize("data", [b"", b"no font", b"\0\1\0\0" + b"\0" * 60], ids=["empty", "text", "header-only"])
def test_bytes_that_are_no_font_are_refused(data: bytes) -> None:
    with pytest.raises(FontError, match=r"get the font again from its source$"):
        Shaper(data)


def test_another_em_gives_the_same_lettering_in_em() -> None:
    doubled = {name: [[(2 * x, 2 * y) for x, y in c] for c in contours] for name, contours in TINY.items()}
    small = setter_of()
    large = setter_of(upem=2000, glyphs=doubled, advance=1000)
    assert (small.shaper.upem, large.shaper.upem) == (1000, 2000)
    one, two = small.set("Ail").region, large.set("Ail").region
    assert join_offset(two) / 2000 == join_offset(one) / 1000
    assert two.area / 2000**2 == one.area / 1000**2


def test_a_glyph_with_no_area_is_no_letter() -> None:
    setter = setter_of(glyphs={**TINY, "l": [rectangle(100, 0, 100, 700)]})
    assert setter.set("lA").letters[0].text == "A"


# --- many at once -------------------------------------------------------------------------------------------


def test_many_texts_at_once_are_set_as_each_alone(demo_fonts: tuple[Path, ...]) -> None:
    # HarfBuzz manual, hb_glyph_flags_t: where no glyph is unsafe to break, both sides shape alike when apart.
    texts = (*pair_texts()[::3], *read_words(), "Ζωή", "محمد", "77", "µ")
    different = []
    for path in demo_sample():
        shaper = Shaper.open(path)
        many = shaper.shape_many(texts)
        for k, text in enumerate(texts):
            run = slice(int(many.start[k]), int(many.start[k] + many.size[k]))
            alone = shaper.shape(text)
            places = [(p.x, p.y) for p in alone]
            if many.glyph[run].tolist() != [p.glyph for p in alone] or many.place[run].tolist() != [
                list(p) for p in places
            ]:
                different.append((path.name, text))
    assert different == []


def test_a_text_that_the_next_one_would_change_is_set_alone() -> None:
    # Kerning with the parting itself, which no real font has: the place is unsafe to break, the text set alone.
    shaper = Shaper(font_bytes(tiny_font(features="feature kern { pos l .notdef -120; } kern;")))
    many = shaper.shape_many(("ll", "lA"))
    assert many.advance.tolist() == [shaper.shape(t)[-1].x + shaper.shape(t)[-1].advance for t in ("ll", "lA")]
