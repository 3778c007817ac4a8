"""One statement, read to its end: every word is a known text, a template, prose about the design, or not understood.

`read` takes the words of one place of a font and cuts them into pieces. First published texts, then whole reviewed
sentences, then, where the place allows it, prose about the design. What is left is quoted as it is and searched for
limits; nothing is guessed. Pure.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from catalogue.licence.families import licences_at
from catalogue.licence.grammar import Fill, Filled
from catalogue.licence.labels import is_address, is_alphabet, is_label, is_run, spread
from catalogue.licence.limits import limits_at
from catalogue.licence.prose import is_design_prose, sentence_end
from catalogue.licence.samples import is_sample
from catalogue.licence.slots import Own, fills_for, is_end, is_name
from catalogue.licence.templates import Fit, fits_at
from catalogue.licence.texts import Found, texts_in
from catalogue.licence.words import Words, words_of

TEMPLATES = {
    "licence": ("licence",), "licence-file": ("licence",), "text-file": ("licence", "description"),
    "address": ("licence",), "copyright": ("copyright",), "trademark": ("trademark",), "maker": ("maker",),
    "description": ("description",), "url": ("description",), "sample": ("description",),
}  # fmt: skip
"""Which templates count in a place; a place that is not here holds no sentences."""
CLOSED = frozenset(("licence", "licence-file", "address"))
"""Places in which no unknown word is a name, and nothing but texts and templates is understood."""
WHOLE = {
    "copyright": "whole-copyright", "maker": "whole-maker", "url": "whole-maker", "trademark": "whole-trademark",
}  # fmt: skip
"""Places in which a bare name may be all that is said, and the templates for that."""
LABELS = {
    "version": "version", "unique": "unique", "style": "style", "name": "name", "file": "file", "folder": "folder",
    "archive": "archive",
}  # fmt: skip
MOST_READ = 20_000  # words that are cut into pieces; what lies behind them is not understood


@dataclass(frozen=True)
class Piece:
    """A stretch of a statement and what it was taken for."""

    kind: str
    """grant, either, part, exception, use, credit, plain, limit, mention or unknown."""
    said: str
    """The statement's own words."""
    spdx: tuple[str, ...] = ()
    family: str = ""
    """Record of a limit."""
    clear: bool = False
    """Whether a limit shuts goods out, or only asks."""


@lru_cache(maxsize=16384)
def read(text: str, place: str, own: Own) -> tuple[Piece, ...]:
    """The pieces of one statement, in order; none for a text without words."""
    if place in LABELS:
        return _label(text, LABELS[place], own)
    words = words_of(text)
    if not len(words):
        return ()
    if place in ("address", "url") and is_address(words):
        return tuple(_address(words, place))
    if place == "data":
        return _data(words, own)
    if place == "sample" and (is_sample(words) or is_alphabet(words.flat)):
        return (Piece("plain", words.said(0, len(words))),)
    return tuple(_sentences(words, place, own))


def _data(words: Words, own: Own) -> tuple[Piece, ...]:
    """A file for programs: limits in it, and its runs of words that are sentences. It never grants."""
    limits = tuple(_limits(words, 0, len(words)))
    if limits:
        return limits
    starts = [
        at for at in range(len(words)) if at == 0 or words.ends_sentence(at) or set(words.gaps[at]) & set('"<>=:')
    ]
    runs = [(a, b) for a, b in zip(starts, [*starts[1:], len(words)], strict=True) if not is_run(words, a, b)]
    odd = [(a, b) for a, b in runs if any(p.kind == "unknown" for p in _sentences_of(words.said(a, b), own))]
    return tuple(Piece("unknown", words.said(a, b)) for a, b in odd) or (Piece("plain", words.said(0, 1)),)


def _sentences_of(text: str, own: Own) -> tuple[Piece, ...]:
    return read(text, "text-file", own)


def _label(text: str, place: str, own: Own) -> tuple[Piece, ...]:
    """A name, a style, a version: limits in it, or its shape."""
    words = words_of(text if place in ("version", "unique") else spread(text))
    if not len(words):
        return ()
    limits = tuple(_limits(words, 0, len(words)))
    if limits:
        return limits
    kind = "plain" if is_label(words, place, own) else "unknown"
    return (Piece(kind, words.said(0, len(words))),)


def _address(words: Words, place: str) -> Iterator[Piece]:
    """Addresses that stand alone: those of licences grant in the licence address, others say nothing."""
    for at in range(len(words)):
        named = licences_at(words, at) if place == "address" else []
        said = words.said(at, at + 1)
        yield Piece("grant", said, (named[0][1][1],)) if named else Piece("plain", said)


def _sentences(words: Words, place: str, own: Own) -> Iterator[Piece]:
    """Published texts, and what stands around them and between their words."""
    fills = fills_for(own)
    within = _Within(place, own, fills, {})
    at = 0
    for found in texts_in(words):
        yield from _pieces(words, at, found.start, within)
        yield from _published(words, found)
        for begin, end in _inserted(found):
            if (begin, end) in found.names and is_name(words, begin, end, own):
                continue
            yield from _pieces(words, begin, end, within)
        at = found.stop
    yield from _pieces(words, at, len(words), within)


def _published(words: Words, found: Found) -> Iterator[Piece]:
    role = found.text.role if found.whole else "plain"
    yield Piece(role, words.said(found.start, min(found.stop, found.start + 40)), (found.text.spdx,))


def _inserted(found: Found) -> Iterator[tuple[int, int]]:
    for (_, end), (begin, _) in zip(found.own, found.own[1:], strict=False):
        if end < begin:
            yield end, begin


@dataclass
class _Way:
    """The best way to a word, and the step that led there."""

    cost: tuple[int, int, int]
    """Words not understood so far, pieces, and pieces that allow nothing: of two readings the one that says more."""
    before: int
    fit: Fit | None
    kind: str


class _Within(NamedTuple):
    """What a text is read by: its place, what the font calls itself, and how slots are filled."""

    place: str
    own: Own
    fills: Mapping[str, Fill]
    filled: Filled


def _pieces(
    words: Words,
    start: int,
    stop: int,
    within: _Within,
) -> Iterator[Piece]:
    """A stretch cut so that as few words as can be are left over."""
    if start >= stop:
        return
    ways: dict[int, _Way] = {start: _Way((0, 0, 0), start, None, "")}
    for at in range(start, min(stop, start + MOST_READ)):
        here = ways.get(at)
        if here is None:
            continue
        for end, fit, kind in _steps(words, at, stop, within):
            left, steps, rest = here.cost
            cost = (left + (end - at if kind == "unknown" else 0), steps + 1, rest + (kind != "use"))
            known = ways.get(end)
            if known is None or cost < known.cost:
                ways[end] = _Way(cost, at, fit, kind)
    if stop not in ways:
        ways[stop] = _Way((stop - start, 1, 0), start, None, "unknown")
    yield from _told(words, _joined(_walked(ways, start, stop)))


def _steps(
    words: Words,
    at: int,
    stop: int,
    within: _Within,
) -> Iterator[tuple[int, Fit | None, str]]:
    """Ends to which one piece can lead from a word on."""
    place, fills, filled = within.place, within.fills, within.filled
    end = min(sentence_end(words, at), stop)
    whole = False
    if at == 0 and stop == len(words) and place in WHOLE:
        for fit in fits_at(words, 0, WHOLE[place], fills, filled):
            if fit.stop == stop:
                yield fit.stop, fit, fit.template.meaning
                return
    for template_place in TEMPLATES[place]:
        for fit in fits_at(words, at, template_place, fills, filled):
            if fit.template.meaning == "use" and not is_end(words, fit.stop) and words.kinds[fit.stop] != "w":
                continue
            if fit.stop <= stop:
                whole = whole or fit.stop >= end
                yield fit.stop, fit, fit.template.meaning
    if whole:
        return
    if place not in CLOSED and words.ends_sentence(at) and is_design_prose(words, at, end, within.own):
        yield end, None, "plain"
    yield end, None, "unknown"


def _walked(ways: dict[int, _Way], start: int, stop: int) -> list[tuple[int, int, _Way]]:
    steps: list[tuple[int, int, _Way]] = []
    at = stop
    while at != start:
        way = ways[at]
        steps.append((way.before, at, way))
        at = way.before
    return steps[::-1]


def _joined(steps: list[tuple[int, int, _Way]]) -> list[tuple[int, int, _Way]]:
    """Steps that were not understood and follow each other as one, so that a quote is whole."""
    out: list[tuple[int, int, _Way]] = []
    for begin, end, way in steps:
        if out and way.kind == "unknown" == out[-1][2].kind:
            out[-1] = (out[-1][0], end, way)
        else:
            out.append((begin, end, way))
    return out


def _told(words: Words, steps: list[tuple[int, int, _Way]]) -> Iterator[Piece]:
    for begin, end, way in steps:
        said = words.said(begin, end)
        if way.fit is not None:
            granted = way.fit.licences or ((way.fit.template.spdx,) if way.fit.template.spdx else ())
            yield Piece(way.kind, said, granted)
        elif way.kind == "unknown":
            yield from _limits(words, begin, end)
            yield from _mentions(words, begin, end)
            yield Piece("unknown", said)
        else:
            yield Piece("plain", said)


def _limits(words: Words, start: int, stop: int) -> Iterator[Piece]:
    """Limits that touch some words, each with the words around it."""
    for limit in limits_at(words, start, stop)[:4]:
        begin, end = min(limit.start, max(start, limit.start - 8)), max(limit.stop, min(stop, limit.stop + 8))
        yield Piece("limit", words.said(begin, end), (), limit.family, limit.clear)


def _mentions(words: Words, start: int, stop: int) -> Iterator[Piece]:
    """Licences that are named in words that are not understood."""
    at, seen = start, set()
    while at < stop:
        named = [(end, spdx) for end, (_, spdx) in licences_at(words, at) if end <= stop]
        alone = len(named) == 1 and named[0][0] == at + 1 and words.kinds[at] == "w"
        if not named or (alone and not words.as_written(at).isupper()):  # "mit" is a word of German
            at += 1
            continue
        end, spdx = max(named)
        if spdx not in seen:
            seen.add(spdx)
            yield Piece("mention", words.said(max(start, at - 8), min(stop, end + 8)), (spdx,))
        at = end
