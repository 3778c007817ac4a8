"""What can be a name on a tag. Light: the command line asks before any font library is loaded."""

from __future__ import annotations

import unicodedata

from scanner.errors import LetterholdError

LONGEST_NAME = 200
"""Characters in one line; longer text is refused, not cut."""

_IGNORABLE = (
    (0xAD, 0xAD), (0x34F, 0x34F), (0x61C, 0x61C), (0x115F, 0x1160), (0x17B4, 0x17B5), (0x180B, 0x180F),
    (0x200B, 0x200F), (0x202A, 0x202E), (0x2060, 0x206F), (0x3164, 0x3164), (0xFE00, 0xFE0F), (0xFEFF, 0xFEFF),
    (0xFFA0, 0xFFA0), (0xFFF0, 0xFFF8), (0x1BCA0, 0x1BCA3), (0x1D173, 0x1D17A), (0xE0000, 0xE0FFF),
)  # fmt: skip
"""Characters that show nothing by themselves: Unicode's property Default_Ignorable_Code_Point (from memory)."""


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


def may_be_blank(character: str) -> bool:
    """Whether a character needs no ink: white space, and what only steers other letters (joiners, selectors).

    >>> may_be_blank(" "), may_be_blank("\\u200d"), may_be_blank("'")
    (True, True, False)
    """
    code = ord(character)
    if code < 0x80:
        return character.isspace()
    return character.isspace() or any(first <= code <= last for first, last in _IGNORABLE)


def one_line(text: str) -> str:
    """A line without control, direction, surrogate, private-use and unassigned characters, spaces as one.

    >>> one_line("one\\ntwo\\u202e three")
    'one two three'
    """
    line = " ".join(text.split())
    if line.isprintable():  # the common case needs no look at each character
        return line
    return " ".join("".join(c for c in line if unicodedata.category(c)[0] != "C").split())
