"""From a face, a job and levers to a fit, a tag and its files: what the workbench shows and hands over.

Results are kept for the last few questions, since a page is drawn again at every touch.
"""

from __future__ import annotations

import io
import zipfile
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

from catalogue.page.catalogue_view import Job, Last, Shelf, process_of
from catalogue.page.links import FIRST_JOB, LINE_MARK

if TYPE_CHECKING:
    from catalogue.store.database import Face
    from catalogue.tag.fit import Fit
    from catalogue.tag.levers import Levers
    from catalogue.tag.tag import Look, Tag

_FITS = Last(40)
_FILES = Last(6)
_TIME = (1980, 1, 1, 0, 0, 0)


@dataclass(frozen=True, slots=True)
class Hand:
    """Where the levers of the workbench stand, beside size and offset of the job."""

    thicken_mm: float = 0.0
    tracking_em: float = 0.0
    weight: float | None = None
    """Place on the weight axis of a variable face; None leaves the face as it is."""


def weight_axis(shelf: Shelf, face: Face) -> tuple[float, float, float] | None:
    """Least, present and greatest weight of a variable face, or None."""
    from catalogue.judge.check import typesetter

    with shelf.alone(face):
        axes = typesetter(face).shaper.axes()
    for tag, least, default, most in axes:
        if tag == "wght" and least < most:
            return least, min(most, max(least, face.coordinates.get("wght", default))), most
    return None


def at_weight(face: Face, weight: float | None) -> Face:
    """The face at another place of its weight axis."""
    return face if weight is None else replace(face, coordinates={**face.coordinates, "wght": weight})


def as_set(shelf: Shelf, face: Face, job: Job, hand: Hand) -> Fit:
    """The name with every lever where the person put it. Raises a ValueError with what to do."""
    from catalogue.tag.levers import Levers

    return _fit(
        shelf, face, job, Levers(hand.tracking_em, hand.thicken_mm, job.offset_mm, size_fixed=True), hand.weight
    )


def proposal(shelf: Shelf, face: Face, job: Job, weight: float | None = None) -> Fit:
    """The least change that holds. An offset that is not the usual one was set by hand and stays."""
    from catalogue.tag.levers import Levers

    own = None if job.offset_mm == FIRST_JOB.offset_mm else job.offset_mm
    return _fit(shelf, face, job, Levers(base_offset_mm=own), weight)


def _fit(shelf: Shelf, face: Face, job: Job, levers: Levers, weight: float | None) -> Fit:
    from catalogue.judge.check import typesetter
    from catalogue.judge.request import Request
    from catalogue.judge.stack import default_stack
    from catalogue.tag.making import fit_face
    from catalogue.text import clean

    name = job.name.replace(LINE_MARK, "\n")
    asked = Request.of(name, job.size, process_of(job.process), default_stack())

    def solved() -> Fit:
        with shelf.alone(face):
            missing = typesetter(face).missing(" ".join(name.split()))
            if missing:
                raise ValueError(
                    f"{clean(face.title)} lacks {' '.join(missing[:8])}; choose another face or type the name without"
                )
            return fit_face(at_weight(face, weight), asked, levers)

    return _FITS.get((shelf.stamp, face.id, job, levers, weight), solved)


def tag_of(fit: Fit, face: Face, look: Look) -> Tag:
    """Ring and layers of a fitted name. Raises a ValueError with what to do."""
    from catalogue.tag.tag import make_tag

    return make_tag(fit, face.title, look)


def files_of(key: Any, tag: Tag, face: Face) -> dict[str, bytes]:
    """Every file of a tag by name: drawings, bodies, job sheet, licence record."""
    from catalogue.tag.exports.files import FORMATS
    from catalogue.tag.making import bundle

    return _FILES.get(key, lambda: dict(bundle(tag, face, FORMATS).files))


def zipped(files: dict[str, bytes]) -> bytes:
    """Files as one zip, the same bytes for the same files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in sorted(files.items()):
            entry = zipfile.ZipInfo(name, _TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, data)
    return out.getvalue()
