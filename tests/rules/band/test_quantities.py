"""Liquid, sealant and rod: worked examples, and totals that don't depend on how walls are cut."""

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.rules.band.geometry import Gauge, Joint, WallRun
from readiness.rules.band.quantities import (
    cleaning_cost,
    joint_sealing,
    rod_diameter_mm,
    run_liquid,
    site_quantities,
)
from readiness.rules.values.rule_values import RuleValues
from readiness.wording.quantities import notes, sealing_note, working

VALUES = RuleValues.defaults()


def wall(length_mm=60_000, **parts) -> WallRun:
    return WallRun("w", "Wall", length_mm, **parts)


def test_60_m_of_two_courses_takes_6_litres():
    # common practice (no source): 1 L per 10 lineal metres for two courses
    found = site_quantities([wall()], VALUES)
    assert found.litres == Decimal("6.0")
    assert found.litres_with_waste == Decimal("6.6")  # plus 10 %
    assert (found.first_fill_litres, found.refills, found.drums) == (5, 1, 1)


def test_an_unmeasured_site_is_taken_for_an_average_house():
    # common practice (no source): about 60 m, so 6.0 L
    found = site_quantities([], VALUES)
    assert found.litres == Decimal("6.0")
    assert "average perimeter of 60 m" in notes(found, VALUES)[0]


def test_four_courses_take_twice_as_much():
    assert site_quantities([wall(courses_treated=4)], VALUES).litres == Decimal("12.0")


def test_the_steps_of_the_working_show_joint_lengths_that_can_be_checked_by_hand():
    # 7 courses = 600 mm (from memory: coursing tables): brick 600/7 - 10 = 75.71 mm high.
    # 60 m x 2 = 120 m of bed joint; 60/0.24 = 250 perpends a course, x 2 x 75.71 mm = 37.86 m
    steps = {step.what: step for step in working(site_quantities([wall()], VALUES), VALUES).steps}
    assert "120 m of bed joint + 37.86 m of perpend" in steps["Mortar joint in the band"].working
    assert steps["Mortar joint in the band"].result == "157.86 m"
    assert steps["Liquid to bring"].working == "6 L + 10% waste, rounded up"
    assert steps["Fills"].result == "first fill 5 L, then 1 refill"


def test_render_goes_by_area():
    # 10 m x 2 courses x 85.71 mm = 1.714 m2, at 0.6 L/m2
    found = run_liquid(wall(10_000, finish="render"), VALUES)
    assert found.area_mm2 == 10_000 * 2 * Fraction(600, 7)
    assert found.litres == Fraction(36, 35)


def test_shorter_bricks_have_more_perpends_and_take_more():
    usual, short = (run_liquid(wall(brick_length_mm=mm), VALUES).litres for mm in (230, 110))
    assert short > usual


@pytest.mark.parametrize(
    ("width_mm", "rod_mm"),
    [
        (8, 10),  # ASTM C1193 (from memory): about 25 % wider than the joint: 8 x 1.25 = 10
        (10, 13),  # 12.5, next stocked 13
        (12, 16),  # 15, next stocked 16
        (16, 20),  # just 20
        (41, None),  # 51.25: nothing stocked is wide enough
    ],
)
def test_backing_rod_is_the_next_stocked_size_above_width_and_a_quarter(width_mm, rod_mm):
    assert rod_diameter_mm(width_mm, VALUES) == rod_mm


def test_sealant_of_a_12_mm_joint_by_hand():
    # ASTM C1193 (from memory): depth half the width, 6 mm; 12 x 6 x 1000 mm = 72 mL, + 10 % = 79.2
    found = site_quantities([wall(joints=(Joint(3000, 12, height_mm=1000),))], VALUES)
    assert found.sealing[0].sealant_depth_mm == 6
    assert found.sealant_ml == 80
    assert found.cartridges == 1
    assert found.rod_mm_by_diameter == {16: 1000}


def test_sealant_is_never_deeper_than_the_joint():
    part = joint_sealing(wall(), Joint(0, 20, depth_mm=4, height_mm=100), VALUES)
    assert part.sealant_depth_mm == 4


def test_a_tight_crack_takes_sealant_alone():
    # common practice (no source)
    part = joint_sealing(wall(), Joint(0, 3, height_mm=100, kind="crack"), VALUES)
    assert part.rod_mm is None
    assert sealing_note(part, VALUES) == "Tight: sealant alone, no backing rod."


@pytest.mark.parametrize(
    ("width_mm", "note"),
    [
        (5, "Tight: sealant alone, no backing rod."),
        (6, ""),
        (25, ""),
        (26, "26 mm is wider than sealant can take (25 mm): ask before filling it."),
    ],
)
def test_a_joint_says_where_sealant_alone_will_do_and_where_it_will_not(width_mm, note):
    # common practice (no source): sealant alone up to 5 mm, none over 25 mm
    part = joint_sealing(wall(), Joint(0, width_mm, height_mm=100), VALUES)
    found = sealing_note(part, VALUES)
    assert found.startswith(note)
    assert bool(found) is bool(note)


def test_a_joint_without_a_height_is_sealed_over_the_treated_band():
    part = joint_sealing(wall(gauge=Gauge(1, 86)), Joint(0, 10), VALUES)
    assert part.height_mm == 172


def test_solvent_is_counted_by_the_sprayer():
    # common practice (no source): about 100 mL a sprayer
    assert site_quantities([wall()], VALUES).solvent_ml == 100
    two = VALUES.with_overrides({"sprayers": 2})
    assert site_quantities([wall()], two).solvent_ml == 200


def test_what_cleaning_would_cost_if_the_applicator_must_do_it():
    values = VALUES.with_overrides(
        {"minutes_dirty_brick": 20, "minutes_mortar_drop": 10, "labour_cents_per_hour": 9000}
    )
    cost = cleaning_cost(["dirty_brick", "dirty_brick", "mortar_drop"], values)
    assert (cost.minutes, cost.cents) == (50, 7500)  # 50 min at 90.00 an hour
    assert cost.minutes_by_kind == {"dirty_brick": 40, "mortar_drop": 10}


lengths = st.integers(200, 40_000)
gauges = st.builds(lambda n, mm: Gauge(n, n * mm), st.integers(1, 12), st.integers(60, 120))
walls = st.builds(
    wall,
    lengths,
    gauge=gauges,
    finish=st.sampled_from(["face_brick", "render"]),
    courses_treated=st.integers(1, 8),
    brick_length_mm=st.integers(90, 400),
)


@given(walls, st.data())
def test_cutting_a_run_in_two_changes_no_total(run, data):
    cut = data.draw(st.integers(100, run.length_mm - 100))
    whole = run_liquid(run, VALUES)
    parts = [
        run_liquid(WallRun(**(run.__dict__ | {"length_mm": length})), VALUES)
        for length in (cut, run.length_mm - cut)
    ]
    for name in ("litres", "bed_joint_mm", "perpend_mm", "area_mm2", "length_mm"):
        assert sum(getattr(part, name) for part in parts) == getattr(whole, name)


@given(st.lists(walls, min_size=1, max_size=5))
def test_what_is_brought_covers_what_the_walls_take(runs):
    found = site_quantities(runs, VALUES)
    exact = sum(part.litres for part in found.runs)
    assert found.litres_with_waste >= exact
    carried = found.first_fill_litres + found.refills * VALUES["tank_litres"]
    assert carried >= found.litres_with_waste
    assert found.drums * VALUES["drum_litres"] >= found.litres_with_waste
    assert (found.drums - 1) * VALUES["drum_litres"] < found.litres_with_waste


@given(st.integers(1, 40), st.integers(1, 40))
def test_a_wider_joint_never_takes_a_thinner_rod(one, other):
    narrow, wide = sorted((one, other))
    rods = [rod_diameter_mm(width, VALUES) or 10**6 for width in (narrow, wide)]
    assert rods[0] <= rods[1]


def test_the_pumps_of_the_first_fill_say_what_they_are_for():
    (step,) = [
        step
        for step in working(site_quantities([wall()], VALUES), VALUES).steps
        if "Pumps" in step.what
    ]
    assert step.what == "Pumps for the first fill"
    assert step.working.startswith("low pressure: about ")
