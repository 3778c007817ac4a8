"""Lengths as people type them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from scanner.units import parse_length_mm


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("0.11in", 2.794),  # heights of the default stack: common practice, no published source
        ("0.18 in", 4.572),
        ('0.25"', 6.35),
        ("14", 14.0),
        ("1,5cm", 15.0),  # decimal comma
    ],
)
def test_inches_are_25_4_mm(text: str, mm: float) -> None:
    """1 in = 25.4 mm exactly (international yard and pound agreement, 1959)."""
    assert parse_length_mm(text) == pytest.approx(mm, abs=1e-12)


@pytest.mark.parametrize("text", ["", "mm", "-3mm", "1e3", "0", "nan", "5 feet", "99999mm"])
def test_anything_else_says_how_to_write_it(text: str) -> None:
    with pytest.raises(ValueError, match="write it as 14mm"):
        parse_length_mm(text)


@given(st.floats(0.001, 1999.0))
def test_what_is_written_is_read_back(mm: float) -> None:
    assert parse_length_mm(f"{mm:.6f}mm") == pytest.approx(mm, abs=1e-6)


@given(st.text(max_size=20))
def test_no_text_breaks_the_reader(text: str) -> None:
    try:
        assert 0 < parse_length_mm(text) <= 2000
    except ValueError as error:
        assert "write it as" in str(error)
