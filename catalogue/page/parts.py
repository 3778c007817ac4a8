"""The parts that the browser draws itself: list, board, wall, sheet, turnable tag, fault box; files in ``assets``.

Colours, sizes of type and spaces stand once, in ``tokens.css``, which goes in front of every style here.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import lru_cache
from importlib import resources
from typing import Any

from catalogue.page.markup import Html

ROUTE = "/letterhold"
"""Where the server answers list and board."""


def asset(name: str) -> str:
    """Text of a file in ``assets``."""
    return resources.files("catalogue.page").joinpath("assets", name).read_text(encoding="utf-8")


SERVED = {
    "ledger.js": ("text/javascript", ("nodes.js", "ledger.js")),
    "ledger.css": ("text/css", ("tokens.css", "sheet.css", "ledger.css")),
    "board.js": ("text/javascript", ("nodes.js", "board.js")),
    "board.css": ("text/css", ("tokens.css", "sheet.css", "board.css")),
    "wall.js": ("text/javascript", ("wall.js",)),
    "wall.css": ("text/css", ("tokens.css", "sheet.css", "wall.css")),
    "turn.js": ("text/javascript", ("turn.js",)),
    "turn.css": ("text/css", ("tokens.css", "turn.css")),
}
"""What the server hands out: kind, and the files it is made of."""


def served(name: str) -> str:
    """Text of one of ``SERVED``."""
    return "".join(asset(part) for part in SERVED[name][1])


@lru_cache(maxsize=1)
def version() -> str:
    """Changes with the files, so that a browser may keep them."""
    return hashlib.sha256("".join(map(served, SERVED)).encode()).hexdigest()[:12]


@lru_cache(maxsize=8)
def _loaded(name: str) -> Any:
    """A component whose script and style the browser loads once, not with every answer."""
    from streamlit.components import v2

    link = f'<link rel="stylesheet" href="{ROUTE}/assets/{name}.css?v={version()}">'
    js = asset("loader.js").replace("ROUTE", ROUTE).replace("PART", name).replace("VERSION", version())
    return v2.component(f"letterhold_{name}", html=f'{link}<div class="{name}" hidden></div>', js=js)


@lru_cache(maxsize=2)
def _sheet() -> Any:
    from streamlit.components import v2

    css = asset("tokens.css") + asset("sheet.css")
    return v2.component("letterhold_sheet", html='<div class="sheet"></div>', css=css, js=asset("sheet.js"))


def ledger(data: dict[str, Any], key: str, go: Callable[[], None]) -> Any:
    """The virtual list. ``go`` is called when a person asks for a view or chooses a line; see ``ledger.js``."""
    return _loaded("ledger")(key=key, data=data, on_go_change=go)


def board(data: dict[str, Any], key: str, go: Callable[[], None]) -> Any:
    """Tags hanging from rails, a rail a style; ``go`` as for the list. See ``board.js``."""
    return _loaded("board")(key=key, data=data, on_go_change=go)


def wall(data: dict[str, Any], key: str, go: Callable[[], None]) -> Any:
    """Names in faces, a shelf a style; ``go`` as for the list, and for one style. See ``wall.js``."""
    return _loaded("wall")(key=key, data=data, on_go_change=go)


def turnable(data: dict[str, Any], key: str) -> None:
    """A tag in three dimensions to turn; see ``turn.js``."""
    _loaded("turn")(key=key, data=data)


def sheet(markup: Html, key: str) -> None:
    """Show markup made by ``markup`` and ``drawing``; it is parsed as a document in which no script runs."""
    _sheet()(key=key, data={"markup": str(markup)})


def fault_box(line: str, details: str) -> None:
    """One line on a fault of the program, and a button that copies its details."""
    _sheet()(key=f"fault_{hash(details)}", data={"markup": "", "fault": line, "details": details})
