"""The record for the shop, and text made fit to show."""

from __future__ import annotations

import csv
import datetime
import hashlib
import io
import json
import zipfile
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from catalogue.licence.card import card
from catalogue.licence.check_record import check_record
from catalogue.licence.looked import Looked
from catalogue.licence.shop_record import write_record
from catalogue.licence.verdict import CAUTION, judge, judge_font
from catalogue.page.given_text import GivenText, given_text, judge_with, record_with
from catalogue.permission import MAY_BE_SOLD
from catalogue.text import clean, csv_cell
from scanner.evidence import Evidence, forget_folders

DAY = datetime.date(2031, 5, 4)
LOOKED = Looked(DAY)


@pytest.fixture
def font(tmp_path: Path) -> Path:
    """An invented font under CC BY with a licence file beside it."""
    from fontTools.fontBuilder import FontBuilder
    from fontTools.ttLib.tables._g_l_y_f import Glyph

    build = FontBuilder(1000, isTTF=True)
    build.setupGlyphOrder([".notdef"])
    build.setupCharacterMap({})
    build.setupGlyf({".notdef": Glyph()})
    build.setupHorizontalMetrics({".notdef": (500, 0)})
    build.setupHorizontalHeader(ascent=800, descent=-200)
    build.setupNameTable(
        {
            "familyName": "=Quince",
            "copyright": "Copyright 2020 Ada Invented",
            "licenseDescription": "CC BY 4.0",
        }
    )
    build.setupOS2()
    build.setupPost()
    forget_folders()
    (tmp_path / "downloads").mkdir()
    build.save(tmp_path / "downloads" / "Quince.ttf")
    (tmp_path / "downloads" / "LICENSE.txt").write_bytes(b"Creative Commons Attribution 4.0\r\n\xe2\x80\xae")
    return tmp_path / "downloads" / "Quince.ttf"


def _parts(path: Path) -> dict[str, bytes]:
    with zipfile.ZipFile(path) as archive:
        assert archive.testzip() is None
        return {name: archive.read(name) for name in archive.namelist()}


def test_the_record_holds_the_proof(font: Path, tmp_path: Path) -> None:
    write_record(font, 0, judge_font(font), tmp_path / "r.zip", Looked(DAY, "sold at the Plum Street market stall"))
    parts = _parts(tmp_path / "r.zip")
    answer = parts["answer.txt"].decode()
    assert "Yes, with conditions" in answer and "2031-05-04" in answer and CAUTION in answer
    assert "Plum Street" in answer and hashlib.sha256(font.read_bytes()).hexdigest() in answer
    assert "Ada Invented" in parts["card.txt"].decode() and "CC-BY-4.0" in parts["card.txt"].decode()
    assert parts["licences/01-LICENSE.txt"] == (font.parent / "LICENSE.txt").read_bytes()
    assert json.loads(parts["evidence.json"])["verdict"] == "yes-conditions"


def test_the_checksums_cover_every_file_and_the_font(font: Path, tmp_path: Path) -> None:
    """GNU coreutils, `sha256sum --check`: a digest, two blanks, a name."""
    write_record(font, 0, judge_font(font), tmp_path / "r.zip", LOOKED)
    parts = _parts(tmp_path / "r.zip")
    sums = dict(reversed(line.split("  ")) for line in parts["checksums.txt"].decode().splitlines())
    assert set(sums) == {font.name, *parts} - {"checksums.txt", "seal.txt"}
    for name, digest in sums.items():
        assert hashlib.sha256(font.read_bytes() if name == font.name else parts[name]).hexdigest() == digest


def test_nothing_tells_where_the_fonts_lie(font: Path, tmp_path: Path) -> None:
    """The record goes to a marketplace; the folders on the shop's disk are nobody's business there."""
    (font.parent / "README.txt").write_text("This font is for personal use only.")  # makes a reason with a path
    forget_folders()
    found = judge_font(font)
    assert str(tmp_path) in " ".join((*found.conflicts, *found.reasons, *(e.locator for e in found.evidence)))
    write_record(font, 0, found, tmp_path / "r.zip", LOOKED)
    for name, data in _parts(tmp_path / "r.zip").items():
        assert str(tmp_path).encode() not in data and tmp_path.name.encode() not in data, name


def test_a_file_elsewhere_is_told_by_its_name_alone(font: Path, tmp_path: Path) -> None:
    far = Evidence("licence-file", "/srv/someone/COPYING", "Personal use only")
    above = Evidence("licence-file", str(tmp_path / "OFL.txt"), "SIL Open Font License")
    write_record(font, 0, judge((far, above)), tmp_path / "r.zip", LOOKED)
    found = json.loads(_parts(tmp_path / "r.zip")["evidence.json"])
    assert [e["locator"] for e in found["evidence"]] == ["COPYING", "../OFL.txt"]


def test_the_answer_names_the_copies_it_keeps(font: Path, tmp_path: Path) -> None:
    (font.parent / "LICENSE.txt").rename(font.parent / "LICENSE")  # no ending: it would not open with a click
    forget_folders()
    write_record(font, 0, judge_font(font), tmp_path / "r.zip", LOOKED)
    parts = _parts(tmp_path / "r.zip")
    answer = parts["answer.txt"].decode()
    digest = hashlib.sha256((font.parent / "LICENSE").read_bytes()).hexdigest()
    assert "The licence file licences/01-LICENSE.txt grants CC-BY-4.0" in answer
    assert f"licences/01-LICENSE.txt: a copy of LICENSE\n  SHA-256 {digest}" in answer
    assert answer.splitlines()[1] == "Font: =Quince"


def test_a_licence_file_too_long_to_keep_is_named_with_its_sum(font: Path, tmp_path: Path) -> None:
    (font.parent / "LICENSE.txt").write_bytes(b"Creative Commons Attribution 4.0\n" + b"x" * (5 << 20))
    forget_folders()
    write_record(font, 0, judge_font(font), tmp_path / "r.zip", LOOKED)
    parts = _parts(tmp_path / "r.zip")
    assert "not kept, for it is too long" in parts["answer.txt"].decode()
    assert [name for name in parts if name.startswith("licences/")] == []
    assert "licences/" not in parts["checksums.txt"].decode()


def test_names_open_in_a_spreadsheet_without_a_formula(font: Path, tmp_path: Path) -> None:
    write_record(font, 0, judge_font(font), tmp_path / "r.zip", LOOKED)
    rows = list(csv.DictReader(io.StringIO(_parts(tmp_path / "r.zip")["names.csv"].decode())))
    assert "'=Quince" in {row["text"] for row in rows}
    assert all(not cell.startswith(tuple("=+-@")) for row in rows for cell in row.values())


def test_the_same_bytes_when_nothing_changed(font: Path, tmp_path: Path) -> None:
    for name in ("a.zip", "b.zip"):
        write_record(font, 0, judge_font(font), tmp_path / name, LOOKED)
    assert (tmp_path / "a.zip").read_bytes() == (tmp_path / "b.zip").read_bytes()


def test_only_the_answer_and_its_sum_change_with_the_date(font: Path, tmp_path: Path) -> None:
    write_record(font, 0, judge_font(font), tmp_path / "a.zip", LOOKED)
    write_record(font, 0, judge_font(font), tmp_path / "b.zip", Looked(DAY + datetime.timedelta(days=1)))
    one, other = _parts(tmp_path / "a.zip"), _parts(tmp_path / "b.zip")
    assert {name for name in one if one[name] != other[name]} == {
        "answer.txt", "answer.html", "answer.pdf", "checksums.txt", "seal.txt",
    }  # fmt: skip


def test_nothing_is_left_behind_when_it_cannot_be_written(font: Path, tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="choose a folder you may write"):
        write_record(font, 0, judge_font(font), tmp_path / "absent" / "r.zip", LOOKED)
    with pytest.raises(ValueError, match="give a font file that you may read"):
        write_record(tmp_path / "absent.ttf", 0, judge(()), tmp_path / "r.zip", LOOKED)
    assert not list(tmp_path.glob(".record-*")) and not (tmp_path / "r.zip").exists()


def test_a_card_without_credit() -> None:
    """OFL-FAQ 1.1.2: acknowledgement is not required."""
    found = judge((Evidence("name", "name 13", "SIL Open Font License"),))
    assert card(found) == "Nothing has to go with the goods, by what was found.\n"


def test_the_card_promises_nothing_without_a_yes() -> None:
    assert card(judge((Evidence("name", "name 13", "Personal use only"),))).startswith("Nothing to print ")


def test_the_card_can_be_printed_as_it_is(font: Path, tmp_path: Path) -> None:
    """CC BY 4.0 section 3(a)(1): title, author, source, licence, and whether it was changed."""
    write_record(font, 0, judge_font(font), tmp_path / "r.zip", LOOKED)
    lines = _parts(tmp_path / "r.zip")["card.txt"].decode().splitlines()
    printed = lines[lines.index("As it can be printed:") :]
    assert any(line.startswith("Letters: =Quince") for line in printed)
    assert any(line.startswith("Author: ") and "Ada Invented" in line for line in printed)
    assert any(line.startswith("Licence: CC-BY-4.0") for line in printed)
    assert "The letters were thickened and joined for this object." in printed


def test_the_record_says_who_looked_when_and_where_the_font_came_from(font: Path, tmp_path: Path) -> None:
    hour = datetime.datetime(2031, 5, 4, 9, 30, tzinfo=datetime.timezone(datetime.timedelta(hours=2), "CEST"))
    looked = Looked(hour, shop="Harbour Finch Goods", got_from="https://larkspur.example/quince, bought 2031-05-01")
    write_record(font, 0, judge_font(font), tmp_path / "r.zip", looked)
    parts = _parts(tmp_path / "r.zip")
    answer = parts["answer.txt"].decode()
    assert "Looked at on: 2031-05-04 09:30 CEST (UTC+0200)" in answer
    assert "Looked at by: Harbour Finch Goods" in answer
    assert "Got from: https://larkspur.example/quince, bought 2031-05-01 (given by the seller)" in answer
    assert json.loads(parts["evidence.json"])["got_from"][0].startswith("https://larkspur.example/quince")
    page = parts["answer.html"].decode()
    assert "<script" not in page and "Harbour Finch Goods" in page and "Yes, with conditions" in page
    assert parts["answer.pdf"].startswith(b"%PDF-")


def test_the_pdf_page_reads_back(font: Path, tmp_path: Path) -> None:
    """A second library reads what the first one wrote."""
    from pypdf import PdfReader

    write_record(font, 0, judge_font(font), tmp_path / "r.zip", LOOKED)
    pages = PdfReader(io.BytesIO(_parts(tmp_path / "r.zip")["answer.pdf"])).pages
    text = " ".join(" ".join(page.extract_text().split()) for page in pages)
    assert "Yes, with conditions" in text and "2031-05-04" in text and "not legal advice" in text


def test_a_yes_names_what_its_publisher_says_of_goods(tmp_path: Path, font: Path) -> None:
    """SIL OFL FAQ, question 1.1; its address is the publisher's."""
    found = judge((Evidence("name", "name 13", "SIL Open Font License"),))
    write_record(font, 0, found, tmp_path / "r.zip", LOOKED)
    parts = _parts(tmp_path / "r.zip")
    answer = parts["answer.txt"].decode()
    assert "https://openfontlicense.org/ofl-faq/" in answer and "Question 1.1" in answer
    assert "licences/full-text-OFL-1.1.txt" in parts or "published at https://spdx.org/licenses/OFL-1.1.html" in answer


def test_a_text_given_by_the_seller_counts_and_is_kept(font: Path, tmp_path: Path) -> None:
    (font.parent / "LICENSE.txt").unlink()
    forget_folders()
    silent = font.with_name("Silent.ttf")
    from fontTools.ttLib import TTFont

    bare = TTFont(font)
    bare["name"].names = [row for row in bare["name"].names if row.nameID not in (0, 13)]
    bare.save(silent)
    font.unlink()
    assert judge_font(silent).verdict == "unknown"
    (tmp_path / "mail.txt").write_text("Free for personal and commercial use.", "utf-8")
    found = judge_font(silent, given=tmp_path / "mail.txt")
    assert (found.verdict, found.spdx) == ("yes", "LicenseRef-Free-For-Any-Use")
    write_record(silent, 0, found, tmp_path / "r.zip", LOOKED)
    parts = _parts(tmp_path / "r.zip")
    assert parts["licences/01-mail.txt"] == b"Free for personal and commercial use."
    assert "given by the seller" in parts["answer.txt"].decode()
    (tmp_path / "empty.pdf").write_bytes(b"%PDF-1.4")
    with pytest.raises(ValueError, match="give the licence as a text"):
        judge_font(silent, given=tmp_path / "empty.pdf")


def test_a_text_handed_over_on_the_page_counts_and_its_place_is_told_without_folders(font: Path) -> None:
    mail = given_text("", None, "Not for goods that are sold.")
    assert mail is not None
    found = judge_with(font, 0, mail)
    assert found.verdict not in MAY_BE_SOLD and judge_font(font).verdict in MAY_BE_SOLD
    assert [e.locator for e in found.evidence if e.source == "given"] == ["licence-given.txt"]
    assert not any("/" in line for line in (*found.reasons, *found.conflicts))
    with zipfile.ZipFile(io.BytesIO(record_with(font, 0, mail, LOOKED))) as record:
        kept = [name for name in record.namelist() if name.endswith("licence-given.txt")]
        assert [record.read(name) for name in kept] == [b"Not for goods that are sold."]


def test_a_dropped_file_comes_before_pasted_words_and_an_empty_one_is_said() -> None:
    assert given_text("EULA.PDF", b"%PDF-1.4", "words") == GivenText("pdf", b"%PDF-1.4")
    assert given_text("licence.exe", b"MIT License", "") == GivenText("txt", b"MIT License")
    assert given_text("", None, "  ") is None


def test_a_text_without_words_is_said_without_our_folders(font: Path) -> None:
    with pytest.raises(ValueError, match=r"^licence-given\.pdf: no text could be read"):
        judge_with(font, 0, GivenText("pdf", b"%PDF-1.4"))


def _changed(record: Path, out: Path, name: str, data: bytes | None) -> Path:
    """A copy of a record with one file changed, added or (None) taken out."""
    parts = _parts(record) | ({name: data} if data is not None else {})
    with zipfile.ZipFile(out, "w") as archive:
        for part, held in parts.items():
            if part != name or data is not None:
                archive.writestr(part, held)
    return out


def test_a_record_is_checked_again_later(font: Path, tmp_path: Path) -> None:
    record = tmp_path / "r.zip"
    write_record(font, 0, judge_font(font), record, LOOKED)
    assert check_record(record) == [] == check_record(record, font)
    for name, data, word in (
        ("card.txt", b"Nothing has to go with the goods", "card.txt was changed"),
        ("names.csv", None, "names.csv is missing"),
        ("note.txt", b"x", "note.txt was added"),
        ("checksums.txt", b"0  x\n", "seal.txt does not fit"),
    ):
        assert any(word in line for line in check_record(_changed(record, tmp_path / "c.zip", name, data))), name
    (font.parent / "LICENSE.txt").write_text("For personal use only.", "utf-8")
    forget_folders()
    told = check_record(record, font)
    assert any(line.startswith("answer: yes-conditions in the record, ") for line in told)
    assert any(line.startswith("found today and not in the record") for line in told)
    font.write_bytes(font.read_bytes() + b"\0")
    assert any("is not the font file of the record" in line for line in check_record(record, font))


def test_what_is_no_record_is_said_so(tmp_path: Path) -> None:
    (tmp_path / "x.zip").write_bytes(b"no zip")
    with pytest.raises(ValueError, match="give the zip that --record wrote"):
        check_record(tmp_path / "x.zip")


@given(st.text(max_size=400))
@settings(max_examples=200, deadline=None)
def test_clean_text_is_one_short_printable_line(text: str) -> None:
    """Unicode categories C* are control, format (bidi), surrogate, private use and unassigned."""
    import unicodedata

    shown = clean(text)
    assert len(shown) <= 200 and not any(unicodedata.category(c)[0] == "C" for c in shown)
    assert clean(shown) == shown


@pytest.mark.parametrize("start", list("=+-@\t\r"))
def test_no_cell_is_a_formula(start: str) -> None:
    """OWASP, CSV injection: characters that start a formula."""
    assert csv_cell(start + "1")[0] not in "=+-@\t\r"


def test_surrogates_go() -> None:
    assert clean("a\ud800b") == "ab"
