"""Each design measured once: the same outlines, set in the same way, come as TTF and WOFF2, hinted or not, many times.

A digest of the flattened alphabet stands for everything that measures of a Latin face are made from. It is exact: what
it covers is equal to the last bit, so the measures are those that would be taken. Faces of own letters are not shared.
"""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Callable, Sequence

import numpy as np
from numpy.typing import NDArray

from scanner.alphabet import CHARACTERS
from scanner.measures.painting import outline_of
from scanner.own_letters import Height
from scanner.records import FaceMeasures
from scanner.regions import as_array
from scanner.tables.drawn import Drawn

MOST_KEPT = 64
"""Designs whose measures a process keeps, about 0.2 MB each (``FaceMeasures`` of the demo fonts)."""


class Designs:
    """Measures of the last designs of a process."""

    def __init__(self, most: int = MOST_KEPT) -> None:
        self._most = most
        self._known: OrderedDict[bytes, FaceMeasures] = OrderedDict()

    def measured(self, digest: bytes, measure: Callable[[], FaceMeasures]) -> FaceMeasures:
        """What is known of a design; else measured now."""
        found = self._known.get(digest)
        if found is None:
            found = self._known[digest] = measure()
        self._known.move_to_end(digest)
        if len(self._known) > self._most:
            self._known.popitem(last=False)
        return found


def design_digest(drawn: Drawn, *heights: Height) -> bytes:
    """Of the outlines of every glyph that is used, of how texts are set with them, of what the face states, and of its
    heights, which may be those of letters outside the alphabet."""
    shaper = drawn.setter.shaper
    asked = dict.fromkeys(c for text in (CHARACTERS, *drawn.words) for c in text)
    stated = (
        shaper.upem, heights, shaper.table("post")[:8],
        "".join(c for c in asked if shaper.has(c)), tuple(drawn.words),
    )  # fmt: skip
    digest = hashlib.blake2b(repr(stated).encode("utf-8", "surrogatepass"), digest_size=16)
    texts = (drawn.pairwise, drawn.inline)
    for shaped in texts:
        _add(digest, shaped.start, shaped.size, shaped.glyph == 0, shaped.place, shaped.advance)
    # Glyphs by when they are used first: their numbers differ from file to file.
    glyphs, first, which = np.unique(
        np.concatenate([shaped.glyph for shaped in texts]), return_index=True, return_inverse=True
    )
    _add(digest, first[which], drawn.advances, drawn.inked)
    for regions in ([drawn.setter.region(g) for g in glyphs[np.argsort(first)].tolist()], drawn.regions):
        (points, ring), owner = outline_of(as_array(regions))
        _add(digest, points, ring, owner)
    return digest.digest()


def _add(digest: hashlib.blake2b, *arrays: NDArray[np.generic] | Sequence[float]) -> None:
    for array in map(np.ascontiguousarray, arrays):
        digest.update(repr((array.shape, array.dtype.str)).encode())
        digest.update(array.tobytes())
