"""The public interface for notebooks and scripts: a catalogue that answers with frames of pandas.

Names of columns end in their units (``_mm``, ``_em``, ``_g``); lengths in em are without a size. Errors are
``catalogue.errors.LetterholdError``: one line that ends with what to do.

>>> from catalogue import open_catalogue
>>> catalogue = open_catalogue()
>>> catalogue.rank("fil", cap_height_mm=14, top=2)[["family", "holds", "pieces"]].values.tolist()
[['Tiny Stout', True, 1], ['Tiny', False, 3]]
>>> catalogue.tag("fil", "Tiny Stout")[["holds", "height_mm"]].round(1).values.tolist()
[[True, 6.4]]
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import fields
from pathlib import Path
from typing import Any, TypedDict, Unpack

import pandas as pd

from catalogue.errors import LetterholdError, UsageError
from catalogue.folders import usual_catalogue
from catalogue.judge.check import Check, check_face
from catalogue.judge.listing import Wanted, listing
from catalogue.judge.process import load_process
from catalogue.judge.ranking import Ranked
from catalogue.judge.request import DEFAULT_CAP_HEIGHT_MM, Request, Size
from catalogue.judge.stack import default_stack
from catalogue.store.database import Store
from catalogue.store.face import Face
from catalogue.style.grouping import neighbours
from catalogue.tag import making
from catalogue.tag.exports.files import FORMATS
from catalogue.tag.levers import Levers
from catalogue.tag.tag import Look, Tag
from scanner.names import check_name

BASE_OFFSET_MM = 1.0
"""Offset of the base where none is asked for (common practice, no published source)."""

FaceName = str | int
"""A face as the commands take it: its number, ``Family Style``, a path or ``path#index``."""


class Asked(TypedDict, total=False):
    """How a name is judged; what is left out is as in the commands."""

    cap_height_mm: float
    """Height of the capitals; 14 mm where no size is given."""
    x_height_mm: float
    width_mm: float
    """Of the whole tag without its ring. One size only."""
    process: str
    """Name of a profile or path of a TOML file; ``nozzle-0.4`` where none is given."""
    base_offset_mm: float
    language: str
    """BCP 47 tag, as ``tr``."""


class Catalogue:
    """A scanned catalogue. Nothing is kept open: every question reads the file as it is then."""

    def __init__(self, path: Path | None = None) -> None:
        self.path = path or usual_catalogue()
        self._store().close()  # an error now, not at the first question

    def __repr__(self) -> str:
        return f"Catalogue({str(self.path)!r})"

    def _store(self) -> Store:
        return Store(self.path)

    def faces(self) -> pd.DataFrame:
        """Every measured face, a row each, by its number: what was measured, its style group and licence verdict.

        >>> open_catalogue().faces()[["family", "cap_height_em", "sell"]].values.tolist()
        [['Tiny', 0.7, 'unknown'], ['Tiny Stout', 0.7, 'unknown']]
        """
        with self._store() as store:
            faces = store.faces()
        names = [f.name for f in fields(Face)]
        frame = pd.DataFrame([[getattr(face, name) for name in names] for face in faces], columns=names)
        return frame.rename(columns={"id": "face", "size": "size_bytes"}).set_index("face")

    def rank(
        self,
        name: str,
        top: int = 20,
        verify: int = 20,
        sellable: bool = False,
        group: str = "",
        **asked: Unpack[Asked],
    ) -> pd.DataFrame:
        """The faces for a name, best first: ``top`` rows (0: all), the first ``verify`` of them measured in full.

        Rows that are not ``verified`` are predicted. What was left out and why stands in ``frame.attrs["notes"]``.

        >>> frame = open_catalogue().rank("Al", top=0, verify=0, width_mm=40)
        >>> frame["verified"].any(), frame["neck_mm"].notna().all()
        (np.False_, np.True_)
        >>> open_catalogue().rank("Zil").attrs["notes"]
        ['Z is in none of the 2 faces']
        """
        request = request_of(name, asked)
        check_name(request.name)
        with self._store() as store:
            found = listing(store, request, Wanted(top, verify, sellable, group))
        frame = pd.DataFrame([_ranked_row(row) for row in found.rows], columns=list(_RANKED))
        frame.attrs["notes"] = [*found.notes, *found.troubles]
        return frame

    def check(self, name: str, face: FaceName | Sequence[FaceName], **asked: Unpack[Asked]) -> pd.DataFrame:
        """One name measured in full, a row for each face: the figures of ``letterhold check``.

        >>> open_catalogue().check("fil", "Tiny")[["holds", "letter_parts", "pieces"]].values.tolist()
        [[False, 4, 3]]
        """
        request = _one_line(request_of(name, asked))
        return pd.DataFrame([_check_row(check_face(f, request)) for f in self._faces(face)])

    def weak_spots(self, name: str, face: FaceName, **asked: Unpack[Asked]) -> pd.DataFrame:
        """Every weak spot of a name in a face: kind, place from the start of the baseline, size and layer.

        >>> open_catalogue().weak_spots("A", "Tiny").columns.tolist()
        ['kind', 'x_mm', 'y_mm', 'size_mm', 'layer']
        """
        (one,) = self._faces(face)
        facts = check_face(one, _one_line(request_of(name, asked))).as_json()
        return pd.DataFrame(facts["weak_spots"], columns=["kind", "x_mm", "y_mm", "size_mm", "layer"])

    def tag(
        self, name: str, face: FaceName | Sequence[FaceName], out: Path | str | None = None, **asked: Unpack[Asked]
    ) -> pd.DataFrame:
        """A tag of a name for each face, a row each: what was changed to make it hold, size, mass and time.

        With ``out`` the files of each tag that holds are written into a folder of its own below it. ``misses`` says
        what kept a name from holding.

        >>> open_catalogue().tag("Al", ["Tiny", "Tiny Stout"])["holds"].tolist()
        [True, True]
        """
        request = request_of(name, asked)
        sized = any(key in asked for key in ("cap_height_mm", "x_height_mm", "width_mm"))
        levers = Levers(base_offset_mm=asked.get("base_offset_mm"), size_fixed=sized, weight_free=True)
        folder = None if out is None else Path(out)
        return pd.DataFrame([self._tag_row(f, request, levers, folder) for f in self._faces(face)])

    def like(self, face: FaceName, top: int = 10) -> pd.DataFrame:
        """The faces that look most like one, nearest first: 0 is the same drawing, 1 another style.

        >>> open_catalogue().like("Tiny").columns.tolist()
        ['face', 'family', 'style', 'distance', 'group', 'alike', 'differs']
        """
        with self._store() as store:
            found = neighbours(store, store.find(str(face)), top)
        return pd.DataFrame(found, columns=["face", "family", "style", "distance", "group", "alike", "differs"])

    def _faces(self, asked: FaceName | Sequence[FaceName]) -> list[Face]:
        names = [asked] if isinstance(asked, str | int) else asked
        with self._store() as store:
            return [store.find(str(name)) for name in names]

    def _tag_row(self, face: Face, request: Request, levers: Levers, out: Path | None) -> dict[str, Any]:
        without = making.lacking(face, request, list)
        if without:
            raise UsageError(without)
        solved = making.fit_face(face, request, levers)
        row: dict[str, Any] = {
            "face": face.id, "family": face.family, "style": face.style, "holds": solved.holds,
            "hold": solved.hold.hold, "changes": [c.text for c in solved.changes], "misses": list(solved.misses),
            "cap_height_mm": solved.cap_height_mm, "thicken_mm": solved.setting.thicken_mm,
        }  # fmt: skip
        if not solved.holds:
            return row
        tag = making.tag_of(face, solved, Look())
        if out is not None:
            folder = out / str(face.id)
            making.check_folder(folder)
            making.write(making.bundle(tag, face, FORMATS), folder)
            row["folder"] = str(folder)
        return row | _body(tag)


def request_of(name: str, asked: Asked) -> Request:
    """The request for a name. Raises LetterholdError for more than one size or an unknown process."""
    sizes = [
        Size(kind, length)
        for kind, length in (
            ("cap-height", asked.get("cap_height_mm")),
            ("x-height", asked.get("x_height_mm")),
            ("width", asked.get("width_mm")),
        )
        if length is not None
    ]
    if len(sizes) > 1:
        raise UsageError("several sizes are given; give one of cap_height_mm, x_height_mm and width_mm")
    size = sizes[0] if sizes else Size("cap-height", DEFAULT_CAP_HEIGHT_MM)
    if not (math.isfinite(size.mm) and size.mm > 0):
        raise UsageError(f"size {size.mm:g} mm cannot be; give a length above 0, as 14")
    process = load_process(asked.get("process", "nozzle-0.4"))
    return Request.of(
        name, size, process, default_stack(asked.get("base_offset_mm", BASE_OFFSET_MM)), asked.get("language")
    )


def _one_line(request: Request) -> Request:
    check_name(request.name)
    if len(request.lines) > 1:
        raise LetterholdError("a name of several lines can only be made into a tag; give one line here")
    return request


_RANKED = (
    "face", "family", "style", "path", "hold", "holds", "pieces", "letter_parts", "join_offset_mm", "neck_mm",
    "thinnest_stroke_mm", "smallest_counter_mm", "em_mm", "sell", "group", "verified", "reasons",
)  # fmt: skip


def _ranked_row(row: Ranked) -> Mapping[str, Any]:
    face = row.face
    facts = {
        "face": face.id, "family": face.family, "style": face.style, "path": face.path, "hold": row.hold.hold,
        "holds": row.hold.holds, "sell": face.sell, "group": face.group, "reasons": [r.line for r in row.hold.reasons],
    }  # fmt: skip
    return {name: facts[name] if name in facts else getattr(row, name) for name in _RANKED}


def _check_row(check: Check) -> dict[str, Any]:
    facts = check.as_json()
    del facts["layers"]
    base = check.layers[0]
    return facts | {"weak_spots": len(check.weak_spots), "base_neck_mm": base.neck_mm, "base_area_mm2": base.area_mm2}


def _body(tag: Tag) -> dict[str, float]:
    width, depth, height = tag.size_mm
    return {
        "width_mm": width, "depth_mm": depth, "height_mm": height, "mass_g": tag.mass_g,
        "volume_mm3": tag.volume_mm3, "print_minutes": tag.print_minutes,
    }  # fmt: skip
