"""The neck of a name predicted from pairs and letters, against discs, rectangles and full geometry.

Check value G14: two discs of radius r at a gap g, grown by o, hang together by 2 sqrt((r+o)² - (r+g/2)²).
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Point, box
from shapely.affinity import rotate, translate
from shapely.geometry.base import BaseGeometry

from catalogue.judge.predicted_necks import UNKNOWN_RADIUS_EM, passages, predicted_neck
from scanner.measures.necks import neck, seeds_of
from scanner.measures.own_necks import Dotted, own_necks
from scanner.measures.pair_necks import OFFSETS_EM, Profiles, filled
from scanner.records import LENS_WIDTHS_EM, OWN_OFFSETS_EM, packed, packed_widths, unpacked, unpacked_widths
from scanner.regions import offset

UPEM = 1000.0
ZERO = np.zeros(1, dtype=np.intp)


def needed_by_two_discs(radius: float, gap: float, width: float) -> float:
    """G14 turned round (check value G15)."""
    return math.sqrt((radius + gap / 2) ** 2 + (width / 2) ** 2) - radius


@pytest.mark.parametrize("radius", [0.1, 0.25, 0.35])
@pytest.mark.parametrize("gap", [0.03, 0.06, 0.1])
@pytest.mark.parametrize("width", LENS_WIDTHS_EM[:2])
def test_two_discs_need_the_offset_of_the_formula(radius: float, gap: float, width: float) -> None:
    # Within half a row of the profile in width, which near the join is far less in the offset.
    disc = Point(0, 0).buffer(radius * UPEM, 64)
    profiles = Profiles([disc], [o * UPEM for o in OFFSETS_EM])
    (found,) = profiles.needed(ZERO, ZERO, np.array([(2 * radius + gap) * UPEM]), [w * UPEM for w in LENS_WIDTHS_EM])
    told = found[LENS_WIDTHS_EM.index(width)] / UPEM
    assert told == pytest.approx(needed_by_two_discs(radius, gap, width), abs=0.001)


def test_straight_faces_hang_together_by_their_whole_height_at_once() -> None:
    # G16: parallel faces at a gap g: the neck jumps from 0 to the full height at g / 2.
    bar = box(0, 0, 100, 700)
    profiles = Profiles([bar], [o * UPEM for o in OFFSETS_EM])
    (found,) = profiles.needed(ZERO, ZERO, np.array([160.0]), [w * UPEM for w in LENS_WIDTHS_EM])
    assert found / UPEM == pytest.approx(np.full(len(LENS_WIDTHS_EM), 0.03), abs=0.001)


def dumbbell(waist: float, turned: float = 0.0) -> BaseGeometry:
    blocks = box(0, 0, 200, 700).union(box(500, 0, 700, 700))
    return rotate(blocks.union(box(200, 300, 500, 300 + waist)), turned, origin=(350, 350))


def test_a_waist_grows_by_twice_the_offset() -> None:
    # Two blocks joined by a bar 60 high: the way through is 60 and twice the offset.
    (ways,) = own_necks([dumbbell(60)], [], UPEM, OWN_OFFSETS_EM)[0]
    grown = 2 * np.array(OWN_OFFSETS_EM)
    assert ways.min(axis=1) == pytest.approx(0.06 + grown, abs=0.02)
    assert ways.max(axis=1) == pytest.approx(0.2 + grown, abs=0.02)  # only the middle's own disc


def test_waists_upright_and_turned_are_right_in_the_mean() -> None:
    # The same for waists and slants of all kinds: what pixels take from a width is given back (``_SEEN_PX``).
    waists = np.linspace(30, 120, 31)
    letters = [dumbbell(w, turned) for w, turned in zip(waists, np.linspace(0, 40, 31), strict=True)]
    found, _ = own_necks(letters, [], UPEM, OWN_OFFSETS_EM)
    error = found.min(axis=2) - (waists / UPEM)[:, None] - 2 * np.array(OWN_OFFSETS_EM)
    assert abs(np.median(error)) < 0.005
    assert np.mean(np.abs(error) <= 0.02) > 0.9


def test_a_dot_hangs_on_to_a_neighbour_as_well() -> None:
    # A dot 100 wide, 200 above its stem, 60 beside a tall block: only the block holds it, as full geometry says.
    stem, dot, block = box(160, 0, 260, 500), box(160, 700, 260, 800), box(0, 0, 100, 900)
    both = shapely.union_all([stem, dot, block])
    _, (held,) = own_necks([stem], [Dotted(both, stem, dot)], UPEM, OWN_OFFSETS_EM)
    seeds = np.array([[210.0, 250.0], [210.0, 750.0]])
    true = [neck(offset(both, o * UPEM), seeds, 1.0)[0] / UPEM if o > 0.03 else 0.0 for o in OWN_OFFSETS_EM]
    assert held[1:] == pytest.approx(true[1:], abs=0.03)
    _, (alone,) = own_necks([stem], [Dotted(stem.union(dot), stem, dot)], UPEM, (0.05, 0.09))
    assert (alone == 0).all()


def test_the_way_round_a_counter_may_take_the_stouter_side() -> None:
    # A ring with a thin top and a stout bottom: a disc passes below the counter.
    ring = box(0, 0, 700, 700).difference(box(150, 200, 550, 650))
    ((_, to_right),) = own_necks([ring], [], UPEM, (0.03,))[0][:, 0]
    width, _ = neck(offset(ring, 30.0), np.array([[100.0, 100.0], [600.0, 100.0]]), 1.0)
    assert to_right * UPEM == pytest.approx(width, abs=16)


def test_an_arm_hangs_on_to_what_stands_below_it() -> None:
    # A T whose arm reaches over a block, 60 above it over 120 of its width, the block 80 from the stem. From the side
    # the two join at 40 (G12), from above at 30 already, by the whole 120 (G16, parallel faces).
    letter = box(0, 500, 500, 600).union(box(200, 0, 300, 600))
    block = box(0, 0, 200, 440)
    offsets, widths = [o * UPEM for o in OFFSETS_EM], [w * UPEM for w in LENS_WIDTHS_EM]
    first, second = ZERO, ZERO + 1
    (beside,) = Profiles([letter, block], offsets).needed(first, second, np.array([380.0]), widths)
    arms = Profiles([letter, block], offsets, upright=False, level=450)
    (hung,) = arms.needed(second, first, np.zeros(1), widths, slide=np.array([-380.0]))
    assert beside[:2] / UPEM == pytest.approx([0.04, 0.04], abs=0.001)
    assert hung[:2] / UPEM == pytest.approx([0.03, 0.03], abs=0.001)
    # The stem is no arm: a block lower than the arm and clear of it does not hang on it from above.
    (clear,) = arms.needed(second, first, np.zeros(1), widths, slide=np.array([-800.0]))
    assert (clear > UPEM).all()


def test_a_pair_not_measured_takes_after_its_row_and_its_column() -> None:
    # Offsets whose square roots are sums of what either letter brings: any of them follows from the others.
    right, left = np.array([0.02, 0.1, 0.05]), np.array([0.1, 0.14, 0.2, 0.12])
    first, second = np.divmod(np.arange(12), 4)
    true = ((right[first] + left[second])[:, None] * np.array([1.0, 1.3])) ** 2
    told = filled(np.where((np.arange(12) == 6)[:, None], np.nan, true), first, second)
    assert told == pytest.approx(true, abs=0.002)  # the means settle, they do not solve
    assert (told[np.arange(12) != 6] == true[np.arange(12) != 6]).all()


def test_pairs_that_nothing_bridges_do_not_spoil_the_others() -> None:
    # In a loosely set face some pairs stand too far apart for every offset looked at (very large numbers).
    first, second = np.divmod(np.arange(36), 6)
    true = np.full((36, 1), 0.04)
    needed = np.where((np.arange(36) % 7 == 0)[:, None], 900.0, true)
    needed[[5, 15, 20]] = np.nan
    told = filled(needed, first, second)[[5, 15, 20], 0]
    assert ((told >= 0.04 - 1e-9) & (told < 0.11)).all()  # between that of the others and the cap


def one_face(gap: float, radius: float, at: float) -> float:
    lens = np.array([[[needed_by_two_discs(radius, gap, w) - gap / 2] for w in LENS_WIDTHS_EM]])
    none = np.full((1, len(OWN_OFFSETS_EM), 1), np.nan)
    return float(predicted_neck(np.array([[gap]]), lens, none, np.array([at]))[0])


@pytest.mark.parametrize("at", [0.035, 0.05, 0.08, 0.09])
def test_between_the_stored_widths_the_neck_is_that_of_two_discs(at: float) -> None:
    gap, radius = 0.06, 0.25
    true = 2 * math.sqrt((radius + at) ** 2 - (radius + gap / 2) ** 2)
    assert one_face(gap, radius, at) == pytest.approx(true, abs=0.003)


def test_before_the_join_there_is_no_neck() -> None:
    assert one_face(0.1, 0.25, 0.05) == 0.0
    assert one_face(0.1, 0.25, 0.04) == 0.0


def test_a_pair_without_a_lens_is_taken_for_discs_of_the_stated_radius() -> None:
    lens = np.full((1, len(LENS_WIDTHS_EM), 1), np.nan)
    none = np.full((1, len(OWN_OFFSETS_EM), 1), np.nan)
    past = 0.01
    told = predicted_neck(np.array([[0.06]]), lens, none, np.array([0.03 + past]))[0]
    assert told == pytest.approx(math.sqrt(8 * UNKNOWN_RADIUS_EM * past), rel=1e-6)


lengths = st.floats(0.0, 0.2)


@given(
    gaps=st.lists(lengths, min_size=1, max_size=5),
    steps=st.lists(
        st.lists(lengths, min_size=len(LENS_WIDTHS_EM), max_size=len(LENS_WIDTHS_EM)), min_size=5, max_size=5
    ),
    own=st.lists(lengths, min_size=len(OWN_OFFSETS_EM), max_size=len(OWN_OFFSETS_EM)),
    low=lengths,
    high=lengths,
)
def test_a_larger_offset_never_narrows_the_neck(
    gaps: list[float], steps: list[list[float]], own: list[float], low: float, high: float
) -> None:
    low, high = sorted((low, high))
    lens = np.cumsum(np.array(steps[: len(gaps)]), axis=1)[:, :, None]
    letters = np.cumsum(own)[None, :, None]  # nor does a wider base narrow a passage
    told = [predicted_neck(np.array(gaps)[:, None], lens, letters, np.array([o]))[0] for o in (low, high)]
    assert told[0] <= told[1] + 1e-9


@given(gaps=st.lists(lengths, min_size=2, max_size=5), at=lengths)
def test_one_more_pair_never_widens_the_neck(gaps: list[float], at: float) -> None:
    lens = np.tile(np.array(LENS_WIDTHS_EM)[None, :, None] ** 2, (len(gaps), 1, 1))
    none = np.full((1, len(OWN_OFFSETS_EM), 1), np.nan)
    column = np.array(gaps)[:, None]
    all_, fewer = (predicted_neck(column[:n], lens[:n], none, np.array([at]))[0] for n in (len(gaps), len(gaps) - 1))
    assert all_ <= fewer + 1e-12


def test_a_passage_is_what_was_stored_at_the_stored_offsets_and_no_less_beyond() -> None:
    stored = np.linspace(0.1, 0.4, len(OWN_OFFSETS_EM))
    for at, width in zip(OWN_OFFSETS_EM, stored, strict=True):
        assert passages(stored[None, :, None], np.array([at]))[0, 0] == pytest.approx(width)
    assert passages(stored[None, :, None], np.array([0.2]))[0, 0] == pytest.approx(0.4 + 2 * (0.2 - OWN_OFFSETS_EM[-1]))
    assert np.isinf(passages(np.full((1, len(OWN_OFFSETS_EM), 1), np.nan), np.array([0.05]))).all()


def test_a_jump_is_not_run_ahead_of() -> None:
    # G16: 0.1 at 0.02 past the gap, growing as a disc's does, and a stem's whole height at 0.04: till then it grows on.
    past = np.array([0.005, 0.02, 0.04, 0.04, 0.04, 0.04])
    none = np.full((1, len(OWN_OFFSETS_EM), 1), np.nan)
    told = predicted_neck(np.zeros((1, 1)), past[None, :, None], none, np.array([0.039]))[0]
    assert 0.1 < told <= math.sqrt(0.1**2 + 2 * (0.1**2 - 0.05**2) / 0.015 * 0.019)
    after = predicted_neck(np.zeros((1, 1)), past[None, :, None], none, np.array([0.0401]))[0]
    assert after >= LENS_WIDTHS_EM[-1]


def test_neighbours_hold_a_joint_once_they_reach_it() -> None:
    lens, gaps = np.full((1, len(LENS_WIDTHS_EM), 1), 0.2), np.array([[0.06]])
    none = np.full((0, len(OWN_OFFSETS_EM), 1), np.nan)
    ways = np.linspace(0.0, 0.21, len(OWN_OFFSETS_EM))[None, :, None]
    at = np.array([OWN_OFFSETS_EM[4] + 0.007])
    assert predicted_neck(gaps, lens, none, at)[0] < 0.05
    assert predicted_neck(gaps, lens, none, at, {0: ways})[0] == pytest.approx(0.12, abs=0.01)
    assert predicted_neck(gaps, lens, none, np.array([0.02]), {0: ways})[0] == 0.0


@given(st.lists(st.floats(0.0, 1.0), min_size=4, max_size=4))
def test_packed_widths_come_back_within_their_step(widths: list[float]) -> None:
    assert np.abs(unpacked_widths(packed_widths(np.array(widths))) - widths).max() <= 0.002 + 1e-9


@given(st.lists(st.floats(0.0, 0.2), min_size=4, max_size=4))
def test_packed_offsets_come_back_within_their_step(offsets: list[float]) -> None:
    back = unpacked(packed(np.array(offsets)))
    assert np.abs(np.sqrt(back) - np.sqrt(offsets)).max() <= 0.5 * math.sqrt(0.2) / 250 + 1e-9
    assert np.isnan(unpacked(packed(np.array([np.nan, 0.1])))).all()


def test_a_word_is_predicted_no_wider_than_its_full_geometry() -> None:
    # Three discs in a row: the pair with the wider gap decides, and full geometry says the same.
    disc = Point(0, 0).buffer(200, 64)
    parts = [disc, translate(disc, 440), translate(disc, 900)]
    base = offset(parts[0].union(parts[1]).union(parts[2]), 50.0)
    width, _ = neck(base, seeds_of(parts, 0.5), 0.5)
    true = 2 * math.sqrt(250**2 - 230**2)
    assert width == pytest.approx(true, abs=2)
    lens = np.array([[[needed_by_two_discs(0.2, g, w) - g / 2] for w in LENS_WIDTHS_EM] for g in (0.04, 0.06)])
    none = np.full((1, len(OWN_OFFSETS_EM), 1), np.nan)
    told = predicted_neck(np.array([[0.04], [0.06]]), lens, none, np.array([0.05]))[0]
    assert told * UPEM == pytest.approx(width, abs=5)
