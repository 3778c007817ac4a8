"""How a face's letters behave in a word, by what the scan stored. Pure."""

from __future__ import annotations

from catalogue.store.database import Face

JOINED_SHARE = 0.5
"""Share of touching small-letter pairs from which a face counts as joined."""

CONTEXTUAL_FROM = 0.1
"""Share of test words drawn in another way than their letter pairs from which a prediction is weak."""


def joined(face: Face) -> bool:
    """Whether the face's small letters join."""
    return face.joining >= JOINED_SHARE


def predictions_weak(face: Face) -> bool:
    """Whether the face uses contextual alternates, so that pair predictions are unreliable."""
    return face.contextual > CONTEXTUAL_FROM
