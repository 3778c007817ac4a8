"""Style groups and traits of faces: vectors in, one group and any number of traits a face out. Pure.

1. A face without enough Latin letters to judge (few letters, symbols, another script) is not grouped, and the reason
   is given. A face of capitals is judged by its capitals.
2. The model gives each group a probability; the likeliest is the face's group. Below the model's bound it is called
   not sure, with the two that it lies between.
3. Each trait has its own probability and is shown only from where it was right for at least 95 % of the faces outside
   training, as it is right for fewer strangers; what the group says already is not said again.

A face's group hangs on nothing but its own numbers: adding a face never moves another, in its family or out of it.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from catalogue.errors import LetterholdError
from catalogue.style.model import Model
from catalogue.style.vectors import Row, Vectors, rows
from catalogue.style.words import GROUP_NAMES, GROUPS, NOT_GROUPED, TRAIT_NAMES, TRAITS, Word

LEAST_LETTERS = 20
"""Of 26 capitals, below which a face has too few letters to judge."""

FEW_SMALLS = 10
"""Small letters below which a face is one of capitals."""

LEAST_LEGIBLE, LEAST_LEGIBLE_JOINED = 0.125, 0.06
"""Share of letters that look like themselves below which they are symbols or another script: chance is 0.04, pictures
reach 0.11, loose scripts 0.2. Letters that join carry their strokes along, and are read with less."""

ONE_WIDTH = 0.03
"""Spread of advances over their mean below which letters have one width."""

SLANTED_DEG, STEEP_DEG, AGREED = 7.0, 21.0, 0.12
"""A face leans from the first; beyond the second only where this share of its contour agrees on the lean, as the
diagonals of some upright letters are steeper than their stems are long."""

SAID_BY_GROUP = {
    "slab serif": ("serifs",), "serif": ("serifs",), "monospaced": ("one width",), "outline": ("parallel lines",),
    "condensed sans": ("narrow",), "heavy sans": ("bold",),
    "joined script": ("serifs",), "handwriting": ("serifs",), "informal block": ("serifs",),
}  # fmt: skip
"""Traits that go without saying in a group, or that mean something else in it: a pen leaves ends like serifs."""


@dataclass(frozen=True, slots=True)
class Decision:
    """The style of a face: its group with what speaks for it, or ``NOT_GROUPED`` and why."""

    group: str
    support: str
    probability: float = 0.0
    """Of the group; 0 where there is none."""
    traits: tuple[str, ...] = ()
    """Traits that are shown, in the order of ``TRAITS``."""


@dataclass(frozen=True, slots=True)
class Group:
    """One group as a catalogue has it."""

    group: str
    meaning: str
    members: tuple[int, ...]
    """Indices into the faces that were given, most typical first."""


class UnknownStyle(LetterholdError):
    """A style that no group or trait is called by."""


def refusal(row: Row) -> str:
    """Why a face cannot be grouped, or nothing."""
    capitals, smalls = row["capitals"], row["smalls"]
    if not np.isfinite(capitals):
        return "not measured for style; scan its folder again"
    if capitals + smalls == 0:
        return "other script: it has no letters from A to z"
    if capitals < LEAST_LETTERS or FEW_SMALLS <= smalls < LEAST_LETTERS:
        return f"few letters: it has {capitals + smalls:.0f} of the 52 from A to z"
    flowing = row["joined"] > 0.45 and row["mirror"] < 0.5
    if not row["legible"] >= (LEAST_LEGIBLE_JOINED if flowing else LEAST_LEGIBLE):
        share = f"{row['legible']:.0%}" if np.isfinite(row["legible"]) else "none"
        return f"symbols or another script: {share} of A to z look like these letters"
    return ""


def decide(vectors: Vectors, model: Model) -> list[Decision]:
    """The style of every face by its own measures; ``vectors`` are (faces, len(FEATURES))."""
    if not len(vectors):
        return []
    groups = model.groups(vectors)
    traits = {name: model.trait(name, vectors) for name in model.least}
    out = []
    for k, row in enumerate(rows(vectors)):
        reason = refusal(row)
        if reason:
            out.append(Decision(NOT_GROUPED, reason))
            continue
        order = np.argsort(-groups[k], kind="stable").tolist()
        group, share = GROUP_NAMES[order[0]], float(groups[k, order[0]])
        shown = {name for name, shares in traits.items() if shares[k] >= model.least[name]}
        shown |= {name for name, holds in RULES.items() if holds(row)}
        support = f"{_percent(share)} likely" if share >= model.sure else _between(groups[k], order)
        out.append(Decision(group, support, share, _said(group, shown)))
    return out


def _said(group: str, shown: set[str]) -> tuple[str, ...]:
    """The traits worth saying of a face of a group."""
    silent = SAID_BY_GROUP.get(group, ())
    return tuple(name for name in TRAIT_NAMES if name in shown and name not in silent)


def _one_width(row: Row) -> bool:
    return row["width_spread_lower"] < ONE_WIDTH and row["width_spread_upper"] < ONE_WIDTH


def _slanted(row: Row) -> bool:
    return row["slant"] >= SLANTED_DEG and (row["slant"] <= STEEP_DEG or row["stem_share"] >= AGREED)


def _no_smalls(row: Row) -> bool:
    return row["smalls"] < FEW_SMALLS


RULES: dict[str, Callable[[Row], bool]] = {
    "one width": _one_width, "slanted": _slanted, "all capitals": _no_smalls,
}  # fmt: skip
"""Traits that one measured rule decides. A number that is not known (NaN) never lets a rule hold."""


def _percent(share: float) -> str:
    return f"{min(share, 0.99):.0%}"


def _between(shares: Vectors, order: Sequence[int]) -> str:
    first, second = order[:2]
    return f"not sure, {_percent(float(shares[first]))} likely; {GROUP_NAMES[second]} {_percent(float(shares[second]))}"


def supported(decision: Decision) -> str:
    """What speaks for a group in one line, the traits with it.

    >>> supported(Decision("serif", "97% likely", 0.97, ("slanted", "bold")))
    '97% likely; slanted, bold'
    """
    return "; ".join(part for part in (decision.support, ", ".join(decision.traits)) if part)


def summary(decided: Sequence[Decision]) -> list[Group]:
    """The groups that have members, in the order of ``GROUPS``, each face most typical first."""
    out = []
    for word in GROUPS:
        members = [k for k, d in enumerate(decided) if d.group == word.name]
        if members:
            typical = sorted(members, key=lambda k: -decided[k].probability)
            out.append(Group(word.name, word.meaning, tuple(typical)))
    return out


@dataclass(frozen=True, slots=True)
class Meant:
    """What a person means by a word of style."""

    groups: tuple[str, ...] = ()
    traits: tuple[str, ...] = ()

    def holds(self, decision: Decision) -> bool:
        """Whether a face is of one of the groups, or has one of the traits."""
        return decision.group in self.groups or bool(set(decision.traits) & set(self.traits))


def meant(text: str) -> Meant:
    """The groups or traits a person means: by name, by another word for it, or by how a word begins.

    Raises UnknownStyle that lists all names.

    >>> meant("mono").groups, meant("italic").traits, meant("Sans").groups
    (('monospaced',), ('slanted',), ('sans serif', 'rounded sans', 'condensed sans', 'heavy sans'))
    """
    wanted = " ".join(text.casefold().split())
    for fits in (_is_name, _has_word, _begins):
        groups = tuple(w.name for w in GROUPS if fits(w, wanted))
        traits = tuple(w.name for w in TRAITS if fits(w, wanted))
        if wanted == NOT_GROUPED:
            groups = (NOT_GROUPED,)
        if groups or traits:
            return Meant(groups, traits)
    names = ", ".join((*GROUP_NAMES, *TRAIT_NAMES, NOT_GROUPED))
    raise UnknownStyle(f"no style {text!r}; choose one of: {names}")


def _is_name(word: Word, wanted: str) -> bool:
    return wanted == word.name


def _has_word(word: Word, wanted: str) -> bool:
    return wanted in word.also or wanted in word.name.split()


def _begins(word: Word, wanted: str) -> bool:
    return bool(wanted) and any(known.startswith(wanted) for known in (word.name, *word.also))
