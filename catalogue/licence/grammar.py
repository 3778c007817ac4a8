"""Templates of sentences, compiled, and matched against words.

A template is a sentence with alternatives, optional words and typed slots, as a reviewer reads it:

    This font [software] (is|are) licensed under [the] {licence}

`[x]` may be left out, `(a|b)` is one of them, `{name}` is a slot that a function fills, or a class of words that the
table defines. Marks between words count for nothing, capitals neither. Matching goes through all templates at once,
word by word, so its time does not grow with their number. Pure.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from catalogue.licence.words import Words, words_of

Capture = tuple[str, str]
"""Slot and what it was filled with; ("", "") for nothing to keep."""
Fill = Callable[[Words, int], Iterable[tuple[int, Capture]]]
"""Ends of what fills a slot from a word on, each with what to keep."""

Filled = dict[tuple[str, int], tuple[tuple[int, Capture], ...]]
"""What fills a slot from a word on, as found before."""
NOTHING: Capture = ("", "")

_MARK = re.compile(r"[\[\](){}|]")
MOST_PATHS = 600  # ways through the templates that are followed at one word


class GrammarError(ValueError):
    """A template that is no template; the message quotes it."""


@dataclass
class _State:
    words: dict[str, list[int]] = field(default_factory=dict)
    slots: list[tuple[str, int]] = field(default_factory=list)
    free: list[int] = field(default_factory=list)
    """States reached without a word."""
    done: tuple[int, ...] = ()
    """Numbers of the templates that end here."""


@dataclass(frozen=True)
class Match:
    """A template that fits from a word up to another."""

    number: int
    """Its number, as given to `Automaton.add`."""
    stop: int
    captures: tuple[Capture, ...]


class Classes:
    """Named alternatives that templates may use as `{name}`, each compiled once, when it is first needed."""

    def __init__(self, sources: Mapping[str, str]) -> None:
        """`sources` are alternatives as a template writes them, by name."""
        self._sources = dict(sources)
        self._compiled: dict[str, Automaton] = {}

    def __contains__(self, name: str) -> bool:
        return name in self._sources

    def automaton(self, name: str) -> Automaton:
        """The alternatives of a class.

        :raises GrammarError: for brackets that do not match.
        """
        if name not in self._compiled:
            self._compiled[name] = Automaton(self)
            self._compiled[name].add(0, f"({self._sources[name]})")
        return self._compiled[name]


class Automaton:
    """Templates, to be matched together."""

    def __init__(self, classes: Classes | None = None) -> None:
        self._classes = classes or Classes({})
        self._states = [_State()]
        self._closures: dict[int, tuple[int, ...]] = {}

    def add(self, number: int, template: str) -> None:
        """:raises GrammarError: for brackets that do not match."""
        end = self._sequence(_parts(template), 0)
        self._states[end].done += (number,)
        self._closures.clear()

    def _new(self) -> int:
        self._states.append(_State())
        return len(self._states) - 1

    def _sequence(self, parts: list[_Part], at: int) -> int:
        for part in parts:
            at = self._one(part, at)
        return at

    def _one(self, part: _Part, at: int) -> int:
        if part.kind == "word":
            return self._word(part.text, at)
        if part.kind == "slot":
            end = self._new()
            self._states[at].slots.append((part.text, end))
            return end
        end = self._choice(part.choices, at)
        if part.kind == "optional":
            self._states[at].free.append(end)
        return end

    def _word(self, word: str, at: int) -> int:
        known = self._states[at].words.setdefault(word, [])
        end = self._new()
        known.append(end)
        return end

    def _choice(self, choices: list[list[_Part]], at: int) -> int:
        end = self._new()
        for choice in choices:
            begin = self._new()  # its own start, or a choice that may be empty would leak into its neighbours
            self._states[at].free.append(begin)
            self._states[self._sequence(choice, begin)].free.append(end)
        return end

    def _closure(self, state: int) -> tuple[int, ...]:
        known = self._closures.get(state)
        if known is None:
            seen, left = {state}, [state]
            while left:
                for after in self._states[left.pop()].free:
                    if after not in seen:
                        seen.add(after)
                        left.append(after)
            known = tuple(s for s in seen if self._states[s].words or self._states[s].slots or self._states[s].done)
            self._closures[state] = known
        return known

    def matches(self, words: Words, start: int, fills: Mapping[str, Fill], kept: Filled | None = None) -> list[Match]:
        """All templates that fit from word `start` on, with every end at which they do.

        `kept` remembers what filled the slots of these words, for further calls.
        """
        filled: Filled = {} if kept is None else kept
        found: dict[tuple[int, int], Match] = {}
        active: dict[int, dict[int, tuple[Capture, ...]]] = {start: {0: ()}}
        while active:
            at = min(active)
            here = active.pop(at)
            low = words.low[at] if at < len(words) else ""
            for first, had in list(here.items())[:MOST_PATHS]:
                for number in self._closure(first):
                    state = self._states[number]
                    for done in state.done:
                        found.setdefault((done, at), Match(done, at, had))
                    for after in state.words.get(low, ()) if low else ():
                        active.setdefault(at + 1, {}).setdefault(after, had)
                    for slot, after in state.slots:
                        for stop, capture in self._fill(slot, words, at, fills, filled) if low else ():
                            more = (*had, capture) if capture[0] else had
                            active.setdefault(stop, {}).setdefault(after, more)
        return list(found.values())

    def _fill(
        self, slot: str, words: Words, at: int, fills: Mapping[str, Fill], filled: Filled
    ) -> tuple[tuple[int, Capture], ...]:
        """Ends of what fills a slot or a class."""
        known = filled.get((slot, at))
        if known is None:
            filled[slot, at] = ()  # a class that holds itself ends here
            if slot in self._classes:
                ends = self._classes.automaton(slot).matches(words, at, fills, filled)
                known = tuple(dict.fromkeys((m.stop, c) for m in ends for c in m.captures or (NOTHING,)))
            else:
                known = tuple(fills[slot](words, at))
            filled[slot, at] = known
        return known

    def starts(self) -> tuple[frozenset[str], frozenset[str]]:
        """Words and slots with which a match can begin: most places in a text begin with none of them."""
        words: set[str] = set()
        slots: set[str] = set()
        for number in self._closure(0):
            words.update(self._states[number].words)
            for slot, _ in self._states[number].slots:
                if slot in self._classes:
                    more_words, more_slots = self._classes.automaton(slot).starts()
                    words.update(more_words)
                    slots.update(more_slots)
                else:
                    slots.add(slot)
        return frozenset(words), frozenset(slots)


@dataclass(frozen=True)
class _Part:
    kind: str
    """word, slot, choice or optional."""
    text: str = ""
    choices: list[list[_Part]] = field(default_factory=list)


def _parts(text: str) -> list[_Part]:
    """A template's words, slots and groups.

    :raises GrammarError: for brackets that do not match.
    """
    tokens: list[str] = []
    at = 0
    for hit in _MARK.finditer(text):
        between = text[at : hit.start()]
        tokens += [between.strip()] if tokens[-1:] == ["{"] else words_of(between).low
        tokens.append(hit[0])
        at = hit.end()
    tokens += words_of(text[at:]).low
    parts, rest = _read(tokens, 0, "")
    if rest != len(tokens):
        raise GrammarError(f"a bracket is closed that was not opened in: {text}")
    return parts[0]


def _read(tokens: list[str], at: int, closing: str) -> tuple[list[list[_Part]], int]:
    """Alternatives from a token on, up to the bracket that closes them."""
    choices: list[list[_Part]] = [[]]
    while at < len(tokens):
        token = tokens[at]
        if token == closing:
            return choices, at + 1
        if token == "{":
            if tokens[at + 2 : at + 3] != ["}"]:
                raise GrammarError(f"a slot is not closed near {' '.join(tokens[at : at + 4])}")
            choices[-1].append(_Part("slot", tokens[at + 1]))
            at += 3
        elif token in "([":
            inner, at = _read(tokens, at + 1, ")" if token == "(" else "]")
            choices[-1].append(_Part("choice" if token == "(" else "optional", "", inner))
        elif token == "|" and closing:
            choices.append([])
            at += 1
        elif token in ")]}|":
            break
        else:
            choices[-1].append(_Part("word", token))
            at += 1
    if closing:
        raise GrammarError(f"a bracket is not closed: {closing}")
    return choices, at
