"""Statements about a font's licence, collected from disk: the font, its folder, its package.

The flow: `read_evidence` opens one face with a bounded reader (`font`, `sfnt`, `names`, `cff`), then looks at every
text of its folder and the licence files above (`folder`, `textfile`), package metadata (`package`) and Debian's
copyright files (`debian`). Each statement becomes one `Evidence` with its place and its raw words.

This room only reads and quotes. It leaves `claim`, `polarity` and `scope` open ("", "statement", "unknown"), save
where the place itself decides them (a file that names another font has scope "component"; a field that is
machine-readable carries its expression as claim). `catalogue.licence` reads the words, for it holds the tables.
A font that cannot be read gives fewer statements, never an exception: hostile files are expected here.
"""

from __future__ import annotations

import os
from pathlib import Path

from scanner.evidence import debian, folder, package
from scanner.evidence.folder import (
    LICENCE_FOLDERS,
    MAX_CLIMB,
    MAX_LISTED,
    folders_up,
    speaks_of_licence,
)
from scanner.evidence.font import label_statements, own_statements
from scanner.evidence.names import NameRow, family_and_style, read_names
from scanner.evidence.package import package_key
from scanner.evidence.statement import Evidence
from scanner.evidence.textfile import MAX_TAIL, MAX_TEXT, read_text

__all__ = [
    "LICENCE_FOLDERS",
    "MAX_CLIMB",
    "MAX_LISTED",
    "MAX_TAIL",
    "MAX_TEXT",
    "Evidence",
    "NameRow",
    "family_and_style",
    "folders_up",
    "forget_folders",
    "given_statement",
    "package_key",
    "read_evidence",
    "read_names",
    "speaks_of_licence",
]


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
    own = own_statements(path, face_index)
    here = Path(os.path.abspath(path)).parent
    top = os.path.abspath(root) if root is not None else ""
    folders = folders_up(str(here), top)
    try:
        out = (
            own
            + label_statements(path, folders, len(folder.families_in(str(here))), top)
            + folder.beside_statements(path, folders, own)
        )
        if not packages:
            return out
        given = copyright_file or debian.debian_copyright(str(here), path.name)
        for above in folders:
            out += package.metadata_statements(above)
        return out + package.package_statements(str(here)) + (debian.dep5_statements(given, path.name) if given else ())
    except OSError:
        return own


def given_statement(path: Path) -> Evidence:
    """A licence text that the seller got with the font, from a file of any kind that can be read.

    :raises ValueError: when it holds no text; the message names the file and says what to do.
    """
    text, whole = read_text(str(path))
    if not text.strip():
        raise ValueError(f"{path}: no text could be read in it; give the licence as a text, HTML, RTF or PDF file")
    return Evidence("given", str(path), text, "", "statement", "unknown" if whole else "excerpt")


def forget_folders() -> None:
    """Drops what was remembered of folders: call it at the start of a scan, for folders change between scans."""
    folder.forget_folders()
    package.forget_packages()
    debian.forget_copyrights()
