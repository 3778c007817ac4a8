"""The answer for a person: first the answer, then why, then the quotes, then the caution. Pure."""

from __future__ import annotations

import re
from dataclasses import dataclass

from catalogue.licence.answer import CAUTION, Verdict
from catalogue.licence.expressions import terms_of
from catalogue.permission import MAY_BE_SOLD, Permission
from catalogue.text import clean
from scanner.evidence import Evidence

_ANSWERS = {
    Permission.YES: "Yes: goods made with this font may be sold, by what was found.",
    Permission.CONDITIONS: "Yes, with conditions: goods may be sold if they are met.",
    Permission.ASK: "Ask first: what was found does not settle it.",
    Permission.NO: "No: what was found does not allow goods that are sold.",
    Permission.UNKNOWN: "Unknown: nothing was found that says what the font may be used for.",
}


_PLACES = {
    "13": "licence field",
    "14": "licence address",
    "0": "copyright line",
    "7": "trade mark line",
    "10": "description",
    "5": "version",
    "3": "unique name",
    "1": "family name",
    "4": "full name",
    "16": "family name",
    "2": "style name",
    "17": "style name",
    "8": "maker",
    "9": "designer",
    "11": "maker's address",
    "12": "designer's address",
    "19": "sample text",
    "25": "name prefix",
}
_FILES = {
    "licence-file": "The licence file ",
    "text-file": "The file next to the font ",
    "given": "The licence given by the seller, ",
    "copyright-file": "Debian's copyright file ",
    "file-name": "The name of a file, ",
    "packaged-name": "The name of a file, ",
    "archive-name": "A folder's name, ",
    "folder-name": "A folder's name, ",
    "meta": "The font's ",
    "dep5": "Debian's copyright file ",
    "appstream": "The package's AppStream entry ",
    "dist-info": "The package's licence entry in ",
    "package-json": "The package's licence entry in ",
}
_LANGUAGES = ["English", "German", "French", "Spanish", "Italian", "Portuguese", "Japanese", "Chinese", "Russian"]
_WINDOWS = dict(zip((9, 7, 12, 10, 16, 22, 17, 4, 25), _LANGUAGES, strict=True))
"""By the primary language, the lower ten bits of a Windows language id ([MS-LCID], from memory)."""
_MACINTOSH = dict(zip((0, 2, 1, 6, 3, 8, 11, 33, 32), _LANGUAGES, strict=True)) | {19: "Chinese"}
"""Macintosh language ids (OpenType 1.9 `name`)."""
_SAYS = {"grant": "grants {}", "restriction": "restricts: {}", "negated": "takes {} back", "statement": "mentions {}"}
_SCOPES = {
    "font": "", "component": " for a part, or for another font", "excerpt": " in what was read of it", "unknown": "",
}  # fmt: skip


@dataclass(frozen=True)
class Section:
    """A part of the answer."""

    title: str
    """"" for the first one."""
    lines: tuple[str, ...]
    quotes: tuple[str, ...] = ()
    """The words that each line is about, one a line; () where the lines speak for themselves."""


def sections(verdict: Verdict, font: str = "") -> tuple[Section, ...]:
    """The answer for a person in its parts, the caution last; empty ones are left out."""
    titles = ", ".join(dict.fromkeys(r.title for r in terms_of(verdict.spdx).records)) if verdict.spdx else ""
    first = [_ANSWERS[verdict.verdict]]
    first += [f"Font: {font}"] if font else []
    first += [f"Licence: {titles} ({verdict.spdx})" if titles else f"Licence: {verdict.spdx or 'not recognised'}"]
    first += [f"May letters be thickened or offset: {verdict.may_alter_outlines}"]
    if verdict.verdict in MAY_BE_SOLD:
        first += [f"Goes with the goods: {item}" for item in verdict.must_accompany or ("nothing",)]
    names = ", ".join(verdict.reserved_font_names)
    telling = [(n, e) for n, e in enumerate(verdict.evidence, 1) if e.claim]
    rest = [(n, e) for n, e in enumerate(verdict.evidence, 1) if not e.claim]
    every = (
        Section("", tuple(first)),
        Section("Why", verdict.reasons),
        Section("Not understood", tuple(f'"{words}"' for words in verdict.not_understood)),
        Section("Contradictions", verdict.conflicts),
        Section("Reserved names, which a changed font file may not bear (goods may)", (names,) if names else ()),
        Section(
            "What was found",
            tuple(f"[{number}] {place_of(e)} {said(e)}" for number, e in telling),
            tuple(e.quote for _, e in telling),
        ),
        Section(
            "Also read, with no licence in it",
            tuple(f"[{number}] {place_of(e)}" for number, e in rest),
            tuple(e.quote for _, e in rest),
        ),
        Section("", (CAUTION,)),
    )
    return tuple(section for section in every if section.lines)


def explain(verdict: Verdict, font: str = "") -> str:
    """The answer for a person: first the answer, then why, then the quotes, then the caution.

    `font` is named below the answer.
    """
    return "\n\n".join(map(_as_text, sections(verdict, font)))


def _as_text(section: Section) -> str:
    if section.title.startswith("Reserved names"):
        return f"{section.title}: {section.lines[0]}"
    if section.title == "What was found":
        lines = [f'{line}:\n    "{quote}"' for line, quote in zip(section.lines, section.quotes, strict=True)]
    elif section.quotes:
        lines = [f'{line}: "{quote}"' for line, quote in zip(section.lines, section.quotes, strict=True)]
    else:
        lines = [f"- {line}" for line in section.lines] if section.title else list(section.lines)
    return "\n".join([section.title, *lines] if section.title else lines)


_RECORD = re.compile(r"name (\d+)((?:, repeated)?) \(platform (\d+), language (0x\w+)\)")


def said(item: Evidence) -> str:
    """How a statement was read, for a person: `grants OFL-1.1`."""
    return _SAYS[item.polarity].format(item.claim) + _SCOPES[item.scope] if item.claim else "has no licence in it"


def place_of(item: Evidence) -> str:
    """Where a statement stands, for a person: `The font's licence field (name 13, Windows, English)`."""
    hit = _RECORD.fullmatch(item.locator)
    if item.source == "os2":
        return "The font's embedding bits, which are about documents (OS/2 fsType)"
    if hit is None:
        path, mark, more = item.locator.partition(" (Files: ")
        return clean(_FILES.get(item.source, "") + path + mark + more)
    platform = {"0": "Unicode", "1": "Macintosh", "3": "Windows"}.get(hit[3], f"platform {hit[3]}")
    code = int(hit[4], 16)
    language = (_MACINTOSH.get(code) if hit[3] == "1" else _WINDOWS.get(code & 0x3FF)) or f"language {hit[4]}"
    return f"The font's {_PLACES.get(hit[1], 'name')} (name {hit[1]}{hit[2]}, {platform}, {language})"
