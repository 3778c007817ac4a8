"""Alternations that are tried only where they can match: the same is found as with `re`, which is the reference."""

from __future__ import annotations

import re

import pytest
from licence_sentences import BATCHES, GRANTS, NAMED_NOT_GRANTED

from catalogue.licence.mentions import flatten
from catalogue.licence.prefilter import Sieve, by_first_letter, must_hold, split
from catalogue.licence.sentences import grammar, phrases

TEXTS = [flatten(text).lower() for _, text in (*GRANTS, *(case for batch in BATCHES.values() for case in batch))]
TEXTS += [flatten(text).lower() for text in NAMED_NOT_GRANTED]


@pytest.mark.parametrize(
    "pattern",
    [
        r"\bmay (?:not|never) be sold|only for (?:print|paper)s?\b",
        r"[|(]x|a(?:b|c(?:d|e))|\(c\)|\d{4}|v\.?[\d.]+",
        r"(?:ofl|gpl)[- ]?v?\d|https?://\S+|[^\]|]{3}z",
        r"(?<!no )licen[cs]e|unter der|на условиях|許諾",
    ],
)
def test_what_stands_between_bars_is_what_re_takes_for_an_alternative(pattern: str) -> None:
    sieve = Sieve(split(pattern))
    for text in TEXTS:
        found = {at for begin, stop in sieve.spans(text) for at in range(begin, stop)}
        whole = {at for hit in re.finditer(pattern, text) for at in range(*hit.span())}
        assert whole <= found
        assert bool(whole) == bool(found), text


def test_letters_that_must_be_held_are_held() -> None:
    told = 0
    for one in (
        r"\bmay (?:not|never) be sold",
        "(?:nur|only) here?",
        r"\(c\)+ \d",
        "colou?rs",
        "ab*c{2}de",
        "(?:x|yes)+ no",
    ):
        letters = must_hold(one)
        for text in [
            *TEXTS,
            "may not be sold",
            "may never be sold",
            "only her",
            "((c)) 1",
            "colors",
            "accde",
            "yesx no",
        ]:
            hit = re.search(one, text)
            told += hit is not None
            assert hit is None or any(some in hit[0] for some in letters), (one, letters)
    assert told >= 6


def test_nothing_sure_gives_no_letters() -> None:
    assert must_hold("x?y*") == must_hold(r"\d+|\w") == must_hold("(?:ab|)") == must_hold("[ab]c?") == ()


def test_like_first_letters_together_find_the_same() -> None:
    words = ["sale", "sold", r"s\w+y", "[a-c]ell", "pa?y", "a?round", "ours?", "our", "(?<!x)only"]
    one, other = re.compile(rf"\b(?:{'|'.join(words)})"), re.compile(rf"\b(?:{by_first_letter(words)})")
    places = [[hit.start() for hit in one.finditer(text)] for text in TEXTS]
    assert places == [[hit.start() for hit in other.finditer(text)] for text in TEXTS] and any(places)


def test_phrases_that_are_understood_are_told_with_their_places() -> None:
    text = "all rights reserved. free of charge"
    assert {text[begin:stop] for begin, stop in phrases().spans(text)} >= {"all rights reserved", "free of charge"}
    assert grammar()["topic"].search("not for sale") and not grammar()["topic"].search("a tall serif")
