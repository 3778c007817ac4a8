"""All that a font file says of itself: names, CFF notices, `meta`, embedding bits, and the names of file and folder."""

from __future__ import annotations

import os
import struct
from pathlib import Path

from scanner.evidence.cff import cff_statements
from scanner.evidence.folder import LAYOUT_FOLDERS
from scanner.evidence.names import name_statements
from scanner.evidence.package import package_of
from scanner.evidence.sfnt import web_metadata, word_tables
from scanner.evidence.statement import Evidence
from scanner.evidence.textfile import html_text

MAX_TAGS = 64  # entries of a `meta` table; OpenType 1.9 defines two


def own_statements(path: Path, face_index: int) -> tuple[Evidence, ...]:
    """Statements in one face of a font file; () for a font that cannot be read."""
    tables = word_tables(path, face_index)
    try:
        return (
            name_statements(tables.get("name", b""))
            + cff_statements(tables.get("CFF ", b""))
            + meta_statements(tables.get("meta", b""))
            + _os2_statements(tables.get("OS/2", b""))
            + _web_statements(path)
        )
    except (ValueError, struct.error, IndexError):
        return ()


def _web_statements(path: Path) -> tuple[Evidence, ...]:
    """Words of a web font's metadata block."""
    if path.suffix.lower() not in (".woff", ".woff2"):
        return ()
    text = html_text(web_metadata(path)).strip()
    return (Evidence("meta", "WOFF metadata", text),) if text else ()


def label_statements(path: Path, folders: tuple[str, ...], families: int, root: str = "") -> tuple[Evidence, ...]:
    """The font file's name, and those of the folders it lies in: "PersonalUse" stands there too.

    The innermost folder that bears a name of its own may be the archive as its maker named it, when it holds one
    family (`families`) and no package manager laid it down; others, and the scanned folder `root`, are named by
    whoever keeps the fonts.
    """
    packaged = _is_packaged(path)
    named = [Evidence("packaged-name" if packaged else "file-name", "the font file's name", path.stem)]
    kept = families == 1 and not packaged
    for folder in folders:
        name = Path(folder).name
        if name:
            own = kept and folder != root and name.lower() not in LAYOUT_FOLDERS
            kept = kept and not own
            named.append(Evidence("archive-name" if own else "folder-name", f"the name of the folder {name}", name))
    return tuple(named)


def _is_packaged(path: Path) -> bool:
    """Whether a package manager laid a font down: its folders bear the packager's names."""
    parts = Path(os.path.abspath(path)).parts
    if "share" in parts and parts[max(0, parts.index("share") - 1)] in ("usr", "local"):
        return True
    return package_of(str(Path(os.path.abspath(path)).parent))[0] != ""


def meta_statements(table: bytes) -> tuple[Evidence, ...]:
    """Texts of a `meta` table (OpenType 1.9) but its lists of scripts (`dlng`, `slng`)."""
    if len(table) < 16:
        return ()
    count = min(struct.unpack_from(">L", table, 12)[0], MAX_TAGS, (len(table) - 16) // 12)
    out: list[Evidence] = []
    for row in range(count):
        tag, offset, length = struct.unpack_from(">4sLL", table, 16 + 12 * row)
        text = table[offset : offset + length].decode("utf-8", "replace").strip(" \0\r\n\t")
        if text and tag not in (b"dlng", b"slng") and text.isprintable():
            out.append(Evidence("meta", f"meta {tag.decode('latin-1')}", text))
    return tuple(out)


def _os2_statements(table: bytes) -> tuple[Evidence, ...]:
    """Embedding bits (OpenType 1.9 `OS/2`): about documents, not goods, so they are only reported."""
    if len(table) < 10:
        return ()
    bits = struct.unpack_from(">H", table, 8)[0]
    words = [word for bit, word in ((2, "restricted"), (4, "preview and print"), (8, "editable")) if bits & bit]
    meaning = ", ".join(words) or "installable"
    return (Evidence("os2", "OS/2 fsType", f"fsType {bits} ({meaning} embedding in documents)", scope="font"),)
