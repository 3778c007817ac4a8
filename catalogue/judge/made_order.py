"""The order of faces as made: in bands of hold, then mixed, so that the first lines show what there is. Pure.

Where hundreds of faces hold, hold alone is no order. Inside a band stand first the faces whose goods may be sold, then
those that are read at first sight, then the better made, where changes count against craft. Mixed means one line
a family, and no style group again before each has had its turn.
"""

from __future__ import annotations

from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.craft import Craft
from catalogue.judge.hold import LEAST_THAT_HOLDS
from catalogue.judge.kin import Kin

Places = NDArray[np.intp]

BANDS = (("ample", 70), ("good", 60), ("just", LEAST_THAT_HOLDS), ("not", 0))
"""Bands of hold as made, with the least hold of each. A fit stops as soon as the base has its reserve, which leaves 70
to 85 points to most: above that, more hold is no merit of the face."""

SELDOM = 3
"""Faces of no style group take a turn in one of so many rounds."""

ORDERS = ("mixed", "hold", "change", "craft", "plain")
"""``plain`` is ``mixed`` without families folded and groups in turn."""

POINTS_A_MM = 20.0
"""Points of craft that a millimetre of changes weighs: 0.5 mm more offset as much as 10 points (our limit)."""


class Standing(Protocol):
    """What an order needs of the faces as made, predicted or fitted: (faces) each."""

    @property
    def hold(self) -> NDArray[np.int64]: ...

    @property
    def cost_mm(self) -> NDArray[np.float64]: ...

    @property
    def able(self) -> NDArray[np.bool_]:
        """Whether the face has been asked at all."""


def band_of(hold: int) -> str:
    """The band of a hold.

    >>> [band_of(h) for h in (100, 69, 50, 49)]
    ['ample', 'good', 'just', 'not']
    """
    return next(name for name, least in BANDS if hold >= least)


def bands(hold: NDArray[np.int64]) -> Places:
    """The same as numbers, 0 the best; shape as ``hold``."""
    found: Places = np.sum([hold < least for _, least in BANDS], axis=0).astype(np.intp)
    return found


def ordered(made: Standing, kin: Kin, craft: Craft, order: str, among: NDArray[np.bool_]) -> Places:
    """Places of the faces that can be asked and are ``among``, first to last, in one of ``ORDERS``."""
    band, cost, skill = bands(made.hold), np.round(made.cost_mm, 3), -craft.figure
    merit = skill + POINTS_A_MM * cost
    keys = {
        "hold": (skill, cost, -made.hold),
        "change": (-made.hold, cost, made.hold < LEAST_THAT_HOLDS),
        "craft": (cost, skill, band),
    }
    usual = (cost, merit, ~craft.readable, ~kin.sellable, band)
    found = np.lexsort((kin.ids, *keys.get(order, usual)))
    found = found[(made.able & among)[found]]
    return in_turn(found, kin, band) if order == "mixed" else found


def in_turn(places: Places, kin: Kin, band: Places) -> Places:
    """One place a family, the first; in a band and a verdict groups in turn, faces of no group in every third round."""
    _, first = np.unique(kin.family[places], return_index=True)
    leaders = places[np.sort(first)]
    part = band[leaders] * 2 + ~kin.sellable[leaders]
    key = part * (kin.group.max(initial=0) + 2) + kin.group[leaders] + 1
    by_key = np.argsort(key, kind="stable")
    starts = np.flatnonzero(np.diff(key[by_key], prepend=-1))
    round_of = np.empty(len(leaders), dtype=np.intp)
    sizes = np.diff(starts, append=len(leaders))
    round_of[by_key] = np.arange(len(leaders)) - np.repeat(starts, sizes)
    outside = kin.group[leaders] < 0
    round_of = np.where(outside, SELDOM * round_of + SELDOM - 1, round_of)
    return leaders[np.lexsort((np.arange(len(leaders)), outside, round_of, part))]


def folded(kin: Kin, made: Standing, among: NDArray[np.bool_]) -> NDArray[np.int64]:
    """(faces) how many other faces of its family could stand in for each."""
    counts = np.bincount(kin.family[made.able & among], minlength=int(kin.family.max(initial=0)) + 1)
    return counts[kin.family] - 1
