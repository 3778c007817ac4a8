"""Debian's copyright files: the package that installed a font, and what its file says of it."""

from __future__ import annotations

import fnmatch
import os
import re
from functools import lru_cache
from pathlib import Path
from typing import NamedTuple

from scanner.evidence.folder import FONT_SUFFIXES, listing
from scanner.evidence.statement import Evidence
from scanner.evidence.textfile import read_text

_FORMAT = re.compile(r"(?i)\s*format(-specification)?:")
_FONT_PACKAGE = re.compile(r"(fonts|ttf|otf|xfonts|texlive|t1|gsfonts)")
_STATUS = Path("/var/lib/dpkg/status")


class Paragraph(NamedTuple):
    """A Files paragraph of a DEP-5 file."""

    globs: tuple[str, ...]
    licence: str
    """Short name."""
    body: str


@lru_cache(maxsize=64)
def _owners(info: str) -> dict[str, str]:
    """Font path -> Debian package, from dpkg's file lists of font packages."""
    out: dict[str, str] = {}
    for entry in listing(info)[0]:
        base = os.path.basename(entry)
        if base.endswith(".list") and _FONT_PACKAGE.match(base):
            for line in _read_all(entry).splitlines():
                if line.startswith("/usr/share/") and os.path.splitext(line)[1].lower() in FONT_SUFFIXES:
                    out[line] = base[:-5].split(":")[0]
    return out


def _read_all(path: str) -> str:
    try:
        return Path(path).read_text("utf-8", "replace")
    except OSError:
        return ""


def debian_package(folder: str, name: str) -> str:
    """The Debian package that installed a font; "" for none."""
    return _owners("/var/lib/dpkg/info").get(f"{folder}/{name}", "") if folder.startswith("/usr/share/") else ""


@lru_cache(maxsize=64)
def debian_version(package: str) -> str:
    """Version of an installed Debian package, from dpkg's own list; "" when it is not there."""
    text = _read_all(str(_STATUS))
    at = text.find(f"\nPackage: {package}\n")
    entry = text[at + 1 : text.find("\n\n", at + 1)] if at >= 0 or text.startswith(f"Package: {package}\n") else ""
    hit = re.search(r"(?m)^Version: (.+)$", entry)
    return hit[1] if hit else ""


def debian_copyright(folder: str, name: str) -> Path | None:
    """The copyright file of the Debian package that installed this font, when one did."""
    package = debian_package(folder, name)
    found = Path("/usr/share/doc") / package / "copyright" if package else None
    return found if found is not None and found.is_file() else None


@lru_cache(maxsize=1024)
def dep5_paragraphs(path: str) -> tuple[Paragraph, ...]:
    """The Files paragraphs of a DEP-5 file; () when it is not DEP-5."""
    text, _ = read_text(path)
    if not _FORMAT.match(text):
        return ()
    try:
        from debian_inspector.copyright import DebianCopyright  # loaded only for such a file

        paragraphs = DebianCopyright.from_text(text).paragraphs
    except Exception:  # a foreign parser on foreign text
        return ()
    rows: list[Paragraph] = []
    for paragraph in paragraphs:
        globs = getattr(getattr(paragraph, "files", None), "values", None)
        licence = getattr(paragraph, "license", None)
        name = getattr(licence, "name", "") or ""
        if globs and name:
            rows.append(Paragraph(tuple(globs), name, getattr(licence, "text", "") or ""))
    return tuple(rows)


@lru_cache(maxsize=8192)
def dep5_statements(path: Path, name: str) -> tuple[Evidence, ...]:
    """Statements of a copyright file about the font file `name` (Debian copyright format 1.0: the last match rules).

    The font's place in the source is not known, only its file name: a glob that names files is compared with that; a
    bare folder (`debian/*`) might hold anything and is quoted with scope "component".
    """
    rows = dep5_paragraphs(str(path))
    if not rows:
        text, whole = read_text(str(path))
        return (Evidence("copyright-file", str(path), text, "", "statement", "unknown"),) if text and whole else ()
    chosen: int | None = None
    for number, row in enumerate(rows):
        if any(glob == "*" or _glob_names(glob, name) for glob in row.globs):
            chosen = number
    out: list[Evidence] = []
    for number, row in enumerate(rows):
        place = f"{path} (Files: {' '.join(row.globs)[:80]})"
        scope = "font" if number == chosen else "component"
        if number == chosen or (chosen is None and not all(g.startswith("debian/") for g in row.globs)):
            said = f"License: {row.licence}\n\n{row.body}".strip()
            out.append(Evidence("dep5", place, said, row.licence, "statement", scope))
    return tuple(out)


def _glob_names(glob: str, name: str) -> bool:
    last = glob.rsplit("/", 1)[-1]
    return last not in ("*", "", "*.*") and fnmatch.fnmatch(name, last)


def forget_copyrights() -> None:
    """Drops what was remembered of copyright files."""
    for cached in (_owners, dep5_paragraphs, dep5_statements, debian_version):
        cached.cache_clear()
