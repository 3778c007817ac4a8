"""Colours of the layers by name, for show: what is printed is the filament in the printer."""

from __future__ import annotations

from catalogue.errors import LetterholdError

COLOURS = {
    "black": "#1d1d1f", "white": "#f7f5ef", "cream": "#f6efd9", "grey": "#8b97a3", "navy": "#274c77",
    "blue": "#2f6db5", "sky": "#8ab4d8", "teal": "#1f7a74", "green": "#3b7d3a", "yellow": "#e9b824",
    "orange": "#dd6b20", "red": "#b3261e", "pink": "#e58fb1", "plum": "#6b3f75", "brown": "#6f4a32",
}  # fmt: skip

DEFAULT_COLOURS = ("navy", "sky", "cream")
"""Of base, middle and top."""


class ColourError(LetterholdError):
    """A colour that is not known; the message lists those that are."""


def hex_of(colour: str) -> str:
    """#rrggbb of a colour. Raises ColourError with the names there are.

    >>> hex_of("navy"), hex_of("#ABCDEF")
    ('#274c77', '#abcdef')
    """
    text = colour.strip().casefold()
    if text in COLOURS:
        return COLOURS[text]
    if len(text) == 7 and text[0] == "#" and all(c in "0123456789abcdef" for c in text[1:]):
        return text
    raise ColourError(f"colour {colour!r} is not known; use #rrggbb or one of {', '.join(COLOURS)}")
