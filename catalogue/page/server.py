"""The server: Streamlit's own, on this machine only, with two routes for the ledger."""

from __future__ import annotations

import gc
import json
import os
import sys
import threading
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from catalogue.page.catalogue_view import Shelf
from catalogue.page.gate import HOSTS, Gate
from catalogue.page.parts import ROUTE, SERVED, served
from catalogue.page.stopping import lifespan

if TYPE_CHECKING:
    from starlette.requests import Request
    from starlette.responses import Response
    from starlette.routing import Route
    from streamlit.starlette import App

SCRIPT = Path(__file__).with_name("app.py")
"""What Streamlit runs."""

CATALOGUE = "LETTERHOLD_CATALOGUE"
"""Environment variable that names the catalogue of the page."""

ADDRESS, PORT = "127.0.0.1", 8517

UPLOAD_MB = 32
MOST_ROWS = 100

SETTINGS: dict[str, Any] = {
    "server.address": ADDRESS,
    "server.headless": True,
    "logger.hideWelcomeMessage": True,
    "server.fileWatcherType": "none",
    "server.runOnSave": False,
    "server.allowRunOnSave": False,
    "server.enableXsrfProtection": True,
    "server.enableCORS": True,
    "server.allowedHosts": list(HOSTS),
    "server.maxUploadSize": UPLOAD_MB,
    "server.showEmailPrompt": False,
    "browser.gatherUsageStats": False,
    "browser.serverAddress": ADDRESS,
    "client.showErrorDetails": "none",
    "client.showErrorLinks": False,
    "client.toolbarMode": "minimal",
    "runner.postScriptGC": False,
    "runner.magicEnabled": False,
    "theme.light.primaryColor": "#22313f",
    "theme.light.backgroundColor": "#fbfaf6",
    "theme.light.secondaryBackgroundColor": "#f1efe6",
    "theme.light.textColor": "#22313f",
    "theme.light.borderColor": "#a5a297",
    "theme.dark.primaryColor": "#4a7fbe",
    "theme.dark.backgroundColor": "#171c22",
    "theme.dark.secondaryBackgroundColor": "#1d242c",
    "theme.dark.textColor": "#e8e4d8",
    "theme.dark.borderColor": "#5a6672",
    "theme.baseRadius": "none",
    "theme.showWidgetBorder": True,
    "theme.font": "ui-sans-serif, system-ui, 'Liberation Sans', Arial, sans-serif",
    "theme.headingFont": "ui-sans-serif, system-ui, 'Liberation Sans', Arial, sans-serif",
}
"""Offline, local, no telemetry; the collector runs in ``_collect`` instead of after every keystroke (60 ms)."""


@lru_cache(maxsize=4)
def shelf_of(path: str) -> Shelf:
    """The one shelf of a catalogue, shared by every session and the routes."""
    return Shelf(Path(path))


def current_shelf() -> Shelf:
    """The shelf of the catalogue the page was started with."""
    from catalogue.store.database import default_catalogue

    return shelf_of(os.environ.get(CATALOGUE) or str(default_catalogue()))


def serve(catalogue: Path, port: int = PORT) -> None:
    """Serve until stopped."""
    os.environ[CATALOGUE] = str(catalogue.absolute())
    threading.Thread(target=_warm, daemon=True).start()
    application().run(config={**SETTINGS, "server.port": port})


def application() -> App:
    """Streamlit with our routes, behind the gate."""
    import streamlit as st
    from starlette.middleware import Middleware

    return st.App(SCRIPT, routes=routes(), middleware=[Middleware(Gate)], lifespan=lifespan)


def routes() -> list[Route]:
    """What the server answers beside Streamlit's own."""
    from starlette.routing import Route

    return [Route(f"{ROUTE}/rows", _rows), Route(f"{ROUTE}/line", _line), Route(f"{ROUTE}/assets/{{name}}", _asset)]


def _warm() -> None:
    """Load what the first visitor would wait for; then what lives for good is left out of later collections."""
    import contextlib

    import catalogue.judge.check  # noqa: F401  (loads the geometry libraries)
    from catalogue.page.catalogue_view import Filters
    from catalogue.page.links import FIRST_JOB

    with contextlib.suppress(ValueError):
        shelf = current_shelf()
        for ranked in shelf.listing(FIRST_JOB, Filters()).lines(0, 50):
            shelf.picture(ranked.face, FIRST_JOB.name)
    gc.collect()
    gc.freeze()
    _collect()


def _collect(seconds: float = 30.0) -> None:
    """Collect in the background, instead of after every run."""
    while True:
        threading.Event().wait(seconds)
        gc.collect()


# ── routes ──────────────────────────────────────────────────────────────────────────────────────────────────────────


def _rows(request: Request) -> Response:
    """Lines ``from`` to ``to`` of a listing."""

    def answer() -> dict[str, Any]:
        from catalogue.page.rows import row

        job, filters = _asked(request)
        start = max(0, int(request.query_params.get("from", "0")))
        stop = min(int(request.query_params.get("to", "0")), start + MOST_ROWS)
        shelf = current_shelf()
        found = shelf.listing(job, filters).lines(start, stop)
        return {"rows": [row(start + k + 1, r, shelf.picture(r.face, job.name)) for k, r in enumerate(found)]}

    return _json(request, answer)


def _line(request: Request) -> Response:
    """One line measured in full; with its drawing and words unless ``brief`` is asked for."""

    def answer() -> dict[str, Any]:
        from catalogue.page.detail import opened
        from catalogue.page.rows import measured

        job, _ = _asked(request)
        shelf = current_shelf()
        face = shelf.face(int(request.query_params.get("face", "0")))
        brief = "brief" in request.query_params
        try:
            check = shelf.check(face, job)
        except ValueError as error:
            from catalogue.page.markup import tag

            return {} if brief else {"markup": str(tag("p", f"{error}.", class_="bad"))}
        if brief:
            return {"row": measured(check)}
        return {"markup": str(opened(check, face, shelf.stored_verdict(face))), "row": measured(check)}

    return _json(request, answer)


def _asset(request: Request) -> Response:
    """Script and style of the ledger; the address carries their version, so the browser may keep them."""
    from starlette.responses import PlainTextResponse, Response

    name = request.path_params["name"]
    if name not in SERVED:
        return PlainTextResponse("not found", 404)
    return Response(served(name), 200, {"Cache-Control": "max-age=31536000, immutable"}, SERVED[name][0])


def _asked(request: Request) -> tuple[Any, Any]:
    from catalogue.judge.process import built_in
    from catalogue.page import links

    place = links.read(dict(request.query_params), built_in())
    return place.job, place.filters


def _json(request: Request, answer: Any) -> Response:
    """The answer as JSON, or its error as a sentence. Other hosts' pages get nothing: no CORS header, names checked."""
    from starlette.responses import Response

    status = 200
    try:
        found = answer()
    except LetterholdError as error:
        found, status = {"error": str(error)}, 400
    except Exception as error:  # a fault must not reach the browser as a traceback
        print(f"letterhold: {request.url.path}: {type(error).__name__}: {error}", file=sys.stderr)
        found, status = {"error": FAULT}, 500
    body = json.dumps(found, ensure_ascii=False, separators=(",", ":"))
    return Response(
        body, status, {"Cache-Control": "no-store", "X-Content-Type-Options": "nosniff"}, "application/json"
    )
