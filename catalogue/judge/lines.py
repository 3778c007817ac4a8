"""Lines of a name: what was typed, and where a long name is best broken. Pure; light, as commands ask it first."""

from __future__ import annotations

import unicodedata
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from scanner.names import LetteringError

MOST_LINES = 6

LONG_NAME = 10
"""Characters from which a name of several words is proposed in two lines."""

WORTH_A_BREAK = 0.75
"""Width in two lines over that in one above which a break is not worth its line."""


def lines_of(name: str) -> list[list[str]]:
    r"""Lines of words in visual order: words of a right-to-left line come reversed.

    >>> lines_of("Anna Lee\n\nBo"), lines_of("محمد علي") == [["علي", "محمد"]]
    ([['Anna', 'Lee'], ['Bo']], True)
    """
    lines = [line.split() for line in name.splitlines() if line.strip()]
    if not lines:
        raise LetteringError("the name is empty; type at least one letter")
    if len(lines) > MOST_LINES:
        raise LetteringError(f"the name has {len(lines)} lines; {MOST_LINES} are the most, shorten it")
    return [line[::-1] if _right_to_left(line) else line for line in lines]


def typed_lines(text: str) -> str:
    r"""A name as typed into a command, where \\n stands for a new line, with real ones.

    >>> typed_lines(r"Anna\nLee") == typed_lines("Anna\nLee")
    True
    """
    return text.replace("\\n", "\n")


@dataclass(frozen=True, slots=True)
class Break:
    """A name in two lines."""

    first: str
    second: str
    share: float
    """Its width over that of the name in one line."""

    @property
    def typed(self) -> str:
        """As it is typed into a command."""
        return rf"{self.first}\n{self.second}"


def best_break(name: str, width_of: Callable[[str], float]) -> Break | None:
    """Where a long name of several words is broken best: at the word that leaves the narrower lines.

    None for a short name, or where two lines gain little. ``width_of`` gives the width of a text, in any unit.

    >>> best_break("Anna Maria Lee", len)
    Break(first='Anna', second='Maria Lee', share=0.6428571428571429)
    >>> best_break("Li Wei", len), best_break("Bartholomew Jo", len)
    (None, None)
    """
    words = name.split()
    if len(words) < 2 or len(" ".join(words)) < LONG_NAME:
        return None
    found = [(" ".join(words[:k]), " ".join(words[k:])) for k in range(1, len(words))]
    whole = width_of(" ".join(words))
    first, second = min(found, key=lambda pair: max(map(width_of, pair)))
    share = max(width_of(first), width_of(second)) / whole if whole > 0 else 1.0
    return Break(first, second, share) if share <= WORTH_A_BREAK else None


def _right_to_left(words: Sequence[str]) -> bool:
    for c in "".join(words):
        kind = unicodedata.bidirectional(c)
        if kind in ("L", "R", "AL"):
            return kind != "L"
    return False
