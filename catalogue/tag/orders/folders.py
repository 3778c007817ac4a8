"""Names of the orders' folders: plain letters, one for each different tag, whatever numbers and names orders have."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable, Iterator

from catalogue.tag.orders.order import Order

MOST_CHARACTERS, MOST_BYTES = 60, 180
"""Of a folder's name; file systems take 255 bytes (POSIX NAME_MAX of common ones), and a mark may follow."""


def folder_name(order: Order) -> str:
    """A folder name for any order: its number and the name's plain letters.

    >>> folder_name(Order(2, "7/../x", "Zoë & Bo"))
    '7-x-zoë-bo'
    """
    text = unicodedata.normalize("NFC", f"{order.order}-{order.name}".casefold())
    name = "-".join(re.findall(r"\w+", text))[:MOST_CHARACTERS]
    return name.encode()[:MOST_BYTES].decode(errors="ignore") or f"row-{order.row}"


def folder_names(orders: Iterable[Order]) -> dict[str, str]:
    """The folder of each different tag by the key of its orders; the first that wants a name gets it bare."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for order in orders:
        if order.key not in found:
            name = next(n for n in _candidates(order) if _same_on_disk(n) not in taken)
            taken.add(_same_on_disk(name))
            found[order.key] = name
    return found


def _candidates(order: Order) -> Iterator[str]:
    bare = folder_name(order)
    yield bare
    yield f"{bare}-{order.key[:6]}"
    yield f"{bare}-{order.key}"
    number = 2
    while True:
        yield f"{bare}-{order.key}-{number}"
        number += 1


def _same_on_disk(name: str) -> str:
    """Equal for names that some file systems take for one: they fold case and compose accents."""
    return unicodedata.normalize("NFKC", name).casefold()
