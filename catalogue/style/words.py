"""The groups and traits by name, in the trade's words and in the order in which they are shown."""

from __future__ import annotations

from dataclasses import dataclass

NOT_GROUPED = "not grouped"


@dataclass(frozen=True, slots=True)
class Word:
    """A style that people browse."""

    name: str
    meaning: str
    """What one sees, in a few words."""
    also: tuple[str, ...] = ()
    """Other words that people search it by."""


GROUPS = (
    Word("joined script", "letters of a word join", ("cursive", "connected", "brush", "formal")),
    Word("handwriting", "written letters that mostly do not join", ("hand", "pen")),
    Word("informal block", "block letters drawn by hand", ("comic", "casual", "friendly")),
    Word("sans serif", "plain strokes without serifs", ("plain", "grotesque")),
    Word("rounded sans", "plain strokes with round ends", ("round", "soft")),
    Word("condensed sans", "narrow letters without serifs", ("narrow",)),
    Word("heavy sans", "very heavy letters without serifs", ("heavy", "poster")),
    Word("slab serif", "serifs as thick as the stems", ("slab", "egyptian")),
    Word("serif", "serifs thinner than the stems", ("roman", "book")),
    Word("monospaced", "every letter has one width", ("typewriter", "mono")),
    Word("blackletter", "broken pen strokes", ("fraktur", "gothic", "uncial")),
    Word("decorative", "letters of an unusual build", ("display", "ornamental")),
    Word("outline", "open strokes: contours, inline or shadow", ("inline", "hollow", "shadow")),
    Word("stencil", "strokes cut through by bridges", ()),
    Word("pixel", "letters built of square steps", ("bitmap",)),
    Word("rough", "worn, torn or sketched edges", ("distressed", "grunge", "worn")),
)
"""All groups; a face sits in exactly one, or is not grouped for a reason that is given."""

TRAITS = (
    Word("slanted", "leans", ("italic", "oblique", "leaning")),
    Word("all capitals", "small letters are capitals", ("capitals", "caps")),
    Word("small capitals", "small letters are smaller capitals", ("small caps",)),
    Word("one width", "every letter has one width"),
    Word("serifs", "has serifs, slabs included"),
    Word("narrow", "narrow letters", ("condensed",)),
    Word("wide", "wide letters", ("extended",)),
    Word("bold", "thick strokes", ("thick",)),
    Word("parallel lines", "inline or outline", ("inline",)),
)
"""Traits; a face has any number of them."""

GROUP_NAMES = tuple(word.name for word in GROUPS)
TRAIT_NAMES = tuple(word.name for word in TRAITS)
