"""Opened fonts of catalogue faces, the last few kept open."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

from catalogue.store.database import Face
from catalogue.store.font_cache import font_file
from scanner.lettering import Typesetter
from scanner.shaping import FontError, Shaper


@lru_cache(maxsize=32)
def open_face(path: str, face_index: int, coordinates: tuple[tuple[str, float], ...], digest: str = "") -> Typesetter:
    """A typesetter for a font file; ``digest`` keeps a file apart from what lay under its name before.

    Raises FontError that names the file when it is gone or unreadable.
    """
    try:
        return Typesetter(Shaper.open(Path(path), face_index, dict(coordinates)))
    except FileNotFoundError as cause:
        raise FontError(f"{path}: gone since the scan; scan its folder again") from cause
    except OSError as cause:
        raise FontError(f"{path}: cannot be read; check that you may open it") from cause


def typesetter(face: Face) -> Typesetter:
    """The typesetter of a catalogue face. Raises FontError that names the file when it is gone or unreadable."""
    return open_face(str(font_file(face)), face.face_index, tuple(sorted(face.coordinates.items())), face.digest)
