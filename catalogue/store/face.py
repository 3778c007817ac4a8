"""One face of the catalogue as every room sees it, and the face that a person means. No SQL, no disk."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

from catalogue.errors import CatalogueError
from catalogue.permission import Permission
from scanner.files import is_address

REGULAR = ("regular", "book", "normal", "roman")
"""Styles that stand for their family."""
SALE_ORDER = (Permission.YES, Permission.CONDITIONS, Permission.ASK, Permission.UNKNOWN, Permission.NO)
"""Verdicts, the most welcome first."""
MOST_CHOICES = 8
MOST_NEAR = 3


@dataclass(frozen=True, slots=True)
class Face:
    """One row of the catalogue. Lengths in em."""

    id: int
    path: str
    face_index: int
    instance: str
    coordinates: dict[str, float]
    family: str
    style: str
    version: str
    variable: bool
    letters: int
    reason: str
    upem: int
    cap_height_em: float
    x_height_em: float
    slant_deg: float
    advances_variation: float
    median_stroke_em: float
    thinnest_stroke_em: float
    joining: float
    smallest_counter_em: float
    contextual: float
    """Share of test words drawn in other shapes than their letter pairs."""
    letter_gap_em: float
    missing: str
    spdx: str
    sell: str
    group: str
    digest: str
    group_support: str = ""
    """What speaks for the group, or why there is none."""
    script: str = ""
    """The script whose letters were measured, by its Unicode name."""
    cap_height_of: str = ""
    """The letters whose tops gave ``cap_height_em``; empty where the face states it, or has none."""
    size: int = 0
    """Of the file when it was scanned, in bytes; 0 where it is not known."""
    mtime_ns: int = 0
    """Modification time of the file when it was scanned."""

    @property
    def sale_order(self) -> int:
        """Where its verdict stands among ``SALE_ORDER``."""
        return SALE_ORDER.index(self.sell)

    @property
    def title(self) -> str:
        """Family and style, as a person names the face."""
        return f"{self.family} {self.style}"


def find_face(faces: Sequence[Face], text: str) -> Face:
    """The face a person means: an id, ``Family Style``, a family with one regular face, a path or ``path#index``.

    Raises CatalogueError that lists the choices when it is none or several.
    """
    found = [f for f in faces if f.id == int(text)] if is_number(text) else []
    found = found or _by_title(faces, text) or _by_path(faces, text)
    if len(found) == 1:
        return found[0]
    if found:
        choices = "; ".join(f"{f.id} = {f.title}" for f in found[:MOST_CHOICES])
        raise CatalogueError(f"{text!r} means several faces; use one of these numbers: {choices}")
    called = {f.family.casefold(): f.title for f in reversed(faces)} | {f.title.casefold(): f.title for f in faces}
    near = difflib.get_close_matches(text.casefold(), list(called), n=MOST_NEAR, cutoff=0.5)
    hint = f"nearest: {', '.join(dict.fromkeys(called[n] for n in near))}" if near else "see 'letterhold rank NAME'"
    raise CatalogueError(f"no face {text!r} in the catalogue; {hint}")


def is_number(text: str) -> bool:
    """Whether a text can be the id of a face."""
    return text.isascii() and text.isdecimal() and len(text) < 19


def is_title(text: str, family: str, style: str) -> bool:
    """Whether a text is a family and its style, in any case and spacing.

    >>> is_title("anton  REGULAR", "Anton", "Regular"), is_title("Anton", "Anton", "Regular")
    (True, False)
    """
    return f"{family} {style}".casefold() == " ".join(text.casefold().split())


def _by_title(faces: Sequence[Face], text: str) -> list[Face]:
    wanted = " ".join(text.casefold().split())
    exact = [f for f in faces if is_title(text, f.family, f.style)]
    if exact:
        # The same face installed twice is one choice.
        return exact[:1] if len({(f.digest, f.face_index, f.instance) for f in exact}) == 1 else exact
    family = [f for f in faces if f.family.casefold() == wanted]
    regular = [f for f in family if f.style.casefold() in REGULAR]
    return regular if len(regular) == 1 else family


def _by_path(faces: Sequence[Face], text: str) -> list[Face]:
    path, _, index = text.rpartition("#") if "#" in text else (text, "", "")
    full = path if is_address(path) else str(Path(path).absolute())
    found = [f for f in faces if f.path == full and (not index or str(f.face_index) == index)]
    return [f for f in found if not f.instance] or found
