"""The server: Streamlit's own, on this machine only, behind the gate, with routes of our own."""

from __future__ import annotations

import gc
import os
import threading
from contextlib import suppress
from functools import lru_cache
from pathlib import Path
from typing import Any

from catalogue.errors import LetterholdError
from catalogue.folders import default_catalogue
from catalogue.page.catalogue_view import CatalogueView
from catalogue.page.front import Front
from catalogue.page.gate import HOSTS, Gate
from catalogue.page.place import FIRST, Filters
from catalogue.page.routes import routes
from catalogue.page.stopping import lifespan

SCRIPT = Path(__file__).with_name("app.py")
"""What Streamlit runs."""

CATALOGUE = "LETTERHOLD_CATALOGUE"
"""Environment variable that names the catalogue of the page."""

ADDRESS, PORT = "127.0.0.1", 8517
UPLOAD_MB = 32
COLLECT_S = 30.0

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
    "theme.light.borderColor": "#8d8a7d",
    "theme.dark.primaryColor": "#8fb8e8",
    "theme.dark.backgroundColor": "#171c22",
    "theme.dark.secondaryBackgroundColor": "#1d242c",
    "theme.dark.textColor": "#e8e4d8",
    "theme.dark.borderColor": "#6d7a87",
    "theme.baseRadius": "none",
    "theme.showWidgetBorder": True,
    "theme.font": "ui-sans-serif, system-ui, 'Liberation Sans', Arial, sans-serif",
    "theme.headingFont": "ui-sans-serif, system-ui, 'Liberation Sans', Arial, sans-serif",
}
"""Offline, local, no telemetry; the collector runs in ``_collect`` instead of after every keystroke (60 ms)."""


@lru_cache(maxsize=4)
def view_of(path: str) -> CatalogueView:
    """The one view of a catalogue, shared by every session and the routes."""
    return CatalogueView(Path(path))


def current_view() -> CatalogueView:
    """The view of the catalogue the page was started with."""
    return view_of(os.environ.get(CATALOGUE) or str(default_catalogue()))


def application_parts() -> dict[str, Any]:
    """What Streamlit's application gets besides its script."""
    from starlette.middleware import Middleware

    return {"routes": routes(current_view), "middleware": [Middleware(Gate), Middleware(Front)], "lifespan": lifespan}


def serve(catalogue: Path, port: int = PORT) -> None:
    """Serve until stopped."""
    import streamlit as st

    os.environ[CATALOGUE] = str(catalogue.absolute())
    threading.Thread(target=_warm, daemon=True).start()
    st.App(SCRIPT, **application_parts()).run(config={**SETTINGS, "server.port": port})


def _warm() -> None:
    """Load what the first visitor would wait for; then what lives for good is left out of later collections."""
    import catalogue.judge.check  # noqa: F401  (loads the geometry libraries)

    with suppress(LetterholdError):
        view = current_view()
        for line in view.listing(FIRST, Filters()).lines(0, 50):
            view.picture(line.face, FIRST.name)
    gc.collect()
    gc.freeze()
    _collect()


def _collect() -> None:
    """Collect in the background, instead of after every run."""
    while True:
        threading.Event().wait(COLLECT_S)
        gc.collect()
