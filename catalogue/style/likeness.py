"""What two faces have in common and where they part, in a designer's words with the figures. Pure.

Only numbers that can be seen and named are spoken of; ``scanner/measures/features.py`` defines each exactly.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from catalogue.style.model import Model
from catalogue.style.vectors import COMPARED, Row, Vectors, rows


def _percent(value: float) -> str:
    return f"{round(value, 2) + 0.0:.0%}"  # no "-0%"


def _fine_percent(value: float) -> str:
    return f"{value:.1%}"


def _degrees(value: float) -> str:
    return f"{round(value) + 0}°"


def _to_one(value: float) -> str:
    return f"{value:.1f} to 1"


def _times(value: float) -> str:
    return f"{math.exp(value):.1f} times"


def _always(row: Row) -> bool:
    return True


@dataclass(frozen=True, slots=True)
class Trait:
    """One number as a person would speak of it."""

    feature: str
    shared: str
    """What both have when they agree."""
    more: str
    less: str
    """What the other face has when its number is the larger or the smaller."""
    of: str
    """What the figure is a share of, or counts."""
    figure: Callable[[float], str] = _percent
    speaks: Callable[[Row], bool] = _always
    """Whether the number means anything for a face."""
    none: str = ""
    """What both have when both have nothing of it; when there is no word for that, it goes without saying."""


TRAITS = (
    Trait("stroke", "stroke weight", "heavier strokes", "lighter strokes", "of the cap height"),
    Trait("contrast", "contrast of thick and thin", "more contrast", "less contrast", "thick to thin", _to_one),
    Trait("width_lower", "width of small letters", "wider small letters", "narrower small letters", "of the x-height"),
    Trait("width_upper", "width of capitals", "wider capitals", "narrower capitals", "of the cap height"),
    Trait("width_spread_lower", "variety of widths", "more varied widths", "more even widths", "of the mean advance"),
    Trait("x_height", "x-height", "taller x-height", "lower x-height", "of the cap height"),
    Trait("ascender", "ascenders", "taller ascenders", "shorter ascenders", "of the cap height"),
    Trait("descender", "descenders", "longer descenders", "shorter descenders", "of the cap height"),
    Trait(
        "gap", "spacing", "looser spacing", "tighter spacing", "of the x-height",
        speaks=lambda r: r["gap"] > 0 and r["joined"] < 0.3,
    ),
    Trait("joined", "joining", "more joined", "less joined", "of small-letter pairs touch"),
    Trait("slant", "slant", "more slant", "less slant", "from upright", _degrees, none="upright"),
    Trait("serif_share", "serifs", "more serifs", "fewer serifs", "of the feet", none="no serifs"),
    Trait(
        "serif_thick", "thickness of serifs", "thicker serifs", "thinner serifs", "of the stem",
        speaks=lambda r: r["serif_share"] >= 0.5,
    ),
    Trait("corner", "corners", "sharper corners", "rounder corners", "of the outline's turning is in corners"),
    Trait("rough", "edges", "rougher edges", "smoother edges", "the turning of a smooth edge", _times),
    Trait("aspect_o", "width of o", "wider o", "narrower o", "of its height"),
    Trait("rectangular_o", "shape of o", "squarer o", "rounder o", "of its box filled"),
    Trait(
        "wobble_base", "baseline", "livelier baseline", "steadier baseline", "of the cap height up and down",
        _fine_percent,
    ),
    Trait("mirror", "symmetry", "more symmetric letters", "less symmetric letters", "like their mirror images"),
    Trait("stem_spread", "evenness of stems", "less even stems", "more even stems", "of the stem", _fine_percent),
    Trait("diagonal", "diagonals", "more diagonals", "fewer diagonals", "of the outline"),
    Trait("case", "small letters like capitals", "small letters more like capitals",
          "small letters less like capitals", "alike"),
    Trait("hollow", "open letters", "more open letters", "fewer open letters", "of the letters are open inside"),
    Trait("broken", "cut letters", "more cut letters", "fewer cut letters", "of the letters with bowls are cut"),
)  # fmt: skip

_PLACE = {trait.feature: COMPARED.index(trait.feature) for trait in TRAITS}

ALIKE, APART = 0.4, 0.6
"""Standard deviations up to which two faces are said to agree, and from which they are said to differ."""


def _spoken(one: Vectors, other: Vectors, model: Model) -> list[tuple[Trait, float, float, float, float]]:
    """The traits that speak for both faces: value and standard deviations from the mean of one and other."""
    both = np.stack([one, other])
    values, standard = rows(both), model.scale.standard(both)
    out = []
    for trait in TRAITS:
        a, b = (row[trait.feature] for row in values)
        if math.isfinite(a) and math.isfinite(b) and all(trait.speaks(row) for row in values):
            place = _PLACE[trait.feature]
            out.append((trait, a, b, float(standard[0, place]), float(standard[1, place])))
    return out


def alike(one: Vectors, other: Vectors, model: Model, most: int = 2) -> list[str]:
    """What two faces share, the least ordinary first: "slant (33° and 31° from upright)"; the other's figure first."""
    found = []
    for trait, a, b, at_one, at_other in _spoken(one, other, model):
        gap = abs(at_one - at_other)
        rarity = min(abs(at_one), abs(at_other)) if at_one * at_other > 0 else 0.0
        nothing = trait.figure(a) == trait.figure(b) == trait.figure(0.0)
        words = trait.none if nothing else f"{trait.shared} {_pair(trait, b, a, ' and ')}"
        if gap <= ALIKE and words:
            found.append((2 * gap - rarity, words))
    return [words for _, words in sorted(found, key=lambda f: f[0])[:most]]


def differs(one: Vectors, other: Vectors, model: Model, most: int = 2) -> list[str]:
    """How the other face differs from the one, the largest first: "heavier strokes (18% against 12% of the cap
    height)", the other's figure first.
    """
    found = []
    for trait, a, b, at_one, at_other in _spoken(one, other, model):
        gap = at_other - at_one
        if abs(gap) >= APART and trait.figure(a) != trait.figure(b):
            words = trait.more if gap > 0 else trait.less
            found.append((-abs(gap), f"{words} {_pair(trait, b, a, ' against ')}"))
    return [words for _, words in sorted(found, key=lambda f: f[0])[:most]]


def _pair(trait: Trait, first: float, second: float, between: str) -> str:
    figures = list(dict.fromkeys([trait.figure(first), trait.figure(second)]))
    return f"({between.join(figures)} {trait.of})"
