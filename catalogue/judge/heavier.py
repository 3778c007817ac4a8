"""The weight lever, predicted: a face at a weight between two instances that were measured. Pure; lengths in em."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from catalogue.judge.chain import Chain
from catalogue.judge.hold import stray_mm
from catalogue.judge.made_search import Name

Array = NDArray[np.float64]
Places = NDArray[np.intp]

STEPS_BETWEEN = 4
"""Steps of the weight lever from one instance to the next: 25 of the 100 units that named weights lie apart (OpenType
1.9, usWeightClass)."""

_STOUT_EM = 10.0
"""Stands for strokes that were not measured: they ask for nothing."""

_MOST_INSTANCES = 20
"""Instances passed on the way to the heaviest; no axis has as many."""


@dataclass(frozen=True, slots=True, eq=False)
class Weights:
    """Between which instances each face stands, (faces) each."""

    lighter: Places
    heavier: Places
    share: Array
    """Of the way from the lighter to the heavier; 0 where the weight stays."""

    @property
    def moved(self) -> NDArray[np.bool_]:
        """Whether the weight is another than the face's own."""
        away: NDArray[np.bool_] = (self.lighter != np.arange(len(self.lighter))) | (self.share > 0)
        return away


def weights_for(name: Name, em_mm: Array, heavier: Places, free: bool) -> Weights:
    """How much heavier each face has to be for its strokes to be walls, with what a printed outline strays to spare."""
    least = name.process.least_wall_mm
    own = np.arange(len(em_mm))
    low, high = own.copy(), own.copy()
    if not free:
        return Weights(low, high, np.zeros(len(own)))
    wanted = (least + stray_mm(name.process)) / em_mm
    thin = np.nan_to_num(name.thinnest, nan=_STOUT_EM)
    light = thin * em_mm < least - 1e-6
    for _ in range(_MOST_INSTANCES):
        onward = light & (thin[high] < wanted) & (heavier[high] >= 0)
        if not onward.any():
            break
        low, high = np.where(onward, high, low), np.where(onward, heavier[high], high)
    rise = np.where(high != low, thin[high], 0.0) - np.where(high != low, thin[low], 0.0)
    share = np.where(rise > 1e-9, (wanted - thin[low]) / np.where(rise > 1e-9, rise, 1.0), 1.0)
    share = np.ceil(np.clip(share, 0.0, 1.0) * STEPS_BETWEEN - 1e-9) / STEPS_BETWEEN
    return Weights(low, high, np.where(high != low, share, 0.0))


def at_weights(name: Name, weights: Weights) -> Name:
    """The name with each face at its weight."""
    faces = np.flatnonzero(weights.moved)
    if not len(faces):
        return name
    low, high, share = weights.lighter[faces], weights.heavier[faces], weights.share[faces]

    def mixed(values: Array) -> Array:
        a, b = values[..., low], values[..., high]
        both = np.isfinite(a) & np.isfinite(b)
        found = values.copy()
        found[..., faces] = np.where(both, np.where(both, a, 0.0) * (1 - share) + np.where(both, b, 0.0) * share, a)
        return found

    chain = name.chain
    touching, joined = chain.touching.copy(), name.joined.copy()
    touching[faces], joined[faces] = chain.touching[low], name.joined[low]
    held = {k: mixed(ways) for k, ways in chain.held.items()}
    chain = Chain(chain.kinds, mixed(chain.gaps), mixed(chain.lens), held, mixed(chain.passages), touching)
    return Name(
        chain, mixed(name.thinnest), mixed(name.letter_thinnest), mixed(name.counter), mixed(name.openings), joined,
        name.process,
    )  # fmt: skip
