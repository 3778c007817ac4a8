"""The face for a name whose order says "best": the first as made that may be sold and in which the whole fit holds."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from catalogue.errors import LetterholdError
from catalogue.judge.craft import Craft
from catalogue.judge.kin import Kin
from catalogue.judge.listing import Wanted, among_of, listing
from catalogue.judge.made_listing import known_of, made_name
from catalogue.judge.made_order import ordered
from catalogue.judge.ranking import can_predict
from catalogue.judge.reach import CHANGES, Reach
from catalogue.judge.request import Request
from catalogue.store.columns import Columns, load_columns
from catalogue.store.database import Face, Store
from catalogue.tag.fit import Fit
from catalogue.tag.levers import Levers
from catalogue.tag.making import TagError, fit_face
from catalogue.wording import count_of
from scanner.names import check_name

BEST_MEASURED = 5
"""Faces tried in full, down the ranking, before no face is called best."""


@dataclass(frozen=True, slots=True)
class Choice:
    """A face with the fit of the name in it."""

    face: Face
    fit: Fit


def best(store: Store, request: Request, levers: Levers) -> Choice:
    """The first face as made whose goods may be sold and in which the whole fit holds."""
    text = " ".join(request.text.split())
    check_name(text)
    faces = _promising(store, request, levers)
    if not faces:
        raise TagError(f"no face that may be sold has the letters of {text!r}; name a face")
    missed = ""
    for face in faces:
        try:
            solved = fit_face(face, request, levers)
        except LetterholdError as error:
            missed = missed or str(error)
            continue
        if solved.holds:
            return Choice(face, solved)
        missed = missed or f"{face.title}: {'; '.join(solved.misses)}"
    raise TagError(f"none of the best {count_of(len(faces), 'face')} holds ({missed}); make it larger or name a face")


def _promising(store: Store, request: Request, levers: Levers) -> list[Face]:
    """The first faces of the ranking as made; as set for a name that cannot be predicted."""
    wanted = Wanted(BEST_MEASURED, BEST_MEASURED, sellable=True)
    columns, known = _known(store)
    if not can_predict(request.name):
        asked = Request.of(request.name, request.size, request.process, request.stack, request.language)
        return [row.face for row in listing(store, asked, wanted, columns=columns).rows]
    kept = {name for name, keeps in (("size", levers.size_fixed), ("weight", not levers.weight_free)) if keeps}
    name = made_name(columns, request, Reach(frozenset(CHANGES) - kept), known, among_of(store, wanted))
    among = name.kin.sellable & name.made.able
    return [name.kin.faces[k] for k in ordered(name.made, name.kin, name.craft, "mixed", among)[:BEST_MEASURED]]


@lru_cache(maxsize=2)
def _known(store: Store) -> tuple[Columns, tuple[Kin, Craft]]:
    return load_columns(store), known_of(store)
