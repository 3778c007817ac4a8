"""The face for a name whose order says "best": the first of the ranking that may be sold and truly holds."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from catalogue.errors import LetterholdError
from catalogue.judge.listing import Wanted, listing
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
    """The first face of the ranking whose goods may be sold and in which the whole fit holds."""
    text = " ".join(request.text.split())
    check_name(text)
    asked = Request.of(text, request.size, request.process, request.stack, request.language)
    wanted = Wanted(BEST_MEASURED, BEST_MEASURED, sellable=True)
    found = listing(store, asked, wanted, columns=_columns(store))
    if not found.rows:
        raise TagError(f"no face that may be sold has the letters of {text!r}; name a face")
    missed = ""
    for row in found.rows:
        try:
            solved = fit_face(row.face, request, levers)
        except LetterholdError as error:
            missed = missed or str(error)
            continue
        if solved.holds:
            return Choice(row.face, solved)
        missed = missed or f"{row.face.title}: {'; '.join(solved.misses)}"
    raise TagError(
        f"none of the best {count_of(len(found.rows), 'face')} holds ({missed}); make it larger or name a face"
    )


@lru_cache(maxsize=2)
def _columns(store: Store) -> Columns:
    return load_columns(store)
