"""Which openly licensed fonts hold a name together when it is cut as a solid tag, printed and sold.

>>> from catalogue import open_catalogue
>>> catalogue = open_catalogue()
>>> catalogue.rank("fil", top=1)["family"].tolist()
['Tiny Stout']

Everything else is for the command line and the page; see ``catalogue.api`` for what a catalogue can be asked.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from catalogue.api import Catalogue

__all__ = ["open_catalogue"]


def open_catalogue(path: Path | str | None = None) -> Catalogue:
    """A catalogue that ``letterhold scan`` has made: the one in a file, else the one the commands would read.

    Raises ``catalogue.errors.CatalogueError``, one line that ends with what to do, when it cannot be used.
    """
    from catalogue.api import Catalogue  # pandas takes half a second to load, and the commands do without

    return Catalogue(None if path is None else Path(path))
