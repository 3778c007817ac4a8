"""Long alternations on short texts, quickly: an alternative is tried only when the text holds letters that it needs.

`re` tries each alternative at each place. A search for a few fixed letters costs far less.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

LEAST = 2  # letters that are worth a search of their own


class Sieve:
    """Alternatives of a pattern, each with the letters of which a text that it matches must hold some."""

    def __init__(self, alternatives: list[str]) -> None:
        """:raises re.error: for an alternative that is no pattern."""
        kept, rest = [], []
        for one in alternatives:
            letters = must_hold(one)
            if letters:
                kept.append((letters, re.compile(one)))
            else:
                rest.append(one)
        self._alternatives = tuple(kept)
        self._rest = re.compile("|".join(rest)) if rest else None

    def spans(self, text: str) -> Iterator[tuple[int, int]]:
        """Places of all matches of each alternative; they may overlap."""
        if self._rest is not None:
            yield from (hit.span() for hit in self._rest.finditer(text))
        for letters, pattern in self._alternatives:
            for some in letters:
                if some in text:
                    yield from (hit.span() for hit in pattern.finditer(text))
                    break


def split(pattern: str) -> list[str]:
    """A pattern's alternatives, apart at the bars outside of brackets.

    >>> split(r"a(?:b|c)|[|]d|e")
    ['a(?:b|c)', '[|]d', 'e']
    """
    out, start = [], 0
    for at, _ in _pieces(pattern):
        if pattern[at] == "|":
            out.append(pattern[start:at])
            start = at + 1
    return [*out, pattern[start:]]


def by_first_letter(alternatives: list[str]) -> str:
    """One pattern of alternatives, those of like first letter together, so that few are tried at a place.

    Which of two that match at one place is found may differ.

    >>> by_first_letter(["sale", "sold", "[a-c]x", "pa?y", "a?b"])
    's(?:ale|old)|p(?:a?y)|[a-c]x|a?b'
    """
    groups: dict[str, list[str]] = {}
    for one in alternatives:
        plain = one[:1].isalpha() and not one[1:].startswith(("?", "*", "+", "{"))
        groups.setdefault(one[0] if plain else "", []).append(one[1:] if plain else one)
    rest = groups.pop("", [])
    return "|".join([f"{letter}(?:{'|'.join(ends)})" for letter, ends in groups.items()] + rest)


def must_hold(alternative: str) -> tuple[str, ...]:
    """Runs of letters of which every match holds at least one; () when no run of LEAST letters is sure.

    >>> must_hold(r"\\bmay (?:not|never) be sold"), must_hold("(?:nur|only) here?"), must_hold("x?y*")
    ((' be sold',), (' her',), ())
    """
    runs: list[tuple[str, ...]] = []
    run = ""
    for at, end in _pieces(alternative):
        piece, after = alternative[at:end], alternative[end:]
        maybe = after.startswith(("?", "*", "{"))
        letter = piece[-1] if len(piece) == 1 or piece[1] in r".()[]{}|*+?^$\/-&#~ " else ""
        if piece == r"\b" or piece in "^$":
            continue
        if piece[0] == "(" or piece[0] == "[" or piece in ".?*+" or piece[0] == "{" or not letter or maybe:
            if piece[0] == "(" and not maybe and piece.startswith("(?:"):
                each = [must_hold(one) for one in split(piece[3:-1])]
                if all(each):
                    runs.append(tuple(dict.fromkeys(some for one in each for some in one)))
            runs.append((run,))
            run = ""
            continue
        run += letter
        if after.startswith("+"):
            runs.append((run,))
            run = ""
    runs.append((run,))
    sure = [some for some in runs if min(map(_weight, some)) >= LEAST]
    return max(sure, key=lambda some: (min(map(_weight, some)), -len(some)), default=())


def _weight(run: str) -> int:
    """Letters in a run; those beyond ASCII are rarer and count twice."""
    return len(run) if run.isascii() else 2 * len(run)


def _pieces(pattern: str) -> Iterator[tuple[int, int]]:
    """Start and end of each character, escape, class, count and whole group of a pattern."""
    at = 0
    while at < len(pattern):
        end = at + 1
        if pattern[at] == "\\":
            end = at + 2
        elif pattern[at] == "[":
            end = pattern.index("]", at + (3 if pattern[at + 1] == "^" else 2)) + 1
            while pattern[end - 2] == "\\" and pattern[end - 3] != "\\":
                end = pattern.index("]", end) + 1
        elif pattern[at] == "(":
            depth, end = 1, at + 1
            while depth:
                step = next(iter(_pieces(pattern[end:])))[1] if pattern[end] in "\\[" else 1
                depth += (pattern[end] == "(") - (pattern[end] == ")")
                end += step
        elif pattern[at] == "{":
            end = pattern.index("}", at) + 1
        yield at, end
        at = end
