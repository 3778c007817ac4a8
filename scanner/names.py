"""What can be a name on a tag. Light: the command line asks before any font library is loaded."""

from __future__ import annotations

import unicodedata

from scanner.errors import LetterholdError

LONGEST_NAME = 200
"""Characters in one line; longer text is refused, not cut."""


class LetteringError(LetterholdError):
    """A text that cannot be set; the message ends with what to do."""


def check_name(text: str) -> None:
    """Raise LetteringError unless the text can be a name on a tag."""
    if not text.strip():
        raise LetteringError("the name is empty; type at least one letter")
    if len(text) > LONGEST_NAME:
        raise LetteringError(f"the name has {len(text)} characters; {LONGEST_NAME} are the most, shorten it")
    bad = [c for c in text if ord(c) < 32 or 0xD800 <= ord(c) <= 0xDFFF]
    if bad:
        raise LetteringError("the name holds a control character; type it again without")


def one_line(text: str) -> str:
    """A line without control, direction, surrogate, private-use and unassigned characters, spaces as one.

    >>> one_line("one\\ntwo\\u202e three")
    'one two three'
    """
    line = " ".join(text.split())
    if line.isprintable():  # the common case needs no look at each character
        return line
    return " ".join("".join(c for c in line if unicodedata.category(c)[0] != "C").split())
