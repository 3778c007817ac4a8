"""Texts beside a font are read whatever they are called and whatever they are written in."""

from __future__ import annotations

import shutil
from io import BytesIO
from pathlib import Path

import pytest
from test_evidence import font_saying

from catalogue.licence.verdict import judge_font
from scanner.evidence import forget_folders, read_evidence

GRANT = "This font is licensed under the SIL Open Font License, Version 1.1."
LIMIT = "Free for personal use only."


@pytest.fixture
def font(tmp_path: Path) -> Path:
    """An invented font under the OFL in a folder whose name says nothing."""
    forget_folders()
    (tmp_path / "downloads").mkdir()
    return font_saying(tmp_path / "downloads" / "Marmalade-Regular.ttf", {0: "Copyright 2020 Ada Invented", 13: GRANT})


def pdf(text: str) -> bytes:
    from fpdf import FPDF

    page = FPDF()
    page.add_page()
    page.set_font("helvetica", size=12)
    page.multi_cell(0, 8, text)
    return bytes(page.output())


def test_the_font_alone_may_be_used(font: Path) -> None:
    assert judge_font(font).verdict == "yes"


@pytest.mark.parametrize(
    "name",
    [  # ordinary names of such files; common practice, no source
        "PERSONAL USE ONLY.txt", "READ ME FIRST!.txt", "info.txt", "Important!.txt", "Nutzungsbedingungen.txt",
        "leggimi.txt",
        "Lies mich.txt", "LISEZ-MOI.txt", "leeme.txt", "note", "misc.nfo", "1.txt", "LICENSE", "Licence.md",
        "terms.TXT", "eula.text",
    ],
)  # fmt: skip
def test_a_text_is_read_whatever_its_name(font: Path, name: str) -> None:
    (font.parent / name).write_text(LIMIT, "utf-8")
    assert judge_font(font).verdict in ("ask", "no")


@pytest.mark.parametrize(
    ("name", "data"),
    [
        ("a.rtf", rb"{\rtf1\ansi\deff0{\fonttbl{\f0 Arial;}}\f0 Free for {\b per}sonal use only.\par}"),
        ("a.html", b"<html><body><p>Free for per<b>sonal</b> use only.</p></body></html>"),
        ("b.html", b'<html><body><img src="b.png" alt="Free for personal use only."></body></html>'),
        ("a.pdf", pdf(LIMIT)),
        ("a.txt", LIMIT.encode("utf-16")),
        ("b.txt", LIMIT.encode("utf-16-le")),
        ("c.txt", LIMIT.encode("utf-16-be")),
        ("d.txt", b"\xef\xbb\xbf" + LIMIT.encode() + b"\r\n"),
        ("e.txt", "Nur für den privaten Gebrauch. Größe und Höhe ändern sich nicht.".encode("cp1252")),
        ("f.txt", "Только для личного использования.".encode("cp1251")),
        ("g.txt", "個人利用のみ可能です。商用利用は禁止です。".encode("shift_jis")),
        ("a.url", b"[InternetShortcut]\r\nURL=https://larkspur.example\r\nComment=Free for personal use only.\r\n"),
    ],
    ids=lambda value: value if isinstance(value, str) else "",
)
def test_a_limit_is_found_in_every_kind_of_text(font: Path, name: str, data: bytes) -> None:
    """RTF 1.9, HTML, PDF 1.7 by way of libraries; WHATWG Encoding for the code pages."""
    (font.parent / name).write_bytes(data)
    found = judge_font(font)
    assert found.verdict in ("ask", "no"), found
    assert any(e.polarity == "restriction" for e in found.evidence), name


@pytest.mark.parametrize("name", ["Licence.docx", "License.pdf", "license.png", "EULA.doc"])
def test_a_licence_that_cannot_be_read_is_not_silence(font: Path, name: str) -> None:
    (font.parent / name).write_bytes(b"\0\1\2" * 50)
    found = judge_font(font)
    assert found.verdict == "ask" and "open it yourself" in " ".join(found.not_understood)


@pytest.mark.parametrize("name", ["PERSONAL USE.jpg", "Marmalade_DEMO.zip"])
def test_names_of_pictures_and_archives_speak_too(font: Path, name: str) -> None:
    (font.parent / name).write_bytes(b"\0")
    assert judge_font(font).verdict in ("ask", "no")


@pytest.mark.parametrize("folder", ["Marmalade Demo", "PersonalUse", "Tryout", "Schulgebrauch"])
def test_the_folder_of_one_family_may_bear_its_makers_words(font: Path, folder: str) -> None:
    font.parent.rename(font.parent.parent / folder)
    assert judge_font(font.parent.parent / folder / font.name).verdict in ("ask", "no")


def test_a_folder_of_many_families_is_its_keepers(font: Path) -> None:
    font_saying(font.parent / "Quince-Regular.ttf", {13: GRANT}, "Quince")
    kept = font.parent.rename(font.parent.parent / "christmas")
    assert judge_font(kept / font.name).verdict == "yes"


def test_a_text_tied_to_another_font_says_nothing_of_this_one(font: Path) -> None:
    font_saying(font.parent / "Quince-Regular.ttf", {13: GRANT}, "Quince")
    (font.parent / "Quince readme.txt").write_text(LIMIT, "utf-8")
    assert judge_font(font).verdict == "yes"
    assert judge_font(font.parent / "Quince-Regular.ttf").verdict in ("ask", "no")


def test_a_clause_in_the_licence_file_is_quoted(font: Path) -> None:
    """The OFL as a font package installed here ships it."""
    texts = sorted(Path(__import__("site").getsitepackages()[0]).glob("fontpkg_*/LICENSE"))
    whole = next((t for t in texts if "OPEN FONT LICENSE" in t.read_text("utf-8", "replace")), None)
    if whole is None:
        pytest.skip("no font package with the OFL is installed (fontpkg-lobster)")
    text = whole.read_text("utf-8").split("\n", 1)[1]
    (font.parent / "OFL.txt").write_text("Copyright 2020 Ada Invented\n" + text, "utf-8")
    assert judge_font(font).verdict == "yes"
    forget_folders()
    clause = "Stickers and mugs are for the foundry alone."
    (font.parent / "OFL.txt").write_text(
        "Copyright 2020 Ada Invented\n" + text.replace("2) ", f"{clause}\n\n2) ", 1), "utf-8"
    )
    found = judge_font(font)
    assert found.verdict == "ask" and clause.rstrip(".") in " ".join(found.not_understood)


def test_words_of_a_web_fonts_metadata_are_read(font: Path) -> None:
    """WOFF 1.0, section 7: an XML block behind the tables, here without compression of its fonts."""
    import struct
    import zlib

    from fontTools.ttLib import TTFont

    out = BytesIO()
    opened = TTFont(font)
    opened.flavor = "woff"
    opened.save(out)
    data = bytearray(out.getvalue())
    block = b"<metadata><license><text>Free for personal use only.</text></license></metadata>"
    packed = zlib.compress(block)
    struct.pack_into(">LLL", data, 24, len(data), len(packed), len(block))
    path = font.with_suffix(".woff")
    path.write_bytes(bytes(data) + packed)
    shutil.rmtree(font.parent / "x", ignore_errors=True)
    assert any(e.locator == "WOFF metadata" for e in read_evidence(path))
    assert judge_font(path).verdict == "no"
