"""Offsets, joins, necks and counters on shapes whose answers are known in closed form.

Sources: Steiner's formula for a convex K, A(K + rB) = A + P r + pi r^2 and P(K + rB) = P + 2 pi r (Federer
1969); circle-circle intersection, MathWorld equations 7, 8 and 14; the longest edge of a minimum spanning
tree is the bottleneck of joining all pieces. Labels G1 to G21 are those of the project's check values.

Tolerances: offsets of ours use 16 chords a quarter circle, sagitta 0.12 % of the radius, so areas hold to 0.1
%; join offsets are exact on polygons, so discs of 4096 chords hold to 1e-4.
"""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box
from shapely.affinity import rotate, scale, translate

from scanner.measures.counters import counter_diameters
from scanner.measures.joins import join_edges, join_offset, pair_gaps, pieces_at, spanning_edges
from scanner.measures.necks import neck, seeds_of
from scanner.regions import QUAD_SEGS, inscribed_diameter, offset, region_from_rings

SQUARE = box(0, 0, 10, 10)
TRIANGLE_345 = Polygon([(0, 0), (4, 0), (0, 3)])
ELL = SQUARE.difference(box(4, 4, 10, 10))
PI = math.pi


def disc(radius: float, x: float = 0.0, y: float = 0.0, segments: int = 1024) -> Polygon:
    """A disc of ``segments`` chords a quarter; at 1024 its area falls short by 4e-7."""
    return Point(x, y).buffer(radius, quad_segs=segments)


def annulus(outer: float, inner: float) -> Polygon:
    return disc(outer).difference(disc(inner))


def two_discs(radius: float, gap: float) -> MultiPolygon:
    return MultiPolygon([disc(radius), disc(radius, 2 * radius + gap)])


def regular(n: int, radius: float) -> Polygon:
    angle = 2 * PI * np.arange(n) / n
    return Polygon(radius * np.column_stack([np.cos(angle), np.sin(angle)]))


@pytest.mark.parametrize(
    ("shape", "distance", "area", "perimeter"),
    [
        pytest.param(SQUARE, 1, 140 + PI, 40 + 2 * PI, id="G1-square-out"),
        pytest.param(TRIANGLE_345, 0.5, 12 + PI / 4, 12 + PI, id="G3-triangle-out"),
        pytest.param(disc(5), 2, 49 * PI, 14 * PI, id="G4-disc-out"),
        pytest.param(shapely.LineString([(0, 0), (20, 0)]), 3, 120 + 9 * PI, 40 + 6 * PI, id="G5-stadium"),
        pytest.param(annulus(5, 3), 0.5, (5.5**2 - 2.5**2) * PI, 16 * PI, id="G7-hole-shrinks"),
        pytest.param(SQUARE, -1, 64, 32, id="G8-square-in"),
        # A reflex corner loses r^2 where a convex one gains pi r^2 / 4.
        pytest.param(ELL, 1, 64 + 40 + 5 * PI / 4 - 1, 40 + 5 * PI / 2 - 2, id="G9-ell-out"),
    ],
)
def test_offset_has_the_exact_area_and_perimeter(
    shape: shapely.Geometry, distance: float, area: float, perimeter: float
) -> None:
    grown = offset(shape, distance)
    assert grown.area == pytest.approx(area, rel=1e-3)
    assert grown.length == pytest.approx(perimeter, rel=1e-3)


def test_offset_chords_are_inscribed_with_the_stated_sagitta() -> None:
    # G21: sagitta R (1 - cos(pi / n)) with n = 4 QUAD_SEGS chords.
    around = shapely.get_coordinates(offset(Point(0, 0), 10.0).exterior)
    middles = np.hypot(*((around[1:] + around[:-1]) / 2).T)
    sagitta = 10 * (1 - math.cos(PI / (4 * QUAD_SEGS)))
    assert 10 - middles.min() == pytest.approx(sagitta, rel=1e-6)
    assert sagitta / 10 < 0.00125


@pytest.mark.parametrize(
    ("n", "ratio"), [(16, 0.974495), (32, 0.993587), (64, 0.998394), (128, 0.999598)], ids="G21-n{}".format
)
def test_region_of_an_n_gon_keeps_its_area(n: int, ratio: float) -> None:
    # G21: (n / 2 pi) sin(2 pi / n) of the circle. Radius 1000 so that the 1/16 grid of regions weighs 1e-4.
    region = region_from_rings([shapely.get_coordinates(regular(n, 1000).exterior)[:-1]])
    assert region.area / (PI * 1e6) == pytest.approx(ratio, abs=2e-4)


def test_zero_offset_changes_nothing() -> None:
    assert offset(ELL, 0) is ELL


def test_offset_fills_a_hole_at_its_radius() -> None:
    # G7: an offset of at least the hole's radius leaves no hole.
    ring = annulus(5, 3)
    assert len(offset(ring, 2.9).interiors) == 1
    assert len(offset(ring, 3.01).interiors) == 0


def test_opening_rounds_the_corners_of_a_square() -> None:
    # G8: 100 - (4 - pi) r^2 with r = 1.
    assert offset(offset(SQUARE, -1), 1).area == pytest.approx(100 - (4 - PI), rel=1e-3)


def test_closing_fills_the_reflex_corner_of_an_ell() -> None:
    # G10: (1 - pi/4) r^2 with r = 1. The closing of a whole is compared, and the filled piece by itself to 3
    # %: the chords of the inset stand off by the sagitta, 0.0012 of r.
    closed = offset(offset(ELL, 1), -1)
    assert closed.area == pytest.approx(64 + 1 - PI / 4, rel=1e-3)
    assert closed.area - 64 == pytest.approx(1 - PI / 4, rel=0.03)


def test_offsets_add_up() -> None:
    # G20: offset by r1 then r2 is offset by r1 + r2.
    for shape in (SQUARE, TRIANGLE_345, ELL):
        assert offset(offset(shape, 0.7), 0.8).area == pytest.approx(offset(shape, 1.5).area, rel=1e-3)


@pytest.mark.parametrize(
    ("pieces", "joins_at"),
    [
        pytest.param(two_discs(3, 2), 1.0, id="G11-discs"),
        pytest.param(two_discs(5, 0.5), 0.25, id="G11-close-discs"),
        pytest.param(MultiPolygon([box(0, 0, 1, 1), box(2, 0, 3, 1)]), 0.5, id="G12-face-gap-1"),
        pytest.param(MultiPolygon([box(0, 0, 1, 1), box(2, 2, 3, 3)]), math.sqrt(2) / 2, id="G12-corner-gap"),
        pytest.param(MultiPolygon([box(0, 0, 1, 1), box(2, 0, 3, 1), box(6, 0, 7, 1)]), 1.5, id="G13-longest-edge"),
    ],
)
def test_join_offset_is_half_the_longest_gap(pieces: MultiPolygon, joins_at: float) -> None:
    assert join_offset(pieces) == pytest.approx(joins_at, rel=1e-4)


def test_join_offset_really_joins() -> None:
    # G11: 1e-4 below it there are two pieces, 1e-4 above it one, by an offset with fine chords.
    discs = two_discs(3, 2)
    assert len(shapely.get_parts(shapely.buffer(discs, 1 - 1e-4, quad_segs=512))) == 2
    assert len(shapely.get_parts(shapely.buffer(discs, 1 + 1e-4, quad_segs=512))) == 1


def test_join_curve_counts_pieces_at_any_offset() -> None:
    # G13: discs of radius 1 with gaps 1, 2 and 4 in a row.
    row = MultiPolygon([disc(1, x) for x in (0, 3, 7, 13)])
    edges = join_edges(row)
    assert edges == pytest.approx([4, 2, 1], rel=1e-4)
    for radius, pieces in ((0.0, 4), (0.49, 4), (0.51, 3), (0.99, 3), (1.01, 2), (1.99, 2), (2.01, 1)):
        assert pieces_at(edges, radius) == pieces
        assert len(shapely.get_parts(shapely.buffer(row, radius, quad_segs=64))) == pieces


def test_spanning_edges_name_the_pieces_they_join() -> None:
    lengths, ends = spanning_edges([box(0, 0, 1, 1), box(5, 0, 6, 1), box(2, 0, 3, 1)])
    assert lengths == pytest.approx([2, 1])
    assert [set(pair.tolist()) for pair in ends] == [{1, 2}, {0, 2}]


def test_one_piece_and_none_have_no_edges() -> None:
    assert join_offset(SQUARE) == 0
    assert len(join_edges(MultiPolygon())) == 0
    assert pieces_at(join_edges(SQUARE), 0) == 1


def test_pair_gaps_move_the_second_letter() -> None:
    first = np.array([disc(3), box(0, 0, 1, 1)], dtype=object)
    second = np.array([disc(3), box(0, 0, 1, 1)], dtype=object)
    assert pair_gaps(first, second, np.array([8.0, 1.0])) == pytest.approx([2.0, 0.0], rel=1e-4, abs=1e-12)
    assert second[0].centroid.x == pytest.approx(0, abs=1e-9)  # its arguments stay where they are


def necks_at(region: MultiPolygon, parts: list[Polygon], offsets: list[float], tolerance: float) -> list[float]:
    """Necks of a region after each outward offset."""
    seeds = seeds_of(parts, tolerance)
    return [neck(offset(region, r), seeds, tolerance)[0] for r in offsets]


G14 = [(3, 2, 1.5, 4.123106), (3, 2, 1.25, 2.872281), (5, 0.5, 0.8, 4.930517), (2, 1, 1, 3.316625)]


@pytest.mark.parametrize(("radius", "gap", "out", "width"), G14)
def test_neck_of_two_discs(radius: float, gap: float, out: float, width: float) -> None:
    # G14: 2 sqrt((r + o)^2 - (r + g/2)^2), the chord of the lens; 0.5 % for chords of the offset and
    # bisection.
    assert width == pytest.approx(2 * math.sqrt((radius + out) ** 2 - (radius + gap / 2) ** 2), rel=1e-6)
    shape = two_discs(radius, gap)
    found = necks_at(shape, list(shape.geoms), [out], tolerance=0.002)[0]
    assert found == pytest.approx(width, rel=5e-3)


def test_neck_gives_way_in_the_middle_of_two_discs() -> None:
    shape = two_discs(3, 2)
    width, place = neck(offset(shape, 1.5), seeds_of(shape.geoms, 0.002), 0.002)
    assert width == pytest.approx(4.123106, rel=5e-3)
    assert place is not None
    assert place == pytest.approx((4, 0), abs=0.1)


def test_offset_for_a_wanted_neck() -> None:
    # G15: o = sqrt((r + g/2)^2 + (w/2)^2) - r; r 3, gap 2, w 1.6 need 1.079216.
    shape = two_discs(3, 2)
    found = necks_at(shape, list(shape.geoms), [1.079216], tolerance=0.001)[0]
    # Near the joint the neck moves 4 times as fast as the offset; the sagitta of the offset, 0.0013, costs
    # 0.8 %.
    assert found == pytest.approx(1.6, rel=1e-2)


def test_neck_of_facing_walls_jumps_to_the_whole_face() -> None:
    # G16: two 4 x 2 blocks, gap 1. Below 0.5 no neck; just past it the joint is the full face, 2 plus the
    # offset.
    blocks = MultiPolygon([box(0, 0, 4, 2), box(5, 0, 9, 2)])
    below, above = necks_at(blocks, list(blocks.geoms), [0.49, 0.51], tolerance=0.001)
    assert below == 0
    # Rounded corners leave a notch of depth r - sqrt(r^2 - (g/2)^2) from each long side.
    notch = 0.51 - math.sqrt(0.51**2 - 0.25)
    assert above == pytest.approx(2 + 2 * 0.51 - 2 * notch, rel=5e-3)


def test_touching_discs_have_no_neck_to_speak_of() -> None:
    # The joint is real only when it is a length: at the very join offset (G11) the neck is a point.
    shape = two_discs(3, 2)
    assert necks_at(shape, list(shape.geoms), [0.999], tolerance=0.001)[0] == 0
    barely = necks_at(shape, list(shape.geoms), [1.003], tolerance=0.001)[0]
    assert 0 <= barely < 0.4


def test_lens_of_two_circles() -> None:
    # G17: R 5, r 3, d 6: chord 4.988877, lens 6.927129, union 99.887021; unit circles d 1: 1.228370.
    lens = disc(5).intersection(disc(3, 6))
    both = region_from_rings(
        [shapely.get_coordinates(scale(d, 100, 100, origin=(0, 0)).exterior)[:-1] for d in (disc(5), disc(3, 6))]
    )
    assert lens.area == pytest.approx(6.927129, rel=1e-3)
    assert both.area / 1e4 == pytest.approx(99.887021, rel=1e-3)
    assert disc(1).intersection(disc(1, 1)).area == pytest.approx(2 * PI / 3 - math.sqrt(3) / 2, rel=1e-3)
    # The neck between the two discs of one union is the lens's chord.
    shape = disc(5).union(disc(3, 6))
    seeds = np.array([(0.0, 0.0), (6.0, 0.0)])
    assert neck(shape, seeds, 0.002)[0] == pytest.approx(4.988877, rel=5e-3)


@pytest.mark.parametrize("n", [3, 4, 5, 6, 8, 12])
def test_inscribed_disc_of_a_regular_polygon(n: int) -> None:
    # G18: R cos(pi / n).
    assert inscribed_diameter(regular(n, 10), 1e-4) == pytest.approx(20 * math.cos(PI / n), rel=1e-3)


@pytest.mark.parametrize(
    ("shape", "diameter"),
    [
        pytest.param(TRIANGLE_345, 2.0, id="G19-3-4-5"),
        pytest.param(box(0, 0, 7, 3), 3.0, id="G19-rectangle"),
        pytest.param(annulus(5, 3), 2.0, id="G6-annulus"),
        pytest.param(Polygon(), 0.0, id="empty"),
    ],
)
def test_inscribed_disc(shape: Polygon, diameter: float) -> None:
    assert inscribed_diameter(shape, 1e-4) == pytest.approx(diameter, rel=1e-3)


def test_counters_are_the_inscribed_discs_of_holes() -> None:
    block = box(0, 0, 20, 10).difference(box(2, 2, 8, 6)).difference(disc(1.5, 14, 5))
    assert counter_diameters(block, 1e-4) == pytest.approx([3, 4], rel=1e-3)
    assert counter_diameters(SQUARE, 1e-4) == []


def test_a_counter_loses_twice_the_offset() -> None:
    # G7: the hole of an annulus, r 3, after +0.5 has r 2.5; the whole reason one number a hole is enough.
    ring = annulus(5, 3)
    assert counter_diameters(offset(ring, 0.5), 1e-3) == pytest.approx([5], rel=2e-3)


def test_minkowski_sum_of_rectangle_and_triangle() -> None:
    # G20: area 8 + 0.5 + 6 = 14.5, perimeter 12 + 2 + sqrt 2; the hull of pairwise sums, read by
    # region_from_rings.
    one = shapely.get_coordinates(box(0, 0, 4, 2).exterior)[:-1]
    two = np.array([(0, 0), (1, 0), (0, 1)], dtype=float)
    hull = shapely.convex_hull(shapely.MultiPoint((one[:, None] + two[None]).reshape(-1, 2)))
    region = region_from_rings([shapely.get_coordinates(hull.exterior)[:-1]])
    assert region.area == pytest.approx(14.5, rel=1e-9)
    assert region.length == pytest.approx(14 + math.sqrt(2), rel=1e-9)


# --- laws ---------------------------------------------------------------------------------------------------

block = st.tuples(st.integers(-60, 60), st.integers(-60, 60), st.integers(4, 30), st.integers(4, 30)).map(
    lambda b: box(b[0], b[1], b[0] + b[2], b[1] + b[3])
)
blocks = st.lists(block, min_size=1, max_size=6).map(shapely.union_all)
law = settings(max_examples=60, deadline=None, derandomize=True)


@law
@given(blocks, st.sampled_from([0.01, 0.5, 3.0, 1000.0]))
def test_join_edges_scale_with_the_shape(shape: shapely.Geometry, factor: float) -> None:
    scaled = join_edges(scale(shape, factor, factor, origin=(0, 0)))
    assert scaled == pytest.approx(join_edges(shape) * factor, rel=1e-9, abs=1e-9)


@law
@given(blocks, st.floats(-180, 180), st.booleans())
def test_join_edges_survive_turning_and_mirroring(shape: shapely.Geometry, angle: float, mirror: bool) -> None:
    moved = translate(rotate(shape, angle, origin=(0, 0)), 17, -5)
    if mirror:
        moved = scale(moved, -1, 1, origin=(0, 0))
    before, after = join_edges(shape), join_edges(moved)
    # Turned corners that touched in a point may part by rounding; such edges are 0 up to 1e-9.
    assert before == pytest.approx(after, abs=1e-9) or _nonzero(before) == pytest.approx(_nonzero(after), abs=1e-9)


def _nonzero(edges: np.ndarray) -> np.ndarray:
    return edges[edges > 1e-6]


@law
@given(st.lists(block, min_size=2, max_size=6))
def test_join_edges_do_not_depend_on_the_order(pieces: list[Polygon]) -> None:
    assert spanning_edges(pieces)[0] == pytest.approx(spanning_edges(pieces[::-1])[0], abs=1e-12)


@law
@given(blocks, st.floats(0.1, 20), st.floats(0.1, 20))
def test_pieces_never_grow_with_the_offset(shape: shapely.Geometry, one: float, two: float) -> None:
    edges = join_edges(shape)
    low, high = sorted((one, two))
    assert pieces_at(edges, high) <= pieces_at(edges, low)
    assert offset(shape, high).area >= offset(shape, low).area


@law
@given(blocks, st.floats(0.1, 20))
def test_pieces_match_a_real_offset(shape: shapely.Geometry, radius: float) -> None:
    edges = join_edges(shape)
    if len(edges) and np.min(np.abs(edges / 2 - radius)) < 0.01 * radius:
        return  # within the chords' sagitta of a threshold either answer is right
    grown = shapely.buffer(shape, radius, quad_segs=64)
    assert pieces_at(edges, radius) == len(shapely.get_parts(grown))


@settings(max_examples=25, deadline=None, derandomize=True)
@given(st.floats(1, 5), st.floats(0.2, 2), st.floats(0.3, 1.5))
def test_neck_grows_with_the_offset_and_scales(radius: float, gap: float, past: float) -> None:
    shape = MultiPolygon([disc(radius, 0, 0, 64), disc(radius, 2 * radius + gap, 0, 64)])
    joined = gap / 2 + 0.1
    small, large = necks_at(shape, list(shape.geoms), [joined, joined + past], tolerance=0.005)
    assert 0 < small <= large + 0.005
    ten = scale(shape, 10, 10, origin=(0, 0))
    assert necks_at(ten, list(ten.geoms), [joined * 10], tolerance=0.05)[0] == pytest.approx(10 * small, abs=0.1)


@law
@given(block, st.floats(0.1, 3))
def test_insets_undo_nothing_of_a_convex_shape(shape: Polygon, radius: float) -> None:
    # Growing and shrinking a convex shape by the same radius is the shape itself, but for the chords.
    there_and_back = offset(offset(shape, radius), -radius)
    assert there_and_back.symmetric_difference(shape).area <= 2e-3 * radius * shape.length + 1e-9
