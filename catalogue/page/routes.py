"""What the server answers next to Streamlit's own: lines of a listing, one in full, one hanging tag, our assets."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from catalogue.errors import LetterholdError
from catalogue.faults import keep_details
from catalogue.page import links, printers
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.faults import FAULT, sentence
from catalogue.page.parts import ROUTE, SERVED, served
from catalogue.page.place import Place
from catalogue.page.rows import measured, row
from catalogue.text import clean

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route

MOST_ROWS = 100

View = Callable[[], CatalogueView]


def routes(view: View) -> list[Route]:
    """The routes; ``view`` gives the catalogue at the time of the question."""
    from starlette.routing import Route

    def one(name: str, answer: Callable[[CatalogueView, Request], dict[str, Any]]) -> Route:
        return Route(f"{ROUTE}/{name}", lambda request: _json(lambda: answer(view(), request)))

    return [
        one("rows", _rows), one("line", _line), one("hanging", _hanging), one("wall", _wall),
        Route(f"{ROUTE}/assets/{{name}}", _asset)
    ]  # fmt: skip


def _rows(view: CatalogueView, request: Request) -> dict[str, Any]:
    """Lines ``from`` to before ``to`` of a listing."""
    place = _place(request)
    start = max(0, _number(request, "from"))
    stop = min(_number(request, "to"), start + MOST_ROWS)
    found = view.listing(place.asked, place.filters, request.query_params.get("of", "")).lines(start, stop)
    name = place.asked.name
    return {"rows": [row(start + k + 1, line, view.picture(line.face, name)) for k, line in enumerate(found)]}


def _line(view: CatalogueView, request: Request) -> dict[str, Any]:
    """One line measured in full; with its drawing and words unless ``brief`` is asked for."""
    from catalogue.page.detail import detail
    from catalogue.page.markup import join, tag
    from catalogue.page.more_like import MOST, reasons

    place = _place(request)
    face = view.face(_number(request, "face"))
    brief = "brief" in request.query_params
    try:
        check = view.check(face, place.asked)
    except LetterholdError as error:
        return {} if brief else {"markup": str(tag("p", sentence(error), class_="bad"))}
    if brief:
        return {"row": measured(check)}
    shown = join([detail(check, face, view.stored_verdict(face), place.look), reasons(view.likeness(face, MOST))])
    return {"markup": str(shown), "row": measured(check)}


def _hanging(view: CatalogueView, request: Request) -> dict[str, Any]:
    """One finished tag as it hangs, with what had to change; ``trouble`` where there is none."""
    from catalogue.page import making
    from catalogue.page.hanging import change_in_words, drawn, hang

    place = _place(request)
    named = request.query_params.get("named", "")
    try:
        face = making.named(view, named, place.asked) if named else view.face(_number(request, "face"))
        fit = making.proposal(view, face, place.asked)
        if not fit.holds:
            return {"trouble": "does not hold, whatever is changed"}
        made = making.tag_of(view, face, fit, place.look)
    except LetterholdError as error:
        return {"trouble": str(error)}
    words = {"change": change_in_words(fit), "grams": round(made.mass_g, 1), "face": clean(face.title, 60)}
    return drawn(hang(made)) | words


def _wall(view: CatalogueView, request: Request) -> dict[str, Any]:
    """The names on one shelf of the wall of styles, drawn; none when no face of the style passes the filters."""
    from catalogue.page.wall import names, shelves

    place, style = _place(request), request.query_params.get("style", "")
    faces = view.listing(place.asked, place.filters).every_face()
    for shelf in shelves(faces, view.styles()):
        if shelf.group == style:
            return {"names": names(shelf, lambda face: view.picture(face, place.asked.name))}
    return {"names": []}


def _asset(request: Request) -> Response:
    """Script and style of a part; the address carries their version, so the browser may keep them."""
    from starlette.responses import PlainTextResponse, Response

    name = request.path_params["name"]
    if name not in SERVED:
        return PlainTextResponse("not found", 404)
    return Response(served(name), 200, {"Cache-Control": "max-age=31536000, immutable"}, SERVED[name][0])


def _place(request: Request) -> Place:
    return links.read(dict(request.query_params), printers.names())


def _number(request: Request, key: str) -> int:
    text = request.query_params.get(key, "0")
    return int(text) if text.isascii() and text.isdecimal() and len(text) < 10 else 0


def _json(answer: Callable[[], dict[str, Any]]) -> Response:
    """The answer as JSON, or its error as a sentence; a fault of the program must not reach the browser as a trace."""
    from starlette.responses import Response

    try:
        body, status = _dumped(answer()), 200
    except LetterholdError as error:
        body, status = _dumped({"error": str(error)}), 400
    except Exception as error:
        keep_details(error)
        body, status = _dumped({"error": FAULT}), 500
    return Response(body, status, {"Cache-Control": "no-store"}, "application/json")


def _dumped(found: dict[str, Any]) -> str:
    return json.dumps(found, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
