"""The treatment line on walls that can be worked out by hand."""

from fractions import Fraction

import pytest

from readiness.rules.band.geometry import FinishToCome, Gauge, StruckStep
from readiness.rules.band.levels import (
    bed_joint_level_mm,
    cell_edges_mm,
    solve,
)
from readiness.rules.band.line_steps import FEWEST_STEPS
from readiness.rules.band.shortfalls import Cause
from readiness.rules.defects.proposals import proposed_items
from readiness.wording.levels import line_sentence, shortfall
from readiness.wording.proposals import required_fix
from tests.rules.walls import STANDARD, VALUES, brick_wall, ground, rendered_wall, weeps_at


def stretches(line):
    return [(part.from_mm, part.to_mm, part.joint_number) for part in line.segments]


def test_a_storey_of_3300_mm_comes_to_38_courses_of_86_8():
    # NZS 4210:2001 as cited in a brick veneer best-practice guide: brick 76 + joint 10 = 86 mm;
    # 3300 / 86 = 38.37 courses; with 38 courses the gauge is 86.8 mm
    assert round(3300 / 86, 2) == 38.37
    assert round(float(Gauge(38, 3300).course_mm), 1) == 86.8


def test_seven_courses_are_600_mm():
    # brick coursing tables (from memory): a drawn course is 85.7 mm
    assert bed_joint_level_mm(0, 7, STANDARD) == 600
    assert round(float(STANDARD.course_mm), 1) == 85.7


def test_perpends_are_240_mm_apart_with_a_standard_brick():
    # AS/NZS 4455.1 sizes (from memory): 230 mm brick and 10 mm joint
    assert cell_edges_mm(brick_wall(length_mm=600), VALUES) == [0, 240, 480, 600]


def test_level_ground_gives_one_level_line_on_the_lowest_joint_that_clears_it():
    # ground 200 under the slab + 75 = -125: joint 0 (-172) is too low, joint 1 (-86) will do
    line = solve(brick_wall((0, -200)), VALUES)
    assert stretches(line) == [(0, 6000, 1)]
    assert line.worst_clearance_mm == 114
    assert line.meets_rules
    assert line_sentence(line) == (
        "The treatment ends at bed joint 1 up from the lowest, 86 mm below the top of the slab, "
        "level all along. It is closest to finished ground at 0 m: 114 mm."
    )


def test_a_joint_that_just_meets_the_height_is_low_enough():
    # -161 + 75 = -86, the joint itself; a mm more needs the next one
    assert stretches(solve(brick_wall((0, -161)), VALUES)) == [(0, 6000, 1)]
    assert stretches(solve(brick_wall((0, -160)), VALUES)) == [(0, 6000, 2)]


def test_the_line_steps_at_the_perpend_before_sloping_ground_gets_too_high():
    # ground rises 100 mm over 6 m from -300: -247 (joint 0 less 75) is reached at 3180 mm;
    # the perpend before that is 3120
    line = solve(brick_wall((0, -300), (6000, -200)), VALUES)
    assert stretches(line) == [(0, 3120, 0), (3120, 6000, 1)]
    assert line.steps == 1
    assert (line.worst_clearance_mm, line.worst_at_mm) == (76, 3120)


def test_paving_to_come_lifts_the_line_only_where_it_lies():
    run = brick_wall((0, -260), finishes_to_come=(FinishToCome(2400, 4800, 60, "paving"),))
    assert stretches(solve(run, VALUES)) == [(0, 2400, 0), (2400, 4800, 1), (4800, 6000, 0)]


def test_a_finished_profile_already_holds_its_finishes():
    run = brick_wall(
        (0, -400), ground_finished=ground((0, -260)),
        finishes_to_come=(FinishToCome(0, 6000, 140, "paving"),),
    )  # fmt: skip
    assert stretches(solve(run, VALUES)) == [(0, 6000, 0)]


def test_ground_too_high_for_the_weep_holes_is_a_shortfall_with_the_millimetres():
    # weep holes at -86: the line can't pass joint 1 (-86). Ground at -140: clearance 54, 21 short
    line = solve(brick_wall((0, -140), weep_holes=weeps_at(-86)), VALUES)
    assert stretches(line) == [(0, 6000, 1)]
    (short,) = line.shortfalls
    assert (short.from_mm, short.to_mm, short.short_mm, short.found_mm) == (0, 6000, 21, 54)
    assert (short.lower_ground_mm, short.raise_line_mm) == (21, 86)
    assert short.raise_stopped
    assert short.cause == Cause.GROUND_TODAY


def test_a_render_line_struck_too_low_says_raise_35_or_lower_35_and_from_where_to_where():
    # struck joint at -100; ground -175 is just right, -140 is 35 too high; flat from 2.4 to 5.1 m
    run = rendered_wall((0, -175), (2399, -175), (2400, -140), (5100, -140), (5101, -175))
    (short,) = solve(run, VALUES).shortfalls
    assert (short.from_mm, short.to_mm, short.short_mm) == (2399, 5101, 35)
    assert "raise it by 35 mm, or lower the ground by 35 mm" in shortfall(short)
    (item,) = proposed_items(run, VALUES)
    assert (item.kind, item.trade, item.measured_mm) == ("render_line_low", "renderer", 40)
    assert "Raise it by 35 mm" in required_fix(item, VALUES)


@pytest.mark.parametrize(("weep_mm", "stopped"), [(-65, False), (-66, True)])
def test_a_struck_joint_goes_up_to_the_weep_holes_and_no_further(weep_mm, stopped):
    # struck joint at -100, ground at -140: it has to go up 35, to -65
    line = solve(rendered_wall((0, -140), weep_holes=weeps_at(weep_mm)), VALUES)
    (short,) = line.shortfalls
    assert (short.short_mm, short.raise_stopped) == (35, stopped)


@pytest.mark.parametrize(
    ("ground_mm", "words"),
    [
        (-100, "It is closest to finished ground at 0 m: 0 mm."),
        (-99, "Finished ground is 1 mm over it at 0 m."),
    ],
)
def test_ground_that_touches_the_line_is_not_over_it(ground_mm, words):
    assert words in line_sentence(solve(rendered_wall((0, ground_mm)), VALUES))


def test_sloping_ground_falls_short_only_past_the_point_where_it_crosses():
    # ground from -250 up to -100 over 6 m; -100 less 75 is crossed at 3 m, worst at 6 m
    (short,) = solve(rendered_wall((0, -250), (6000, -100)), VALUES).shortfalls
    assert (short.from_mm, short.to_mm, short.worst_at_mm, short.short_mm) == (3000, 6000, 6000, 75)
    assert short.found_mm == 0


def test_ground_that_falls_away_is_short_only_up_to_where_it_crosses():
    (short,) = solve(rendered_wall((0, -100), (6000, -250)), VALUES).shortfalls
    assert (short.from_mm, short.to_mm, short.worst_at_mm, short.short_mm) == (0, 3000, 0, 75)


def test_paving_that_begins_or_ends_at_a_step_says_nothing_of_the_other_side():
    # struck at -180, from 3 m on at -70, and paving to -200: 130 below the higher part
    for higher, paved in ((3000, (3000, 6000)), (0, (0, 3000))):
        run = rendered_wall(
            (0, -300),
            struck_joint_mm=-180 if higher else -70,
            struck_steps=(StruckStep(3000, -70 if higher else -180),),
            finishes_to_come=(FinishToCome(*paved, 100, "paving"),),
        )
        assert solve(run, VALUES).shortfalls == ()


def test_a_shortfall_made_by_topsoil_to_come_is_blamed_on_it():
    run = rendered_wall((0, -200), finishes_to_come=(FinishToCome(1000, 3000, 50, "lawn"),))
    (short,) = solve(run, VALUES).shortfalls
    assert short.cause == Cause.FINISH_TO_COME
    assert (short.short_mm, short.finish_adds_mm) == (25, 25)
    assert "Today's ground is low enough" in shortfall(short)


def test_a_shortfall_that_a_finish_makes_worse_says_by_how_much():
    run = rendered_wall((0, -165), finishes_to_come=(FinishToCome(1000, 3000, 50, "lawn"),))
    worst = max(solve(run, VALUES).shortfalls, key=lambda short: short.short_mm)
    assert (worst.cause, worst.short_mm, worst.finish_adds_mm) == (Cause.GROUND_TODAY, 60, 50)


def test_a_stepped_struck_joint_is_judged_step_by_step():
    run = rendered_wall(
        (0, -300), (6000, -150), struck_joint_mm=-180, struck_steps=(StruckStep(3000, -70),)
    )
    line = solve(run, VALUES)
    assert [(part.from_mm, part.level_mm) for part in line.segments] == [(0, -180), (3000, -70)]
    (short,) = line.shortfalls
    assert (short.from_mm, short.to_mm) == (1800, 3000)


def test_a_struck_joint_above_the_weep_holes_is_never_right():
    line = solve(rendered_wall((0, -300), weep_holes=weeps_at(-110)), VALUES)
    (short,) = line.shortfalls
    assert (short.kind, short.short_mm, short.cause) == ("weep_hole_low", 10, Cause.WEEP_HOLES)


def test_weep_holes_over_part_of_a_wall_hold_the_line_only_there():
    run = brick_wall((0, -140), weep_holes=weeps_at(-86, from_mm=0, to_mm=2400))
    assert stretches(solve(run, VALUES)) == [(0, 2400, 1), (2400, 6000, 2)]


def test_render_without_a_struck_joint_says_where_one_must_be():
    run = rendered_wall((0, -300), (6000, -150), struck_joint_mm=None)
    line = solve(run, VALUES)
    assert (line.segments, line.needed_level_mm) == ((), -75)
    assert [item.kind for item in proposed_items(run, VALUES)] == ["no_struck_joint"]


def test_a_wall_with_nothing_measured_is_not_worked_out():
    assert solve(brick_wall(), VALUES) is None
    assert solve(brick_wall((0, -200), first_bed_joint_mm=None), VALUES) is None


def test_a_short_dip_is_not_worth_two_steps():
    # one brick's length without paving; no stretch may be shorter than 0.96 m
    paved = (FinishToCome(0, 2400, 100, "paving"), FinishToCome(2640, 6000, 100, "paving"))
    run = brick_wall((0, -300), finishes_to_come=paved)
    assert stretches(solve(run, VALUES)) == [(0, 2400, 1), (2400, 2640, 0), (2640, 6000, 1)]
    longer = VALUES.with_overrides({"min_step_length_mm": 960})
    assert stretches(solve(run, longer)) == [(0, 6000, 1)]


def test_a_short_bump_lifts_a_stretch_of_the_least_length():
    bump = ((0, -300), (2400, -300), (2401, -200), (2639, -200), (2640, -300), (6000, -300))
    longer = VALUES.with_overrides({"min_step_length_mm": 960})
    line = solve(brick_wall(*bump), longer)
    assert [part.joint_number for part in line.segments] == [0, 1, 0]
    assert line.segments[1].to_mm - line.segments[1].from_mm == 960


def test_the_fewest_steps_can_be_preferred_to_the_lowest_line():
    run = brick_wall((0, -300), (6000, -200))
    assert stretches(solve(run, VALUES, prefer=FEWEST_STEPS)) == [(0, 6000, 1)]
    asked_for = VALUES.with_overrides({"prefer_fewest_steps": 1})
    assert stretches(solve(run, asked_for)) == [(0, 6000, 1)]


def test_levels_are_exact_so_that_a_gauge_in_thirds_fails_nothing():
    # 3 courses in 257 mm; joint 3 is 85 exactly: ground 10 needs 85, not a hair more
    run = brick_wall((0, 10), gauge=Gauge(3, 257), first_bed_joint_mm=-172)
    line = solve(run, VALUES)
    assert line.segments[0].joint_number == 3
    assert line.segments[0].level_mm == Fraction(85)
