"""A face's font as a file of this machine: the file itself, or a copy of what lies in a store, kept in a cache folder.

Copies are kept by what is in them. Each file appears under its name by one rename and the font comes last, so a font
that is there is whole and so is what lies beside it. Nothing is taken away or changed: several programs may share the
copies and fetch the same font at once, and the folder may be deleted at any time.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Mapping
from pathlib import Path

from catalogue.folders import cache_folder
from catalogue.store.database import Face, is_digest
from scanner.files import is_address, shown_path
from scanner.reasons import FileError, FontError
from scanner.workers.scratch import Scratch


def font_file(face: Face) -> Path:
    """Where the font can be opened; fetched once from a store. Raises FontError when that does not go."""
    if not is_address(face.path):
        return Path(face.path)
    if not is_digest(face.digest):
        raise FontError(f"{face.path}: the catalogue has no digest of it; scan its address again")
    from scanner.workers.remote import copied_to

    kept = copied_to(cache_folder() / face.digest[:32], face.path)
    return kept if kept.is_file() else _fetched(face)


def font_with_notices(face: Face) -> Path:
    """The same with the files beside it that may speak of its licence, as they are in the store at this moment."""
    if not is_address(face.path):
        return Path(face.path)
    return _fetched(face, {face.path: font_file(face).read_bytes()})


def _fetched(face: Face, known: Mapping[str, bytes] | None = None) -> Path:
    """A copy of the font; with its notices when its bytes are known."""
    from scanner.workers.remote import copied_to, mirror, near

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
            raise FontError(f"{face.path}: has changed since the scan; scan its address again")
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
