"""Reading statements in and beside fonts, on fonts built here and on real packages.

Fonts built here hold `.notdef` and `A` (an empty outline each); only their statements matter.
"""

from __future__ import annotations

import hashlib
import importlib.util
import os
import struct
import sys
from functools import lru_cache
from io import BytesIO
from pathlib import Path
from types import ModuleType

import pytest
from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.ttLib import TTCollection, TTFont
from fontTools.ttLib.tables._g_l_y_f import Glyph
from fontTools.ttLib.tables._n_a_m_e import makeName

from catalogue.licence.verdict import judge, judge_font
from scanner.evidence import (
    Evidence,
    family_and_style,
    forget_folders,
    read_evidence,
    read_names,
)
from scanner.evidence.debian import dep5_statements

ALL = os.environ.get("LETTERHOLD_REQUIRE_ALL") == "1"


@pytest.fixture
def tmp_path(tmp_path: Path) -> Path:
    """A folder whose name says nothing: a folder that holds one family may bear the name its maker gave the archive."""
    folder = tmp_path / "downloads"
    folder.mkdir()
    return folder


@pytest.fixture(autouse=True)
def _fresh_folders() -> None:
    forget_folders()


@lru_cache(maxsize=1)
def _bare() -> bytes:
    build = FontBuilder(1000, isTTF=True)
    build.setupGlyphOrder([".notdef", "A"])
    build.setupCharacterMap({65: "A"})
    build.setupGlyf({".notdef": Glyph(), "A": Glyph()})
    build.setupHorizontalMetrics({".notdef": (500, 0), "A": (500, 0)})
    build.setupHorizontalHeader(ascent=800, descent=-200)
    build.setupOS2(fsType=4)
    build.setupPost()
    out = BytesIO()
    build.save(out)
    return out.getvalue()


def font_saying(path: Path, names: dict[int, str], family: str = "Marmalade") -> Path:
    """A font with these name records (Windows, US English) at `path`."""
    font = TTFont(BytesIO(_bare()))
    table = font["name"] = __import__("fontTools.ttLib", fromlist=["newTable"]).newTable("name")
    table.names = []
    for name_id, text in {1: family, 2: "Regular", 4: f"{family} Regular", **names}.items():
        table.setName(text, name_id, 3, 1, 0x409)
    font.save(path)
    return path


# Sentences as makers of free-of-charge fonts write them, and unclear ones; our own wording. Common practice, no source.
NO_OR_UNCLEAR = {
    "en": [
        "Free for personal use only. For commercial use contact the author.",
        "This font is NOT licensed under the OFL.",
        "Non-commercial use only.",
        "Demo version. Please buy the full version.",
        "You may not sell products made with it.",
        "Commercial use is strictly prohibited.",
        "SIL Open Font License? To be decided.",
        "Free font, enjoy!",
        "OFL for the old version; this version is for personal use only.",
        "Trial font, for evaluation only.",
        "Will be released under the SIL Open Font License soon.",
        "All rights reserved.",
        "Latin glyphs are taken from a font under the SIL Open Font License.",
        "Do not use for any commercial purpose.",
        "This font used to be under the Apache License.",
        "Similar to the MIT License.",
        "Icons in this font are licensed under the MIT License.",
        "Students and private use: free. Business: pay.",
    ],
    "de": [
        "Nur für den privaten Gebrauch.",
        "Kostenlos für private Zwecke, kommerzielle Nutzung nur mit Lizenz.",
        "Diese Schrift steht nicht unter der SIL Open Font License.",
        "Keine kommerzielle Nutzung.",
        "Kommerzielle Nutzung ist untersagt.",
        "Testversion, bitte Vollversion kaufen.",
        "Nicht für gewerbliche Zwecke.",
        "Wird bald unter der OFL veröffentlicht.",
        "Alle Rechte vorbehalten.",
        "Vielleicht OFL, noch unklar.",
        "Die Ziffern stammen aus einer Schrift unter der Apache License.",
        "Nichtkommerzielle Nutzung erlaubt.",
        "Früher unter der MIT-Lizenz.",
    ],
    "fr": [
        "Usage personnel uniquement.",
        "Utilisation commerciale interdite.",
        "Pas d'utilisation commerciale.",
        "Cette police n'est pas sous licence OFL.",
        "Gratuit pour un usage privé.",
        "Version d'essai.",
        "Pour un usage commercial, contactez l'auteur.",
        "Sera bientôt publiée sous licence OFL.",
        "Tous droits réservés.",
        "Usage non commercial seulement.",
        "Les chiffres viennent d'une police sous licence Apache.",
        "Peut-être sous licence MIT.",
    ],
    "es": [
        "Solo para uso personal.",
        "Prohibido el uso comercial.",
        "Uso no comercial únicamente.",
        "Esta fuente no está bajo la licencia OFL.",
        "No se permite su uso comercial.",
        "Versión de prueba.",
        "Para uso comercial, contacte con el autor.",
        "Pronto será publicada bajo la OFL.",
        "Todos los derechos reservados.",
        "Gratis para uso privado.",
        "Los números provienen de una fuente con licencia Apache.",
        "Quizás licencia MIT.",
    ],
    "it": [
        "Solo per uso personale.",
        "È vietato l'uso commerciale.",
        "Uso non commerciale.",
        "Questo font non è rilasciato sotto licenza OFL.",
        "Uso commerciale non consentito.",
        "Versione di prova.",
        "Per uso commerciale contattare l'autore.",
        "Presto sarà rilasciato con licenza OFL.",
        "Tutti i diritti riservati.",
        "Gratuito per uso privato.",
        "Forse licenza MIT.",
        "I numeri sono presi da un font con licenza Apache.",
    ],
    "pt": [
        "Apenas para uso pessoal.",
        "Proibido o uso comercial.",
        "Uso não comercial.",
        "Esta fonte não está sob a licença OFL.",
        "Não é permitido o uso comercial.",
        "Versão de teste.",
        "Para uso comercial entre em contato com o autor.",
        "Em breve será publicada sob a OFL.",
        "Todos os direitos reservados.",
        "Grátis para uso privado.",
        "Talvez licença MIT.",
        "Os números vêm de uma fonte com licença Apache.",
    ],
    "ja": [
        "個人利用のみ可能です。",
        "商用利用は禁止です。",
        "非商用に限り無料でご利用いただけます。",
        "このフォントはOFLではありません。",
        "商用利用には別途ライセンスの購入が必要です。",
        "体験版です。",
        "営利目的での使用はできません。",
        "OFLで公開予定です。",
        "無断転載・再配布禁止。",
        "数字はApache Licenseのフォントに基づいています。",
        "MITライセンスかもしれません。",
        "商用不可。",
    ],
    "zh": [
        "仅供个人使用。",
        "禁止商业用途。",
        "非商业用途免费。",
        "本字体不是OFL字体。",
        "商用需购买授权。",
        "试用版。",
        "不得用于商业目的。",
        "即将以OFL发布。",
        "版权所有。",
        "数字部分采用Apache License。",
        "也许是MIT许可。",
        "未经授权不得商用。",
    ],
    "ru": [
        "Только для личного использования.",
        "Коммерческое использование запрещено.",
        "Для некоммерческого использования.",
        "Этот шрифт не распространяется под лицензией OFL.",
        "Запрещается использовать в коммерческих целях.",
        "Пробная версия.",
        "Для коммерческого использования приобретите лицензию.",
        "Скоро будет выпущен под OFL.",
        "Все права защищены.",
        "Бесплатно для личных целей.",
        "Возможно, лицензия MIT.",
        "Цифры взяты из шрифта под лицензией Apache.",
    ],
}
CASES = [(language, text) for language, texts in NO_OR_UNCLEAR.items() for text in texts]


def test_there_are_enough_cases() -> None:
    assert len(CASES) >= 80 and len(NO_OR_UNCLEAR) == 9


@pytest.mark.parametrize(("language", "text"), CASES)
def test_no_false_yes(tmp_path: Path, language: str, text: str) -> None:
    for name_id in (13, 0, 10):
        found = judge_font(font_saying(tmp_path / f"M{name_id}.ttf", {name_id: text}))
        assert found.verdict in ("no", "ask", "unknown"), (language, name_id, text)


RESTRICTED = [(language, text) for language, texts in NO_OR_UNCLEAR.items() for text in texts[:1]]


@pytest.mark.parametrize(("language", "text"), RESTRICTED)
def test_a_restriction_beats_the_ofl_in_the_same_font(tmp_path: Path, language: str, text: str) -> None:
    path = font_saying(tmp_path / "M.ttf", {13: "SIL Open Font License 1.1", 10: text})
    assert judge_font(path).verdict == "no", language


# Clear grants in the same languages, so that the rules above are no blanket refusal. Our own wording.
@pytest.mark.parametrize(
    "text",
    [
        "This font is licensed under the SIL Open Font License.",
        "Diese Schrift steht unter der SIL Open Font License.",
        "Cette police est publiée sous licence OFL.",
        "Esta fuente se publica bajo la licencia OFL.",
        "Questo font è rilasciato sotto licenza OFL.",
        "Esta fonte está sob a licença OFL.",
        "このフォントはSIL Open Font Licenseで提供されています。",
        "本字体采用SIL Open Font License授权。",
        "Шрифт распространяется под лицензией SIL Open Font License.",
        "OFL. Free for personal and commercial use.",
        "Licensed under the OFL, for commercial and non-commercial use.",
    ],
)
def test_clear_grants_stay_yes(tmp_path: Path, text: str) -> None:
    assert judge_font(font_saying(tmp_path / "M.ttf", {13: text})).verdict == "yes"


def test_statements_have_places(tmp_path: Path) -> None:
    found = read_evidence(font_saying(tmp_path / "M.ttf", {13: "OFL", 14: "https://openfontlicense.org"}))
    assert [e.locator for e in found[:2]] == [
        "name 13 (platform 3, language 0x0409)",
        "name 14 (platform 3, language 0x0409)",
    ]
    assert Evidence("os2", "OS/2 fsType", "fsType 4 (preview and print embedding in documents)", scope="font") in found


def test_names_agree_with_fonttools(tmp_path: Path) -> None:
    """Second opinion: fontTools' own decoding of each record."""
    path = font_saying(tmp_path / "M.ttf", {13: "Größe ✓ 書体", 0: "©"})
    theirs = {r.toUnicode() for r in TTFont(path)["name"].names if r.nameID in (0, 13)}
    assert {e.quote for e in read_evidence(path) if e.locator.startswith(("name 0 ", "name 13 "))} == theirs


def test_a_name_record_that_stands_twice_is_read_too(tmp_path: Path) -> None:
    """OpenType 1.9 `name`: one string for each platform, encoding, language and id. Seen: names of features as id 0."""
    path = font_saying(tmp_path / "a.ttf", {0: "Copyright 2020 Ada Invented", 13: "Licensed under the OFL 1.1"})
    font = TTFont(path)
    font["name"].names.append(makeName("Not for goods", 0, 3, 1, 0x409))
    font.save(path)
    found = judge_font(path)
    assert found.verdict == "no"
    assert any(e.locator.startswith("name 0, repeated") and e.quote == "Not for goods" for e in found.evidence)


@pytest.mark.parametrize("flavor", [None, "woff", "woff2"])
def test_family_and_style(tmp_path: Path, flavor: str | None) -> None:
    """OpenType 1.9 `name`: 16 and 17 are the typographic family and style, before 1 and 2."""
    path = font_saying(tmp_path / "a.ttf", {16: "Marmalade Sans", 17: "Condensed"})
    font = TTFont(path)
    font.flavor = flavor
    font.save(path)
    assert family_and_style(path) == ("Marmalade Sans", "Condensed")
    assert [row[5] for row in read_names(path) if row[3] == 16] == ["Marmalade Sans"]
    (tmp_path / "b.ttf").write_bytes(b"no font")
    assert family_and_style(tmp_path / "b.ttf") == ("", "")


@pytest.mark.parametrize("flavor", ["woff", "woff2"])
def test_web_fonts_are_read(tmp_path: Path, flavor: str) -> None:
    font = TTFont(font_saying(tmp_path / "M.ttf", {13: "OFL 1.1"}))
    font.flavor = flavor
    font.save(tmp_path / f"M.{flavor}")
    assert judge_font(tmp_path / f"M.{flavor}").verdict == "yes"


def test_a_cff_notice_is_read(tmp_path: Path) -> None:
    """Second opinion: the builder and reader of fontTools."""
    build = FontBuilder(1000, isTTF=False)
    build.setupGlyphOrder([".notdef"])
    build.setupCharacterMap({})
    pen = T2CharStringPen(500, None)
    build.setupCFF(
        "Quince",
        {"Notice": "SIL Open Font License 1.1", "Copyright": "Ada"},
        {".notdef": pen.getCharString()},
        {},
    )
    build.setupHorizontalMetrics({".notdef": (500, 0)})
    build.setupHorizontalHeader(ascent=800, descent=-200)
    build.setupOS2()
    build.setupPost()
    build.save(tmp_path / "Q.otf")
    found = {e.locator: e.quote for e in read_evidence(tmp_path / "Q.otf") if e.source == "cff"}
    assert found == {"CFF Notice": "SIL Open Font License 1.1", "CFF Copyright": "Ada"}
    assert judge_font(tmp_path / "Q.otf").verdict == "yes"


def test_each_face_of_a_collection_speaks_for_itself(tmp_path: Path) -> None:
    faces = TTCollection()
    for text in ("OFL 1.1", "Free for personal use only"):
        faces.fonts.append(TTFont(font_saying(tmp_path / "one.ttf", {13: text})))
    faces.save(tmp_path / "M.ttc")
    (tmp_path / "one.ttf").unlink()
    assert [judge_font(tmp_path / "M.ttc", face).verdict for face in (0, 1, 2)] == ["yes", "no", "unknown"]


def test_the_debian_file_answers_for_a_silent_font() -> None:
    """fonts-urw-base35: its exception covers PostScript and PDF only (shared/licence-rules.md), so it asks."""
    found = sorted(Path("/usr/share/fonts").rglob("C059-Roman.otf"))
    if not found:
        if ALL:
            pytest.fail("needs apt-get install fonts-urw-base35")
        pytest.skip("fonts-urw-base35 is not installed")
    verdict = judge_font(found[0])
    assert (verdict.verdict, verdict.spdx) == ("ask", "AGPL-3.0-only WITH PS-or-PDF-font-exception-20170817")


def _broken(path: Path, data: bytes) -> Path:
    path.write_bytes(data)
    return path


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"\0\1\0\0",
        b"\0\1\0\0\xff\xff" + b"\xff" * 2000,
        b"ttcf\0\1\0\0\xff\xff\xff\xff",
        b"wOFF" + b"\xff" * 300,
        b"wOF2" + b"\0" * 300,
        b"OTTO" + struct.pack(">H", 1) + b"\0" * 6 + b"CFF \0\0\0\0\0\0\0\x1c\0\0\xff\xff" + b"\1\0\4\1\xff\xff",
    ],
    ids=["empty", "cut_header", "65535_tables", "endless_collection", "woff_noise", "woff2_noise", "cut_cff"],
)
def test_broken_fonts_are_unknown(tmp_path: Path, data: bytes) -> None:
    assert judge_font(_broken(tmp_path / "M.ttf", data)).verdict == "unknown"


def test_a_pipe_named_like_a_font_does_not_block(tmp_path: Path) -> None:
    """shared/hostile-fonts.md: a FIFO named .ttf blocks open()."""
    os.mkfifo(tmp_path / "M.ttf")
    os.mkfifo(tmp_path / "LICENSE")
    assert judge_font(tmp_path / "M.ttf").verdict == "unknown"


def test_no_font_at_all(tmp_path: Path) -> None:
    assert judge_font(tmp_path / "absent.ttf").verdict == "unknown"


def test_cut_anywhere_never_raises(tmp_path: Path) -> None:
    whole = font_saying(tmp_path / "M.ttf", {13: "OFL"}).read_bytes()
    for end in range(0, len(whole), 7):
        judge_font(_broken(tmp_path / "C.ttf", whole[:end]))


OFL_FILE = "Copyright 2010 The {} Project Authors\nThis Font Software is under the SIL Open Font License, 1.1.\n"


def silent(folder: Path, family: str = "Marmalade") -> Path:
    folder.mkdir(parents=True, exist_ok=True)
    return font_saying(folder / f"{family}-Regular.ttf", {0: "Copyright 2010"}, family)


def test_a_licence_file_beside_grants(tmp_path: Path) -> None:
    path = silent(tmp_path)
    (tmp_path / "OFL.txt").write_text(OFL_FILE.format("Marmalade"))
    assert judge_font(path).verdict == "yes"


def test_a_licence_file_above_counts_up_to_the_root(tmp_path: Path) -> None:
    path = silent(tmp_path / "family" / "release" / "ttf")
    (tmp_path / "LICENSE").write_text("SIL Open Font License 1.1")
    assert judge_font(path, root=tmp_path).verdict == "yes"
    assert judge_font(path, root=tmp_path / "family").verdict == "unknown"
    assert judge_font(path).verdict == "unknown"  # "release" is no folder of a usual layout


def test_a_licences_folder_counts(tmp_path: Path) -> None:
    path = silent(tmp_path)
    (tmp_path / "licenses").mkdir()
    (tmp_path / "licenses" / "OFL.txt").write_text("SIL Open Font License 1.1")
    assert judge_font(path).verdict == "yes"


@pytest.mark.parametrize("name", ["OFL-Quince.txt", "Quince_LICENSE.txt", "OFL.txt"])
def test_another_fonts_licence_file_lends_nothing(tmp_path: Path, name: str) -> None:
    path = silent(tmp_path)
    silent(tmp_path, "Quince")
    (tmp_path / name).write_text(OFL_FILE.format("Quince"))
    assert judge_font(path).verdict == "ask"
    assert judge_font(tmp_path / "Quince-Regular.ttf").verdict == "yes"


def test_a_plain_heading_with_another_fonts_name_lends_nothing(tmp_path: Path) -> None:
    path = silent(tmp_path)
    silent(tmp_path, "Quince")
    (tmp_path / "LICENSE.txt").write_text("Quince by A. Maker\n\nLicensed under the SIL Open Font License 1.1")
    assert judge_font(path).verdict == "ask"
    assert judge_font(tmp_path / "Quince-Regular.ttf").verdict == "yes"


def test_siblings_never_lend(tmp_path: Path) -> None:
    """shared/licence-rules.md: one face said non-commercial, the others OFL."""
    font_saying(tmp_path / "Marmalade-Bold.ttf", {13: "OFL 1.1"})
    assert judge_font(silent(tmp_path)).verdict == "unknown"


def test_contradicting_files_ask(tmp_path: Path) -> None:
    path = font_saying(tmp_path / "M.ttf", {13: "OFL 1.1"})
    (tmp_path / "LICENSE").write_text("Free for personal use only.")
    found = judge_font(path)
    assert found.verdict == "ask" and "LICENSE" in found.conflicts[0]


def test_a_binary_called_licence(tmp_path: Path) -> None:
    path = silent(tmp_path)
    (tmp_path / "LICENSE").write_bytes(bytes(range(256)) * 20)
    found = judge_font(path)
    assert found.verdict == "unknown" and any("no readable text" in e.quote for e in found.evidence)


def test_a_megabyte_of_licence_grants_nothing(tmp_path: Path) -> None:
    path = silent(tmp_path)
    (tmp_path / "LICENSE").write_text("SIL Open Font License. " + "word " * 200_000 + "Personal use only.")
    assert judge_font(path).verdict == "ask"


def test_an_faq_is_no_licence(tmp_path: Path) -> None:
    path = silent(tmp_path)
    (tmp_path / "OFL-FAQ.txt").write_text("About the SIL Open Font License")
    assert judge_font(path).verdict in ("ask", "unknown")


def test_appstream_takes_the_projects_licence_not_the_metadatas(tmp_path: Path) -> None:
    """AppStream specification: metadata_license is the metainfo file's own."""
    path = silent(tmp_path)
    (tmp_path / "m.metainfo.xml").write_text("<component><metadata_license>CC0-1.0</metadata_license></component>")
    assert judge_font(path).verdict == "unknown"
    forget_folders()
    (tmp_path / "m.metainfo.xml").write_text("<c><project_license>OFL-1.1</project_license></c>")
    assert judge_font(path).verdict == "yes"


def test_package_json(tmp_path: Path) -> None:
    path = silent(tmp_path)
    (tmp_path / "package.json").write_text('{"license": "OFL-1.1"}')
    assert judge_font(path).verdict == "yes"


def test_an_installed_package_speaks(tmp_path: Path) -> None:
    """PEP 639: License-Expression in METADATA."""
    path = silent(tmp_path / "fontpkg_m" / "files")
    (tmp_path / "fontpkg_m-1.0.dist-info").mkdir()
    (tmp_path / "fontpkg_m-1.0.dist-info" / "METADATA").write_text(
        "Name: fontpkg-m\nLicense-Expression: Apache-2.0\n\n"
    )
    assert judge_font(path).spdx == "Apache-2.0"
    assert judge_font(path, packages=False).verdict == "unknown"


DEP5 = """Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/

Files: *
Copyright: 2010 Someone
License: OFL-1.1

Files: fonts/Quince*.ttf
Copyright: 2010 Someone
License: CC-BY-NC-4.0

Files: debian/*
Copyright: 2011 Packager
License: GPL-3+
"""


@pytest.mark.parametrize(("name", "verdict"), [("Marmalade.ttf", "yes"), ("Quince-Bold.ttf", "no")])
def test_debian_globs_pick_the_paragraph(tmp_path: Path, name: str, verdict: str) -> None:
    """Debian copyright format 1.0, section 6.3: the last paragraph that matches rules."""
    pytest.importorskip("debian_inspector")
    (tmp_path / "copyright").write_text(DEP5)
    assert judge(tuple(dep5_statements(tmp_path / "copyright", name))).verdict == verdict


# --- real packages -----------------------------------------------------------------------------------------------


def _numbers() -> ModuleType:
    place = Path(__file__).resolve().parent.parent / "bench" / "licence_numbers.py"
    spec = importlib.util.spec_from_file_location("licence_numbers", place)
    assert spec is not None and spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["licence_numbers"] = module
    spec.loader.exec_module(module)
    return module


def test_the_numbers_on_what_is_installed() -> None:
    """The packages' own words against the tool's, on what is installed here (demo fonts, Debian fonts).

    Tables were written with most of these in view, so this is a guard; bench/licence_numbers.py has the figures on
    fonts that nobody looked at.
    """
    bench = _numbers()
    import site

    use = {package.key: package.use for package in bench.listed()}
    cases = [*bench.site_cases(Path(site.getsitepackages()[0])), *bench.debian_cases(Path("/"))]
    cases = [case for case in cases if use.get(case.package) in ("written", "read")][:400]
    if len(cases) < 20:
        if ALL:
            pytest.fail("needs font packages: pip install fontpkg-lobster …, apt-get install fonts-dejavu …")
        pytest.skip("fewer than 20 packaged fonts are installed (fontpkg-*, Debian fonts-*)")
    numbers = bench.measure(cases)
    figures = numbers.table()
    assert numbers.false_yes == []
    assert figures["family right outside disputed packages, %"] >= 95
    assert figures["compatible, % of named"] >= 99


def test_the_list_of_measured_packages_is_sound() -> None:
    """Which packages nobody reads is decided by their names, so that nobody can choose."""
    bench = _numbers()
    packages = bench.listed()
    assert len({package.key for package in packages}) == len(packages) > 400
    assert {package.kind for package in packages} == {"pip", "deb"}
    assert {package.use for package in packages} == {"written", "read", "never"}
    never = [package for package in packages if package.use == "never"]
    assert len(never) > 50
    for package in never:
        assert not any(byte % 2 for byte in hashlib.sha256(package.key.encode()).digest()[1:3])
    written = [package for package in packages if package.use == "written"]
    assert all(hashlib.sha256(package.key.encode()).digest()[3] % 3 != 2 for package in written)


def test_a_cff_index_with_offsets_of_255_bytes_is_no_error(tmp_path: Path) -> None:
    """Adobe Technical Note 5176, table 2: offsets have 1 to 4 bytes. Found by fuzzing."""
    from hostile import good_cff, patched, tables_of

    cff = tables_of(good_cff())[b"CFF "]
    path = tmp_path / "bad.otf"
    path.write_bytes(patched(b"CFF ", cff[2] + 2, b"\xff", good_cff()))
    assert all(e.source != "cff" for e in read_evidence(path))
