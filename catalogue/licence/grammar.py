"""Templates of sentences, compiled, and matched against words.

A template is a sentence with alternatives, optional words and typed slots, as a reviewer reads it:

    This font [software] (is|are) licensed under [the] {licence}

`[x]` may be left out, `(a|b)` is one of them, `{name}` is a slot that a function fills, or a class of words that the
table defines. Marks between words count for nothing, capitals neither. Matching goes through all templates at once,
word by word, so its time does not grow with their number. Pure.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from catalogue.licence.syntax import GrammarError, Part, parts_of
from catalogue.licence.words import Words

__all__ = ["Automaton", "Capture", "Classes", "Fill", "Filled", "GrammarError", "Match"]

Capture = tuple[str, str]
"""Slot and what it was filled with; ("", "") for nothing to keep."""
Fill = Callable[[Words, int], Iterable[tuple[int, Capture]]]
"""Ends of what fills a slot from a word on, each with what to keep."""

Filled = dict[tuple[int, str, int], tuple[tuple[int, Capture], ...]]
"""What fills a slot from a word on, as found before; classes of different tables are told apart by a number."""
NOTHING: Capture = ("", "")

END = "end"
"""The slot that is filled without a word where a sentence ends; behind the last word too."""
MOST_PATHS = 600  # ways through the templates that are followed at one word


@dataclass
class _State:
    words: dict[str, list[int]] = field(default_factory=dict)
    slots: list[tuple[str, int]] = field(default_factory=list)
    free: list[int] = field(default_factory=list)
    """States reached without a word."""
    done: tuple[int, ...] = ()
    """Numbers of the templates that end here."""


@dataclass(eq=False)
class _Node:
    """States a match can be in at once."""

    words: dict[str, list[int]]
    slots: dict[str, list[int]]
    done: tuple[int, ...]
    by_word: dict[str, _Node] = field(default_factory=dict)
    by_slot: dict[str, _Node] = field(default_factory=dict)
    """Where a word or a slot leads, as found before."""
    entries: tuple[dict[str, tuple[str, ...]], tuple[tuple[str, tuple[str, ...]], ...]] | None = None
    """Slots and classes that a word can begin, and those that what fills another slot can begin."""


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

    def add(self, prefix: str, sources: Mapping[str, str]) -> None:
        """Further classes, under names that begin with a prefix; inside of them such names come before plain ones."""
        self._sources |= {prefix + name: _prefixed(source, prefix, sources) for name, source in sources.items()}

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


def _prefixed(text: str, prefix: str, names: Iterable[str]) -> str:
    for name in names:
        text = text.replace("{" + name + "}", "{" + prefix + name + "}")
    return text


class Automaton:
    """Templates, to be matched together."""

    def __init__(self, classes: Classes | None = None) -> None:
        self._classes = classes or Classes({})
        self._states = [_State()]
        self._nodes: dict[frozenset[int], _Node] = {}
        self._starts: tuple[frozenset[str], frozenset[str]] | None = None
        self._begin: _Node | None = None

    def add(self, number: int, template: str, prefix: str = "", names: Iterable[str] = ()) -> None:
        """Adds a template under a number; classes named in `names` are meant with a prefix.

        :raises GrammarError: for brackets that do not match."""
        end = self._sequence(parts_of(_prefixed(template, prefix, names)), 0)
        self._states[end].done += (number,)
        self._nodes.clear()
        self._starts = self._begin = None

    def _new(self) -> int:
        self._states.append(_State())
        return len(self._states) - 1

    def _sequence(self, parts: list[Part], at: int) -> int:
        for part in parts:
            at = self._one(part, at)
        return at

    def _one(self, part: Part, at: int) -> int:
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

    def _choice(self, choices: list[list[Part]], at: int) -> int:
        end = self._new()
        for choice in choices:
            begin = self._new()  # its own start, or a choice that may be empty would leak into its neighbours
            self._states[at].free.append(begin)
            self._states[self._sequence(choice, begin)].free.append(end)
        return end

    def _closure(self, states: Iterable[int]) -> frozenset[int]:
        """States reached from some without a word."""
        seen = set(states)
        left = list(seen)
        while left:
            for after in self._states[left.pop()].free:
                if after not in seen:
                    seen.add(after)
                    left.append(after)
        return frozenset(seen)

    def _node(self, states: Iterable[int]) -> _Node:
        """The states a match can be in at once, as one node; each is made once, when a match first comes there."""
        closed = self._closure(states)
        known = self._nodes.get(closed)
        if known is None:
            inside = [self._states[number] for number in sorted(closed)]
            words: dict[str, list[int]] = {}
            slots: dict[str, list[int]] = {}
            for state in inside:
                for word, after in state.words.items():
                    words.setdefault(word, []).extend(after)
                for slot, one in state.slots:
                    slots.setdefault(slot, []).append(one)
            known = _Node(words, slots, tuple(dict.fromkeys(d for state in inside for d in state.done)))
            self._nodes[closed] = known
        return known

    def _first(self) -> _Node:
        if self._begin is None:
            self._begin = self._node((0,))
        return self._begin

    def _after(self, key: str, states: list[int], kept: dict[str, _Node]) -> _Node:
        known = kept.get(key)
        if known is None:
            known = kept[key] = self._node(states)
        return known

    def matches(self, words: Words, start: int, fills: Mapping[str, Fill], kept: Filled | None = None) -> list[Match]:
        """All templates that fit from word `start` on, with every end at which they do.

        `kept` remembers what filled the slots of these words, for further calls.
        """
        filled: Filled = {} if kept is None else kept
        found: dict[tuple[int, int], Match] = {}
        active: dict[int, dict[tuple[_Node, tuple[Capture, ...]], None]] = {start: {(self._first(), ()): None}}
        while active:
            at = min(active)
            for node, had in list(active.pop(at))[:MOST_PATHS]:
                for done in node.done:
                    found.setdefault((done, at), Match(done, at, had))
                if at >= len(words.low):
                    if END in node.slots:
                        active.setdefault(at, {})[self._after(END, node.slots[END], node.by_slot), had] = None
                    continue
                low = words.low[at]
                if low in node.words:
                    after = self._after(low, node.words[low], node.by_word)
                    active.setdefault(at + 1, {})[after, had] = None
                for slot in self._entered(node, words, at, fills, filled) if node.slots else ():
                    for stop, capture in self._fill(slot, words, at, fills, filled):
                        after = self._after(slot, node.slots[slot], node.by_slot)
                        active.setdefault(stop, {})[after, (*had, capture) if capture[0] else had] = None
        return list(found.values())

    def _entered(self, node: _Node, words: Words, at: int, fills: Mapping[str, Fill], filled: Filled) -> Iterable[str]:
        """Slots and classes of a node that can begin at a word: few of many."""
        if node.entries is None:
            node.entries = self._entries(node)
        by_word, by_slot = node.entries
        out = dict.fromkeys(by_word.get(words.low[at], ()))
        for slot, names in by_slot:
            if self._fill(slot, words, at, fills, filled):
                out.update(dict.fromkeys(names))
        return out

    def _entries(self, node: _Node) -> tuple[dict[str, tuple[str, ...]], tuple[tuple[str, tuple[str, ...]], ...]]:
        by_word: dict[str, list[str]] = {}
        by_slot: dict[str, list[str]] = {}
        for name in node.slots:
            words, slots = self._classes.automaton(name).starts() if name in self._classes else ((), (name,))
            for word in words:
                by_word.setdefault(word, []).append(name)
            for slot in slots:
                by_slot.setdefault(slot, []).append(name)
        return (
            {word: tuple(names) for word, names in by_word.items()},
            tuple((slot, tuple(names)) for slot, names in by_slot.items()),
        )

    def _fill(
        self, slot: str, words: Words, at: int, fills: Mapping[str, Fill], filled: Filled
    ) -> tuple[tuple[int, Capture], ...]:
        """Ends of what fills a slot or a class."""
        of_class = slot in self._classes
        key = (id(self._classes) if of_class else 0, slot, at)
        known = filled.get(key)
        if known is not None:
            return known
        filled[key] = ()  # a class that holds itself ends here
        if of_class:
            ends = self._classes.automaton(slot).matches(words, at, fills, filled)
            filled[key] = tuple(dict.fromkeys((m.stop, c) for m in ends for c in m.captures or (NOTHING,)))
        else:
            filled[key] = tuple(fills[slot](words, at))
        return filled[key]

    def slots(self) -> frozenset[str]:
        """All slots that its templates and their classes use."""
        out: set[str] = set()
        seen: set[str] = set()
        left: list[Automaton] = [self]
        while left:
            names = {slot for state in left.pop()._states for slot, _ in state.slots}
            classes = {name for name in names if name in self._classes}
            out |= names - classes
            left += [self._classes.automaton(name) for name in sorted(classes - seen)]
            seen |= classes
        return frozenset(out)

    def starts(self) -> tuple[frozenset[str], frozenset[str]]:
        """Words and slots with which a match can begin: most places in a text begin with none of them."""
        if self._starts is None:
            node = self._first()
            words: set[str] = set(node.words)
            slots: set[str] = set()
            for slot in node.slots:
                if slot in self._classes:
                    more_words, more_slots = self._classes.automaton(slot).starts()
                    words |= more_words
                    slots |= more_slots
                else:
                    slots.add(slot)
            self._starts = frozenset(words), frozenset(slots)
        return self._starts
