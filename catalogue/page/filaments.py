"""The shop's own filaments, and how well two colours part. Colours as #rrggbb, masses in g."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from catalogue.page.desk import Desk
from catalogue.tag.colours import COLOURS, hex_of
from catalogue.text import clean

NAME = "filaments"
MOST = 60
EASY_CONTRAST = 3.0
"""Contrast from which shapes are told apart with ease (WCAG 2.2, 1.4.11)."""
POOR_CONTRAST = 1.5
"""Below this letters are hard to read at arm's length (our limit)."""

_HEX = re.compile(r"#[0-9a-f]{6}")


@dataclass(frozen=True, slots=True)
class Filament:
    """One spool on the shelf of the shop."""

    name: str
    colour: str
    """#rrggbb, as near as a screen comes."""
    price_per_kg: float = 0.0
    g_per_m: float = 2.98
    """1.75 mm of 1.24 g/cm³: π/4 · 1.75² · 1.24 = 2.98 g a metre."""


def filaments(desk: Desk) -> list[Filament]:
    """The shop's filaments, in their order."""
    return read_rows(desk.read(NAME, []))


def keep(desk: Desk, found: Sequence[Filament]) -> None:
    """Keep the list."""
    desk.write(NAME, [asdict(f) for f in found[:MOST]])


def read_rows(rows: Iterable[Any]) -> list[Filament]:
    """Filaments of rows as a table holds them; rows without a name and a colour are left out.

    >>> read_rows([{"name": "Dusk", "colour": "#6B3F75", "price_per_kg": 22}, {"name": "", "colour": "#000000"}])
    [Filament(name='Dusk', colour='#6b3f75', price_per_kg=22.0, g_per_m=2.98)]
    """
    found = []
    for row in rows:
        if not isinstance(row, dict):
            continue
        name, colour = clean(str(row.get("name") or ""), 40), str(row.get("colour") or "").strip().casefold()
        if name and _HEX.fullmatch(colour):
            price, mass = _number(row.get("price_per_kg"), 0.0, 10_000.0), _number(row.get("g_per_m"), 2.98, 1000.0)
            found.append(Filament(name, colour, price, mass))
    return found[:MOST]


def _number(value: Any, otherwise: float, most: float) -> float:
    try:
        number = float(value)
    except (TypeError, ValueError):
        return otherwise
    return number if 0 <= number <= most else otherwise


def choices(own: Sequence[Filament], asked: Iterable[str]) -> dict[str, str]:
    """Colours to choose from, by value, in words: the shop's own first, then the usual ones, then what is asked.

    >>> list(choices([Filament("Dusk", "#6b3f75")], ["#123456"]))[:2]
    ['#6b3f75', 'black']
    """
    found = {f.colour: f.name for f in own}
    found |= {name: name for name in COLOURS}
    return found | {c: c for c in asked if c not in found}


def contrast(one: str, other: str) -> float:
    """Contrast of two colours, 1 to 21 (WCAG 2.2, "contrast ratio" and "relative luminance").

    >>> round(contrast("#000000", "#ffffff"), 1), round(contrast("navy", "sky"), 1)
    (21.0, 4.0)
    """
    low, high = sorted((_luminance(one), _luminance(other)))
    return (high + 0.05) / (low + 0.05)


def _luminance(colour: str) -> float:
    text = hex_of(colour)
    parts = [int(text[k : k + 2], 16) / 255 for k in (1, 3, 5)]
    red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast_line(colours: tuple[str, str, str], layers: int) -> tuple[str, bool]:
    """How well the layers part, in words, and whether that is poor.

    >>> contrast_line(("navy", "sky", "cream"), 1)
    ('', False)
    """
    base, middle, top = colours
    pairs = {3: (("middle on base", base, middle), ("top on middle", middle, top)), 2: (("top on base", base, top),)}
    found = [(words, contrast(a, b)) for words, a, b in pairs.get(layers, ())]
    if not found:
        return "", False
    listed = ", ".join(f"{words} {ratio:.1f} to 1" for words, ratio in found)
    poor = any(ratio < POOR_CONTRAST for _, ratio in found)
    end = "too alike to read; take another colour" if poor else f"{EASY_CONTRAST:g} and more is easy to read from afar"
    return f"Contrast: {listed}; {end}.", poor
