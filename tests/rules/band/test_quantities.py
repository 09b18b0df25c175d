"""Liquid, sealant and rod: worked examples, and totals that don't depend on how walls are cut."""

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.rules.band.geometry import (
    FinishToCome,
    Gauge,
    Joint,
    Opening,
    Perpend,
    Unit,
    WallRun,
)
from readiness.rules.band.levels import bands_of
from readiness.rules.band.quantities import (
    JointSealing,
    RunLiquid,
    cleaning_cost,
    joint_sealing,
    rod_diameter_mm,
    run_liquid,
    site_quantities,
)
from readiness.rules.values.rule_values import RuleValues
from readiness.wording.quantities import fills, notes, sealing_note, span, working
from tests.rules.walls import brick_wall, ground, rendered_wall

VALUES = RuleValues.defaults()


def wall(length_mm=60_000, **parts) -> WallRun:
    """A wall of which nothing was measured but its length."""
    return WallRun("w", "Wall", length_mm, **parts)


def liquid(run: WallRun, values: RuleValues = VALUES) -> RunLiquid:
    return run_liquid(run, bands_of([run], values)[run.id], values)


def sealed(run: WallRun, joint: Joint) -> JointSealing:
    return joint_sealing(run, joint, VALUES, bands_of([run], VALUES)[run.id])


def steps(*runs: WallRun, values: RuleValues = VALUES) -> dict[str, tuple[str, str]]:
    found = working(site_quantities(runs, values), values)
    return {step.what: (step.result, step.working) for step in found.steps}


# Ground rises 20 mm a metre from -170; joints at -258, -172, -86, 0, 86; 60 mm of paving from
# 4 m on. The line (75 mm above finished ground) is at -86 up to 0.24 m, at 0 up to 3.96 m, then at
# 86. The bottom is two courses under it and never above finished ground: -258 up to 0.24 m, -172
# up to 4.20 m, then -86. The door from 2.0 to 2.9 m has no wall in the band.
RISING = brick_wall(
    (0, -170), (6000, -50),
    bed_joint_mm=-86,
    unit=Unit(76, 230),
    perpend=Perpend(0, 0),
    finishes_to_come=(FinishToCome(4000, 6000, 60, "paving"),),
    openings=(Opening(2000, 2900, "back door", 0, wall_below=False),),
)  # fmt: skip

# Level ground at -170: the line is at -86 (84 mm above it), two courses reach down to -258.
LEVEL = brick_wall((0, -170), bed_joint_mm=-86)


# Litres


def test_60_m_of_two_courses_takes_6_litres():
    # common practice (no source): 1 L per 10 lineal metres for two courses; first fill about 5 L
    found = site_quantities([wall()], VALUES)
    assert found.litres == Decimal("6.0")
    assert found.litres_with_waste == Decimal("6.6")  # plus 10 %
    assert (found.first_fill_litres, found.refills, found.drums) == (5, 1, 1)


def test_an_unmeasured_site_is_taken_for_an_average_house():
    # common practice (no source): about 60 m, so 6.0 L
    found = site_quantities([], VALUES)
    assert found.litres == Decimal("6.0")
    assert "average perimeter of 60 m" in notes(found, VALUES)[0]


def test_litres_go_with_the_courses_of_each_stretch_and_leave_openings_out():
    # 0.24 m x 2 courses + 2.82 m x 2 (to 3.96 m, less the door's 0.90 m) + 0.24 m x 3 (line up at
    # 3.96 m, bottom up at 4.20 m) + 1.80 m x 2 = 10.44 m of courses; / 10 / 2 = 0.522 L
    found = liquid(RISING)
    assert found.litres == Fraction(522, 1000)
    assert (found.length_mm, found.courses, found.is_measured) == (5100, (2, 3), True)


def test_courses_that_are_not_there_take_nothing():
    # The brickwork starts at -172: of the two courses from -86 down one exists. 6 m x 1 / 10 / 2
    found = liquid(replace(LEVEL, brick_bottom_mm=-172))
    assert (found.litres, found.courses) == (Fraction(3, 10), (1, 1))
    assert liquid(LEVEL).litres == Fraction(6, 10)


def test_tall_bricks_count_by_their_own_courses():
    # One course of 162 mm reaches 172 mm with its joint: 60 m x 1 / 10 / 2 = 3 L. Two of 119 mm.
    assert liquid(wall(unit=Unit(162, 230))).litres == 3
    assert liquid(wall(unit=Unit(119, 230))).litres == 6
    # One of block (190 mm) where two courses of standard brick are asked for.
    assert liquid(wall(finish="block")).courses == (1, 1)


def test_four_courses_take_twice_as_much():
    assert site_quantities([wall(courses_treated=4)], VALUES).litres == Decimal("12.0")


def test_render_goes_by_the_area_from_the_struck_joint_to_the_ground():
    # Struck joint at -100 over ground at -190: 0.09 m x 6 m = 0.54 m2, at 0.6 L/m2 0.324 L
    found = liquid(rendered_wall((0, -190)))
    assert (found.area_mm2, found.litres) == (540_000, Fraction(324, 1000))
    assert found.courses is None


def test_render_that_was_not_measured_is_taken_as_high_as_two_courses():
    # 10 m x 2 x 86 mm = 1.72 m2, at 0.6 L/m2 1.032 L
    found = liquid(wall(10_000, finish="render"))
    assert (found.area_mm2, found.litres) == (1_720_000, Fraction(1032, 1000))
    assert not found.is_measured


def test_openings_without_wall_are_out_of_what_was_not_measured_too():
    # 60 m less a garage door of 5 m: 55 m x 2 / 10 / 2 = 5.5 L
    door = Opening(10_000, 15_000, "garage door", wall_below=False)
    assert liquid(wall(openings=(door,))).litres == Fraction(55, 10)


def test_a_wall_that_is_all_door_takes_nothing_and_is_no_render():
    door = Opening(0, 6000, "garage door", wall_below=False)
    told = steps(replace(LEVEL, openings=(door,)), wall())
    assert told["Liquid on brick"][0] == "6 L"
    assert "Liquid on render" not in told


def test_levels_that_cant_be_right_leave_the_length_with_the_usual_courses():
    slip = wall(gauge=Gauge(0, 600), bed_joint_mm=-86, ground_today=ground((0, -170)))
    slip = replace(slip, openings=(Opening(0, 50_000, wall_below=False),), joints=(Joint(900, 12),))
    found = site_quantities([slip], VALUES)
    assert found.litres == Decimal("6.0")
    assert found.sealing[0].height_mm == 172
    assert notes(found, VALUES)[0].startswith("Estimated on Wall, where levels are missing")


# The range, and what is carried


def test_what_the_walls_may_take_is_a_range():
    # 6.25 L: 20 % less is 5.0 L, 50 % more is 9.375 L, so that 9.4 L are enough
    found = site_quantities([wall(62_500)], VALUES)
    assert span(found) == "5.0 to 9.4 L"
    result, why = steps(wall(62_500))["On the walls"]
    assert result == "5.0 to 9.4 L"
    assert why == (
        "20% less to 50% more than 6.25 L: it depends on how thirsty the brick is (suction), how "
        "deep the joints are and whether they are raked"
    )


def test_a_business_that_knows_its_walls_may_narrow_the_range_to_one_figure():
    values = VALUES.with_overrides({"litres_less_percent": 0, "litres_more_percent": 0})
    assert span(site_quantities([wall()], values)) == "6.0 L"


def test_what_is_carried_is_enough_for_the_most():
    # 130 m: 13 L, with waste 14.3; at most 19.5 L, with waste 21.45: two drums of 20 L. The sprayer
    # holds 5 L: 9.3 L more are 2 refills, 16.5 L more are 4
    found = site_quantities([wall(130_000)], VALUES)
    assert (found.litres_with_waste, found.carried_litres) == (Decimal("14.3"), Decimal("21.5"))
    assert (found.drums, found.refills, found.most_refills) == (2, 2, 4)
    assert fills(found) == "first fill 5 L, then up to 4 refills"


def test_a_small_site_needs_one_fill_only():
    # 12 m: 1.2 L, at most 1.8 L, with waste 1.98 L
    found = site_quantities([wall(12_000)], VALUES)
    assert found.first_fill_litres == Decimal("2.0")
    assert fills(found) == "first fill 2 L, no refill"


def test_the_steps_of_the_working_can_be_checked_by_hand():
    told = steps(RISING)
    assert told["Liquid on brick"] == (
        "0.52 L",
        "5.1 m of brick wall, 2 to 3 courses (10.44 m of courses in all), at 1 L per 10 m for two "
        "courses",
    )
    assert told["Liquid to carry"] == ("0.9 L", "0.8 L + 10% waste, rounded up")
    assert steps(wall())["Fills"] == ("first fill 5 L, then 1 refill", "a tank of 5 L")
    assert steps(wall())["Drums to carry"] == ("1 drum", "9.9 L from drums of 20 L")


def test_the_pumps_of_the_first_fill_say_what_they_are_for():
    # common practice (no source): about 15 to 20 pumps for 5 L
    result, why = steps(wall())["Pumps for the first fill"]
    assert (result, why) == ("about 18", "low pressure: about 18 pumps for each 5 L in the sprayer")


# What has to be known of the figure


def test_what_was_estimated_is_said_wall_by_wall():
    found = site_quantities([wall(), LEVEL], VALUES)
    assert notes(found, VALUES) == (
        "Estimated on Wall, where levels are missing or can't be right: the whole length and the "
        "usual courses count.",
    )
    assert notes(site_quantities([LEVEL], VALUES), VALUES) == ()
    found = site_quantities([wall(), replace(wall(), id="other")], VALUES)
    assert notes(found, VALUES)[0].startswith("Estimated on all walls, where")


def test_openings_that_nobody_decided_about_count_as_wall_and_that_is_said():
    door = Opening(2000, 2900, "back door")
    found = site_quantities([replace(LEVEL, openings=(door,))], VALUES)
    assert found.exact_litres == Fraction(6, 10)
    assert "Doors or windows on North wall count as wall" in notes(found, VALUES)[0]


def test_raked_joints_are_a_reason_for_the_upper_end():
    found = site_quantities([replace(LEVEL, raked_mm=8)], VALUES)
    assert notes(found, VALUES) == (
        "Joints are raked on North wall (8 mm deep): expect the upper end there.",
    )


# Joints to be sealed


@pytest.mark.parametrize(
    ("width_mm", "rod_mm"),
    [
        (8, 10),  # ASTM D5249, 5.2: rods 25 to 35 % wider than the joint: 8 x 1.25 = 10
        (10, 13),  # 12.5, next stocked 13
        (12, 16),  # 15, next stocked 16
        (16, 20),  # just 20
        (41, None),  # 51.25: nothing stocked is wide enough
    ],
)
def test_backing_rod_is_the_next_stocked_size_above_width_and_a_quarter(width_mm, rod_mm):
    assert rod_diameter_mm(width_mm, VALUES) == rod_mm


def test_sealant_of_a_12_mm_joint_by_hand():
    # CMAA CM01 (2019), 10.1: depth half the width, 6 mm; 12 x 6 x 1000 mm = 72 mL, + 10 % = 79.2
    found = site_quantities([wall(joints=(Joint(3000, 12, height_mm=1000),))], VALUES)
    assert found.sealing[0].sealant_depth_mm == 6
    assert found.sealant_ml == 80
    assert found.cartridges == 1
    assert found.rod_mm_by_diameter == {16: 1000}


@pytest.mark.parametrize(
    ("at_mm", "height_mm"),
    [
        (100, 172),  # from -258 up to -86
        (1000, 172),  # from -172 up to 0
        (4100, 258),  # the line is up at 86 already, the bottom still at -172: three courses
        (3960, 258),  # at the line's step the higher side: 86, over -172
        (4200, 258),  # at the bottom's step the lower side
        (5000, 172),  # from -86 up to 86
        (2450, 172),  # in the door, where nothing is treated: as high as two courses
    ],
)
def test_a_joint_is_sealed_over_the_band_where_it_is(at_mm, height_mm):
    assert sealed(RISING, Joint(at_mm, 10)).height_mm == height_mm


def test_a_joint_is_not_sealed_below_the_brickwork():
    assert sealed(LEVEL, Joint(3000, 10)).height_mm == 172
    assert sealed(replace(LEVEL, brick_bottom_mm=-172), Joint(3000, 10)).height_mm == 86


def test_a_joint_in_render_is_sealed_from_the_ground_to_the_struck_joint():
    # From -190 at the left to -170 at the right: 180 mm under the joint in the middle, struck at 0.
    sloping = rendered_wall((0, -190), (6000, -170), struck_joint_mm=0)
    assert sealed(sloping, Joint(3000, 10)).height_mm == 180


def test_the_sealant_of_a_joint_over_three_courses_by_hand():
    # 12 x 6 x 258 mm = 18 576 mm3, + 10 % = 20.43 mL; a rod of 16 mm as long
    found = site_quantities([replace(RISING, joints=(Joint(4100, 12),))], VALUES)
    assert found.sealing[0].sealant_mm3 == 18_576
    assert found.sealant_ml == 21
    assert found.rod_mm_by_diameter == {16: 258}


def test_a_joint_without_levels_is_sealed_as_high_as_the_courses_asked_for():
    assert joint_sealing(wall(gauge=Gauge(1, 86)), Joint(0, 10), VALUES).height_mm == 172


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


def test_a_joint_that_is_too_shallow_for_rod_and_sealant_says_so():
    # Worked out: 12 mm wide takes a 16 mm rod and 6 mm of sealant over it, 22 mm in all
    part = joint_sealing(wall(), Joint(0, 12, depth_mm=20, height_mm=100), VALUES)
    assert sealing_note(part, VALUES) == (
        "20 mm deep; a 16 mm rod with sealant over it needs 22 mm. Ask before it is sealed."
    )
    enough = joint_sealing(wall(), Joint(0, 12, depth_mm=22, height_mm=100), VALUES)
    assert sealing_note(enough, VALUES) == ""


def test_a_note_on_a_joint_says_on_which_wall_it_is():
    found = site_quantities([replace(LEVEL, joints=(Joint(3000, 5),))], VALUES)
    assert notes(found, VALUES) == (
        "North wall, joint at 3 m: Tight: sealant alone, no backing rod.",
    )


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


# What holds on any wall

lengths = st.integers(200, 40_000)
gauges = st.builds(lambda n, mm: Gauge(n, n * mm), st.integers(1, 12), st.integers(60, 120))
walls = st.builds(
    wall,
    lengths,
    gauge=gauges,
    finish=st.sampled_from(["face_brick", "bagged", "block", "render"]),
    courses_treated=st.none() | st.integers(1, 8),
    brick_length_mm=st.integers(90, 400),
)
leveled = st.builds(
    lambda run, level_mm, struck_mm, joint_mm, bottom_mm: replace(
        run,
        ground_today=ground((0, level_mm)),
        struck_joint_mm=struck_mm,
        bed_joint_mm=joint_mm,
        brick_bottom_mm=bottom_mm and level_mm - bottom_mm,
    ),
    walls,
    st.integers(-300, -100),
    st.integers(-90, 40),
    st.integers(-120, 40),
    st.none() | st.integers(20, 300),
)


sloping = st.builds(
    lambda levels_mm, joint_mm, perpend_mm: brick_wall(
        *((1500 * number, level) for number, level in enumerate(levels_mm)),
        length_mm=1500 * (len(levels_mm) - 1),
        bed_joint_mm=joint_mm,
        perpend=Perpend(0, perpend_mm),
    ),
    st.lists(st.integers(-330, -60), min_size=2, max_size=5),
    st.integers(-130, -40),
    st.integers(0, 239),
)


@st.composite
def doors(draw, run: WallRun) -> Opening:
    """A door without wall in the band, somewhere on a wall."""
    start = draw(st.integers(0, run.length_mm - 100))
    return Opening(start, draw(st.integers(start + 1, run.length_mm)), wall_below=False)


def part_of(run: WallRun, from_mm: int, to_mm: int) -> WallRun:
    """A stretch of a wall with what was measured along all of it, and its share of the doors."""
    doors = tuple(
        replace(door, from_mm=max(door.from_mm, from_mm) - from_mm, to_mm=end - from_mm)
        for door in run.openings
        if max(door.from_mm, from_mm) < (end := min(door.to_mm, to_mm))
    )
    return replace(run, length_mm=to_mm - from_mm, openings=doors)


EXACT = VALUES.with_overrides({"tape_error_mm": 0})


@given(walls | leveled, st.data())
def test_cutting_a_run_in_two_changes_no_total(run, data):
    """Where the ground is level: on a slope a cut moves the perpends that the line steps at.

    With readings that are exact: what is within the tape's error counts over more than a unit only,
    and a part may be shorter than one.
    """
    door = data.draw(st.none() | doors(run))
    run = replace(run, openings=(door,) if door else ())
    cut = data.draw(st.integers(100, run.length_mm - 100))
    whole = liquid(run, EXACT)
    parts = part_of(run, 0, cut), part_of(run, cut, run.length_mm)
    halves = [liquid(part, EXACT) for part in parts]
    for name in ("litres", "area_mm2", "length_mm"):
        assert sum(getattr(half, name) for half in halves) == getattr(whole, name)


@given(walls | leveled, st.data())
def test_an_opening_takes_its_share_of_a_level_wall(run, data):
    door = data.draw(doors(run))
    with_door, without = liquid(replace(run, openings=(door,)), EXACT), liquid(run, EXACT)
    left_mm = run.length_mm - door.to_mm + door.from_mm
    assert with_door.litres * run.length_mm == without.litres * left_mm


@given(sloping, st.data())
def test_an_opening_without_wall_never_adds_litres(run, data):
    """With a shortest stretch it may: what is left beside a door can be too short for a step, so
    that the line is up there already.
    """
    values = VALUES.with_overrides({"min_step_length_mm": 0})
    door = data.draw(doors(run))
    assert liquid(replace(run, openings=(door,)), values).litres <= liquid(run, values).litres


@given(
    st.lists(walls | leveled, min_size=1, max_size=5),
    st.integers(0, 90),
    st.integers(0, 300),
)
def test_the_range_holds_the_figure_and_what_is_carried_covers_it(runs, less, more):
    values = VALUES.with_overrides({"litres_less_percent": less, "litres_more_percent": more})
    runs = [replace(run, id=str(number)) for number, run in enumerate(runs)]
    found = site_quantities(runs, values)
    exact = sum(part.litres for part in found.runs)
    assert found.least_litres <= exact <= found.most_litres <= found.carried_litres
    assert found.least_litres <= found.litres <= found.most_litres
    assert exact <= found.litres_with_waste <= found.carried_litres
    tank, drum = values["tank_litres"], values["drum_litres"]
    assert found.first_fill_litres + found.refills * tank >= found.litres_with_waste
    assert found.first_fill_litres + found.most_refills * tank >= found.carried_litres
    assert (found.drums - 1) * drum < found.carried_litres <= found.drums * drum


@given(st.integers(1, 40), st.integers(1, 40))
def test_a_wider_joint_never_takes_a_thinner_rod(one, other):
    narrow, wide = sorted((one, other))
    rods = [rod_diameter_mm(width, VALUES) or 10**6 for width in (narrow, wide)]
    assert rods[0] <= rods[1]
