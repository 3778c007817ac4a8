"""Families: which face of one is its most regular, so that lists and pictures show each family once."""

from __future__ import annotations

from collections.abc import Sequence

_WEIGHTS = {
    "thin": 100, "hairline": 100, "extralight": 200, "ultralight": 200, "light": 300, "medium": 500, "semibold": 600,
    "demibold": 600, "demi": 600, "extrabold": 800, "ultrabold": 800, "bold": 700, "black": 900, "heavy": 900,
}  # fmt: skip
"""OpenType weight classes by name; longer names first where one holds another."""


def irregularity(style: str) -> int:
    """How far a style is from a family's regular face: steps of weight, and much more for slant and width.

    >>> [irregularity(s) for s in ("Regular", "Medium", "Bold", "Italic", "Condensed Bold")]
    [0, 100, 300, 1000, 1300]
    """
    plain = style.casefold().replace(" ", "").replace("-", "")
    weight = next((w for name, w in _WEIGHTS.items() if name in plain), 400)
    slanted = any(word in plain for word in ("italic", "oblique", "slanted"))
    wide = any(word in plain for word in ("condensed", "narrow", "expanded", "extended", "wide", "caps", "compressed"))
    return abs(weight - 400) + 1000 * slanted + 1000 * wide


def leading(families: Sequence[str], styles: Sequence[str]) -> list[int]:
    """For each face the index of its family's most regular face; a face without a family's name is its own."""
    best: dict[str, tuple[tuple[int, int, str], int]] = {}
    for k, (family, style) in enumerate(zip(families, styles, strict=True)):
        key = family.casefold()
        order = (irregularity(style), len(style), style)
        if key not in best or order < best[key][0]:
            best[key] = (order, k)
    return [best[f.casefold()][1] if f != "unnamed" else k for k, f in enumerate(families)]
