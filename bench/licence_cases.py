"""Every place in which a font's author may write a limit: tiny fonts and files next to them, made in the test.

A case is a font whose licence field holds a plain grant. A place puts one more text somewhere: into the licence field,
into another field, into a file next to the font, into a name. Wherever it stands, a seller would find it.
"""

from __future__ import annotations

import site
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from io import BytesIO
from pathlib import Path

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.t2CharStringPen import T2CharStringPen
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

GRANTS = {
    "OFL": "This Font Software is licensed under the SIL Open Font License, Version 1.1.",
    "Apache": "Licensed under the Apache License, Version 2.0",
    "MIT": "This font is released under the MIT License.",
    "CC0": "This work is licensed under CC0 1.0 Universal.",
}
"""Grants that nobody doubts (facts: names of licences, in the short forms that fonts' licence fields hold)."""

LEGACY = {
    "German": "cp1252", "French": "cp1252", "Spanish": "cp1252", "Portuguese": "cp1252", "Italian": "cp1252",
    "Dutch": "cp1252", "Polish": "cp1250", "Czech": "cp1250", "Hungarian": "cp1250", "Russian": "cp1251",
    "Ukrainian": "cp1251", "Greek": "cp1253", "Turkish": "cp1254", "Hebrew": "cp1255", "Arabic": "cp1256",
    "Korean": "cp949", "Japanese": "cp932", "Chinese simplified": "gbk", "Chinese traditional": "big5",
}  # fmt: skip
"""The code page that old files of a language are written in."""


@dataclass
class Case:
    """A font and its folder before they are written."""

    names: dict[int, str]
    """Name records by number; 13 holds the grant."""
    files: dict[str, bytes] = field(default_factory=dict)
    """Files next to the font, by name."""
    file_name: str = "Brindlewick.ttf"
    folder: str = "fonts"
    notice: str | None = None
    """CFF notice; None makes TrueType outlines."""


Place = Callable[[Case, str, str], bool]
"""Puts a text of a language somewhere; False where that place cannot hold it."""


@cache
def _blank(notice: str | None) -> bytes:
    """A font with one box, without names."""
    builder = FontBuilder(1000, isTTF=notice is None)
    builder.setupGlyphOrder([".notdef", "A"])
    builder.setupCharacterMap({65: "A"})
    corners = ((0, 0), (0, 700), (500, 700), (500, 0))
    outline = TTGlyphPen(None) if notice is None else T2CharStringPen(600, None)
    outline.moveTo(corners[0])
    for corner in corners[1:]:
        outline.lineTo(corner)
    outline.closePath()
    if notice is None:
        shape = outline.glyph()
        builder.setupGlyf({".notdef": shape, "A": shape})
    else:
        drawn = outline.getCharString()
        builder.setupCFF(
            "Brindlewick", {"Notice": notice, "FullName": "Brindlewick"}, {".notdef": drawn, "A": drawn}, {}
        )
    builder.setupHorizontalMetrics({".notdef": (600, 0), "A": (600, 0)})
    builder.setupHorizontalHeader(ascent=800, descent=-200)
    builder.setupNameTable({})
    builder.setupOS2()
    builder.setupPost()
    out = BytesIO()
    builder.save(out)
    return out.getvalue()


def write(case: Case, root: Path) -> Path:
    """Write a case under an empty folder; returns the font's path."""
    folder = root / case.folder
    folder.mkdir(parents=True)
    font = TTFont(BytesIO(_blank(case.notice)), recalcTimestamp=False)
    for number, text in ({1: "Brindlewick", 2: "Regular", 4: "Brindlewick Regular"} | case.names).items():
        font["name"].setName(text, number, 3, 1, 0x409)
    font.save(folder / case.file_name)
    for name, data in case.files.items():
        (folder / name).write_bytes(data)
    return folder / case.file_name


def _record(number: int, template: str) -> Place:
    def put(case: Case, text: str, language: str) -> bool:
        case.names[number] = template.format(text=text, grant=case.names[13])
        return True

    return put


def _file(name: str, template: str = "{text}\n", encoding: str = "utf-8") -> Place:
    def put(case: Case, text: str, language: str) -> bool:
        chosen = LEGACY.get(language, "cp1252") if encoding == "legacy" else encoding
        try:
            case.files[name] = template.format(text=text).encode(chosen)
        except UnicodeEncodeError:
            return False
        return True

    return put


def _rtf(case: Case, text: str, language: str) -> bool:
    units = text.encode("utf-16-le")
    escaped = "".join(
        chr(u) if 31 < u < 127 and chr(u) not in "\\{}" else f"\\u{u if u < 32768 else u - 65536}?"
        for u in (int.from_bytes(units[k : k + 2], "little") for k in range(0, len(units), 2))
    )
    case.files["License.rtf"] = f"{{\\rtf1\\ansi\\deff0 Brindlewick\\par {escaped}\\par}}".encode("ascii")
    return True


def _html(case: Case, text: str, language: str) -> bool:
    page = f"<html><body><h1>Brindlewick</h1><p>{text}</p></body></html>"
    case.files["licence.html"] = page.encode("ascii", "xmlcharrefreplace")
    return True


def _notice(case: Case, text: str, language: str) -> bool:
    case.notice = text if text.isascii() else None
    case.file_name = "Brindlewick.otf"
    return text.isascii()


@cache
def _published_ofl() -> str:
    """The text of the Open Font License as a font package on this machine carries it; empty where none does."""
    for folder in map(Path, site.getsitepackages()):
        for path in sorted(folder.glob("fontpkg_*/**/*OFL*")) + sorted(folder.glob("fontpkg_*/**/LICENSE*")):
            text = path.read_text(encoding="utf-8", errors="replace") if path.is_file() else ""
            if "PERMISSION & CONDITIONS" in text and "TERMINATION" in text:
                return text
    return ""


def _in_ofl(mark: str, before: bool) -> Place:
    """The text as a line of its own before or after a line of an otherwise whole OFL.txt."""

    def put(case: Case, text: str, language: str) -> bool:
        whole = _published_ofl()
        if mark not in whole:
            return False
        changed = whole.replace(mark, f"{text}\n\n{mark}" if before else f"{mark} {text}\n", 1)
        case.files["OFL.txt"] = changed.encode()
        return True

    return put


TEXT_PLACES: dict[str, Place] = {
    "behind the grant": _record(13, "{grant} {text}"),
    "before the grant": _record(13, "{text} {grant}"),
    "below the grant": _record(13, "{grant}\r\n\r\n{text}"),
    "in brackets behind the grant": _record(13, "{grant} ({text})"),
    "licence address": _record(14, "https://quillmoor.example/licence {text}"),
    "copyright": _record(0, "Copyright (c) 2019 Tannhollow Type. {text}"),
    "trademark": _record(7, "Brindlewick is a trademark of Tannhollow Type. {text}"),
    "maker": _record(8, "Tannhollow Type, {text}"),
    "designer": _record(9, "Maren Oldquist. {text}"),
    "description": _record(10, "A friendly rounded hand. {text}"),
    "version": _record(5, "Version 1.002; {text}"),
    "sample text": _record(19, "{text}"),
    "maker's address": _record(11, "https://tannhollow.example {text}"),
    "file with an ordinary name": _file("info.txt", "Brindlewick, a hand.\n\n{text}\n\nHave fun!\n"),
    "file that shouts": _file("READ ME FIRST!.txt"),
    "file in German": _file("Nutzungsbedingungen.txt"),
    "UTF-16": _file("readme.txt", "{text}\r\n", "utf-16"),
    "old code page": _file("liesmich.txt", "{text}\r\n", "legacy"),
    "Markdown": _file("README.md", "# Brindlewick\n\n> {text}\n"),
    "font log": _file("FONTLOG.txt", "1 March 2019 Version 1.002\n- {text}\n"),
    "RTF": _rtf,
    "HTML": _html,
    "CFF notice": _notice,
    "clause in the OFL's text": _in_ofl("5) The Font Software", True),
    "top of the OFL's text": _in_ofl("SIL OPEN FONT LICENSE", True),
    "within the OFL's preamble": _in_ofl("PREAMBLE", False),
}
"""Where a sentence may stand."""


def _file_name(case: Case, text: str, language: str) -> bool:
    case.file_name = f"Brindlewick-{text.replace('/', '-')}.ttf"
    return len(case.file_name.encode()) < 200


def _folder_name(case: Case, text: str, language: str) -> bool:
    case.folder = text.replace("/", "-")
    return 0 < len(case.folder.encode()) < 200 and case.folder not in (".", "..")


NAME_PLACES: dict[str, Place] = {
    "style": _record(2, "{text}"),
    "family": _record(1, "Brindlewick {text}"),
    "full name": _record(4, "Brindlewick {text}"),
    "typographic family": _record(16, "Brindlewick {text}"),
    "file name": _file_name,
    "folder name": _folder_name,
}
"""Where a short form may stand."""
