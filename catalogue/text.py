"""Text from fonts and licence files, made fit to show: on a terminal, in a table, in a spreadsheet."""

from __future__ import annotations

import re
import unicodedata

from scanner.names import one_line

LIMIT = 200
"""Characters of a shown text; longer ones end in an ellipsis (shared/hostile-fonts.md)."""


def clean(text: str, limit: int = LIMIT) -> str:
    """One line without control, bidi, surrogate, private-use and unassigned characters, at most `limit` long.

    >>> clean("one\\ntwo\\u202e three")
    'one two three'
    >>> clean("")
    ''
    """
    head = text[: limit * 8 + 64]  # a megabyte need not be walked for a line
    line = one_line(head)
    cut = len(line) > limit or len(head) < len(text)
    return line[: limit - 1].rstrip() + "…" if cut else line


_STARTERS = tuple("=+-@＝＋－＠")
"""Starts of a formula; in East Asian settings their wide forms too (OWASP, CSV injection)."""

_UNSEEN = frozenset("\u034f\u115f\u1160\u2800\u3164\uffa0")
"""Letters, marks and signs that are drawn as nothing."""

_HARMFUL = re.compile("[\x00-\x1f\x7f-\x9f\u200e\u200f\u061c\u2028-\u202e\u2066-\u2069\ud800-\udfff]+")
"""Control, line, direction (Unicode UAX 9) and surrogate characters: they turn or break what stands next to them."""


def csv_cell(value: object) -> str:
    """A cell that no spreadsheet takes for a formula, without control and direction characters.

    >>> csv_cell("=1+1"), csv_cell(" =1")
    ("'=1+1", "' =1")
    >>> csv_cell("Lobster"), csv_cell(None)
    ('Lobster', '')
    """
    text = _HARMFUL.sub(" ", "" if value is None else str(value))
    return "'" + text if starts_formula(text) else text


def starts_formula(text: str, starters: str | None = None) -> bool:
    """Whether the first character that is seen starts a formula; spaces and what is drawn as nothing are passed over.

    >>> starts_formula("\u200b =1"), starts_formula("- late", "=@"), starts_formula("a=b")
    (True, False, False)
    """
    seen = next((c for c in text if not _is_unseen(c)), "")
    return seen != "" and seen in (_STARTERS if starters is None else starters)


def _is_unseen(char: str) -> bool:
    return char.isspace() or char in _UNSEEN or unicodedata.category(char)[0] in "CM"


def from_csv_cell(cell: str) -> str:
    """The text of a cell that ``csv_cell`` wrote.

    >>> from_csv_cell("'=1+1"), from_csv_cell("'tis")
    ('=1+1', "'tis")
    """
    return cell[1:] if cell[:1] == "'" and starts_formula(cell[1:]) else cell
