"""From a face, a request and levers to a fit, a tag and its files: what Make shows and hands over.

Results are kept for the last few questions, since a page is drawn again at every touch.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from catalogue.judge.lacking import LacksLetters, lacked
from catalogue.judge.request import Request
from catalogue.judge.typesetters import typesetter
from catalogue.page.catalogue_view import CatalogueView, at_weight
from catalogue.page.kept import Last
from catalogue.page.place import FIRST_OFFSET_MM, Filters, Hand, Look
from catalogue.store.database import Store
from catalogue.store.face import Face
from catalogue.tag.exports.files import FORMATS
from catalogue.tag.fit import Fit
from catalogue.tag.levers import Levers
from catalogue.tag.making import bundle, fit_face
from catalogue.tag.making import tag_of as make_tag_of
from catalogue.tag.ring import RingWish
from catalogue.tag.strength import strength_lines, strength_of
from catalogue.tag.tag import Look as TagLook
from catalogue.tag.tag import Tag
from catalogue.text import clean
from scanner.names import LetteringError, check_name

BEST_TRIED = 5
"""Faces tried in full, down the list, before none is called best."""

_FITS = Last(160)
_TAGS = Last(160)
_STRENGTHS = Last(40)
_FILES = Last(6)
_TIME = (1980, 1, 1, 0, 0, 0)


def weight_axis(view: CatalogueView, face: Face) -> tuple[float, float, float] | None:
    """Least, present and greatest weight of a variable face, or None."""
    with view.alone(face):
        axes = typesetter(face).shaper.axes()
    for tag, least, default, most in axes:
        if tag == "wght" and least < most:
            return least, min(most, max(least, face.coordinates.get("wght", default))), most
    return None


def named(view: CatalogueView, title: str, asked: Request) -> Face:
    """The face of a title; for "best" the first of the list that may be sold and holds after the least change."""
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
    levers = Levers(hand.tracking_em, hand.thicken_mm, asked.base_offset_mm, size_fixed=True)
    return _fit(view, face, asked, _with_hand(levers, hand), hand.weight)


def proposal(view: CatalogueView, face: Face, asked: Request, hand: Hand | None = None) -> Fit:
    """The least change that holds. An offset that is not the usual one was set by hand and stays."""
    own, hand = None if asked.base_offset_mm == FIRST_OFFSET_MM else asked.base_offset_mm, hand or Hand()
    return _fit(view, face, asked, _with_hand(Levers(base_offset_mm=own), hand), hand.weight)


def _with_hand(levers: Levers, hand: Hand) -> Levers:
    """The levers with what a person chose for single places, which then comes before a wider outline."""
    return replace(
        levers, backing=hand.behind, line_spacing_mm=hand.line_spacing_mm or None, by_hand=hand.by_hand,
        by_hand_first=True,
    )  # fmt: skip


def _fit(view: CatalogueView, face: Face, asked: Request, levers: Levers, weight: float | None) -> Fit:
    check_name(asked.name)

    def solved() -> Fit:
        with view.alone(face):
            missing = lacked(asked.name, typesetter(face).missing(asked.name))
            if missing:
                raise LacksLetters(clean(face.title), missing)
            return fit_face(at_weight(face, weight), asked, levers)

    return _FITS.get((view.revision, face.id, asked, levers, weight), solved)


def tag_of(view: CatalogueView, face: Face, fit: Fit, look: Look) -> Tag:
    """Ring and layers of a fitted name. Raises RingError where the ring finds no place."""
    chosen = TagLook(RingWish(look.ring), look.layers, look.colours)

    def made() -> Made:
        with view.alone(face):
            return Made(fit, make_tag_of(face, fit, chosen))

    return _TAGS.get((id(fit), face.id, look), made).tag


@dataclass(frozen=True, slots=True, eq=False)
class Made:
    """A tag with its fit: kept together, since the fit's identity is the key."""

    fit: Fit
    tag: Tag


def strength_in_words(made: Tag) -> tuple[str, ...]:
    """At what force the tag would part at its weakest section, in lines; none where no cut parts a letter from it."""

    def worked_out() -> Words:
        found = strength_of(made)
        return Words(made, strength_lines(found) if found is not None else ())

    return _STRENGTHS.get(id(made), worked_out).lines


@dataclass(frozen=True, slots=True, eq=False)
class Words:
    """Lines on a tag, with the tag: its identity is the key."""

    made: Tag
    lines: tuple[str, ...]


def files_of(key: Any, made: Tag, face: Face, price_per_kg: float | None = None) -> Mapping[str, bytes]:
    """Every file of a tag by name: drawings, bodies, job sheet, licence record. The licence is read again."""
    return _FILES.get(key, lambda: bundle(made, face, FORMATS, price_per_kg).files)


def zipped(files: Mapping[str, bytes]) -> bytes:
    """Files as one zip, the same bytes for the same files."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in sorted(files.items()):
            entry = zipfile.ZipInfo(name, _TIME)
            entry.compress_type = zipfile.ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            archive.writestr(entry, data)
    return out.getvalue()
