"""Which letters of a name faces lack, in words: letter by letter, so that an emoji is never blamed on an o. Pure."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable, Mapping

from catalogue.wording import count_of
from scanner.reasons import FontError

_JOINER = "\u200d"
_MOST_NAMED = 12
"""Letters named in a line; the others are counted."""


class LacksLetters(FontError):
    """A face cannot set the name in full; the message names the letters."""

    def __init__(self, title: str, letters: tuple[str, ...]) -> None:
        super().__init__(f"{title} lacks {named(letters)}; choose another face or type the name without")
        self.letters = letters


def letters_of(name: str) -> tuple[str, ...]:
    r"""The letters of a name as a person sees them, spaces left out: marks, joiners, skin tones and flags stay whole.

    A short form of Unicode's grapheme clusters (UAX 29), enough to name what is missing.

    >>> [len(letter) for letter in letters_of("Zoe\u0308 👍🏽")], letters_of("🇫🇷x")
    ([1, 1, 2, 2], ('🇫🇷', 'x'))
    """
    out: list[str] = []
    after_space = True
    for c in name:
        if c.isspace():
            after_space = True
            continue
        flag = bool(out) and _is_flag(c) and len(out[-1]) == 1 and _is_flag(out[-1])
        joined = bool(out) and (_extends(c) or out[-1].endswith(_JOINER) or flag)
        if joined and not after_space:
            out[-1] += c
        else:
            out.append(c)
        after_space = False
    return tuple(out)


def lacked(name: str, missing: Iterable[str]) -> tuple[str, ...]:
    """The letters of a name that hold a missing character, each once, in order."""
    gone = set(missing)
    return tuple(dict.fromkeys(letter for letter in letters_of(name) if gone & set(letter)))


def lacking_lines(lacking: Mapping[str, int], asked: int, left_out: int) -> tuple[str, ...]:
    """What faces lack, a line for each letter that no face has and one for the others.

    ``lacking`` counts for each letter the faces without it, of ``asked`` in all; ``left_out`` lack at least one.

    >>> lacking_lines({"👍": 9, "ë": 2}, 9, 9)
    ('👍 is in none of the 9 faces',)
    >>> lacking_lines({"ß": 1, "ë": 2}, 9, 2)
    ('2 faces lack ß (1) or ë (2)',)
    >>> lacking_lines({"ß": 1}, 9, 1)
    ('1 face lacks ß',)
    """
    nowhere = [letter for letter, faces in lacking.items() if faces >= asked]
    where = f"the {count_of(asked, 'face')}" if asked > 1 else "the one face asked"
    lines = [f"{letter} is in none of {where}" for letter in nowhere]
    if lines or not left_out:
        return tuple(lines)
    some = [letter if len(lacking) == 1 else f"{letter} ({faces})" for letter, faces in lacking.items()]
    more = f" and {len(some) - _MOST_NAMED} more letters" if len(some) > _MOST_NAMED else ""
    listed = some[:_MOST_NAMED]
    words = listed[0] if len(listed) == 1 else f"{', '.join(listed[:-1])} or {listed[-1]}"
    return (f"{count_of(left_out, 'face')} {'lacks' if left_out == 1 else 'lack'} {words}{more}",)


def named(letters: tuple[str, ...]) -> str:
    """Letters with spaces between them, the first of many."""
    more = f" and {len(letters) - _MOST_NAMED} more" if len(letters) > _MOST_NAMED else ""
    return " ".join(letters[:_MOST_NAMED]) + more


def _extends(c: str) -> bool:
    """Whether a character belongs to the one before it: marks, joiners and selectors, skin tones."""
    return unicodedata.category(c) in ("Mn", "Me", "Mc", "Cf") or "\U0001f3fb" <= c <= "\U0001f3ff"


def _is_flag(c: str) -> bool:
    """Whether it is a regional indicator, two of which make a flag."""
    return "\U0001f1e6" <= c <= "\U0001f1ff"
