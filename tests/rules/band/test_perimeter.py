"""The outline of a house: corners, closing, and what would close it."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.rules.band.geometry import WallRun
from readiness.rules.band.perimeter import CLOSES_WITHIN_MM, outline
from readiness.wording.outline import why_open


def walls(*lengths_and_turns):
    return [
        WallRun(id=str(n), label=f"Wall {chr(65 + n)}", length_mm=length, turn_degrees=turn)
        for n, (length, turn) in enumerate(lengths_and_turns)
    ]


def test_a_rectangle_closes():
    found = outline(walls((12_000, 90), (8_000, 90), (12_000, 90), (8_000, 90)))
    assert found.closes
    assert found.gap_mm == 0
    assert found.turned_degrees == 360


def test_the_next_wall_goes_up_the_plan_from_an_outside_corner():
    found = outline(walls((12_000, 90), (8_000, 90), (12_000, 90), (8_000, 90)))
    corner = found.corners[2]
    assert (round(corner.x_mm), round(corner.y_mm)) == (12_000, -8_000)


def test_an_inside_corner_turns_the_other_way_and_an_l_shape_closes():
    found = outline(
        walls((12_000, 90), (9_000, 90), (6_000, 90), (4_000, -90), (6_000, 90), (5_000, 90))
    )
    assert found.closes


def test_three_walls_can_close():
    # two of 5 m at a right angle, and the third across: 5 m x the root of 2
    assert outline(walls((5_000, 90), (5_000, 135), (7_071, 135))).closes


def test_it_says_by_how_much_it_does_not_close_and_what_would_close_it():
    found = outline(walls((12_000, 90), (8_000, 90), (11_400, 90), (8_000, 90)))
    assert found.gap_mm == 600
    assert why_open(found) == (
        "The plan does not close: Wall D ends 0.6 m from where Wall A starts. "
        "It would close with Wall C 0.6 m longer, or Wall A 0.6 m shorter."
    )


def test_a_wide_gap_along_two_walls_is_closed_by_them_too():
    found = outline(walls((12_000, 90), (8_000, 90), (4_000, 90), (8_000, 90)))
    assert (found.gap_mm, found.longer, found.shorter) == (8_000, ("Wall C",), ("Wall A",))


def test_a_gap_both_along_and_across_has_no_single_remedy():
    found = outline(walls((12_000, 90), (8_000, 90), (11_400, 90), (7_000, 90)))
    assert "does not close" in why_open(found)
    assert "would close" not in why_open(found)


def test_corners_that_do_not_add_up_are_named_before_lengths():
    found = outline(walls((12_000, 90), (8_000, -90), (12_000, 90), (8_000, 90)))
    assert "180°" in why_open(found)


def test_fewer_than_three_walls_can_not_close():
    assert "at least three" in why_open(outline(walls((12_000, 90))))


def test_no_walls_make_an_outline_with_one_corner():
    assert outline([]).gap_mm == 0


@given(
    st.lists(st.integers(500, 30_000), min_size=2, max_size=10),
    st.floats(0, 1),
)
def test_a_point_along_a_run_lies_between_its_corners(lengths, share):
    runs = walls(*((length, 90) for length in lengths))
    found = outline(runs)
    place = found.at(0, share * lengths[0], lengths[0])
    assert place.x_mm == pytest.approx(share * lengths[0])
    assert place.y_mm == 0


@given(st.integers(1_000, 40_000), st.integers(1_000, 40_000), st.integers(-900, 900))
def test_the_gap_of_a_rectangle_is_the_difference_of_its_sides(width, depth, error):
    found = outline(walls((width, 90), (depth, 90), (width + error, 90), (depth, 90)))
    assert found.gap_mm == abs(error)
    assert found.closes == (abs(error) <= CLOSES_WITHIN_MM)
    assert math.isclose(found.corners[-1].x_mm, -error, abs_tol=1e-6)
