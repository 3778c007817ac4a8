"""The two components of the page: the ledger, and a sheet of our own markup. Their files lie in ``assets``."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import lru_cache
from importlib import resources
from typing import Any

from catalogue.page.markup import Html

ROUTE = "/ledger"
"""Where the server answers the ledger."""


def asset(name: str) -> str:
    """Text of a file in ``assets``."""
    return resources.files("catalogue.page").joinpath("assets", name).read_text(encoding="utf-8")


SERVED = {"ledger.js": ("text/javascript", ("ledger.js",)), "ledger.css": ("text/css", ("sheet.css", "ledger.css"))}
"""What the server hands out by itself: kind, and the files it is made of."""


def served(name: str) -> str:
    """Text of one of ``SERVED``."""
    return "".join(asset(part) for part in SERVED[name][1])


@lru_cache(maxsize=1)
def _ledger() -> Any:
    from streamlit.components import v2

    version = hashlib.sha256("".join(map(served, SERVED)).encode()).hexdigest()[:12]
    html = f'<link rel="stylesheet" href="{ROUTE}/assets/ledger.css?v={version}"><div class="ledger" hidden></div>'
    js = asset("loader.js").replace("ROUTE", ROUTE).replace("VERSION", version)
    return v2.component("letterhold_ledger", html=html, js=js)


@lru_cache(maxsize=1)
def _sheet() -> Any:
    from streamlit.components import v2

    return v2.component(
        "letterhold_sheet", html='<div class="sheet"></div>', css=asset("sheet.css"), js=asset("sheet.js")
    )


def ledger(data: dict[str, Any], key: str, go: Callable[[], None]) -> Any:
    """The virtual list. ``go`` is called when a person asks for a view or chooses a line; see ``ledger.js``."""
    return _ledger()(key=key, data=data, on_go_change=go)


def sheet(markup: Html, key: str) -> None:
    """Show markup made by ``markup`` and ``drawing``; it is parsed as a document in which no script runs."""
    _sheet()(key=key, data={"markup": str(markup)})
