"""A face's font as a file of this machine, as it was scanned: the file itself, or a copy of what lies in a store, kept
in a cache folder. Whoever opens a font of the catalogue comes through here.

Copies are kept by what is in them. Each file appears under its name by one rename and the font comes last, so a font
that is there is whole and so is what lies next to it. Nothing is taken away or changed: several programs may share the
copies and fetch the same font at once, and the folder may be deleted at any time.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Mapping
from pathlib import Path

from catalogue.folders import cache_folder
from catalogue.store.face import Face
from catalogue.store.rows import is_digest
from scanner.files import is_address, read_font, shown_path
from scanner.reasons import FileError, FontError
from scanner.workers.scratch import Scratch


def font_file(face: Face) -> Path:
    """Where the font can be opened; fetched once from a store.

    Raises FontError when it is gone, cannot be fetched, or is not the font that was scanned.
    """
    if not is_address(face.path):
        demand_as_scanned(face)
        return Path(face.path)
    if not is_digest(face.digest):
        raise FontError(f"{face.path}: the catalogue has no digest of it; scan its address again")
    from scanner.workers.remote import copied_to  # only for stores

    kept = copied_to(cache_folder() / face.digest[:32], face.path)
    return kept if kept.is_file() else _fetched(face)


def font_with_notices(face: Face) -> Path:
    """The font next to the files that may speak of its licence, as they are in the store at this moment.

    Raises FontError as ``font_file``.
    """
    font = font_file(face)
    return _fetched(face, {face.path: font.read_bytes()}) if is_address(face.path) else font


def demand_as_scanned(face: Face) -> None:
    """Raise FontError when the file of a face is gone or has changed; a font in a store is compared when it is fetched.

    Its bytes are read only where size or time differ from the scan.
    """
    path = Path(face.path)
    try:
        if is_address(face.path):
            return
        now = path.stat()
        if (now.st_size, now.st_mtime_ns) == (face.size, face.mtime_ns):
            return
        if now.st_size == face.size and hashlib.sha256(read_font(path)).hexdigest() == face.digest:
            return  # copied or touched
    except FileNotFoundError as cause:
        raise FontError(f"{path}: gone since the scan; scan its folder again") from cause
    except OSError as cause:
        raise FontError(f"{path}: cannot be read; check that you may open it") from cause
    except FileError as cause:
        raise FontError(f"{path}: changed since the scan; scan its folder again") from cause
    raise FontError(f"{path}: changed since the scan; scan its folder again")


def _fetched(face: Face, known: Mapping[str, bytes] | None = None) -> Path:
    """A copy of the font; with its notices when its bytes are known."""
    from scanner.workers.listing import near  # only for stores
    from scanner.workers.remote import copied_to, mirror

    cache = cache_folder()
    cache.mkdir(parents=True, exist_ok=True)
    with Scratch(cache) as folder:
        copy = folder / "copy"
        try:
            copies, refused = mirror([near(face.path, notices=known is not None)], copy, known or {})
        except FileError as cause:
            raise FontError(str(cause)) from cause
        if refused:
            raise FontError(f"{shown_path(face.path)}: {refused[0][1]}")
        font = copies[0].path
        if hashlib.sha256(font.read_bytes()).hexdigest() != face.digest:
            raise FontError(f"{face.path}: changed since the scan; scan its address again")
        target = cache / (face.digest[:32] if known is None else _contents(copy))
        for file in sorted(_files(copy), key=lambda file: file == font):
            to = target / file.relative_to(copy)
            to.parent.mkdir(parents=True, exist_ok=True)
            os.replace(file, to)  # should another program have put it there, with the same bytes
        return copied_to(target, face.path)


def _files(folder: Path) -> list[Path]:
    return sorted(p for p in folder.rglob("*") if p.is_file())


def _contents(folder: Path) -> str:
    """A name made of all names and bytes in a folder."""
    parts = [f"{p.relative_to(folder)}\0{hashlib.sha256(p.read_bytes()).hexdigest()}\n" for p in _files(folder)]
    return hashlib.sha256("".join(parts).encode()).hexdigest()[:32]
