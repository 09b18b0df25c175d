"""The business's own rates: which houses tell of one, its middle, and where the next one lies."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.rules.band.geometry import Opening, Unit, WallRun
from readiness.rules.band.levels import bands_of
from readiness.rules.band.own_rates import (
    CHANCE,
    FEWEST_HOUSES,
    FinishGroup,
    OwnRates,
    TreatedHouse,
    amount_of,
    group_of,
    own_rate,
    treated_house,
)
from readiness.rules.band.quantities import run_liquid, site_quantities
from readiness.rules.band.wall import Finish
from readiness.rules.values.rule_values import RuleValues
from tests.rules.walls import brick_wall, rendered_wall

VALUES = RuleValues.defaults()
BRICK, RENDER = FinishGroup.BRICK, FinishGroup.RENDER


def wall(finish="face_brick", length_mm=20_000, run_id="w", **parts) -> WallRun:
    return WallRun(run_id, "Wall", length_mm, finish, **parts)


def house(rate, amount=1, group=BRICK, **parts) -> TreatedHouse:
    rate = Fraction(str(rate))
    return TreatedHouse(group, rate * amount, Fraction(amount), **parts)


def rate_of(*rates):
    return own_rate([house(rate) for rate in rates])


# A house


def test_a_brick_house_goes_by_stretches_of_10_m_with_two_courses():
    # Level ground at -170 and joints at -86, -172, -258: two courses along 6 m, which are 0.6 of
    # 10 m. 0.66 L used: 1.1 L per 10 m.
    found = treated_house([brick_wall((0, -170), bed_joint_mm=-86)], VALUES, 660)
    assert found == TreatedHouse(BRICK, Fraction(66, 100), Fraction(6, 10), is_measured=True)
    assert found.rate == Fraction(11, 10)


def test_the_courses_that_exist_count():
    # Brickwork from -172 up: one course of the two, 0.3 of 10 m. 0.66 L used: 2.2 L per 10 m.
    run = brick_wall((0, -170), bed_joint_mm=-86, brick_bottom_mm=-172)
    assert treated_house([run], VALUES, 660).rate == Fraction(22, 10)


def test_a_rendered_house_goes_by_the_square_metre():
    # From -190 up to -100 along 6 m: 0.54 m2. 0.27 L used: 0.5 L/m2.
    found = treated_house([rendered_wall((0, -190))], VALUES, 270)
    assert found == TreatedHouse(RENDER, Fraction(27, 100), Fraction(54, 100), is_measured=True)
    assert found.rate == Fraction(1, 2)


def test_the_rate_that_the_rule_had_then_makes_no_difference():
    run = brick_wall((0, -170), bed_joint_mm=-86)
    generous = VALUES.with_overrides({"litres_per_10_m": "2.5", "render_litres_per_m2": "1.5"})
    assert treated_house([run], generous, 660) == treated_house([run], VALUES, 660)


def test_faces_of_brick_tell_together_and_render_apart():
    brick = [wall(finish, run_id=finish) for finish in ("face_brick", "bagged", "block")]
    assert treated_house(brick, VALUES, 6000).group is BRICK
    assert treated_house([wall("render")], VALUES, 6000).group is RENDER


@pytest.mark.parametrize("odd", ["render", "other"])
def test_a_house_of_two_groups_tells_of_neither(odd):
    assert treated_house([wall(), wall(odd, run_id="odd")], VALUES, 6000) is None


def test_a_house_tells_nothing_where_nobody_knows_what_was_treated():
    assert treated_house([wall("other")], VALUES, 6000) is None
    assert treated_house([], VALUES, 6000) is None


def test_a_wall_that_is_all_door_is_no_wall_of_its_house():
    door = Opening(0, 20_000, wall_below=False)
    rendered = wall("render", run_id="garage", openings=(door,))
    assert treated_house([wall(), rendered], VALUES, 2000).rate == 1
    assert treated_house([rendered], VALUES, 2000) is None


def test_a_house_says_whether_all_its_walls_were_measured():
    measured = brick_wall((0, -170), bed_joint_mm=-86)
    assert treated_house([measured], VALUES, 660).is_measured
    assert not treated_house([measured, wall()], VALUES, 660).is_measured


def test_every_finish_is_of_a_group_or_of_none_on_purpose():
    assert {finish: group_of(finish) for finish in Finish} == {
        "face_brick": BRICK, "bagged": BRICK, "block": BRICK, "render": RENDER, "other": None,
    }  # fmt: skip


# The rate


def test_five_houses_are_enough_and_four_are_not():
    rates = OwnRates(tuple(house(1) for _ in range(4)))
    assert (rates.of(BRICK), rates.missing(BRICK), rates.missing(RENDER)) == (None, 1, 5)
    rates = OwnRates((*rates.houses, house(1), house(2, group=RENDER)))
    assert rates.of(BRICK).houses == 5
    assert (rates.missing(BRICK), rates.missing(RENDER)) == (0, 4)


def test_the_middle_of_five_and_the_lowest_and_highest_by_hand():
    # In order 0.9, 1.0, 1.1, 1.3, 1.4: the middle is 1.1. The next house has six places in that
    # order, and between the lowest and the highest are four of them: two in three.
    found = rate_of("1.3", "0.9", "1.1", "1.4", "1.0")
    assert (found.low, found.middle, found.high) == (
        Fraction(9, 10), Fraction(11, 10), Fraction(14, 10),
    )  # fmt: skip


def test_the_middle_of_six_is_between_the_two_in_the_middle():
    assert rate_of(1, 2, 3, 4, 5, 6).middle == Fraction(7, 2)


def test_one_house_that_took_far_too_much_moves_the_middle_little():
    assert rate_of("0.9", "1.0", "1.1", "1.3", "14").middle == Fraction(11, 10)


@pytest.mark.parametrize(
    ("houses", "place"),
    [
        # 12 places for the next one after 11 houses; without two at each end 8 are left: 2 in 3
        (5, 1), (10, 1), (11, 2), (16, 2), (17, 3), (50, 8),
    ],
)  # fmt: skip
def test_with_more_houses_the_range_leaves_out_as_many_at_each_end(houses, place):
    found = rate_of(*range(1, houses + 1))
    assert (found.low, found.high) == (place, houses + 1 - place)


@given(st.sets(st.integers(1, 10**6), min_size=FEWEST_HOUSES + 1, max_size=60))
def test_of_any_houses_two_in_three_lie_in_the_range_of_the_others(rates):
    """Each house in turn is the next one. One place fewer at each end would be under two in three:
    no narrower range of this kind keeps the chance.
    """
    inside = inside_narrower = 0
    for left_out in rates:
        others = sorted(rates - {left_out})
        found = rate_of(*others)
        inside += found.low <= left_out <= found.high
        place = others.index(found.low) + 1
        narrower = others[place : len(others) - place]
        inside_narrower += bool(narrower) and narrower[0] <= left_out <= narrower[-1]
    assert Fraction(inside, len(rates)) >= CHANCE > Fraction(inside_narrower, len(rates))


@given(st.lists(st.integers(1, 10**4), min_size=FEWEST_HOUSES, max_size=20), st.integers(2, 9))
def test_a_rate_goes_with_the_litres_and_its_parts_are_in_order(rates, times):
    found, more = rate_of(*rates), rate_of(*(times * rate for rate in rates))
    assert [times * part for part in (found.low, found.middle, found.high)] == [
        more.low, more.middle, more.high,
    ]  # fmt: skip
    assert all(a <= b for a, b in pairwise([min(rates), found.low, found.middle, found.high]))


runs = st.one_of(
    st.builds(
        lambda level_mm, length_mm, joint_mm: brick_wall(
            (0, level_mm), (length_mm, level_mm + 60), length_mm=length_mm, bed_joint_mm=joint_mm
        ),
        st.integers(-300, -150),
        st.integers(600, 9000),
        st.integers(-120, -20),
    ),
    st.builds(lambda length_mm: wall(length_mm=length_mm), st.integers(600, 9000)),
    st.builds(lambda length_mm: wall("block", length_mm), st.integers(600, 9000)),
    st.just(wall(unit=Unit(162, 230))),
)


@given(st.lists(runs, min_size=FEWEST_HOUSES, max_size=8), st.sampled_from(["0.7", "1.0", "1.6"]))
def test_houses_that_took_what_the_rule_says_give_the_rule_value(found, rule):
    values = VALUES.with_overrides({"litres_per_10_m": rule})
    used = [site_quantities([run], values).exact_litres for run in found]
    houses = [
        TreatedHouse(BRICK, litres, treated_house([run], values, 1).amount)
        for run, litres in zip(found, used, strict=True)
    ]
    rate = own_rate(houses)
    assert rate.low == rate.middle == rate.high == Fraction(rule)


def test_what_a_site_comes_to_is_asked_group_by_group():
    # 20 m of face brick and 10 m of block (one course each 10 m, half as much): 2.0 + 0.5 of 10 m;
    # 10 m of render over 172 mm: 1.72 m2
    site = [wall(), wall("block", 10_000, "b"), wall("render", 10_000, "r"), wall("other", 5, "o")]
    bands = bands_of(site, VALUES)
    walls = [run_liquid(run, bands[run.id], VALUES) for run in site]
    assert amount_of(walls, BRICK, VALUES) == Fraction(5, 2)
    assert amount_of(walls, RENDER, VALUES) == Fraction(172, 100)
