"""What lies beside a font: every text of its own folder, and the licence files of its package above.

A file's name does not decide whether it is read, only whether it may grant: a licence file may, any text may limit.
A file that is tied by its name to another font of the folder speaks of that one.
"""

from __future__ import annotations

import os
import re
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from scanner.evidence.statement import Evidence
from scanner.evidence.textfile import CLOSED, MAX_OTHER, MAX_TEXT, read_text

MAX_CLIMB = 6  # folders above the font that are searched, when the scanned root is that far away
MAX_LISTED = 20000  # entries of one folder that are looked at
MAX_NOTES = 64  # texts of one folder that are read; when there are more, that is said and asks

LAYOUT_FOLDERS = frozenset((
    "fonts", "font", "ttf", "otf", "woff", "woff2", "ttc", "files", "static", "variable", "vf", "webfonts", "web",
    "desktop", "truetype", "opentype",
))  # fmt: skip
FONT_SUFFIXES = frozenset((".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2"))
LICENCE_FOLDERS = ("licenses", "licences", "license", "licence", "LICENSES", "LICENSE", "Licenses")
METAINFO = (".metainfo.xml", ".appdata.xml")
NO_TEXT = frozenset((
    ".ttf", ".otf", ".ttc", ".otc", ".woff", ".woff2", ".eot", ".pfb", ".pfa", ".pfm", ".afm", ".t1", ".pcf", ".bdf",
    ".otb", ".fon", ".fnt", ".dfont", ".suit", ".ttx", ".sfd", ".svg", ".ufo", ".glyphs", ".vfb", ".vfc",
    ".designspace", ".png", ".jpg", ".jpeg", ".gif", ".webp", ".ico", ".bmp", ".tif", ".tiff", ".psd", ".ai", ".eps",
    ".mp4", ".mov", ".zip", ".gz", ".bz2", ".xz", ".tar", ".7z", ".rar", ".py", ".pyc", ".js", ".ts", ".css", ".scss",
    ".less", ".json", ".xml", ".toml", ".cfg", ".conf", ".sh", ".bat", ".pl", ".rb", ".php", ".java", ".class", ".c",
    ".h", ".cpp", ".so", ".dll", ".exe", ".map", ".csv", ".tsv", ".db", ".sqlite", ".lock", ".log", ".sum", ".asc",
    ".sig", ".fea", ".enc", ".tfm", ".vf", ".sty", ".tex", ".fd", ".cls", ".dtx", ".ins", ".uuid", ".list", ".dir",
    ".scale", ".cache",
))  # fmt: skip
"""Endings of files that hold no words for people."""
_CLOSED_TEXT = frozenset((".doc", ".docx", ".odt", ".pages", ".wps", ".wpd"))
DATA = frozenset((".url", ".webloc", ".plist", ".pb", ".ini", ".yaml", ".yml", ".desktop"))
"""Endings of files for programs that hold words for people too; they never grant."""
_PICTURES = frozenset((".png", ".jpg", ".jpeg", ".gif", ".webp", ".bmp", ".tif", ".tiff"))

_LICENCE_WORDS = (
    "license", "licence", "licenses", "licences", "unlicense", "licensing", "lizenz", "lizenztext", "licencia",
    "licenza", "licença", "copying", "copyright", "ofl", "sil", "eula", "gpl", "lgpl", "agpl", "ufl", "apache", "mit",
    "bsd", "cc", "terms", "legal", "notice", "lppl", "gust",
    "使用許諾", "ライセンス", "利用規約", "许可", "授权", "лицензия",
)  # fmt: skip
_ABOUT = re.compile(r"(?i)faq|fontlog|changelog")  # such a text explains a licence or tells of the work: it is none
_WORD = re.compile(r"[^\W\d_]+")
_CAMEL = re.compile(r"(?<=[a-z])(?=[A-Z])")
_TOKEN = re.compile(r"[^\W_]+")
_RESERVED = re.compile(r"(?i)reserved font names?:? +(?:are +|is +)?[\"'“‘<]*([^\"'”’>.,;\n(]{2,40})")
_PROJECT = re.compile(r"\b[Tt]he ([A-Z][\w .-]{1,40}?) [Pp]roject [Aa]uthors")
_STEM = re.compile(r"[-_\[]")


class Note(NamedTuple):
    """A text beside the font, read once for each folder."""

    source: str
    path: str
    text: str
    whole: bool


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


def is_licence_name(name: str) -> bool:
    """Whether a file of this name is a licence file, which may grant."""
    low = {word.lower() for word in _WORD.findall(_CAMEL.sub(" ", name))}
    return bool(low & set(_LICENCE_WORDS)) or name.lower().startswith(("ofl", "license"))


def speaks_of_licence(name: str, in_own_folder: bool = True) -> bool:
    """Whether a file of this name beside a font is read for what it says; in folders above only licence files are."""
    suffix = os.path.splitext(name)[1].lower()
    if name.endswith(METAINFO) or name == "package.json":
        return True
    if name.startswith("."):
        return False
    if suffix in _PICTURES:
        return is_licence_name(os.path.splitext(name)[0])  # a picture of a licence: nobody reads it here
    if suffix in NO_TEXT:
        return False
    return in_own_folder or is_licence_name(name)


@lru_cache(maxsize=16)
def listing(folder: str) -> tuple[tuple[str, ...], frozenset[str]]:
    """Regular files of a folder, sorted, so that no answer depends on the file system's order, and names of others."""
    files, others = [], set()
    try:
        with os.scandir(folder) as entries:
            for _, entry in zip(range(MAX_LISTED), entries, strict=False):
                if entry.is_file():
                    files.append(entry.path)
                else:
                    others.add(entry.name)
    except OSError:
        return (), frozenset()
    return tuple(sorted(files)), frozenset(others)


@lru_cache(maxsize=4096)
def folder_notes(folder: str, own: bool) -> tuple[Note, ...]:
    """Texts of one folder and its `licenses/` folder; in a folder above the font's own only licence files."""
    notes: list[Note] = []
    here = listing(folder)[1]
    for place in (folder, *(os.path.join(folder, name) for name in LICENCE_FOLDERS if name in here)):
        for entry in listing(place)[0]:
            name = os.path.basename(entry)
            if len(notes) > MAX_NOTES:
                return (*notes, Note("text-file", folder, "", False))
            if speaks_of_licence(name, own or place != folder) and not name.endswith((*METAINFO, "package.json")):
                notes.append(_note(entry, name, place != folder))
    return tuple(notes)


def _note(path: str, name: str, in_licence_folder: bool) -> Note:
    if os.path.splitext(name)[1].lower() in DATA:
        return Note("data-file", path, *read_text(path, MAX_OTHER))
    licence = in_licence_folder or is_licence_name(name)
    if os.path.splitext(name)[1].lower() in _CLOSED_TEXT | _PICTURES:
        return Note("licence-file" if licence else "text-file", path, "", True)
    text, whole = read_text(path, MAX_TEXT if licence else MAX_OTHER)
    return Note("licence-file" if licence else "text-file", path, text, whole)


def beside_statements(path: Path, folders: tuple[str, ...], own: tuple[Evidence, ...]) -> tuple[Evidence, ...]:
    """Statements of the texts in the font's folder and of the nearest licence file above."""
    out: list[Evidence] = []
    for number, here in enumerate(folders):
        notes = folder_notes(here, number == 0)
        out += [_placed(note, path, own, here) for note in notes]
        out += [Evidence("beside-name", n.path, os.path.splitext(os.path.basename(n.path))[0]) for n in notes if n.text]
        out += _other_names(here) if number == 0 else []
        if any(note.source == "licence-file" for note in notes):
            break  # the nearest licence file speaks; those further up may be another project's
    return tuple(out)


def _other_names(folder: str) -> list[Evidence]:
    """Names of pictures and archives in the font's folder: "PERSONAL USE.jpg" says it without a word inside."""
    named = [os.path.splitext(os.path.basename(path)) for path in listing(folder)[0]]
    told = [stem for stem, end in named if end.lower() in _PICTURES or end.lower() in (".zip", ".rar", ".7z")]
    return [Evidence("beside-name", folder, stem) for stem in told[:MAX_NOTES]]


def _placed(note: Note, path: Path, own: tuple[Evidence, ...], here: str) -> Evidence:
    """A note as evidence for one font; scope "component" when it speaks of another font, "excerpt" when words of it
    were not read: they could take a grant back, but a limit among those read holds."""
    names = own_names(path, own)
    if _tied_to_another(note.path, names, families_in(here)):
        return Evidence(note.source, note.path, note.text or CLOSED, "", "statement", "component")
    if not note.text:
        empty = note.whole and os.path.isfile(note.path) and os.path.getsize(note.path) == 0
        return Evidence(note.source, note.path, "(empty)" if empty else CLOSED, "", "statement", "unknown")
    about = _ABOUT.search(os.path.basename(note.path)) is not None
    scope = "excerpt" if not note.whole else "other" if about or _heads_another(note, names, own, here) else "unknown"
    return Evidence(note.source, note.path, note.text, "", "statement", scope)


@lru_cache(maxsize=8192)
def _plain(text: str) -> str:
    return "".join(_TOKEN.findall(text)).lower()


def own_names(path: Path, own: tuple[Evidence, ...]) -> tuple[str, ...]:
    """The names a licence file could call this font by, without blanks and case."""
    wanted = ("name 1 ", "name 4 ", "name 16 ")
    named = [e.quote for e in own if e.locator.startswith(wanted)]
    return tuple(filter(None, (_plain(name) for name in (*named, _STEM.split(path.stem)[0]))))


@lru_cache(maxsize=4096)
def families_in(folder: str) -> tuple[str, ...]:
    """Families by file name in a folder: what stands before the first `-`, `_` or `[`."""
    stems = (os.path.splitext(os.path.basename(entry)) for entry in listing(folder)[0])
    return tuple(sorted({_plain(_STEM.split(stem)[0]) for stem, end in stems if end.lower() in FONT_SUFFIXES}))


def _tied_to_another(path: str, names: tuple[str, ...], families: tuple[str, ...]) -> bool:
    """Whether a file's name ties it to another font of the folder, as `OFL-Marmalade.txt` does."""
    tag = _plain(os.path.splitext(os.path.basename(path))[0])
    if any(len(name) > 2 and name in tag for name in names):
        return False
    return any(len(family) > 3 and family in tag for family in families)


def _heads_another(note: Note, names: tuple[str, ...], own: tuple[Evidence, ...], here: str) -> bool:
    """Whether a licence file's heading names another font of the folder, or one that is not this font: then it grants
    nothing here."""
    head = note.text[:3000]
    heading = _plain(head)
    if any(len(name) > 2 and name in heading for name in names):
        return False
    first = _plain(note.text[:400])
    if any(len(family) > 4 and family in first for family in families_in(here)):  # > 4: "sans" or "open" is no name
        return True
    named = _named_in(head)
    if not named or any(n in name or name in n for n in named for name in names):
        return False
    own_text = _plain(" ".join(e.quote for e in own if e.locator.startswith(("name 0 ", "name 13 ", "CFF"))))
    return not any(len(n) > 2 and n in own_text for n in named)


@lru_cache(maxsize=1024)
def _named_in(head: str) -> frozenset[str]:
    """The fonts that the heading of a licence names, without blanks and case."""
    return frozenset(_plain(n) for n in (*_RESERVED.findall(head), *_PROJECT.findall(head))) - {"", "s"}


def forget_folders() -> None:
    """Drops what was remembered of folders and their texts."""
    for cached in (folders_up, listing, folder_notes, families_in, read_text):
        cached.cache_clear()
