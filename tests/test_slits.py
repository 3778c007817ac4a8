"""Slits on plain shapes: what closes in print is told, what every letter has at its forks is not.

The widths are those of drawing and line, plane geometry; the rule itself is ours (see ``catalogue.judge.slits``).
"""

from __future__ import annotations

import math

import pytest
import shapely
import shapely.affinity
from shapely.geometry.base import BaseGeometry

from catalogue.judge.slits import slits

GAP_MM, LINE_MM = 0.5, 0.45
"""Least gap and line of the process nozzle-0.4."""

BLOCK = shapely.box(0, 0, 20, 10)


def notch(degrees: float, depth: float = 8.0) -> BaseGeometry:
    """A block with a pointed notch in its top, as between the legs of an M."""
    half = depth * math.tan(math.radians(degrees / 2))
    return shapely.difference(BLOCK, shapely.Polygon([(10 - half, 10), (10, 10 - depth), (10 + half, 10)]))


def channel(width: float, depth: float = 4.0) -> BaseGeometry:
    """A block with a channel of an even width in its top."""
    return shapely.difference(BLOCK, shapely.box(10 - width / 2, 10 - depth, 10 + width / 2, 10))


def round_fork() -> BaseGeometry:
    """Two discs that overlap: their outlines meet in two corners between round sides."""
    return shapely.union(shapely.Point(0, 0).buffer(5, 64), shapely.Point(8, 0).buffer(5, 64))


def discs(gap: float) -> BaseGeometry:
    """Two discs side by side."""
    return shapely.union(shapely.Point(0, 0).buffer(5, 64), shapely.Point(10 + gap, 0).buffer(5, 64))


def aperture(gap: float) -> BaseGeometry:
    """A thick ring that is open at one side, wide inside: the aperture of a c."""
    ring = shapely.difference(shapely.Point(0, 0).buffer(6, 64), shapely.Point(0, 0).buffer(3, 64))
    return shapely.difference(ring, shapely.box(0, -gap / 2, 9, gap / 2))


@pytest.mark.parametrize(
    "shape",
    [notch(8), notch(20), notch(45), notch(90), round_fork(), channel(0.6), discs(0.6), aperture(0.6), BLOCK],
    ids=["as sharp as between two stems", "the legs of an M", "the arms of a Y", "a right angle", "two bows that meet",
         "a channel of more than the least gap", "letters apart", "an open aperture", "nothing"],
)  # fmt: skip
def test_corners_and_wide_channels_are_no_slits(shape: BaseGeometry) -> None:
    assert slits(shape, GAP_MM, LINE_MM) == []


@pytest.mark.parametrize("width", [0.1, 0.3, 0.45])
@pytest.mark.parametrize("turn", [0.0, 37.0])
def test_a_channel_is_as_long_as_it_is_deep(width: float, turn: float) -> None:
    (found,) = slits(shapely.affinity.rotate(channel(width), turn), GAP_MM, LINE_MM)
    assert found.length_mm == pytest.approx(4 + width / 2, abs=0.2)  # its walls and half its floor


def test_what_is_shorter_than_a_line_is_none() -> None:
    assert slits(channel(0.3, 0.25), GAP_MM, LINE_MM) == []
    assert len(slits(channel(0.3, 0.6), GAP_MM, LINE_MM)) == 1


def test_narrow_places_between_two_strokes_are_bridged() -> None:
    """Discs of radius R at a gap g are nearer than G over a length of about 2 sqrt(R (G - g))."""
    (found,) = slits(discs(0.3), GAP_MM, LINE_MM)
    assert found.length_mm == pytest.approx(2 * math.sqrt(5 * 0.2), rel=0.25)
    (found,) = slits(aperture(0.3), GAP_MM, LINE_MM)
    assert found.length_mm == pytest.approx(3.0, abs=0.2)  # the thickness of the ring


def test_holes_are_no_slits() -> None:
    assert slits(shapely.difference(BLOCK, shapely.box(4, 4, 9, 4.3)), GAP_MM, LINE_MM) == []
