"""Fonts that bite, built in code: every kind that shared experience with broken fonts names, and what becomes of each.

``hostile_fonts`` gives (file name, bytes, what the scan must say): a ``Reason`` or GOOD for a row with measures. A
sequence stands for a collection, face by face.
"""

from __future__ import annotations

import io
import random
import struct
import zipfile
import zlib
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

import brotli
from conftest import font_bytes, rectangle, tiny_font, tiny_variable_font
from fontTools.ttLib import TTFont

from scanner.reasons import Reason

GOOD = "good"
Outcome = Reason | str


@dataclass(frozen=True)
class Hostile:
    """One trap: the file's name and bytes, and the outcome of each of its faces (one for a file without any)."""

    name: str
    data: bytes
    outcomes: tuple[Outcome, ...]


Maker = Callable[[], bytes]
_MAKERS: list[tuple[str, Maker, tuple[Outcome, ...]]] = []


def trap(name: str, *outcomes: Outcome) -> Callable[[Maker], Maker]:
    """Enter a maker of one hostile file under its name."""

    def enter(make: Maker) -> Maker:
        _MAKERS.append((name, make, outcomes))
        return make

    return enter


@lru_cache(maxsize=1)
def hostile_fonts() -> tuple[Hostile, ...]:
    """All of them."""
    return tuple(Hostile(name, make(), outcomes) for name, make, outcomes in _MAKERS)


# ── tools ───────────────────────────────────────────────────────────────────────────────────────────────────────────


@lru_cache(maxsize=1)
def good_font() -> bytes:
    """A sound font with a few Latin letters."""
    return font_bytes(tiny_font())


@lru_cache(maxsize=1)
def good_cff() -> bytes:
    """The same with CFF outlines."""
    return font_bytes(tiny_font(cff=True))


def tables_of(data: bytes) -> dict[bytes, bytes]:
    """Tables of a plain font file by tag."""
    count = int.from_bytes(data[4:6], "big")
    rows = [struct.unpack(">4sLLL", data[12 + 16 * k : 28 + 16 * k]) for k in range(count)]
    return {tag: data[at : at + size] for tag, _, at, size in rows}


def sfnt(tables: dict[bytes, bytes], magic: bytes = b"\0\1\0\0", base: int = 0) -> bytes:
    """A font file of these tables, whatever they hold; ``base`` is where it will stand in a collection."""
    head = magic + struct.pack(">HHHH", len(tables), 16, 0, 0)
    at = base + len(head) + 16 * len(tables)
    rows, body = b"", b""
    for tag, table in sorted(tables.items()):
        rows += struct.pack(">4sLLL", tag, 0, at + len(body), len(table))
        body += table + bytes(-len(table) % 4)
    return head + rows + body


def changed(tag: bytes, table: bytes | None, base: bytes | None = None) -> bytes:
    """The good font with one table replaced, or left out for None."""
    tables = tables_of(base or good_font())
    tables.pop(tag, None)
    return sfnt(tables | ({} if table is None else {tag: table}), (base or good_font())[:4])


def patched(tag: bytes, at: int, new: bytes, base: bytes | None = None) -> bytes:
    """The good font with some bytes of one table replaced."""
    table = bytearray(tables_of(base or good_font())[tag])
    table[at : at + len(new)] = new
    return changed(tag, bytes(table), base)


def collection(*faces: bytes) -> bytes:
    """A TTC of whole fonts one after the other; bytes that are no font stand as they are."""
    head_size = 12 + 4 * len(faces)
    offsets, body = [], b""
    for face in faces:
        at = head_size + len(body)
        offsets.append(at)
        body += sfnt(tables_of(face), face[:4], at) if len(face) > 100 else face
        body += bytes(-len(body) % 4)
    return b"ttcf" + struct.pack(f">LL{len(faces)}L", 0x10000, len(faces), *offsets) + body


def woff(tables: Sequence[tuple[bytes, bytes, int]], claimed: int = 0, count: int | None = None) -> bytes:
    """A WOFF of (tag, packed bytes, claimed size) with the claimed total size."""
    at = 44 + 20 * len(tables)
    rows, body = b"", b""
    for tag, packed, size in tables:
        rows += struct.pack(">4sLLLL", tag, at + len(body), len(packed), size, 0)
        body += packed + bytes(-len(packed) % 4)
    total = claimed or 12 + sum(16 + size + -size % 4 for _, _, size in tables)
    number = len(tables) if count is None else count
    head = struct.pack(">4s4sLHHLHHLLLLL", b"wOFF", b"\0\1\0\0", at + len(body), number, 0, total, 1, 0, *[0] * 5)
    return head + rows + body


def base128(value: int) -> bytes:
    """UIntBase128 of WOFF2."""
    out = bytes([value & 0x7F])
    while value := value >> 7:
        out = bytes([0x80 | value & 0x7F]) + out
    return out


def woff2(rows: bytes, count: int, packed: bytes, claimed: int) -> bytes:
    """A WOFF2 of directory bytes and one packed stream."""
    size = 48 + len(rows) + len(packed)
    head = struct.pack(">4s4sLHHLLHHLLLLL", b"wOF2", b"\0\1\0\0", size, count, 0, claimed, len(packed), 1, 0, *[0] * 5)
    return head + rows + packed


def simple_glyph(contours: Sequence[Sequence[tuple[int, int]]]) -> bytes:
    """A glyf entry of straight contours (OpenType `glyf`), every coordinate in two bytes."""
    points = [p for contour in contours for p in contour]
    ends, at = [], -1
    for contour in contours:
        at += len(contour)
        ends.append(at)
    deltas = [(x - px, y - py) for (px, py), (x, y) in zip([(0, 0), *points], points)]
    xs, ys = zip(*points)
    out = struct.pack(">hhhhh", len(contours), min(xs), min(ys), max(xs), max(ys))
    out += struct.pack(f">{len(ends)}H", *ends) + struct.pack(">H", 0) + b"\1" * len(points)
    return (
        out + b"".join(struct.pack(">h", dx) for dx, _ in deltas) + b"".join(struct.pack(">h", dy) for _, dy in deltas)
    )


def composite(*parts: tuple[int, int, int]) -> bytes:
    """A composite glyf entry of (glyph, x, y)."""
    out = struct.pack(">hhhhh", -1, 0, 0, 1000, 1000)
    for k, (glyph, x, y) in enumerate(parts):
        flags = 0x0003 | (0x0020 if k < len(parts) - 1 else 0)  # words, x and y; more to come
        out += struct.pack(">HHhh", flags, glyph, x, y)
    return out


def with_glyphs(glyphs: Sequence[bytes], points: int = 64, contours: int = 16, deep: int = 8) -> bytes:
    """The good font with these glyf entries; glyph 2 stands for A."""
    tables = tables_of(good_font())
    count = max(len(glyphs), 11)
    glyphs = [*glyphs, *[b""] * (count - len(glyphs))]
    body, offsets = b"", [0]
    for glyph in glyphs:
        body += glyph + bytes(-len(glyph) % 4)
        offsets.append(len(body))
    head = bytearray(tables[b"head"])
    head[50:52] = b"\0\1"
    maxp = bytearray(tables[b"maxp"])
    struct.pack_into(">H", maxp, 4, count)
    struct.pack_into(">HHHH", maxp, 6, points, contours, points, contours)
    struct.pack_into(">HH", maxp, 28, 8, deep)
    tables[b"hmtx"] = struct.pack(">Hh", 500, 0) * count
    tables[b"hhea"] = tables[b"hhea"][:34] + struct.pack(">H", count)
    tables |= {
        b"glyf": body, b"loca": struct.pack(f">{len(offsets)}L", *offsets), b"head": bytes(head), b"maxp": bytes(maxp)
    }  # fmt: skip
    return sfnt(tables)


def with_charstring(program: list[object], subroutines: Sequence[list[object]] = ()) -> bytes:
    """The CFF font with this program for A, and these local subroutines."""
    from fontTools.cffLib import SubrsIndex
    from fontTools.misc.psCharStrings import T2CharString

    font = TTFont(io.BytesIO(good_cff()), recalcBBoxes=False)  # to compute them would run the program
    top = font["CFF "].cff.topDictIndex[0]
    if subroutines:
        index = SubrsIndex()
        for body in subroutines:
            index.append(T2CharString(program=list(body)))
        top.Private.Subrs = index
    chars = top.CharStrings
    chars["A"] = T2CharString(program=list(program), private=top.Private, globalSubrs=top.GlobalSubrs)
    return font_bytes(font)


def cmap12(groups: Sequence[tuple[int, int, int]], claimed: int | None = None, form: int = 12) -> bytes:
    """A cmap of one subtable of format 12 (glyphs run on) or 13 (one glyph for all)."""
    number = len(groups) if claimed is None else claimed
    body = struct.pack(">HHLLL", form, 0, 16 + 12 * len(groups), 0, number) + b"".join(
        struct.pack(">LLL", *g) for g in groups
    )
    return struct.pack(">HHHHL", 0, 1, 3, 10, 12) + body


def names(**strings: bytes) -> bytes:
    """A name table of Windows strings by ``n1``, ``n16``…, given as stored bytes."""
    rows, body = b"", b""
    for key, raw in strings.items():
        rows += struct.pack(">6H", 3, 1, 0x409, int(key[1:]), len(raw), len(body))
        body += raw
    return struct.pack(">HHH", 0, len(strings), 6 + len(rows)) + rows + body


def noise(size: int, seed: int = 1) -> bytes:
    """Random bytes, the same every time."""
    return random.Random(seed).randbytes(size)


def utf16(text: str) -> bytes:
    """UTF-16 as the name table stores it, lone surrogates included."""
    return text.encode("utf-16-be", "surrogatepass")


# ── the entry itself ────────────────────────────────────────────────────────────────────────────────────────────────

trap("empty.ttf", Reason.EMPTY)(lambda: b"")
trap("one-byte.ttf", Reason.NO_FONT)(lambda: b"\0")
trap("text.ttf", Reason.NO_FONT)(lambda: b"this is no font\n" * 40)
trap("picture.otf", Reason.NO_FONT)(lambda: b"\x89PNG\r\n\x1a\n" + noise(400))
trap("type-42.ttf", Reason.NO_FONT)(lambda: b"%!PS-TrueTypeFont-1.0-1.0\n11 dict begin\n/FontType 42 def\n" * 20)
trap("type-1.otf", Reason.NO_FONT)(lambda: b"\x80\x01\x40\x00\x00\x00%!PS-AdobeFont-1.0: Trap\n" + noise(200))
trap("noise.ttf", Reason.NO_FONT)(lambda: noise(5000))
trap("magic-only.ttf", Reason.TABLES)(lambda: b"\0\1\0\0")
trap("no-tables.ttf", Reason.TABLES)(lambda: sfnt({}))
trap("64831-tables.ttf", Reason.TABLES)(lambda: b"\0\1\0\0" + struct.pack(">H", 64831) + noise(5000))
trap("129-tables.ttf", Reason.TABLES)(
    lambda: sfnt(tables_of(good_font()) | {b"x%03d" % k: b"" for k in range(129 - len(tables_of(good_font())))})
)
trap("128-tables.ttf", GOOD)(
    lambda: sfnt(tables_of(good_font()) | {b"x%03d" % k: b"" for k in range(128 - len(tables_of(good_font())))})
)
trap("header-only.ttf", Reason.NO_GLYPHS)(lambda: good_font()[:12])
trap("cut-in-directory.ttf", Reason.NO_GLYPHS)(lambda: good_font()[:40])
trap("cut-in-half.ttf", Reason.BLANK)(lambda: good_font()[: len(good_font()) // 2])
trap("offsets-beyond.ttf", Reason.NO_GLYPHS)(
    lambda: good_font()[:12] + b"".join(
        struct.pack(">4sLLL", tag, 0, 0xFFFFFFF0, 0xFFFFFFF0) for tag in sorted(tables_of(good_font()))
    )
)  # fmt: skip
trap("tables-overlap.ttf", Reason.NO_GLYPHS)(
    lambda: good_font()[:12] + b"".join(
        struct.pack(">4sLLL", tag, 0, 12, 64) for tag in sorted(tables_of(good_font()))
    ) + bytes(64)
)  # fmt: skip


@trap("zip-named-ttf.ttf", Reason.NO_FONT)
def _zip() -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("../../escape.ttf", good_font())
    return out.getvalue()


# ── web fonts ───────────────────────────────────────────────────────────────────────────────────────────────────────

trap("good.woff", GOOD)(lambda: font_bytes(tiny_font(), "woff"))
trap("good.woff2", GOOD)(lambda: font_bytes(tiny_font(), "woff2"))
trap("cut.woff", Reason.PACKED)(lambda: font_bytes(tiny_font(), "woff")[:200])
trap("claims-700-mb.woff", Reason.UNPACKED)(lambda: woff([(b"head", zlib.compress(b"x"), 1)], claimed=700 << 20))
trap("claims-a-large-table.woff", Reason.UNPACKED)(lambda: woff([(b"head", zlib.compress(b"x"), 700 << 20)], claimed=1))
trap("zlib-bomb.woff", Reason.UNPACKED)(lambda: woff([(b"head", zlib.compress(bytes(200 << 20), 9), 300_000)]))
trap("zlib-noise.woff", Reason.PACKED)(lambda: woff([(b"head", noise(200), 400)]))
trap("zlib-too-short.woff", Reason.PACKED)(lambda: woff([(b"head", zlib.compress(b"x" * 300), 400)]))
trap("no-tables.woff", Reason.TABLES)(lambda: woff([]))
trap("many-tables.woff", Reason.TABLES)(lambda: woff([(b"head", b"x", 1)], count=60_000))
trap("same-table-often.woff", Reason.NO_GLYPHS)(lambda: woff([(b"head", zlib.compress(bytes(100)), 100)] * 100))
trap("cut.woff2", Reason.PACKED)(lambda: font_bytes(tiny_font(), "woff2")[:-100])
trap("claims-700-mb.woff2", Reason.UNPACKED)(
    lambda: woff2(b"\1" + base128(54), 1, brotli.compress(bytes(54)), 700 << 20)
)
trap("claims-a-large-table.woff2", Reason.UNPACKED)(
    lambda: woff2(b"\1" + base128(700 << 20), 1, brotli.compress(bytes(54)), 100)
)
trap("brotli-bomb.woff2", Reason.UNPACKED)(
    lambda: woff2(b"\1" + base128(54), 1, brotli.compress(bytes(100 << 20), quality=5), 100)
)
trap("brotli-noise.woff2", Reason.PACKED)(lambda: woff2(b"\1" + base128(54), 1, noise(80), 100))
trap("endless-length.woff2", Reason.PACKED)(lambda: woff2(b"\1" + b"\xff" * 9, 1, b"", 100))
trap("cut-directory.woff2", Reason.PACKED)(lambda: woff2(b"\1" + base128(54), 90, b"", 100))


@trap("glyphs-of-noise.woff2", Reason.PACKED)
def _woff2_glyphs() -> bytes:
    # flags 10 and 11: glyf and loca in their transformed form.
    rows = b"\1" + base128(54) + b"\x0a" + base128(4000) + base128(400) + b"\x0b" + base128(20) + base128(0)
    body = tables_of(good_font())[b"head"][:54] + noise(400)
    return woff2(rows, 3, brotli.compress(body), 5000)


# ── collections ─────────────────────────────────────────────────────────────────────────────────────────────────────

trap("good.ttc", GOOD, GOOD)(lambda: collection(good_font(), good_cff()))
trap("no-faces.ttc", Reason.FACES)(lambda: b"ttcf" + struct.pack(">LL", 0x10000, 0))
trap("65-faces.ttc", Reason.FACES)(lambda: collection(*[good_font()] * 65))
trap("cut-header.ttc", Reason.FACES)(lambda: b"ttcf\0\1\0\0")
trap("face-beyond-the-end.ttc", Reason.TABLES)(lambda: b"ttcf" + struct.pack(">LLL", 0x10000, 1, 0x7FFFFFFF))
trap("face-is-the-header.ttc", Reason.NO_GLYPHS)(lambda: b"ttcf" + struct.pack(">LLL", 0x10000, 1, 0))
trap("one-bad-face.ttc", GOOD, Reason.TABLES, GOOD)(lambda: collection(good_font(), noise(64), good_font()))

# ── head, maxp, cmap, metrics ───────────────────────────────────────────────────────────────────────────────────────

trap("em-0.ttf", Reason.NO_EM)(lambda: patched(b"head", 18, b"\0\0"))
trap("em-1.ttf", Reason.EM)(lambda: patched(b"head", 18, b"\0\1"))
trap("em-65535.ttf", Reason.EM)(lambda: patched(b"head", 18, b"\xff\xff"))
trap("no-head.ttf", Reason.NO_EM)(lambda: changed(b"head", None))
trap("short-head.ttf", Reason.NO_EM)(lambda: changed(b"head", tables_of(good_font())[b"head"][:18]))
trap("no-maxp.ttf", Reason.NO_GLYPHS)(lambda: changed(b"maxp", None))
trap("no-glyph-count.ttf", Reason.NO_GLYPHS)(lambda: patched(b"maxp", 4, b"\0\0"))
trap("65535-glyphs.ttf", GOOD)(lambda: patched(b"maxp", 4, b"\xff\xff"))
trap("no-cmap.ttf", Reason.NO_CHARACTERS)(lambda: changed(b"cmap", None))
trap("cmap-of-noise.ttf", Reason.NO_CHARACTERS)(lambda: changed(b"cmap", noise(300)))
trap("cmap-4-billion-groups.ttf", Reason.NO_CHARACTERS)(
    lambda: changed(b"cmap", cmap12([(65, 70, 2)], claimed=0xFFFFFFFF))
)
trap("cmap-maps-everything.ttf", GOOD)(lambda: changed(b"cmap", cmap12([(0, 0x10FFFF, 2)], form=13)))
trap("cmap-overlapping-groups.ttf", GOOD)(lambda: changed(b"cmap", cmap12([(0, 0x10FFFF, 2)] * 5000, form=13)))
trap("symbols-only.ttf", Reason.SYMBOLS)(lambda: changed(b"cmap", cmap12([(0xF020, 0xF023, 2)])))
trap("greek-only.ttf", Reason.SYMBOLS)(lambda: changed(b"cmap", cmap12([(0x391, 0x394, 2)])))
trap("glyphs-beyond-the-last.ttf", Reason.BLANK)(lambda: changed(b"cmap", cmap12([(65, 90, 60000)])))
trap("no-horizontal-metrics.ttf", GOOD)(lambda: patched(b"hhea", 34, b"\0\0"))
trap("short-hmtx.ttf", GOOD)(lambda: changed(b"hmtx", b"\1"))
trap("widest-advances.ttf", GOOD)(lambda: changed(b"hmtx", struct.pack(">Hh", 65535, -32768) * 11))
trap("steepest-angle.ttf", GOOD)(lambda: patched(b"post", 4, b"\x7f\xff\xff\xff"))

# ── outlines ────────────────────────────────────────────────────────────────────────────────────────────────────────

trap("no-outlines.ttf", Reason.NO_OUTLINES)(lambda: changed(b"glyf", None))
trap("bitmaps-only.ttf", Reason.BITMAPS)(lambda: changed(b"EBDT", noise(90), changed(b"glyf", None)))
trap("pictures-only.ttf", Reason.BITMAPS)(lambda: changed(b"sbix", noise(90), changed(b"glyf", None)))
trap("colours-only.ttf", Reason.COLOURS)(lambda: changed(b"COLR", noise(90), changed(b"glyf", None)))
trap("svg-only.ttf", Reason.COLOURS)(lambda: changed(b"SVG ", b"<svg onload='x()'/>", changed(b"glyf", None)))
trap("no-loca.ttf", Reason.BLANK)(lambda: changed(b"loca", None))
trap("loca-unsorted.ttf", Reason.BLANK)(
    lambda: changed(b"loca", b"".join(struct.pack(">H", 60000 - 1000 * k) for k in range(12)))
)
trap("loca-beyond.ttf", Reason.BLANK)(lambda: changed(b"loca", b"\xff\xfe" * 12))
trap("loca-of-the-other-format.ttf", Reason.BLANK)(lambda: patched(b"head", 50, b"\0\1"))
trap("glyf-of-noise.ttf", Reason.BLANK)(lambda: changed(b"glyf", noise(len(tables_of(good_font())[b"glyf"]), 3)))


def _saw(points: int) -> list[tuple[int, int]]:
    """A contour that crosses itself at nearly every edge."""
    rng = random.Random(5)
    return [(rng.randrange(0, 1000), rng.randrange(0, 1000)) for _ in range(points)]


def _comb(points: int) -> list[tuple[int, int]]:
    """A contour of many points that does not cross itself."""
    top = [(k, 700 + k % 2) for k in range(points // 2)]
    return [(0, 0), *top, (points // 2, 0), *[(k, -(k % 2)) for k in range(points // 2 - 1, 0, -1)]]


trap("30000-points.ttf", Reason.POINTS)(lambda: with_glyphs([b"", b"", simple_glyph([_comb(30_000)])], 30_000))
trap("5000-crossing-edges.ttf", Reason.COMPUTING)(lambda: with_glyphs([b"", b"", simple_glyph([_saw(5_000)])], 5_000))
trap("100-crossing-edges.ttf", GOOD)(lambda: with_glyphs([b"", b"", simple_glyph([_saw(100)])], 100))
trap("contours-without-end.ttf", Reason.POINTS)(
    lambda: with_glyphs(
        [b"", b"", simple_glyph([[(x, y), (x, y + 1), (x + 1, y)] for x in range(0, 400, 2) for y in range(0, 99)])],
        60_000, 20_000,
    )
)  # fmt: skip
trap("claims-65400-contours.ttf", Reason.BLANK)(
    lambda: with_glyphs([b"", b"", struct.pack(">hhhhh", 32700, 0, 0, 9, 9) + b"\0\1" * 100])
)
trap("all-points-in-one.ttf", Reason.BLANK)(lambda: with_glyphs([b"", b"", simple_glyph([[(5, 5)] * 500])]))
trap("a-line-without-area.ttf", Reason.BLANK)(
    lambda: with_glyphs([b"", b"", simple_glyph([[(0, 0), (500, 0), (900, 0)]])])
)
trap("farthest-coordinates.ttf", GOOD)(
    lambda: with_glyphs(
        [b"", b"", simple_glyph([[(-16000, -16000), (-16000, 16000), (16000, 16000), (16000, -16000)]])]
    )
)
trap("composite-of-itself.ttf", Reason.BLANK)(lambda: with_glyphs([b"", b"", composite((2, 0, 0), (2, 5, 5))]))
trap("composite-ring.ttf", Reason.BLANK)(
    lambda: with_glyphs([b"", b"", composite((3, 0, 0)), composite((4, 0, 0)), composite((2, 0, 0))])
)
trap("composite-bomb.ttf", GOOD)(
    lambda: with_glyphs(
        [b"", b"", *[composite(*[(k + 1, 1, 1)] * 8) for k in range(2, 12)], simple_glyph([rectangle_i(0, 0, 90, 90)])]
    )
)
trap("deep-composite.ttf", Reason.BLANK)(
    lambda: with_glyphs(
        [b"", b"", *[composite((k + 1, 0, 0)) for k in range(2, 300)], simple_glyph([rectangle_i(0, 0, 90, 90)])]
    )
)


def rectangle_i(x0: int, y0: int, x1: int, y1: int) -> list[tuple[int, int]]:
    """A rectangle in whole units."""
    return [(int(x), int(y)) for x, y in rectangle(x0, y0, x1, y1)]


trap("cff-subroutine-bomb.otf", Reason.POINTS)(
    lambda: with_charstring(
        [0, 0, "rmoveto", -107, "callsubr", "endchar"],
        [*[[k - 106, "callsubr"] * 20 + ["return"] for k in range(8)], [1, 1, "rlineto"] * 20 + ["return"]],
    )
)
trap("cff-subroutine-of-itself.otf", GOOD)(
    lambda: with_charstring([0, 0, "rmoveto", -107, "callsubr", "endchar"], [[-107, "callsubr", "return"]])
)
trap("cff-missing-subroutine.otf", GOOD)(lambda: with_charstring([0, 0, "rmoveto", 5000, "callsubr", "endchar"]))
trap("cff-empty-program.otf", GOOD)(lambda: with_charstring([]))
trap("cff-farthest-moves.otf", Reason.COORDINATES)(
    lambda: with_charstring(
        [32000, 32000, "rmoveto", *[32000, 0, "rlineto", 0, 32000, "rlineto", -32000, 0, "rlineto"] * 40, "endchar"]
    )
)
trap("cff-of-noise.otf", Reason.BLANK)(lambda: changed(b"CFF ", noise(2000), good_cff()))
trap("cff-cut.otf", Reason.BLANK)(lambda: changed(b"CFF ", tables_of(good_cff())[b"CFF "][:60], good_cff()))
trap("cff-empty.otf", Reason.BLANK)(lambda: changed(b"CFF ", b"", good_cff()))
trap("cff2-of-noise.otf", Reason.BLANK)(lambda: changed(b"CFF2", noise(900), changed(b"CFF ", None, good_cff())))

# ── layout ──────────────────────────────────────────────────────────────────────────────────────────────────────────

_DOUBLING = "feature ccmp {" + "".join(
    f"lookup d{k} {{ sub A by {' '.join(['A'] * 9)}; }} d{k};" for k in range(9)
) + "} ccmp;"  # fmt: skip
trap("gsub-explosion.ttf", Reason.SHAPING)(lambda: font_bytes(tiny_font(features=_DOUBLING)))
trap("gsub-of-noise.ttf", GOOD)(lambda: changed(b"GSUB", noise(900)))
trap("gpos-of-noise.ttf", GOOD)(lambda: changed(b"GPOS", noise(900)))
trap("gdef-of-noise.ttf", GOOD)(lambda: changed(b"GDEF", noise(900)))
trap("kern-of-noise.ttf", GOOD)(lambda: changed(b"kern", struct.pack(">HHHHH", 0, 60_000, 0, 14, 1) + noise(900)))
trap("morx-of-noise.ttf", GOOD)(lambda: changed(b"morx", struct.pack(">HHL", 2, 0, 9) + noise(2000)))
trap("letters-that-vanish.ttf", GOOD)(
    lambda: font_bytes(tiny_font(features="feature liga { sub f i by f_i; sub l by NULL; } liga;"))
)
trap("farthest-kerning.ttf", GOOD)(
    lambda: font_bytes(tiny_font(features="feature kern { pos A B -32000; pos B C 32000; } kern;"))
)

# ── variation ───────────────────────────────────────────────────────────────────────────────────────────────────────


def _fvar(instances: Sequence[tuple[int, float]], low: float = 100, start: float = 100, high: float = 900) -> bytes:
    def fixed(value: float) -> bytes:
        return struct.pack(">l", round(value * 65536))

    axis = b"wght" + fixed(low) + fixed(start) + fixed(high) + struct.pack(">HH", 0, 256)
    rows = b"".join(struct.pack(">HH", name, 0) + fixed(place) for name, place in instances)
    return struct.pack(">HHHHHHHH", 1, 0, 16, 2, 1, 20, len(instances), 8) + axis + rows


def _variable(fvar: bytes, **strings: bytes) -> bytes:
    base = font_bytes(tiny_variable_font())
    font = changed(b"fvar", fvar, base)
    return changed(b"name", names(n1=utf16("Trap"), n2=utf16("Regular"), n256=utf16("Weight"), **strings), font)


trap("65535-instances.ttf", GOOD, GOOD)(
    lambda: _variable(_fvar([(257, 100 + k % 800) for k in range(65_535)]), n257=utf16("Bold"))
)
trap("instances-of-one-name.ttf", GOOD, GOOD)(lambda: _variable(_fvar([(257, 300), (257, 700)]), n257=utf16("Bold")))
trap("axis-turned-round.ttf", GOOD, GOOD)(lambda: _variable(_fvar([(257, 300)], 900, 500, 100), n257=utf16("Bold")))
trap("instance-beyond-the-axis.ttf", GOOD, GOOD)(lambda: _variable(_fvar([(257, 32000)]), n257=utf16("Bold")))
trap("instance-named-badly.ttf", GOOD, GOOD)(lambda: _variable(_fvar([(257, 300)]), n257=utf16("Bo\u202eld\x07")))
trap("gvar-of-noise.ttf", GOOD)(lambda: changed(b"gvar", noise(600), font_bytes(tiny_variable_font())))
trap("avar-of-noise.ttf", GOOD)(lambda: changed(b"avar", b"\0\1\0\0" + noise(600), font_bytes(tiny_variable_font())))
trap("hvar-of-noise.ttf", GOOD)(lambda: changed(b"HVAR", b"\0\1\0\0" + noise(600), font_bytes(tiny_variable_font())))
trap("fvar-of-noise.ttf", GOOD)(lambda: changed(b"fvar", noise(600), font_bytes(tiny_variable_font())))

# ── names ───────────────────────────────────────────────────────────────────────────────────────────────────────────

trap("no-names.ttf", GOOD)(lambda: changed(b"name", None))
trap("names-of-noise.ttf", GOOD)(lambda: changed(b"name", noise(500)))
trap("name-beyond-the-table.ttf", GOOD)(
    lambda: changed(b"name", struct.pack(">HHH6H", 0, 1, 18, 3, 1, 0x409, 1, 65535, 65535))
)
trap("name-is-a-formula.ttf", GOOD)(lambda: changed(b"name", names(n1=utf16('=HYPERLINK("x")'), n2=utf16("+1"))))
trap("name-is-script.ttf", GOOD)(
    lambda: changed(b"name", names(n1=utf16("<script>alert(1)</script>"), n2=utf16("\"'><svg onload=x>")))
)
trap("name-climbs.ttf", GOOD)(lambda: changed(b"name", names(n1=utf16("../../../etc/x"), n2=utf16("C:\\con\0"))))
trap("name-turns.ttf", GOOD)(lambda: changed(b"name", names(n1=utf16("ab\u202ecd\u2066ef\x1b[2J"), n2=utf16("\n\r"))))
trap("name-of-surrogates.ttf", GOOD)(
    lambda: changed(b"name", names(n1=utf16("\ud800\udfff\ud800"), n2=utf16("\udc00")))
)
trap("name-of-60000-letters.ttf", GOOD)(lambda: changed(b"name", names(n1=utf16("W" * 30_000), n2=utf16("x"))))


def mutants(bases: Sequence[bytes], count: int, seed: int) -> Iterator[bytes]:
    """Damaged copies of sound fonts, the same ones for the same seed: bytes changed, runs cut, doubled or zeroed."""
    rng = random.Random(seed)
    for _ in range(count):
        data = bytearray(rng.choice(bases))
        for _ in range(rng.choice((1, 1, 1, 2, 4, 16))):
            at = rng.randrange(len(data))
            run = min(rng.choice((1, 1, 2, 4, 32, 256)), len(data) - at)
            kind = rng.randrange(6)
            if kind == 0:
                data[at] ^= 1 << rng.randrange(8)
            elif kind == 1:
                data[at : at + run] = rng.randbytes(run)
            elif kind == 2:
                data[at : at + run] = bytes(run)
            elif kind == 3:
                data[at : at + run] = b"\xff" * run
            elif kind == 4:
                data[at:at] = data[at : at + run]
            elif len(data) > 2000:
                del data[at : at + run]
        yield bytes(data)
