"""No letter is lost: what leaves no ink where it stands is reported as missing, whatever the reason."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from conftest import TINY, demo_paths, font_bytes, rectangle, tiny_font
from hypothesis import given
from hypothesis import strategies as st

from catalogue.gather.scan import Scan, scan_into
from catalogue.store.database import Store
from scanner.lettering import Typesetter
from scanner.measuring import measure
from scanner.names import may_be_blank
from scanner.shaping import Shaper

CMAP = {0x20: "space", 0x41: "A", 0x66: "f", 0x69: "i", 0x6C: "l", 0x27: "quotesingle", 0xE9: "eacute", 0x301: "acute"}
CMAP |= {0x65: "e", 0xAD: "space"}
SHAPES = {
    **TINY,
    "quotesingle": [],
    "e": [rectangle(100, 0, 300, 500)],
    "eacute": [rectangle(100, 0, 300, 500), rectangle(150, 550, 250, 650)],
    "acute": [rectangle(-250, 550, -150, 650)],
    "blank_fi": [],
}


def setter_of(features: str = "", **changed: Sequence[object]) -> Typesetter:
    font = tiny_font(glyphs={**SHAPES, **changed}, cmap=CMAP, features=features)  # type: ignore[dict-item]
    return Typesetter(Shaper(font_bytes(font)))


def test_a_glyph_without_ink_is_missing() -> None:
    assert setter_of().missing("Al'A") == ("'",)
    assert setter_of().set("Al'A").missing == ("'",)


def test_white_space_and_what_only_steers_may_be_blank() -> None:
    assert setter_of().missing("A l\u00adf") == ()  # a soft hyphen shows nothing by definition
    assert all(map(may_be_blank, " \u00a0\u3000\u200b\u200d\ufe0f"))
    assert not any(map(may_be_blank, "'-\u2800\u0301aא"))  # a Braille pattern without dots is a letter (Unicode: So)


def test_a_letter_that_shapes_to_notdef_is_missing() -> None:
    assert setter_of("feature liga { sub l by .notdef; } liga;").missing("Al") == ("l",)


@pytest.mark.parametrize("name", ["lA", "Al", "Alf", "lll", "l"])
def test_a_letter_dropped_by_a_rule_is_missing(name: str) -> None:
    # OpenType GSUB type 2 allows a sequence of no glyphs; HarfBuzz then gives the letter's cluster to its neighbour.
    assert setter_of("feature ccmp { sub l by NULL; } ccmp;").missing(name) == ("l",)


def test_a_ligature_without_ink_loses_all_its_letters() -> None:
    assert setter_of("feature liga { sub f i by blank_fi; } liga;").missing("Afil") == ("f", "i")


def test_a_ligature_with_ink_loses_none() -> None:
    assert setter_of("feature liga { sub f i by f_i; } liga;").missing("Afil") == ()


def test_a_mark_that_is_composed_or_placed_is_shown() -> None:
    assert setter_of().missing("e\u0301") == ()  # HarfBuzz composes the two to é
    assert setter_of().missing("A\u0301") == ()


@pytest.mark.parametrize(
    ("absent", "name"),
    [(0x301, "e\u0301"), (0xE9, "é")],
    ids=["a letter with its mark, for two characters", "a letter and a mark, for one character"],
)
def test_either_form_of_a_letter_with_its_mark_is_enough(absent: int, name: str) -> None:
    # Canonical equivalence (Unicode Standard Annex 15); HarfBuzz composes and decomposes by what the face maps.
    cmap = {code: glyph for code, glyph in CMAP.items() if code != absent}
    assert Typesetter(Shaper(font_bytes(tiny_font(glyphs=SHAPES, cmap=cmap)))).missing(name) == ()


def test_a_mark_without_ink_is_missing() -> None:
    assert setter_of(acute=[]).missing("A\u0301") == ("\u0301",)


def test_the_scan_counts_it_as_missing_too(tmp_path: Path) -> None:
    font = font_bytes(tiny_font(glyphs=SHAPES, cmap=CMAP))  # type: ignore[arg-type]
    face = measure(Shaper(font), ("Al", "A'l"))
    assert "'" in face.missing and "A" not in face.missing
    assert [word.word for word in face.words] == ["Al"]
    (tmp_path / "tiny.ttf").write_bytes(font)
    scan_into(tmp_path / "c.sqlite", Scan([tmp_path], ("Al",), 1))
    with Store(tmp_path / "c.sqlite") as store:
        assert "'" in store.faces()[0].missing


FEATURES = st.sampled_from(
    [
        "",
        "feature ccmp { sub l by NULL; } ccmp;",
        "feature liga { sub f i by f_i; sub f l by blank_fi; } liga;",
        "feature ccmp { sub f by f A; sub A by NULL; } ccmp;",
        "feature liga { sub A' l by .notdef; } liga;",
        "feature calt { sub l' l by l.alt; } calt;",
    ]
)


@given(st.text(alphabet="Afile' \u0301\u00e9\u00adx", min_size=1, max_size=8).filter(str.strip), FEATURES)
def test_every_letter_has_ink_or_is_reported(name: str, features: str) -> None:
    lettering = setter_of(features).set(name)
    shown = "".join(letter.text for letter in lettering.letters)
    for character in name:
        assert may_be_blank(character) or character in shown or character in lettering.missing


@given(st.data())
def test_every_letter_of_real_faces_has_ink_or_is_reported(data: st.DataObject) -> None:
    path = data.draw(st.sampled_from(demo_paths()))
    name = data.draw(st.text(alphabet="ABÉabfilé'’-&19 ßżאبक☃👍", min_size=1, max_size=10).filter(str.strip))
    lettering = Typesetter(Shaper.open(path)).set(name)
    shown = "".join(letter.text for letter in lettering.letters)
    for character in name:
        assert may_be_blank(character) or character in shown or character in lettering.missing


@pytest.mark.parametrize(
    ("file", "name"),
    [
        ("Amiri-Regular.ttf", "محمد"),
        ("Amiri-Regular.ttf", "الله"),  # one ligature for four letters
        ("NotoSansDevanagari[wdth,wght].ttf", "क्षत्रिय"),  # conjuncts: half letters and a virama that is not drawn
        ("Lobster-Regular.ttf", "Affiĳ"[:4]),
        ("Inter[opsz,wght].ttf", "e\u0301Ġ"),
    ],
)
def test_scripts_that_join_letters_lose_none(demo_font: Callable[[str], Path], file: str, name: str) -> None:
    assert Typesetter(Shaper.open(demo_font(file))).missing(name) == ()


def test_a_real_face_with_a_blank_apostrophe(debian_font: Callable[[str, str], Path]) -> None:
    # Museum Sixty (Debian, fonts-levien-museum) maps the apostrophe and the digits to glyphs without contours.
    setter = Typesetter(Shaper.open(debian_font("fonts-levien-museum", "MuseumSixty.otf")))
    assert setter.missing("James'") == ("'",)
    assert "'" in measure(setter.shaper, ("James",)).missing
