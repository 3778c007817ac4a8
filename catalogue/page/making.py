"""From a face, a request and levers to a fit, a tag and its files: what Make shows and hands over.

Results are kept for the last few questions, since a page is drawn again at every touch.
"""

from __future__ import annotations

import datetime
import io
import zipfile
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely

from catalogue.judge.check import WeakSpot
from catalogue.judge.hold import NECK_LINES, THIN_SHARE
from catalogue.judge.request import Request
from catalogue.page.catalogue_view import CatalogueView, at_weight
from catalogue.page.kept import Last
from catalogue.page.place import FIRST_OFFSET_MM, Filters, Hand, Look
from catalogue.text import clean
from scanner.names import LetteringError, check_name
from scanner.workers.scratch import Scratch

if TYPE_CHECKING:
    from catalogue.judge.process import Process
    from catalogue.store.database import Face
    from catalogue.tag.fit import Fit
    from catalogue.tag.tag import Tag

BEST_TRIED = 5
"""Faces tried in full, down the list, before none is called best."""

MOST_NAMED = 8
"""Missing letters named in one line."""

_FITS = Last(160)
_TAGS = Last(160)
_FILES = Last(6)
_TIME = (1980, 1, 1, 0, 0, 0)


def weight_axis(view: CatalogueView, face: Face) -> tuple[float, float, float] | None:
    """Least, present and greatest weight of a variable face, or None."""
    from catalogue.judge.check import typesetter

    with view.alone(face):
        axes = typesetter(face).shaper.axes()
    for tag, least, default, most in axes:
        if tag == "wght" and least < most:
            return least, min(most, max(least, face.coordinates.get("wght", default))), most
    return None


def named(view: CatalogueView, title: str, asked: Request) -> Face:
    """The face of a title; for "best" the first of the list that may be sold and holds after the least change."""
    from catalogue.store.database import Store

    if title.strip().casefold() != "best":
        with Store(view.path) as store:
            return store.find(title)
    lines = view.listing(asked, Filters(sell="sellable")).lines(0, BEST_TRIED)
    for line in lines:
        if proposal(view, line.face, asked).holds:
            return line.face
    raise LetteringError(f"none of the best {len(lines)} holds; make it larger or name letters")


def as_set(view: CatalogueView, face: Face, asked: Request, hand: Hand) -> Fit:
    """The name with every lever where the person put it. Raises a LetterholdError with what to do."""
    from catalogue.tag.fit import Levers

    levers = Levers(hand.tracking_em, hand.thicken_mm, asked.base_offset_mm, size_fixed=True)
    return _fit(view, face, asked, levers, hand.weight)


def proposal(view: CatalogueView, face: Face, asked: Request, weight: float | None = None) -> Fit:
    """The least change that holds. An offset that is not the usual one was set by hand and stays."""
    from catalogue.tag.fit import Levers

    own = None if asked.base_offset_mm == FIRST_OFFSET_MM else asked.base_offset_mm
    return _fit(view, face, asked, Levers(base_offset_mm=own), weight)


def _fit(view: CatalogueView, face: Face, asked: Request, levers: Any, weight: float | None) -> Fit:
    from catalogue.commands.tag import fit_face
    from catalogue.judge.check import typesetter

    check_name(asked.name)

    def solved() -> Fit:
        with view.alone(face):
            missing = typesetter(face).missing(asked.name)
            if missing:
                raise LetteringError(
                    f"{clean(face.title)} lacks {' '.join(missing[:MOST_NAMED])}; choose other letters or type the"
                    " name without"
                )
            return fit_face(at_weight(face, weight), asked.text, asked.size, asked.process, levers, asked.language)

    return _FITS.get((view.revision, face.id, asked, levers, weight), solved)


def tag_of(fit: Fit, face: Face, process: Process, look: Look) -> Tag:
    """Ring and layers of a fitted name. Raises RingError where the ring finds no place."""
    from catalogue.tag.tag import make_tag

    def made() -> Tag:
        return make_tag(fit, process, face.title, look.ring, look.layers, look.colours)

    return _TAGS.get((id(fit), face.id, process, look), lambda: (fit, made()))[1]  # the fit stays: its id is the key


def spots_of(fit: Fit, process: Process) -> tuple[WeakSpot, ...]:
    """What is weak in a fitted name, at its place in the fit's coordinates."""
    from catalogue.tag.fit import TOLERANCE_MM
    from scanner.measures.counters import holes_of
    from scanner.measures.joins import spanning_edges
    from scanner.measures.necks import neck
    from scanner.measures.strokes import letter_widths
    from scanner.regions import inscribed_diameter, polygons_of

    spots: list[WeakSpot] = []
    pieces = polygons_of(fit.base)
    if len(pieces) > 1:
        for edge, (a, b) in zip(*spanning_edges(pieces), strict=True):
            x, y = shapely.get_coordinates(shapely.shortest_line(pieces[a], pieces[b])).mean(axis=0)
            spots.append(WeakSpot("gap", float(x), float(y), float(edge), "base"))
    else:
        width, place = neck(fit.base, fit.seeds, TOLERANCE_MM)
        if place is not None and width < NECK_LINES * process.line_width_mm:
            spots.append(WeakSpot("neck", float(place[0]), float(place[1]), width, "base"))
    inside, _ = letter_widths(polygons_of(fit.top), fit.setting.em_mm, channels=False)
    for part in inside:
        thin = part.widths < process.least_wall_mm
        if len(thin) and thin.mean() > THIN_SHARE:
            k = int(np.abs(part.widths - np.quantile(part.widths, 0.05)).argmin())
            x, y = part.places[k]
            spots.append(WeakSpot("thin stroke", float(x), float(y), float(part.widths[k]), "top"))
    for hole in holes_of(fit.top):
        width = inscribed_diameter(hole, TOLERANCE_MM)
        if width < process.least_gap_mm:
            point = hole.representative_point()
            spots.append(WeakSpot("counter", float(point.x), float(point.y), width, "top"))
    return tuple(spots)


def shift_of(fit: Fit, made: Tag) -> tuple[float, float]:
    """From the fit's coordinates to the tag's, by the letters' seeds: they are in both."""
    dx, dy = made.seeds[0] - fit.seeds[0]
    return float(dx), float(dy)


def files_of(key: Any, made: Tag, face: Face, price_per_kg: float | None = None) -> dict[str, bytes]:
    """Every file of a tag by name: drawings, bodies, job sheet, licence record. The licence is read afresh."""
    from catalogue.licence.shop_record import write_record
    from catalogue.licence.verdict import judge_font
    from catalogue.store.font_cache import font_with_notices
    from catalogue.tag.exports.files import FORMATS, tag_files

    def written() -> dict[str, bytes]:
        font = font_with_notices(face)
        verdict = judge_font(font, face.face_index, None)
        files = tag_files(made, FORMATS, verdict.as_json(), price_per_kg)
        with Scratch() as folder:
            record = folder / "licence.zip"
            write_record(font, face.face_index, verdict, record, datetime.date.today())
            return files | {record.name: record.read_bytes()}

    return _FILES.get(key, written)


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
