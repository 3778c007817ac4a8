"""Faces of other scripts: measured by letters of their own, sized by their flat ones; symbols are refused."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from conftest import font_bytes, rectangle, tiny_font
from fontTools import unicodedata as unicode_data
from fontTools.ttLib import TTFont

from catalogue.gather.scan import Scan, scan_into
from catalogue.store.database import Store
from scanner.coverage import covers, runs_of, to_bytes
from scanner.face import record_face
from scanner.measuring import measure
from scanner.reasons import FontError, Reason
from scanner.records import FaceMeasures
from scanner.scripts import known_scripts, letters_in, scripts_in
from scanner.shaping import Shaper

HEBREW = "יוהלאמרתבשנדעקחפ"


def blocks(letters: str, height: int = 600, width: int = 100, advance: int = 250) -> TTFont:
    """A font whose every letter is an upright block, 50 from the origin."""
    shape = [rectangle(50, 0, 50 + width, height)]
    glyphs = {".notdef": [], **{f"u{ord(c):04X}": shape for c in letters}}
    return tiny_font(glyphs=glyphs, cmap={ord(c): f"u{ord(c):04X}" for c in letters}, advance=advance)


def measured(font: TTFont, words: tuple[str, ...] = ("Anna",)) -> FaceMeasures:
    return measure(Shaper(font_bytes(font)), words)


# ── the table of letters ────────────────────────────────────────────────────────────────────────────────────────────


@pytest.mark.parametrize("code", list(known_scripts()))
def test_every_letter_is_of_its_script(code: str) -> None:
    # Unicode's Script and General_Category properties, as fontTools and Python carry them.
    script = known_scripts()[code]
    assert unicode_data.script_name(code) == script.name
    for c in script.letters + script.flat + script.small:
        assert unicode_data.script(c) == code and unicodedata.category(c)[0] == "L", c
    assert len(set(script.letters)) == len(script.letters)
    for word in script.words:
        assert {unicode_data.script(c) for c in word} <= {code, "Zinh"}, word


def test_symbols_digits_marks_and_private_letters_have_no_script() -> None:
    text = "1☃∑\u0301𝐀\ue000⠿"
    assert scripts_in(np.array(sorted(map(ord, text)), dtype=np.uint32)) == []


def test_a_script_that_is_not_listed_gives_its_first_letters() -> None:
    ogham = np.arange(0x1680, 0x169D, dtype=np.uint32)  # 1680 is a space, 169B and 169C are punctuation
    assert letters_in(ogham, "Ogam") == "".join(map(chr, range(0x1681, 0x169B)))


# ── measures ────────────────────────────────────────────────────────────────────────────────────────────────────────


def test_a_face_is_measured_by_the_letters_it_has() -> None:
    face = measured(blocks(HEBREW))
    assert face.script == "Hebrew"
    assert face.median_stroke_em == pytest.approx(0.1, abs=1e-6)
    assert face.thinnest_stroke_em == pytest.approx(0.1, abs=1e-6)
    assert (face.joining, face.letter_gap_em) == (0.0, pytest.approx(0.15))  # 250 from block to block, 100 of it ink
    assert face.words[0].join_edges_em == (0.15, 0.15)  # three letters, two gaps
    assert "A" in face.missing and np.isnan(face.table.gaps).all()


def test_letters_that_touch_join() -> None:
    face = measured(blocks(HEBREW, advance=100))
    assert (face.joining, face.letter_gap_em) == (1.0, 0.0)


def test_its_flat_letters_give_the_height() -> None:
    face = measured(blocks(HEBREW, height=640))
    assert face.cap_height_em == pytest.approx(0.64)
    assert set(face.cap_height_of) <= set(HEBREW) and face.cap_height_of
    assert np.isnan(face.x_height_em)  # a script of one case has no small letters


def test_small_letters_of_another_script_give_the_x_height() -> None:
    assert measured(blocks("НПИЕГТнпигтАОВС", height=500)).x_height_em == pytest.approx(0.5)


def test_a_script_without_known_flat_letters_has_no_height() -> None:
    face = measured(blocks("".join(map(chr, range(0x1681, 0x169B)))))
    assert (face.script, face.cap_height_of) == ("Ogham", "")
    assert np.isnan(face.cap_height_em)


def test_latin_letters_come_first() -> None:
    both = measured(blocks("ABCDEFGHIJKLMNOPQRSTUVWXYZ" + HEBREW, height=700))
    assert (both.script, both.cap_height_of) == ("Latin", "HIEZ")


def test_a_stray_latin_letter_makes_no_latin_face() -> None:
    assert measured(blocks("AX" + HEBREW)).script == "Hebrew"


def test_capitals_without_h_i_e_z_are_sized_by_other_flat_ones() -> None:
    assert measured(blocks("ABCD", height=700)).cap_height_of == "BD"


def test_a_face_of_digits_is_measured_for_them() -> None:
    face = measured(blocks("0123456789"))
    assert (face.script, "1" in face.missing) == ("", False)
    assert np.isnan(face.cap_height_em)


@pytest.mark.parametrize(
    ("letters", "reason"),
    [
        ("☃☄★☎", Reason.SYMBOLS),
        ("𝐀𝐁𝐂𝐃𝐄", Reason.SYMBOLS),  # mathematical letters belong to no script
        ("∑∫Ω", Reason.SYMBOLS),  # one Greek letter among symbols
        ("\ue000\ue001\ue002", Reason.SYMBOLS),  # private use: icons
    ],
)
def test_symbols_are_refused(letters: str, reason: Reason) -> None:
    with pytest.raises(FontError) as error:
        measured(blocks(letters))
    assert str(error.value) == reason


def test_letters_without_ink_are_no_letters() -> None:
    names = {ord(c): f"u{ord(c):04X}" for c in HEBREW}
    blank = tiny_font(glyphs={".notdef": [], **{n: [] for n in names.values()}}, cmap=names)
    with pytest.raises(FontError) as error:
        measured(blank)
    assert str(error.value) == Reason.BLANK


@pytest.mark.parametrize(
    ("package", "file", "script"),
    [
        ("fonts-lohit-deva-nepali", "Lohit-Nepali.ttf", "Devanagari"),
        ("fonts-sil-padauk", "Padauk-Regular.ttf", "Latin"),  # Burmese with all of Latin
        ("fonts-ldco", "Amit.otf", "Hebrew"),
        ("fonts-noto-core", "NotoSansTifinagh-Regular.ttf", "Tifinagh"),
        ("fonts-noto-core", "NotoSansJavanese-Regular.ttf", "Javanese"),
        ("fonts-noto-core", "NotoSansThai-Regular.ttf", "Thai"),
    ],
)
def test_real_faces(debian_font: Callable[[str, str], Path], package: str, file: str, script: str) -> None:
    face = measure(Shaper.open(debian_font(package, file)), ("Anna",))
    assert face.script == script
    assert 0.01 < face.thinnest_stroke_em <= face.median_stroke_em < 0.3
    assert face.words


# ── the catalogue ───────────────────────────────────────────────────────────────────────────────────────────────────


def test_the_catalogue_keeps_script_height_and_coverage(tmp_path: Path) -> None:
    (tmp_path / "hebrew.ttf").write_bytes(font_bytes(blocks(HEBREW)))
    counts = scan_into(tmp_path / "c.sqlite", Scan([tmp_path], ("Anna",), 1))
    assert (counts["faces"], counts["failed"]) == (1, 0)
    with Store(tmp_path / "c.sqlite") as store:
        (face,) = store.faces()
        assert (face.script, face.cap_height_em) == ("Hebrew", pytest.approx(0.6))
        assert set(face.cap_height_of) == set("חדרבת") & set(HEBREW) | {"ה"}
        assert face.letter_gap_em == pytest.approx(0.15)
        assert face.group == "not grouped" and face.group_support.startswith("other script")
        assert store.covering("דוד").tolist() == [face.id]
        assert store.covering("Bo").tolist() == []


def test_a_failed_face_still_has_its_coverage() -> None:
    record = record_face(font_bytes(blocks("☃☄★☎")), "x.ttf", 0, "", {}, ("Anna",))
    assert record.measures is None
    assert covers(to_bytes(record.covered), "☃")


def test_runs_of_characters() -> None:
    points = np.array([*range(0x41, 0x5B), 0x5D0, *range(0x4E00, 0x4E10)], dtype=np.uint32)
    stored = to_bytes(runs_of(points))
    assert len(stored) == 3 * 2 * 4  # three runs, two ends each, four bytes an end
    held = set(points.tolist())
    for code in (0x40, 0x41, 0x5A, 0x5B, 0x5CF, 0x5D0, 0x5D1, 0x4DFF, 0x4E00, 0x4E0F, 0x4E10):
        assert covers(stored, chr(code)) == (code in held), hex(code)
