"""Words that the command line, the page and the job sheet share, so that all three say the same things."""

from __future__ import annotations

from dataclasses import dataclass

from catalogue.permission import Permission

CAUTION = (
    "A calculation from the drawing: no test, no certificate, no legal advice. Small parts can come off; not for"
    " children under 3. Follow local rules."
)
"""Ends every answer about a name that may be printed."""


@dataclass(frozen=True, slots=True)
class Sell:
    """A sell verdict in words."""

    sign: str
    """A shape; the shapes stay apart without colour."""
    answer: str
    """Under the heading "may be sold"."""
    statement: str
    """As a statement: "may be sold"."""

    @property
    def signed(self) -> str:
        """Sign and words."""
        return f"{self.sign} {self.statement}"

    @property
    def sentence(self) -> str:
        """The words with a capital; no stop at the end."""
        return f"{self.statement[0].upper()}{self.statement[1:]}"


SELL: dict[str, Sell] = {
    Permission.YES: Sell("●", "yes", "may be sold"),
    Permission.CONDITIONS: Sell("◐", "yes, with conditions", "may be sold, with conditions"),
    Permission.ASK: Sell("?", "ask the owner", "ask the owner first"),
    Permission.NO: Sell("×", "no", "may not be sold"),
    Permission.UNKNOWN: Sell("–", "no evidence found", "no evidence found"),
}
"""Every verdict of ``catalogue.licence.verdict`` in words."""


def sell(verdict: object) -> Sell:
    """The words for a verdict; any other text counts as unknown.

    >>> sell("yes-conditions").signed, sell(None).answer
    ('◐ may be sold, with conditions', 'no evidence found')
    """
    return SELL.get(str(verdict), SELL[Permission.UNKNOWN])


def count_of(number: int, noun: str, nouns: str = "") -> str:
    """A number with its noun.

    >>> count_of(1, "face"), count_of(0, "face"), count_of(2, "family", "families")
    ('1 face', '0 faces', '2 families')
    """
    return f"{number} {noun if number == 1 else nouns or f'{noun}s'}"


def pieces_of(number: int) -> str:
    """How many pieces, one of them in words: what is meant to be whole.

    >>> pieces_of(1), pieces_of(3)
    ('one piece', '3 pieces')
    """
    return "one piece" if number == 1 else f"{number} pieces"
