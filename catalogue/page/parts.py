"""The two components of the page: the ledger, and a sheet of our own markup. Their files lie in ``assets``."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from importlib import resources
from typing import Any

from catalogue.page.markup import Html


def asset(name: str) -> str:
    """Text of a file in ``assets``."""
    return resources.files("catalogue.page").joinpath("assets", name).read_text(encoding="utf-8")


@lru_cache(maxsize=1)
def _ledger() -> Any:
    from streamlit.components import v2

    return v2.component(
        "letterhold_ledger", html='<div class="ledger"></div>', css=asset("sheet.css") + asset("ledger.css"),
        js=asset("ledger.js"),
    )  # fmt: skip


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
