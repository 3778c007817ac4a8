"""Why a font file or a face has no measures: the closed list. Nothing else is ever written into a catalogue."""

from __future__ import annotations

from enum import StrEnum

from scanner.errors import LetterholdError

MOST_BYTES = 64 * 1024 * 1024
"""Size of a font file, and of what a web font may unpack to."""
MOST_TABLES = 128
MOST_FACES = 64
MOST_POINTS = 20_000
"""Cap on one glyph's flattened points; the largest of 3,294 real fonts has 15,230."""


class Reason(StrEnum):
    """One line each; it goes on from the name of the file or face and ends with what to do."""

    # the entry on the disk
    GONE = "it is gone since its folder was listed; scan again"
    FOLDER = "the folder cannot be listed; check that you may read it"
    DANGLING = "it is a link that leads nowhere; leave it out"
    NOT_PLAIN = "it is not a plain file; leave it out"
    SHUT = "it cannot be opened; check that you may read it"
    UNREAD = "it cannot be read to its end; check the disk it lies on"
    PATH = "its path is not UTF-8 text, or no plain path; rename it"
    LONG = "its path is too long for this system; move it to a folder nearer the top"
    CHANGING = "it changes while it is read; scan again when it is at rest"
    EMPTY = "it is empty; get the font again from its source"
    LARGE = f"it is larger than {MOST_BYTES >> 20} MB; leave it out"
    NO_FONT = "it is no TTF, OTF, TTC, WOFF or WOFF2 font; leave it out"
    # the file
    TABLES = f"it claims no tables or more than {MOST_TABLES}; get the font again from its source"
    FACES = f"it claims no faces or more than {MOST_FACES}; get the font again from its source"
    UNPACKED = f"it unpacks to more than {MOST_BYTES >> 20} MB or than it claims; get the font again from its source"
    PACKED = "the web font cannot be unpacked; get the font again from its source"
    # the face
    UNREADABLE = "HarfBuzz cannot open this face; get the font again from its source"
    NO_GLYPHS = "this is no font with glyphs; get the font again from its source"
    NO_EM = "the font states no units per em; get the font again from its source"
    EM = "the font states units per em outside 16 to 16,384; get the font again from its source"
    BITMAPS = "it has bitmap pictures only, nothing to cut; choose a font with outlines"
    COLOURS = "it has coloured drawings only, nothing to cut; choose a font with outlines"
    NO_OUTLINES = "it has no outlines, nothing to cut; choose a font with outlines"
    NO_CHARACTERS = "it maps no characters, so no name can be set in it; choose another font"
    SYMBOLS = "it is a symbol font without letters of any script; try the name itself with check"
    BLANK = "its letters have no outline, or a broken one; choose another font"
    SHAPING = "shaping this text takes too long in this face; choose another face"
    COORDINATES = "a glyph has coordinates that are no numbers or 64 em away; get the font again from its source"
    POINTS = f"a glyph has more than {MOST_POINTS} points; use a simpler face"
    OUTLINES = "its outlines cannot be measured; get the font again from its source"
    # the limits of a worker
    COMPUTING = "it takes more computing than a font should; get the font again from its source"
    WAITING = "it takes longer than a font should; get the font again from its source"
    MEMORY = "it needs more memory than a font should; get the font again from its source"
    CRASH = "it crashes the reader; get the font again from its source"
    STOPPED = "its reader was stopped from outside again and again; scan again"


LICENCE_UNREAD = "the licence evidence could not be read within the limits; look at the font's own files"
"""Stands in a verdict, not in a row's reason: the face is measured all the same."""


class FontError(LetterholdError):
    """A font that cannot be used; the message is one line and ends with what to do."""


class FileError(LetterholdError):
    """A path that cannot be used; one line that ends with what to do."""


def reason_of(error: Exception, otherwise: Reason) -> Reason:
    """The listed reason an error bears, or the one for the step that failed.

    >>> reason_of(FontError(Reason.POINTS), Reason.OUTLINES).name, reason_of(IndexError("x"), Reason.OUTLINES).name
    ('POINTS', 'OUTLINES')
    """
    said = error.args[0] if error.args else None
    if isinstance(error, MemoryError):
        return Reason.MEMORY
    return said if isinstance(said, Reason) else otherwise
