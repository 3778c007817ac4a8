"""The labelled faces of ``catalogue/style/labels.csv``: what was seen, where the fonts lie, and their vectors.

Fonts come from packages: ``fontpkg-*`` and others of the Python registry (``pip install --target DIR``) and Debian's
(installed, or unpacked with ``dpkg -x`` into a folder). Each was labelled twice from drawn sheets, by two labellers who
did not see each other's labels, names or numbers; where they differ the face is marked "disputed".
"""

from __future__ import annotations

import csv
import os
import re
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from scanner.face import identify, instances, measure, open_faces
from scanner.files import SUFFIXES, read_font
from scanner.measures.features import FEATURES
from scanner.shaping import Shaper, sfnt_bytes

HERE = Path(__file__).resolve().parent.parent

SCRIPTS = ("formal script", "brush script")
"""Labels that share the group "joined script"."""

SYMBOLS = "symbols"

_QUALIFIERS = """
    condensed semi narrow display text two 2 tight deca medium light book thin demi caption wide extra bold no2 no3
    std sc small one mini modern classic duo x xl cond segments thick outline solid round heavy black regular ext lite
    half italic serif
"""
QUALIFIERS = frozenset(_QUALIFIERS.split())
"""Words that tell members of one superfamily apart."""


@dataclass(frozen=True)
class Labelled:
    """One face that was labelled by eye."""

    family: str
    face: str
    kind: str
    """``variable`` where the face is an instance of a variable font."""
    package: str
    file: str
    label_a: str
    label_b: str
    agreed: str
    traits_a: str
    traits_b: str

    @property
    def key(self) -> str:
        return f"{self.package}/{self.file}/{self.face}"

    @cached_property
    def root(self) -> str:
        """Families of one name stay in one fold: the first word of the name."""
        return re.split(r"[ \-_]", self.family)[0].casefold()

    @property
    def design(self) -> str:
        """The family's name without the words that tell members of one superfamily apart."""
        words = re.split(r"[ \-_]", self.family.casefold())
        return " ".join(w for w in words if w not in QUALIFIERS)

    @property
    def groups(self) -> tuple[str, str]:
        """The group each label stands for."""
        return group_of(self.label_a), group_of(self.label_b)

    def traits(self) -> tuple[set[str], set[str]]:
        """Traits that each of the two saw; a script's kind is one."""
        found = []
        for label, traits in ((self.label_a, self.traits_a), (self.label_b, self.traits_b)):
            own = set(traits.split("; ")) - {""}
            found.append(own | {label.split()[0]} if label in SCRIPTS else own)
        return found[0], found[1]


def group_of(label: str) -> str:
    """The group that a label stands for."""
    return "joined script" if label in SCRIPTS else label


def read_labels() -> list[Labelled]:
    """All labelled faces, by family."""
    with (HERE / "catalogue" / "style" / "labels.csv").open(encoding="utf-8", newline="") as file:
        return [Labelled(**row) for row in csv.DictReader(file)]


def vectors_of(faces: Sequence[Labelled], roots: Sequence[Path], kept: Path | None) -> np.ndarray:
    """Style vectors of the faces, (faces, numbers); measured from the fonts, or as an earlier run kept them."""
    known: dict[str, np.ndarray] = {}
    if kept and kept.exists():
        stored = np.load(kept)
        if tuple(stored["names"].tolist()) == FEATURES:
            known = dict(zip(stored["keys"].tolist(), stored["vectors"], strict=True))
    todo = [f for f in faces if f.key not in known]
    places = _places(roots, {f.file for f in todo})
    for k, face in enumerate(todo):
        known[face.key] = _measured(face, places)
        if k % 50 == 49:
            print(f"{k + 1} of {len(todo)} faces measured", file=sys.stderr)
    if kept:
        np.savez(kept, keys=np.array(list(known)), vectors=np.array(list(known.values())), names=np.array(FEATURES))
    return np.array([known[f.key] for f in faces], dtype=float)


def _places(roots: Sequence[Path], wanted: set[str]) -> dict[str, list[Path]]:
    """Where files of these names lie below the roots."""
    found: dict[str, list[Path]] = {}
    for root in roots:
        for folder, _, files in os.walk(root):
            for name in wanted.intersection(files):
                if Path(name).suffix.lower() in SUFFIXES:
                    found.setdefault(name, []).append(Path(folder) / name)
    return found


def _measured(face: Labelled, places: dict[str, list[Path]]) -> np.ndarray:
    """The face's vector, from the file whose family and face are the labelled ones."""
    for path in sorted(places.get(face.file, [])):
        data = sfnt_bytes(read_font(path))
        shaper = open_faces(data, 0)
        family, style, _ = identify(shaper)
        if face.kind == "variable":
            at = next((c for n, c in instances(shaper, True) if n == face.face), None)
        else:
            at = {} if style == face.face else None
        if family == face.family and at is not None:
            return np.array(measure(Shaper(data, 0, at), ["Marlie"]).style, dtype=float)
    raise SystemExit(f"{face.family} {face.face} is not found: unpack {face.package} and give its folder with --fonts")
