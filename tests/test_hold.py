"""Hold: pure function of measures, size and process; the laws it keeps."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from catalogue.judge.hold import LEAST_THAT_HOLDS, MOST_WITHOUT_HOLD, Sizes, judge
from catalogue.judge.process import Process, built_in, load_process, parse_process

PROCESS = load_process("nozzle-0.4")
STOUT = Sizes(0.3, 3.0, 2.0, 0.0, 2.0, 1.0)

lengths = st.floats(0.01, 8.0)
GRAZING = Sizes(1.0, 0.25, 0.5, 0.0, 1.0, 1.0)
"""Just joined, with all else weak: coming apart must still cost (found by hypothesis)."""

sizes = st.builds(
    Sizes,
    join_offset_mm=st.floats(0.0, 3.0),
    neck_mm=lengths,
    thinnest_stroke_mm=lengths,
    thin_share=st.floats(0.0, 1.0),
    smallest_counter_mm=lengths,
    base_offset_mm=st.floats(0.1, 3.0),
)


def test_every_margin_met_with_room_to_spare_is_100() -> None:
    assert judge(STOUT, PROCESS).hold == 100
    assert judge(STOUT, PROCESS).reasons == ()


def test_twice_the_offset_would_not_join_it_is_0() -> None:
    assert judge(replace(STOUT, join_offset_mm=2.0), PROCESS).hold == 0


@pytest.mark.parametrize(
    ("change", "kind"),
    [
        ({"join_offset_mm": 1.1}, "join"),  # wider than the base offset joins: two pieces
        ({"neck_mm": 0.8}, "neck"),  # 0.8 mm is less than two lines of 0.45 mm
        ({"thinnest_stroke_mm": 0.5, "thin_share": 0.3}, "stroke"),  # hairlines under the least wall of 0.8 mm
    ],
)
def test_what_does_not_hold_says_why_and_stays_below_half(change: dict[str, float], kind: str) -> None:
    hold = judge(replace(STOUT, **change), PROCESS)
    assert not hold.holds
    assert hold.hold <= MOST_WITHOUT_HOLD
    assert [r.kind for r in hold.reasons] == [kind]
    assert f"{next(iter(change.values())):.2f}" in hold.reasons[0].text


@pytest.mark.parametrize(
    ("change", "hold"),
    [
        ({"join_offset_mm": 0.8}, 87),  # half of the 0.4 mm that are ample: 12.5 of 25
        ({"neck_mm": 3 * 0.45}, 93),  # 3 of 4 lines: 6.25 of 25
        ({"thinnest_stroke_mm": 1.25 * 0.8}, 95),  # a quarter of the way from 1.5 least walls to half a wall: 5 of 20
        ({"smallest_counter_mm": 0.0}, 90),  # all 10: a closed counter breaks nothing
        ({"join_offset_mm": 1.0}, 50),  # at each limit 50 ...
        ({"neck_mm": 2 * 0.45}, 50),
        ({"thinnest_stroke_mm": 0.8}, 50),
        ({"thinnest_stroke_mm": 0.9}, 78),  # ... and 280 points a millimetre above it
        ({"join_offset_mm": 1.5}, 25),  # below it half of 50, half the offset short
        ({"thinnest_stroke_mm": 0.0}, 30),  # all 20 below 50
    ],
)
def test_points_are_lost_as_the_rule_says(change: dict[str, float], hold: int) -> None:
    """The rule is ours, as ``hold`` states it: base 1 mm, line 0.45 mm, least wall 0.8 mm."""
    assert judge(replace(STOUT, **change), PROCESS).hold == hold


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"join_offset_mm": 0.8}, "joins with only 0.20 mm of the 1.00 mm offset to spare"),
        ({"neck_mm": 0.95}, "neck only just wide enough: 0.95 mm is 2.1 lines, 0.90 mm needed"),
        ({"neck_mm": 1.35}, "neck not ample: 1.35 mm is 3.0 lines, ample are 1.80 mm"),
        ({"thinnest_stroke_mm": 0.85}, "strokes only just walls: the thinnest 0.85 mm, the least wall 0.80 mm"),
        ({"thinnest_stroke_mm": 1.0}, "strokes not ample: the thinnest 1.00 mm, ample are 1.20 mm"),
    ],
)
def test_what_holds_with_little_to_spare_says_by_how_much(change: dict[str, float], says: str) -> None:
    assert [r.text for r in judge(replace(STOUT, **change), PROCESS).reasons] == [says]


@given(sizes)
def test_every_lost_point_has_a_reason(given_sizes: Sizes) -> None:
    hold = judge(given_sizes, PROCESS)
    assert 0 <= hold.hold <= 100
    assert sum(r.points for r in hold.reasons) == 100 - hold.hold


@given(sizes, st.floats(1.0, 3.0))
def test_a_wider_line_never_raises_hold(given_sizes: Sizes, factor: float) -> None:
    wider = replace(PROCESS, line_width_mm=PROCESS.line_width_mm * factor, least_wall_mm=PROCESS.least_wall_mm * factor)
    more = replace(given_sizes, thin_share=min(1.0, given_sizes.thin_share * factor))  # a wider wall catches more
    assert judge(more, wider).hold <= judge(given_sizes, PROCESS).hold


@given(sizes, st.floats(0.3, 1.0))
def test_a_smaller_drawing_never_raises_hold(given_sizes: Sizes, factor: float) -> None:
    """Letters and offsets shrink together, so the joins stay in proportion and every width falls."""
    assert given_sizes.neck_mm and given_sizes.thinnest_stroke_mm and given_sizes.smallest_counter_mm
    smaller = Sizes(
        given_sizes.join_offset_mm * factor,
        given_sizes.neck_mm * factor,
        given_sizes.thinnest_stroke_mm * factor,
        given_sizes.thin_share,
        given_sizes.smallest_counter_mm * factor,
        given_sizes.base_offset_mm * factor,
    )
    # One point of slack: hold is cut to a whole number.
    assert judge(smaller, PROCESS).hold <= judge(given_sizes, PROCESS).hold + 1


@example(GRAZING, 0.9375)
@given(sizes, st.floats(0.1, 1.0))
def test_a_smaller_offset_never_raises_hold(given_sizes: Sizes, factor: float) -> None:
    assert given_sizes.neck_mm
    smaller = replace(
        given_sizes, base_offset_mm=given_sizes.base_offset_mm * factor, neck_mm=given_sizes.neck_mm * factor
    )
    assert judge(smaller, PROCESS).hold <= judge(given_sizes, PROCESS).hold


MEASURES = ("join_offset_mm", "neck_mm", "thinnest_stroke_mm", "smallest_counter_mm")

wide_bases = st.builds(
    Sizes,
    join_offset_mm=st.floats(0.0, 3.0),
    neck_mm=lengths,
    thinnest_stroke_mm=lengths,
    thin_share=st.just(0.0),
    smallest_counter_mm=lengths,
    base_offset_mm=st.floats(0.2, 3.0),
)
"""A base narrower than 0.2 mm is none that holds letters together: shares of it change faster."""


@given(wide_bases, st.sampled_from(MEASURES), st.floats(-0.01, 0.01), st.sampled_from(built_in()))
@example(replace(STOUT, join_offset_mm=0.995), "join_offset_mm", 0.01, "nozzle-0.4")
@example(replace(STOUT, neck_mm=0.905), "neck_mm", -0.01, "nozzle-0.4")
@example(replace(STOUT, thinnest_stroke_mm=0.805), "thinnest_stroke_mm", -0.01, "nozzle-0.4")
@example(Sizes(0.995, 3.0, 0.81, 0.0, 0.6, 1.0), "join_offset_mm", 0.01, "nozzle-0.4")
def test_a_hundredth_of_a_millimetre_moves_hold_by_three_points_at_most(
    given_sizes: Sizes, measure: str, step: float, process: str
) -> None:
    """No printer repeats a hundredth of a millimetre (common printers' axes step 0.0125 mm, from memory)."""
    moved = replace(given_sizes, **{measure: max(0.0, getattr(given_sizes, measure) + step)})
    profile = load_process(process)
    assert abs(judge(moved, profile).hold - judge(given_sizes, profile).hold) <= 3


@given(sizes)
def test_a_name_holds_from_fifty_on(given_sizes: Sizes) -> None:
    hold = judge(given_sizes, PROCESS)
    assert hold.holds == (hold.hold >= LEAST_THAT_HOLDS) == (not any(reason.breaks for reason in hold.reasons))


@pytest.mark.parametrize(("spare", "named"), [(0.003, True), (0.11, True), (0.12, False), (0.0, True)])
def test_a_spare_below_a_quarter_line_is_no_margin(spare: float, named: bool) -> None:
    """A line of 0.45 mm: a quarter is 0.1125 mm (common practice for what a printed outline strays, no source)."""
    hold = judge(replace(STOUT, join_offset_mm=1.0 - spare), PROCESS)
    assert hold.holds
    assert any("no margin" in reason.text for reason in hold.reasons) == named


@pytest.mark.parametrize("name", built_in())
def test_built_in_profiles_follow_common_practice(name: str) -> None:
    """Line 1.0 to 1.2 nozzles, wall at least 1.6 lines, layer 25 to 75 % of the nozzle (common practice, 3D-print
    design guides; no standard gives numbers: ISO/ASTM 52910:2018 clause 1.3)."""
    process = load_process(name)
    assert 1.0 <= process.line_width_mm / process.nozzle_mm <= 1.2
    assert process.least_wall_mm >= 1.6 * process.line_width_mm
    assert 0.25 <= process.layer_height_mm / process.nozzle_mm <= 0.75


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("name = 'x'\nnozzle_mm = 0.4", "missing 4 required"),
        ("nonsense", "not valid TOML"),
        ("name = 'x'\nspeed = 3", "unknown key 'speed'"),
        (
            "name='x'\nnozzle_mm=0.4\nline_width_mm=-1\nleast_wall_mm=1\nleast_gap_mm=1\nlayer_height_mm=1",
            "line_width_mm must be a number above 0",
        ),
    ],
)
def test_a_bad_profile_names_the_key_and_the_next_step(text: str, says: str) -> None:
    with pytest.raises(ValueError, match=r"mine\.toml: .*") as error:
        parse_process(text, "mine.toml")
    assert says in str(error.value)


def test_profiles_reject_numbers_that_are_none() -> None:
    with pytest.raises(ValueError, match="least_gap_mm"):
        Process("x", 0.4, 0.45, 0.8, float("nan"), 0.2)
