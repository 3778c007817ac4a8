"""The only conversions between font units, em, cap height, millimetres and inches."""

from __future__ import annotations

import re

from scanner.errors import LetterholdError

MM_PER_INCH = 25.4
"""Exact by the international yard and pound agreement of 1959."""

_LENGTH = re.compile(r"\s*([0-9]+(?:[.,][0-9]*)?|[.,][0-9]+)\s*(mm|cm|in|inch|\"|″)?\s*", re.IGNORECASE)
_FACTOR = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH, "inch": MM_PER_INCH, '"': MM_PER_INCH, "″": MM_PER_INCH}
LONGEST_MM = 2000.0


def parse_length_mm(text: str) -> float:
    """A length as a person types it, in mm; a bare number is millimetres.

    >>> parse_length_mm("14mm"), round(parse_length_mm("0.11in"), 3), parse_length_mm("1,5 cm")
    (14.0, 2.794, 15.0)
    >>> parse_length_mm("tall")
    Traceback (most recent call last):
    scanner.errors.LetterholdError: 'tall' is not a length; write it as 14mm or 0.55in
    """
    match = _LENGTH.fullmatch(text)
    if match is None:
        raise LetterholdError(f"{text[:40]!r} is not a length; write it as 14mm or 0.55in")
    value = float(match[1].replace(",", ".")) * _FACTOR[(match[2] or "mm").lower()]
    if not 0.0 < value <= LONGEST_MM:
        raise LetterholdError(f"{text[:40]!r} is not above 0 and at most {LONGEST_MM:g} mm; write it as 14mm or 0.55in")
    return value
