"""Small fonts made on the spot, each with one thing that real fonts do and a program may not expect.

Every font has the letters A to Z, a to z, digits, space and apostrophe as boxes: capitals 700 high and 500 wide,
small letters 480, in an em of 1000.
"""

from __future__ import annotations

import string
from collections.abc import Callable
from pathlib import Path

from fontTools.fontBuilder import FontBuilder
from fontTools.pens.ttGlyphPen import TTGlyphPen
from fontTools.ttLib import TTFont

Box = tuple[int, int, int, int]


def write_odd_fonts(folder: Path) -> None:
    """Writes all of them into ``folder``."""
    folder.mkdir(parents=True, exist_ok=True)
    for name, make in ODD.items():
        make(f"Odd {name}").save(folder / f"odd-{name}.ttf")


def plain(family: str, boxes: dict[str, Box | None] | None = None, upem: int = 1000, features: str = "") -> TTFont:
    """The plain boxes with some replaced: a box (left, bottom, right, top), or None for a mapped glyph without ink."""
    ink: dict[str, Box | None] = dict.fromkeys(string.ascii_uppercase + string.digits, (0, 0, 500, 700))
    ink |= dict.fromkeys(string.ascii_lowercase, (0, 0, 400, 480))
    ink |= {" ": None, "'": (50, 500, 130, 700), ".": (50, 0, 150, 100)} | (boxes or {})
    names = {letter: f"u{ord(letter):04X}" for letter in ink}
    build = FontBuilder(upem, isTTF=True)
    build.setupGlyphOrder([".notdef", *names.values()])
    build.setupCharacterMap({ord(letter): glyph for letter, glyph in names.items()})
    glyphs = {names[letter]: _glyph(box) for letter, box in ink.items()} | {".notdef": _glyph((0, 0, 300, 700))}
    build.setupGlyf(glyphs)
    widths = {names[letter]: (box[2] + 40 if box else 300, box[0] if box else 0) for letter, box in ink.items()}
    build.setupHorizontalMetrics(widths | {".notdef": (340, 0)})
    build.setupHorizontalHeader(ascent=800, descent=-200)
    build.setupNameTable({"familyName": family, "styleName": "Regular"})
    build.setupOS2(sTypoAscender=800, sTypoDescender=-200, usWinAscent=800, usWinDescent=200)
    build.setupPost()
    if features:
        build.addOpenTypeFeatures(features)
    return build.font


def _glyph(box: Box | None) -> object:
    pen = TTGlyphPen(None)
    if box:
        left, bottom, right, top = box
        pen.moveTo((left, bottom))
        for corner in ((left, top), (right, top), (right, bottom)):
            pen.lineTo(corner)
        pen.closePath()
    return pen.glyph()


def _scaled(letters: str, bottom: int, top: int) -> dict[str, Box | None]:
    return dict.fromkeys(letters, (0, bottom, 450, top))


def _without(letters: str, family: str) -> TTFont:
    font = plain(family)
    for table in font["cmap"].tables:
        for letter in letters:
            table.cmap.pop(ord(letter), None)
    return font


_DROPS = "feature liga { sub u0062 u006F by u0058; } liga;  feature ccmp { sub u0027 by NULL; } ccmp;"
_HEBREW = dict.fromkeys("אבגדהוזחטיכלמנסעפצקרשת", (0, 0, 450, 560))
_ANGLED: dict[str, Box | None] = dict.fromkeys(string.ascii_uppercase, (0, 0, 500, 1))

ODD: dict[str, Callable[[str], TTFont]] = {
    "apostrophe": lambda family: plain(family, {"'": None, "\u2019": None}),
    "flat-capitals": lambda family: plain(family, _ANGLED),
    "empty-capitals": lambda family: plain(family, dict.fromkeys(string.ascii_uppercase)),
    "empty-all": lambda family: plain(family, dict.fromkeys(string.ascii_letters + string.digits + "'.")),
    "sunk-capitals": lambda family: plain(family, _scaled(string.ascii_uppercase, -700, 0)),
    "below-the-line": lambda family: plain(family, _scaled(string.ascii_letters, -900, -200)),
    "no-capitals": lambda family: _without(string.ascii_uppercase, family),
    "no-small": lambda family: _without(string.ascii_lowercase, family),
    "no-latin": lambda family: _without(string.ascii_letters, family),
    "hebrew-alone": lambda family: _hebrew(family),
    "huge": lambda family: plain(family, _scaled(string.ascii_letters, 0, 16000), upem=16000),
    "tiny-em": lambda family: plain(family, {"o": (0, 0, 16000, 16000)}, upem=16),
    "hairlines": lambda family: plain(family, dict.fromkeys(string.ascii_letters, (0, 0, 1, 700))),
    "drops": lambda family: plain(family, features=_DROPS),
    "no-space": lambda family: _without(" ", family),
    "odd-name": lambda family: plain("=Odd\u202e \u001b[31m/../name"),
}


def _hebrew(family: str) -> TTFont:
    font = plain(family, dict(_HEBREW))
    for table in font["cmap"].tables:
        for letter in string.ascii_letters:
            table.cmap.pop(ord(letter), None)
    return font
