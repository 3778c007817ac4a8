"""Statements about a font's licence: what the font says, and what lies beside it.

The flow: `read_evidence` opens one face with a bounded reader (never the whole font), takes the strings in which
licences are stated, then looks beside the file: licence files in its folder and above, package metadata, a Debian
copyright file. Each statement becomes one `Evidence` with its place and its raw words.

This module only reads and quotes. It leaves `claim`, `polarity` and `scope` open ("", "statement", "unknown"), save
where the place itself decides them (a licence file that names another font has scope "component"; a field that is
machine-readable carries its expression as claim). `catalogue.licence.verdict` recognises the words,
for it holds the records.
A font that cannot be read gives fewer statements, never an exception: hostile files are expected here.
"""

from __future__ import annotations

import fnmatch
import json
import os
import re
import stat
import struct
import zlib
from dataclasses import asdict, dataclass
from functools import lru_cache
from pathlib import Path

MAX_TABLES = 128  # tables in a font; real fonts stay below 64 (shared/hostile-fonts.md: reject above 128)
MAX_NAME_TABLE = 256 * 1024  # bytes; offsets and lengths are 16 bit, so no sound table is larger than about 192 KiB
MAX_NAMES = 2000  # name records; common practice, no source
MAX_CFF_HEAD = 256 * 1024  # bytes of the CFF table read for its notice, which stands in its first indexes
MAX_TEXT = 128 * 1024  # bytes of a licence file read from its start; the longest common licence has 35 KiB
MAX_TAIL = 32 * 1024  # bytes read from the end of a longer file, where an added restriction would stand
MAX_SFNT = 64 * 1024 * 1024  # unpacked size of a WOFF2 that is still opened, in bytes
MAX_CLIMB = 6  # folders above the font that are searched, when the scanned root is that far away
MAX_LISTED = 20000  # entries of one folder that are looked at

NAME_IDS = (13, 14, 0, 7, 10, 5, 3, 1, 4, 16)  # 1, 4 and 16 because "Demo" and "Personal use" stand in family names
LAYOUT_FOLDERS = frozenset((
    "fonts", "font", "ttf", "otf", "woff", "woff2", "ttc", "files", "static", "variable", "vf", "webfonts", "web",
    "desktop", "truetype", "opentype",
))  # fmt: skip
FONT_SUFFIXES = frozenset((".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2"))
LICENCE_FOLDERS = ("licenses", "licences", "license", "licence", "LICENSES", "LICENSE", "Licenses")

_WORDS = (
    r"(?:un)?licen[cs]es?|licensing|lizenz\w*|licencia|licenza|licença|licence|copying|copyright|ofl|sil|eula|"
    r"gpl|lgpl|agpl|ufl|apache|mit|bsd|cc0|terms|legal|notice|lppl|gust|readme|liesmich|lisezmoi|leame|leggimi|"
    r"read[ _-]?me|使用許諾|ライセンス|利用規約|许可|授权|лицензия"
)


@dataclass(frozen=True)
class Evidence:
    """One statement, where it stands and what it was taken to mean."""

    source: str
    """Kind of place: name, cff, os2, licence-file, readme-file, dep5, appstream, dist-info, package-json."""
    locator: str
    """Place a person can find: `name 13 (platform 3, language 0x0409)`, or a file's path."""
    quote: str
    """The words. Raw from the reader; cut to the telling part and cleaned in a verdict."""
    claim: str = ""
    """SPDX expression or LicenseRef-…; "" when nothing was recognised."""
    polarity: str = "statement"
    """grant, restriction, negated or statement."""
    scope: str = "unknown"
    """font, component, excerpt (a text not read to its end) or unknown."""

    def as_json(self) -> dict[str, str]:
        """The six keys of the command line's contract."""
        return asdict(self)


@dataclass(frozen=True)
class _Note:
    """A text beside the font, read once for each folder."""

    source: str
    path: str
    text: str
    whole: bool


# --- the font's own words ----------------------------------------------------------------------------------------


def read_evidence(
    path: Path,
    face_index: int = 0,
    root: Path | None = None,
    *,
    packages: bool = True,
    copyright_file: Path | None = None,
) -> tuple[Evidence, ...]:
    """Every licence statement in one face of `path` and beside it. Never raises for a bad font.

    `root` is the scanned folder: licence files count up to it. Without it the search climbs only through folders that
    are part of a usual layout (`fonts/ttf/…`). `packages=False` hides package metadata, for measuring.
    `copyright_file` is a DEP-5 file that covers the font; a Debian system folder's own is found without it.
    """
    try:
        own = _own_words(path, face_index)
    except (OSError, ValueError, struct.error, zlib.error, IndexError):
        own = ()
    try:
        beside = _beside(path, root, own, packages, copyright_file)
    except OSError:
        beside = ()
    return own + beside


def _own_words(path: Path, face_index: int) -> tuple[Evidence, ...]:
    fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)  # O_NONBLOCK: a FIFO named .ttf would block
    try:
        facts = os.fstat(fd)
        if not stat.S_ISREG(facts.st_mode):
            return ()
        magic = os.pread(fd, 4, 0)
        if magic == b"wOF2":
            return _woff2_words(fd)
        tables = _table_places(fd, magic, face_index)
        return (
            _name_statements(_table(fd, tables, "name", MAX_NAME_TABLE))
            + _cff_statements(_table(fd, tables, "CFF ", MAX_CFF_HEAD))
            + _os2_statements(_table(fd, tables, "OS/2", 78))
        )
    finally:
        os.close(fd)


def _table_places(fd: int, magic: bytes, face_index: int) -> dict[str, tuple[int, int, int]]:
    """Offset, stored length and unpacked length of each table of one face."""
    start = 0
    if magic == b"ttcf":
        count = struct.unpack(">L", os.pread(fd, 12, 0)[8:12])[0]
        if face_index >= min(count, 4096):
            return {}
        start = struct.unpack(">L", os.pread(fd, 4, 12 + 4 * face_index))[0]
    if magic == b"wOFF":
        count = min(struct.unpack(">H", os.pread(fd, 2, 12))[0], MAX_TABLES)
        raw = os.pread(fd, 20 * count, 44)
        rows = [struct.unpack(">4sLLLL", raw[i : i + 20]) for i in range(0, len(raw) - 19, 20)]
        return {tag.decode("latin-1"): (offset, packed, size) for tag, offset, packed, size, _ in rows}
    count = min(struct.unpack(">H", os.pread(fd, 2, start + 4))[0], MAX_TABLES)
    raw = os.pread(fd, 16 * count, start + 12)
    plain = [struct.unpack(">4sLLL", raw[i : i + 16]) for i in range(0, len(raw) - 15, 16)]
    return {tag.decode("latin-1"): (offset, size, size) for tag, _, offset, size in plain}


def _table(fd: int, tables: dict[str, tuple[int, int, int]], tag: str, most: int) -> bytes:
    """At most `most` bytes of a table, unpacked; b"" when it is absent."""
    if tag not in tables:
        return b""
    offset, packed, size = tables[tag]
    raw = os.pread(fd, min(packed, most), offset)
    return zlib.decompressobj().decompress(raw, most) if packed < size else raw


def _woff2_tables(fd: int) -> dict[str, bytes]:
    """WOFF2 packs all tables in one stream, so fontTools unpacks it, once its declared size is bearable."""
    if struct.unpack(">L", os.pread(fd, 4, 16))[0] > MAX_SFNT:
        return {}
    try:
        from fontTools.ttLib import TTFont

        from scanner.webfont import check_woff2

        with os.fdopen(os.dup(fd), "rb") as file:
            check_woff2(file.read(MAX_SFNT))
            file.seek(0)
            reader = TTFont(file, lazy=True).reader
            return {tag: reader[tag] for tag in ("name", "CFF ", "OS/2") if tag in reader}
    except Exception:  # fontTools and brotli raise many kinds for broken input
        return {}


def _woff2_words(fd: int) -> tuple[Evidence, ...]:
    parts = _woff2_tables(fd)
    return (
        _name_statements(parts.get("name", b"")[:MAX_NAME_TABLE])
        + _cff_statements(parts.get("CFF ", b"")[:MAX_CFF_HEAD])
        + _os2_statements(parts.get("OS/2", b"")[:78])
    )


_MAC = {0: "mac_roman", 1: "shift_jis", 2: "big5", 3: "euc_kr", 6: "mac_greek", 7: "mac_cyrillic", 25: "gb2312"}
_WIN = {2: "shift_jis", 3: "gbk", 4: "big5", 5: "euc_kr"}


def _decode(raw: bytes, platform: int, encoding: int) -> str:
    """Text of a name record (OpenType 1.9 `name`), lenient: broken bytes become U+FFFD."""
    if platform == 1:
        return raw.decode(_MAC.get(encoding, "mac_roman"), "replace")
    if platform == 3 and encoding in _WIN and b"\0" not in raw:
        return raw.decode(_WIN[encoding], "replace")
    if len(raw) > 3 and all(32 <= byte < 127 or byte in b"\r\n\t" for byte in raw):
        return raw.decode("ascii")  # seen: ASCII stored where UTF-16 belongs; it would read as Chinese
    return raw.decode("utf-16-be", "replace")


def _name_rows(table: bytes, wanted: tuple[int, ...] = ()) -> list[tuple[int, int, int, int, bytes, str]]:
    """Platform, encoding, language, name id, bytes and text of each record (of the `wanted` ids), at most MAX_NAMES."""
    if len(table) < 6:
        return []
    _, count, storage = struct.unpack(">HHH", table[:6])
    rows = []
    for row in range(min(count, MAX_NAMES, (len(table) - 6) // 12)):
        platform, encoding, language, name_id, length, offset = struct.unpack_from(">6H", table, 6 + 12 * row)
        if wanted and name_id not in wanted:
            continue
        raw = table[storage + offset : storage + offset + length]
        rows.append((platform, encoding, language, name_id, raw, _decode(raw, platform, encoding)))
    return rows


def _name_statements(table: bytes) -> tuple[Evidence, ...]:
    """Statements in a `name` table (OpenType 1.9), each text once, in the order of NAME_IDS."""
    found: dict[tuple[int, str], str] = {}
    first: set[tuple[int, int, int, int]] = set()
    for platform, encoding, language, name_id, _, decoded in _name_rows(table, NAME_IDS):
        text = decoded.strip(" \0\r\n\t")
        if text:
            key = (platform, encoding, language, name_id)
            again = ", repeated" if key in first else ""  # seen: names of features that carry a wrong id
            first.add(key)
            found.setdefault((name_id, text), f"name {name_id}{again} (platform {platform}, language 0x{language:04x})")
    ordered = sorted(found.items(), key=lambda item: NAME_IDS.index(item[0][0]))
    return tuple(Evidence("name", place, text) for (_, text), place in ordered)


def _cff_entry(data: bytes, at: int, entry: int) -> bytes:
    """One entry of the CFF INDEX at `at` (Adobe Technical Note 5176, section 5); b"" when it has no such entry."""
    count = struct.unpack_from(">H", data, at)[0]
    if not 0 <= entry < count:
        return b""
    size, base = _cff_offset_size(data, at), at + 3
    first, last = (int.from_bytes(data[base + i * size : base + (i + 1) * size], "big") for i in (entry, entry + 1))
    start = base + (count + 1) * size - 1
    return data[start + first : start + last]


def _cff_offset_size(data: bytes, at: int) -> int:
    """Bytes of an offset in the CFF INDEX at `at`: 1 to 4 (Adobe Technical Note 5176, table 2)."""
    size = data[at + 2]
    if not 1 <= size <= 4:
        raise IndexError(at)  # found by fuzzing: 255 bytes make an offset no slice can take
    return size


def _cff_after(data: bytes, at: int) -> int:
    """Offset behind the CFF INDEX at `at`."""
    count = int(struct.unpack_from(">H", data, at)[0])
    if count == 0:
        return at + 2
    size, base = _cff_offset_size(data, at), at + 3
    return base + (count + 1) * size - 1 + int.from_bytes(data[base + count * size : base + (count + 1) * size], "big")


def _cff_statements(table: bytes) -> tuple[Evidence, ...]:
    """Notice and Copyright of a CFF top dictionary (Adobe Technical Note 5176, table 9)."""
    if len(table) < 8:
        return ()
    fields = {1: "Notice", 1200: "Copyright"}
    out: list[Evidence] = []
    try:
        tops = _cff_after(table, table[2])
        strings = _cff_after(table, tops)
        for operator, operand in _cff_dict(_cff_entry(table, tops, 0)):
            if operator in fields:  # 391 standard strings come first (Appendix A)
                text = _cff_entry(table, strings, operand - 391).decode("utf-8", "replace")
                out += [Evidence("cff", f"CFF {fields[operator]}", text)] if text else []
    except (IndexError, struct.error):
        return tuple(out)
    return tuple(out)


def _cff_dict(data: bytes) -> list[tuple[int, int]]:
    """(operator, last integer operand) pairs of a CFF DICT; two-byte operators as 1200 + second byte."""
    pairs: list[tuple[int, int]] = []
    at, last = 0, 0
    while at < len(data):
        byte = data[at]
        at += 1
        if byte <= 21:
            if byte == 12 and at < len(data):
                byte, at = 1200 + data[at], at + 1
            pairs.append((byte, last))
        elif byte == 28:
            last, at = int.from_bytes(data[at : at + 2], "big", signed=True), at + 2
        elif byte == 29:
            last, at = int.from_bytes(data[at : at + 4], "big", signed=True), at + 4
        elif byte == 30:
            while at < len(data) and data[at] & 15 != 15 and data[at] >> 4 != 15:
                at += 1
            at += 1
        elif 32 <= byte <= 246:
            last = byte - 139
        elif 247 <= byte <= 254 and at < len(data):
            second, at = data[at], at + 1
            last = (byte - 247) * 256 + second + 108 if byte < 251 else -(byte - 251) * 256 - second - 108
    return pairs


def _os2_statements(table: bytes) -> tuple[Evidence, ...]:
    """Embedding bits (OpenType 1.9 `OS/2`): about documents, not goods, so they are only reported."""
    if len(table) < 10:
        return ()
    bits = struct.unpack_from(">H", table, 8)[0]
    words = [word for bit, word in ((2, "restricted"), (4, "preview and print"), (8, "editable")) if bits & bit]
    meaning = ", ".join(words) or "installable"
    return (Evidence("os2", "OS/2 fsType", f"fsType {bits} ({meaning} embedding in documents)", scope="font"),)


def read_names(path: Path, face_index: int = 0) -> tuple[tuple[int, int, int, int, bytes, str], ...]:
    """Every name record of a face: platform, encoding, language, name id, bytes, text.

    Empty for a font that cannot be read.
    """
    try:
        fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    except OSError:
        return ()
    try:
        magic = os.pread(fd, 4, 0)
        if not stat.S_ISREG(os.fstat(fd).st_mode):
            return ()
        if magic == b"wOF2":
            return tuple(_name_rows(_woff2_tables(fd).get("name", b"")[:MAX_NAME_TABLE]))
        return tuple(_name_rows(_table(fd, _table_places(fd, magic, face_index), "name", MAX_NAME_TABLE)))
    except (OSError, ValueError, struct.error, zlib.error, IndexError):
        return ()
    finally:
        os.close(fd)


def family_and_style(path: Path, face_index: int = 0) -> tuple[str, str]:
    """What a face calls itself: name IDs 16 and 17 before 1 and 2, US English first; "" when it cannot be read."""
    best: dict[int, str] = {}
    for platform, _, language, name_id, _, text in read_names(path, face_index):
        if name_id in (1, 2, 16, 17) and text.strip() and (name_id not in best or (platform, language) == (3, 0x409)):
            best[name_id] = text.strip()
    return best.get(16, best.get(1, "")), best.get(17, best.get(2, ""))


# --- beside the font ---------------------------------------------------------------------------------------------


def _beside(
    path: Path, root: Path | None, own: tuple[Evidence, ...], packages: bool, copyright_file: Path | None
) -> tuple[Evidence, ...]:
    folder = Path(os.path.abspath(path)).parent
    top = Path(os.path.abspath(root)) if root is not None else None
    out: list[Evidence] = []
    for here in folders_up(str(folder), str(top) if top else ""):
        notes = _folder_notes(here)
        out += [_placed(note, path, own, here) for note in notes]
        if any(note.source == "licence-file" for note in notes):
            break  # the nearest licence file speaks; those further up may be another project's
    if packages:
        out += _package_statements(str(folder), path.name)
        given = copyright_file or _debian_copyright(str(folder), path.name)
        if given is not None:
            out += _dep5_statements(given, path.name)
    return tuple(out)


@lru_cache(maxsize=4096)
def folders_up(folder: str, root: str) -> tuple[str, ...]:
    """The font's folder, then those above it that may hold its licence, nearest first."""
    out = [folder]
    here = Path(folder)
    if root and not here.is_relative_to(root):
        root = ""
    for _ in range(MAX_CLIMB):
        if here.parent == here:
            break
        if root and str(here) == root:
            break
        if not root and here.name.lower() not in LAYOUT_FOLDERS:
            break
        here = here.parent
        out.append(str(here))
    return tuple(out)


@lru_cache(maxsize=1)
def _patterns() -> dict[str, re.Pattern[str]]:
    return {
        "file": re.compile(rf"(?i)(?:^|[-_. (])(?:{_WORDS})(?:[-_. )0-9v]|$)|^(?:ofl|license)"),
        "faq": re.compile(r"(?i)faq|fontlog|changelog"),  # an FAQ explains a licence, it is none
        "readme": re.compile(r"(?i)readme|read[ _-]?me|liesmich|lisezmoi|leame|leggimi"),
        "generic": re.compile(
            rf"(?i){_WORDS}|open|font|fonts|public|general|creative|commons|common|attribution|by|sa|nc|nd|gnu|the|and|"
            r"free|personal|use|only|commercial|non|english|info|important|please|file|third|party|web|desktop|"
            r"txt|md|html?|rtf|pdf|docx?|rst|exception|en|de|fr|es|it|pt|ja|zh|ru|v?[\d.]+|expat|vera|bitstream"
        ),
        "token": re.compile(r"[^\W_]+"),
        "camel": re.compile(r"(?<=[a-z])(?=[A-Z])"),
        "named": re.compile(
            r"(?i)reserved font names?:? +(?:are +|is +)?[\"'“‘<]*([^\"'”’>.,;\n(]{2,40})|"
            r"\bthe ([A-Z][\w .-]{1,40}?) project authors"
        ),
    }


@lru_cache(maxsize=4096)
def _folder_notes(folder: str) -> tuple[_Note, ...]:
    """Licence and read-me files, AppStream and package.json of one folder and its `licenses/` folder."""
    kinds = _patterns()
    notes: list[_Note] = []
    here = _listing(folder)[1]
    for place in (folder, *(os.path.join(folder, name) for name in LICENCE_FOLDERS if name in here)):
        for entry in _listing(place)[0]:
            name = os.path.basename(entry)
            if not speaks_of_licence(name, place != folder):
                continue
            if name.endswith(_METAINFO):
                notes += _appstream_note(entry)
            elif name == "package.json":
                notes += _package_json_note(entry)
            else:
                source = "readme-file" if kinds["readme"].search(name) else "licence-file"
                text, whole = _read_text(entry)
                notes.append(_Note(source, entry, text, whole))
    return tuple(notes[:64])


_METAINFO = (".metainfo.xml", ".appdata.xml")


def speaks_of_licence(name: str, in_licence_folder: bool = False) -> bool:
    """Whether a file of this name beside a font is read for what it says of the licence."""
    suffix = os.path.splitext(name)[1].lower()
    if suffix in FONT_SUFFIXES or _patterns()["faq"].search(name):
        return False
    if name.endswith(_METAINFO) or name == "package.json":
        return True
    telling = in_licence_folder or _patterns()["file"].search(name) is not None
    return telling and suffix not in (".py", ".json", ".xml", ".js")


@lru_cache(maxsize=16)
def _listing(folder: str) -> tuple[tuple[str, ...], frozenset[str]]:
    """Regular files of a folder, sorted, so that no answer depends on the file system's order, and names of others."""
    files, others = [], set()
    try:
        with os.scandir(folder) as listing:
            for _, entry in zip(range(MAX_LISTED), listing, strict=False):
                if entry.is_file():
                    files.append(entry.path)
                else:
                    others.add(entry.name)
    except OSError:
        return (), frozenset()
    return tuple(sorted(files)), frozenset(others)


def _read_text(path: str) -> tuple[str, bool]:
    """Text of a file, and whether all of it was read. "" for a file that is no text."""
    try:
        fd = os.open(path, os.O_RDONLY | os.O_NONBLOCK | os.O_CLOEXEC)
    except OSError:
        return "", False
    try:
        facts = os.fstat(fd)
        if not stat.S_ISREG(facts.st_mode):
            return "", False
        raw = os.pread(fd, MAX_TEXT, 0)
        whole = facts.st_size <= MAX_TEXT
        if not whole:
            raw += b"\n\n" + os.pread(fd, MAX_TAIL, max(MAX_TEXT, facts.st_size - MAX_TAIL))
    except OSError:
        return "", False
    finally:
        os.close(fd)
    if raw[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return raw.decode("utf-16", "replace"), whole
    if b"\0" in raw or raw[:5] == b"%PDF-":
        return "", whole
    try:
        return raw.decode("utf-8-sig"), whole
    except UnicodeDecodeError:
        return raw.decode("utf-8-sig" if not whole else "cp1252", "replace"), whole


def _placed(note: _Note, path: Path, own: tuple[Evidence, ...], here: str) -> Evidence:
    """A note as evidence for one font; scope "component" when it speaks of another font, "excerpt" when words of it
    were not read: they could take a grant back, but a limit among those read holds."""
    if note.source in ("appstream", "package-json"):
        return Evidence(note.source, note.path, note.text, note.text, "statement", "unknown")
    if not note.text:
        quote = "(this file holds no readable text; open it yourself)"
        return Evidence(note.source, note.path, quote, "", "statement", "unknown")
    names = _own_names(path, own)
    scope = "component" if _names_another(note, names, own, _families(here)) else "unknown"
    if not note.whole and scope == "unknown":
        scope = "excerpt"
    return Evidence(note.source, note.path, note.text, "", "statement", scope)


@lru_cache(maxsize=8192)
def _plain(text: str) -> str:
    return "".join(_patterns()["token"].findall(text)).lower()


def _own_names(path: Path, own: tuple[Evidence, ...]) -> tuple[str, ...]:
    """The names a licence file could call this font by, without blanks and case."""
    wanted = ("name 1 ", "name 4 ", "name 16 ")
    named = [e.quote for e in own if e.locator.startswith(wanted)]
    return tuple(filter(None, (_plain(name) for name in (*named, re.split(r"[-_\[]", path.stem)[0]))))


@lru_cache(maxsize=4096)
def _families(folder: str) -> tuple[str, ...]:
    """Families by file name in a folder: what stands before the first `-`, `_` or `[`."""
    stems = (os.path.splitext(os.path.basename(entry)) for entry in _listing(folder)[0])
    return tuple(sorted({_plain(re.split(r"[-_\[]", stem)[0]) for stem, end in stems if end.lower() in FONT_SUFFIXES}))


def _names_another(note: _Note, names: tuple[str, ...], own: tuple[Evidence, ...], families: tuple[str, ...]) -> bool:
    """Whether a file's name or its heading ties it to a font that is not this one.

    Its name: what is left of `OFL-Marmalade.txt` once licence words are gone. Its heading: another family of the folder
    or a font that the licence names there, when this font's own names and notices do not appear.
    """
    kinds = _patterns()
    stem = kinds["camel"].sub(" ", os.path.splitext(os.path.basename(note.path))[0])
    left = [t for t in kinds["token"].findall(stem) if not kinds["generic"].fullmatch(t)]
    tag = "".join(left).lower()
    if tag and not any(tag in name or name in tag for name in names):
        others = [family for family in families if family and (family in tag or tag in family)]
        return bool(others) or len(families) > 1
    head = note.text[:3000]
    heading = _plain(head)
    if any(len(name) > 2 and name in heading for name in names):
        return False
    first = _plain(note.text[:400])
    if any(len(family) > 4 and family in first for family in families):  # > 4: "sans" or "open" is no name
        return True
    named = _named_in(head)
    if not named or any(n in name or name in n for n in named for name in names):
        return False
    own_text = _plain(" ".join(e.quote for e in own if e.locator.startswith(("name 0 ", "name 13 ", "CFF"))))
    return not any(len(n) > 2 and n in own_text for n in named)


@lru_cache(maxsize=1024)
def _named_in(head: str) -> frozenset[str]:
    """The fonts that the heading of a licence names, without blanks and case."""
    return frozenset(_plain(a or b) for a, b in _patterns()["named"].findall(head)) - {"", "s"}


# --- package metadata --------------------------------------------------------------------------------------------


def _appstream_note(path: str) -> list[_Note]:
    """`project_license` of AppStream metainfo; `metadata_license` is the metadata's own and is left out."""
    text, _ = _read_text(path)
    hit = re.search(r"<project_license>\s*([^<]{1,200}?)\s*</project_license>", text)
    return [_Note("appstream", path, hit[1], True)] if hit else []


def _package_json_note(path: str) -> list[_Note]:
    try:
        data = json.loads(_read_text(path)[0])
    except (ValueError, RecursionError):
        return []
    licence = data.get("license") if isinstance(data, dict) else None
    if isinstance(licence, dict):
        licence = licence.get("type")
    return [_Note("package-json", path, licence[:200], True)] if isinstance(licence, str) and licence else []


@lru_cache(maxsize=4096)
def _package_statements(folder: str, name: str) -> list[Evidence]:
    """`License-Expression` of the installed Python package whose folder holds the font (PEP 639)."""
    here = Path(folder)
    for top in (here, *list(here.parents)[:MAX_CLIMB]):
        for info in _dist_infos(str(top.parent)).get(top.name.lower(), ()):
            hit = re.search(r"(?im)^License-Expression:[ \t]*(.{1,200}?)\s*$", _read_text(info)[0].split("\n\n")[0])
            if hit:
                return [Evidence("dist-info", info, hit[1], hit[1], "statement", "unknown")]
    return []


@lru_cache(maxsize=256)
def _dist_infos(folder: str) -> dict[str, tuple[str, ...]]:
    """METADATA paths in a folder by the import name that their distribution name implies."""
    out: dict[str, tuple[str, ...]] = {}
    try:
        with os.scandir(folder) as listing:
            for _, entry in zip(range(MAX_LISTED), listing, strict=False):
                if entry.name.endswith(".dist-info"):
                    out[package_key(entry.name)] = (os.path.join(entry.path, "METADATA"),)
    except OSError:
        return {}
    return out


def package_key(dist_info: str) -> str:
    """The import name that the name of a `.dist-info` folder implies, in small letters."""
    return re.sub(r"[-_.]+", "_", dist_info[:-10].rsplit("-", 1)[0]).lower()


@lru_cache(maxsize=64)
def _debian_owners(info: str) -> dict[str, str]:
    """Font path -> Debian package, from dpkg's file lists of font packages."""
    out: dict[str, str] = {}
    for entry in _listing(info)[0]:
        base = os.path.basename(entry)
        if base.endswith(".list") and re.match(r"(fonts|ttf|otf|xfonts|texlive|t1|gsfonts)", base):
            text = _read_all(entry)
            for line in text.splitlines():
                if line.startswith("/usr/share/") and os.path.splitext(line)[1].lower() in FONT_SUFFIXES:
                    out[line] = base[:-5].split(":")[0]
    return out


def _read_all(path: str) -> str:
    try:
        return Path(path).read_text("utf-8", "replace")
    except OSError:
        return ""


def _debian_copyright(folder: str, name: str) -> Path | None:
    """The copyright file of the Debian package that installed this font, when one did."""
    if not folder.startswith("/usr/share/"):
        return None
    package = _debian_owners("/var/lib/dpkg/info").get(f"{folder}/{name}")
    found = Path("/usr/share/doc") / package / "copyright" if package else None
    return found if found is not None and found.is_file() else None


@lru_cache(maxsize=1024)
def _dep5_paragraphs(path: str) -> tuple[tuple[tuple[str, ...], str, str], ...]:
    """(globs, licence short name, licence text) of each Files paragraph of a DEP-5 file; () when it is not DEP-5."""
    text, _ = _read_text(path)
    if not re.match(r"(?i)\s*format(-specification)?:", text):
        return ()
    try:
        from debian_inspector.copyright import DebianCopyright

        paragraphs = DebianCopyright.from_text(text).paragraphs
    except Exception:  # a foreign parser on foreign text
        return ()
    rows: list[tuple[tuple[str, ...], str, str]] = []
    for paragraph in paragraphs:
        globs = getattr(getattr(paragraph, "files", None), "values", None)
        licence = getattr(paragraph, "license", None)
        name = getattr(licence, "name", "") or ""
        if globs and name:
            rows.append((tuple(globs), name, getattr(licence, "text", "") or ""))
    return tuple(rows)


@lru_cache(maxsize=8192)
def _dep5_statements(path: Path, name: str) -> list[Evidence]:
    """Statements of a copyright file about the font file `name` (Debian copyright format 1.0: the last match rules).

    The font's place in the source is not known, only its file name: a glob that names files is compared with that; a
    bare folder (`debian/*`) might hold anything and is quoted with scope "component".
    """
    rows = _dep5_paragraphs(str(path))
    if not rows:
        text, whole = _read_text(str(path))
        return [Evidence("licence-file", str(path), text, "", "statement", "unknown")] if text and whole else []
    chosen: int | None = None
    for number, (globs, _, _) in enumerate(rows):
        if any(glob == "*" or _glob_names(glob, name) for glob in globs):
            chosen = number
    out: list[Evidence] = []
    for number, (globs, licence, body) in enumerate(rows):
        place = f"{path} (Files: {' '.join(globs)[:80]})"
        scope = "font" if number == chosen else "component"
        if number == chosen or (chosen is None and not all(g.startswith("debian/") for g in globs)):
            out.append(Evidence("dep5", place, f"License: {licence}\n\n{body}".strip(), licence, "statement", scope))
    return out


def _glob_names(glob: str, name: str) -> bool:
    last = glob.rsplit("/", 1)[-1]
    return last not in ("*", "", "*.*") and fnmatch.fnmatch(name, last)


def forget_folders() -> None:
    """Drops what was remembered of folders: call it at the start of a scan, for folders change between scans."""
    for cached in (
        folders_up,
        _listing,
        _folder_notes,
        _families,
        _package_statements,
        _dist_infos,
        _debian_owners,
        _dep5_paragraphs,
        _dep5_statements,
    ):
        cached.cache_clear()
