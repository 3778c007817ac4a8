"""One piece or not: the join curve against a print simulated in pixels.

The simulation knows nothing of polygons' distances: it paints the lettering at its real size in mm, grows it by the
base offset with scikit-image, and counts what hangs together. A second one opens the grown picture by a line width,
as a nozzle would, and asks whether all letters still hang together; the neck is to say the same.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np
import pytest
import shapely
from conftest import demo_sample
from numpy.typing import NDArray
from shapely import MultiPolygon, box
from shapely.geometry.base import BaseGeometry
from skimage.draw import polygon as fill
from skimage.measure import label
from skimage.morphology import isotropic_dilation, isotropic_erosion

from scanner.alphabet import read_words
from scanner.lettering import Lettering, Typesetter
from scanner.measures.joins import join_edges, pieces_at
from scanner.measures.necks import neck, seeds_of
from scanner.regions import offset, polygons_of
from scanner.shaping import Shaper

PX_MM = 0.08
"""A pixel: a fifth of a 0.4 mm line."""

CAP_HEIGHTS_MM = (8.0, 14.0)
BASE_OFFSETS_MM = (0.4, 0.7, 1.0)
"""Offsets about the thresholds of demo faces, so that both answers occur; each word gets one, in turn."""

WORDS_A_FACE = 3


def paint(region: BaseGeometry, mm_per_unit: float, margin_mm: float) -> tuple[NDArray[np.bool_], NDArray[np.float64]]:
    """Pixels whose centre lies in the region; and the place of pixel (0, 0) in mm, x first."""
    x0, y0, x1, y1 = (v * mm_per_unit for v in region.bounds)
    origin = np.array([x0, y0]) - margin_mm
    size = np.ceil((np.array([x1, y1]) + margin_mm - origin) / PX_MM).astype(int) + 1
    picture = np.zeros((size[1], size[0]), dtype=bool)
    for part in polygons_of(region):
        for hole, ring in enumerate((part.exterior, *part.interiors)):
            # Filling takes as long as there are vertices: those within a tenth of a pixel of a chord are left out.
            ring = shapely.simplify(ring, 0.1 * PX_MM / mm_per_unit)
            at = (shapely.get_coordinates(ring) * mm_per_unit - origin) / PX_MM
            rows, columns = fill(at[:, 1], at[:, 0], picture.shape)
            picture[rows, columns] = hole == 0
    return picture, origin


def components(picture: NDArray[np.bool_]) -> int:
    return int(label(picture, connectivity=2).max())


@dataclass(frozen=True)
class Case:
    """One word in one face at one size with one base."""

    name: str
    lettering: Lettering
    mm_per_unit: float
    offset_mm: float


@lru_cache(maxsize=1)
def cases() -> tuple[Case, ...]:
    """One face a family x three of the test words, in turn, x two sizes."""
    return tuple(_cases())


def _cases() -> Iterator[Case]:
    words = read_words()
    at = 0
    for path in demo_sample():
        setter = Typesetter(Shaper.open(path))
        (cap,) = setter.shaper.shape("H")
        height = setter.region(cap.glyph).bounds[3]
        for _ in range(WORDS_A_FACE):
            word = words[at % len(words)]
            lettering = setter.set(word)
            for cap_mm in CAP_HEIGHTS_MM:
                out = BASE_OFFSETS_MM[at % len(BASE_OFFSETS_MM)]
                yield Case(f"{path.name} {word} {cap_mm} mm, base {out}", lettering, cap_mm / height, out)
            at += 1


def test_one_piece_or_not_agrees_with_the_simulated_print(demo_fonts: tuple[Path, ...]) -> None:
    one = several = 0
    disagree = []
    for case in cases():
        edges = join_edges(case.lettering.region) * case.mm_per_unit
        ours = pieces_at(edges, case.offset_mm) == 1
        picture, _ = paint(case.lettering.region, case.mm_per_unit, case.offset_mm + 2 * PX_MM)
        theirs = components(isotropic_dilation(picture, case.offset_mm / PX_MM)) == 1
        one, several = one + theirs, several + (not theirs)
        if ours != theirs:
            disagree.append((case.name, abs(edges[0] / 2 - case.offset_mm)))
    print(f"{one} in one piece, {several} not, {len(disagree)} disagree: {disagree}")
    assert min(one, several) >= 0.1 * (one + several), "both answers must occur for the check to say anything"
    assert len(disagree) <= 0.01 * (one + several), disagree
    # Pixel centres miss the outline by at most half a pixel on each side of a gap.
    assert [d for d in disagree if d[1] > PX_MM] == []


def test_the_count_of_pieces_agrees_with_the_simulated_print(demo_fonts: tuple[Path, ...]) -> None:
    # Not only one or not: with all thresholds more than a pixel away the whole count is the same.
    compared = 0
    for case in cases()[:: 5]:
        edges = join_edges(case.lettering.region) * case.mm_per_unit
        if len(edges) == 0 or np.abs(edges / 2 - case.offset_mm).min() <= PX_MM:
            continue
        picture, _ = paint(case.lettering.region, case.mm_per_unit, case.offset_mm + 2 * PX_MM)
        assert components(isotropic_dilation(picture, case.offset_mm / PX_MM)) == pieces_at(edges, case.offset_mm)
        compared += 1
    assert compared >= 20


LINE_MM = 0.8
"""The least wall of the built-in 0.4 mm profile, two lines: what a joint must be wide to be printed as one."""


def test_a_joint_wide_enough_agrees_with_the_simulated_print(demo_fonts: tuple[Path, ...]) -> None:
    # The grown picture is shrunk by half a wall: all letters' seeds on one piece of what is left means that a wall
    # runs from each to each. Two pixels of the width may be lost to pixel centres, one at each side.
    held = parted = 0
    disagree = []
    for case in cases()[:: 3]:
        scale = case.mm_per_unit
        parts = [p for letter in case.lettering.letters for p in polygons_of(letter.region)]
        seeds = seeds_of(parts, 0.001 * case.lettering.upem)
        width, _ = neck(offset(case.lettering.region, case.offset_mm / scale), seeds, 0.001 * case.lettering.upem)
        ours = width * scale >= LINE_MM
        picture, origin = paint(case.lettering.region, scale, case.offset_mm + 2 * PX_MM)
        grown = isotropic_dilation(picture, case.offset_mm / PX_MM)
        left = label(isotropic_erosion(grown, LINE_MM / 2 / PX_MM), connectivity=2)
        at = np.rint((seeds * scale - origin) / PX_MM).astype(int)
        found = set(left[at[:, 1], at[:, 0]].tolist())
        theirs = len(found) == 1 and 0 not in found
        held, parted = held + theirs, parted + (not theirs)
        if ours != theirs:
            disagree.append((case.name, abs(width * scale - LINE_MM)))
    print(f"{held} hold, {parted} part, {len(disagree)} disagree: {disagree}")
    assert min(held, parted) >= 0.1 * (held + parted)
    assert len(disagree) <= 0.05 * (held + parted), disagree
    assert [d for d in disagree if d[1] > 3 * PX_MM] == []


# --- the simulation itself ---------------------------------------------------------------------------------------


def test_the_simulation_paints_holes_and_areas() -> None:
    ring = MultiPolygon([box(0, 0, 10, 10).difference(box(2, 2, 8, 8))])
    picture, origin = paint(ring, 1.0, 1.0)
    assert picture.sum() * PX_MM**2 == pytest.approx(64, rel=0.02)
    assert origin.tolist() == [-1, -1]
    assert components(picture) == 1 and components(~picture) == 2


def test_the_simulation_joins_two_blocks_at_half_their_gap() -> None:
    blocks = MultiPolygon([box(0, 0, 4, 4), box(5, 0, 9, 4)])
    picture, _ = paint(blocks, 1.0, 1.0)
    assert components(isotropic_dilation(picture, (0.5 - PX_MM) / PX_MM)) == 2
    assert components(isotropic_dilation(picture, (0.5 + PX_MM) / PX_MM)) == 1
