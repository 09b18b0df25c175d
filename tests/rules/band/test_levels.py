"""The treated band of wall runs that can be worked out by hand."""

from dataclasses import replace
from fractions import Fraction

import pytest

from readiness.rules.band.geometry import (
    COMMON_BLOCK,
    UNITS,
    Attachment,
    FinishToCome,
    Gauge,
    Opening,
    Perpend,
    StruckStep,
    Unit,
)
from readiness.rules.band.levels import BareBrick, SoilToClear, band_of, bands_of, walls_beside
from readiness.rules.band.shortfalls import Cause
from readiness.rules.band.verdict import Verdict
from readiness.rules.defects.catalogue import get_kind
from readiness.rules.defects.proposals import proposed_items
from readiness.rules.vocabulary import Caution
from readiness.wording.band import bottom_unknown, decisions, notes, soil, still_bare
from readiness.wording.levels import line_sentence, shortfall
from readiness.wording.proposals import required_fix
from tests.rules.walls import (
    EXACT,
    VALUES,
    besides_soil,
    brick_wall,
    ground,
    rendered_wall,
    weeps_at,
)


def stretches(line):
    return [(part.from_mm, part.to_mm, part.joint_number) for part in line.segments]


def test_a_storey_of_3300_mm_comes_to_38_courses_of_86_8():
    # NZS 4210:2001 as cited in a brick veneer best-practice guide: brick 76 + joint 10 = 86 mm;
    # 3300 / 86 = 38.37 courses; with 38 courses the gauge is 86.8 mm
    assert round(3300 / 86, 2) == 38.37
    assert round(float(Gauge(38, 3300).course_mm), 1) == 86.8


def test_units_have_the_courses_that_trade_literature_gives():
    # standard brick 230 x 110 x 76 mm: course 86, 240 along; block 390 x 190: course 200, 400 along
    # (open university building text, seen); 119 mm brick: gauge 129; 162 mm brick, two courses with
    # the joint between them: gauge 172 (a brick technical manual, 1.1, seen)
    standard, _, tall, double, block = UNITS
    assert (standard.course_mm, standard.pitch_mm) == (86, 240)
    assert (block.course_mm, block.pitch_mm) == (200, 400)
    assert (tall.course_mm, double.course_mm) == (129, 172)


def test_seven_courses_are_602_mm():
    # public coursing table (quoted): 7 courses at 86 are 602 mm
    assert 7 * UNITS[0].course_mm == 602


@pytest.mark.parametrize(
    ("unit", "asked"),
    [(UNITS[0], 2), (UNITS[2], 2), (UNITS[3], 1), (COMMON_BLOCK, 1), (Unit(57, 230), 3)],
)
def test_taller_units_take_as_many_courses_as_reach_two_of_standard_brick(unit, asked):
    # nominally 172 mm: 2 of 86, 2 of 129 (258), 1 of 172, 1 of 200, 3 of 67 (201)
    assert brick_wall((0, -200), unit=unit, gauge=None).courses_asked(VALUES) == asked


@pytest.mark.parametrize(("gauge_mm", "height_mm"), [(86, 76), (128, 119), (173, 162), (199, 190)])
def test_a_unit_that_nobody_named_is_the_likeliest_by_its_gauge(gauge_mm, height_mm):
    run = brick_wall((0, -200), gauge=Gauge(1, gauge_mm))
    assert run.unit_or_usual(VALUES).height_mm == height_mm
    assert run.unit is None


def test_blockwork_that_nobody_measured_is_common_block():
    run = brick_wall((0, -200), gauge=None, finish="block")
    assert run.unit_or_usual(VALUES) == COMMON_BLOCK
    assert run.gauge_or_nominal(VALUES) == Gauge(1, 200, measured=False)


def test_level_ground_gives_one_level_line_on_the_lowest_joint_that_clears_it():
    # ground 200 under the slab + 75 = -125: joint 0 (-172) is too low, joint 1 (-86) will do
    line = band_of(brick_wall((0, -200)), VALUES)
    assert stretches(line) == [(0, 6000, 1)]
    assert line.worst_clearance_mm == 114
    assert line.is_right
    # two courses under joint 1 is joint -1 (-258), below the ground at -200: 58 mm of soil to clear
    assert line_sentence(line) == (
        "Treat up to the 1st bed joint above the measured one, 86 mm below the top of the slab, "
        "level all along. Down to 258 mm below the top of the slab: 2 courses. It is closest to "
        "finished ground at 0 m: 114 mm."
    )
    # 58 mm deep, 6 m long, 150 mm wide: 52.2 L
    assert line.clear == (SoilToClear(0, 6000, 58, 0, 53),)


def test_a_joint_that_just_meets_the_height_is_low_enough():
    # -161 + 75 = -86, the joint itself; a mm more needs the next one
    assert stretches(band_of(brick_wall((0, -161)), EXACT)) == [(0, 6000, 1)]
    assert stretches(band_of(brick_wall((0, -160)), EXACT)) == [(0, 6000, 2)]


def test_within_the_tape_s_error_the_higher_joint_is_kept_and_somebody_decides():
    # with the ground 3 mm higher, joint 2 is needed all along
    band = band_of(brick_wall((0, -161)), VALUES)
    assert (band.verdict, stretches(band)) == (Verdict.DECIDE, [(0, 6000, 2)])
    assert "within the tape's error (3 mm)" in decisions(band)[0]


def test_the_line_steps_at_the_perpend_before_sloping_ground_gets_too_high():
    # ground rises 100 mm over 6 m from -300: -247 (joint 0 less 75) is reached at 3180 mm;
    # the perpend before that is 3120
    line = band_of(brick_wall((0, -300), (6000, -200)), VALUES)
    assert stretches(line) == [(0, 3120, 0), (3120, 6000, 1)]
    assert line.steps == 1
    assert (line.worst_clearance_mm, line.worst_at_mm) == (76, 3120)


def test_paving_to_come_lifts_the_line_only_where_it_lies():
    run = brick_wall((0, -260), finishes_to_come=(FinishToCome(2400, 4800, 60, "paving"),))
    # it counts at both its ends, so that the steps are at the perpends before and after it
    assert stretches(band_of(run, VALUES)) == [(0, 2160, 0), (2160, 5040, 1), (5040, 6000, 0)]


def test_a_finished_profile_already_holds_its_finishes():
    run = brick_wall(
        (0, -400), ground_finished=ground((0, -260)),
        finishes_to_come=(FinishToCome(0, 6000, 140, "paving"),),
    )  # fmt: skip
    assert stretches(band_of(run, VALUES)) == [(0, 6000, 0)]


def test_ground_too_high_for_the_weep_holes_is_a_shortfall_with_the_millimetres():
    # weep holes at -86: the line can't pass joint 1 (-86). Ground at -140: clearance 54, 21 short
    line = band_of(brick_wall((0, -140), weep_holes=weeps_at(-86)), VALUES)
    assert stretches(line) == [(0, 6000, 1)]
    (short,) = line.shortfalls
    assert (short.from_mm, short.to_mm, short.short_mm, short.found_mm) == (0, 6000, 21, 54)
    assert (short.lower_ground_mm, short.raise_line_mm) == (21, 86)
    assert short.raise_stopped
    assert short.cause == Cause.GROUND_TODAY


def test_a_render_line_struck_too_low_says_raise_35_or_lower_35_and_from_where_to_where():
    # struck joint at -100; ground -175 is just right, -140 is 35 too high; flat from 2.4 to 5.1 m
    run = rendered_wall((0, -175), (2399, -175), (2400, -140), (5100, -140), (5101, -175))
    (short,) = band_of(run, VALUES).shortfalls
    assert (short.from_mm, short.to_mm, short.short_mm) == (2399, 5101, 35)
    assert (
        "lower the ground by 35 mm, or cut a new joint 35 mm higher and make good the old one"
        in shortfall(short)
    )
    (item,) = proposed_items(run, VALUES)
    assert (item.kind, item.trade, item.measured_mm) == ("render_line_low", "renderer", 40)
    assert "Cut a new one 35 mm higher" in required_fix(item, VALUES)


@pytest.mark.parametrize(("weep_mm", "stopped"), [(-65, False), (-66, True)])
def test_a_struck_joint_goes_up_to_the_weep_holes_and_no_further(weep_mm, stopped):
    # struck joint at -100, ground at -140: it has to go up 35, to -65
    line = band_of(rendered_wall((0, -140), weep_holes=weeps_at(weep_mm)), VALUES)
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
    assert words in line_sentence(band_of(rendered_wall((0, ground_mm)), VALUES))


def test_sloping_ground_falls_short_only_past_the_point_where_it_crosses():
    # ground from -250 up to -100 over 6 m; -100 less 75 is crossed at 3 m, worst at 6 m
    (short,) = band_of(rendered_wall((0, -250), (6000, -100)), VALUES).shortfalls
    assert (short.from_mm, short.to_mm, short.worst_at_mm, short.short_mm) == (3000, 6000, 6000, 75)
    assert short.found_mm == 0


def test_ground_that_falls_away_is_short_only_up_to_where_it_crosses():
    (short,) = band_of(rendered_wall((0, -100), (6000, -250)), VALUES).shortfalls
    assert (short.from_mm, short.to_mm, short.worst_at_mm, short.short_mm) == (0, 3000, 0, 75)


@pytest.mark.parametrize(("starts_mm", "short"), [(3000, 1), (3001, 0)])
def test_at_a_step_of_the_line_the_worse_side_counts(starts_mm, short):
    # struck at -180, from 3 m on at -70; paving to -200 is 130 below the higher part and 20 below
    # the lower one, which it touches only where it begins at the step
    run = rendered_wall(
        (0, -300),
        struck_joint_mm=-180,
        struck_steps=(StruckStep(3000, -70),),
        finishes_to_come=(FinishToCome(starts_mm, 6000, 100, "paving"),),
    )
    assert len(band_of(run, VALUES).shortfalls) == short


def test_a_shortfall_made_by_topsoil_to_come_is_blamed_on_it():
    run = rendered_wall((0, -200), finishes_to_come=(FinishToCome(1000, 3000, 50, "lawn"),))
    (short,) = band_of(run, VALUES).shortfalls
    assert short.cause == Cause.FINISH_TO_COME
    assert (short.short_mm, short.finish_adds_mm) == (25, 25)
    assert "Today's ground is low enough" in shortfall(short)


def test_a_shortfall_that_a_finish_makes_worse_says_by_how_much():
    run = rendered_wall((0, -165), finishes_to_come=(FinishToCome(1000, 3000, 50, "lawn"),))
    worst = max(band_of(run, VALUES).shortfalls, key=lambda short: short.short_mm)
    assert (worst.cause, worst.short_mm, worst.finish_adds_mm) == (Cause.GROUND_TODAY, 60, 50)


def test_a_stepped_struck_joint_is_judged_step_by_step():
    run = rendered_wall(
        (0, -300), (6000, -150), struck_joint_mm=-180, struck_steps=(StruckStep(3000, -70),)
    )
    line = band_of(run, VALUES)
    assert [(part.from_mm, part.level_mm) for part in line.segments] == [(0, -180), (3000, -70)]
    (short,) = line.shortfalls
    assert (short.from_mm, short.to_mm) == (1800, 3000)


def test_a_struck_joint_above_the_weep_holes_is_never_right():
    line = band_of(rendered_wall((0, -300), weep_holes=weeps_at(-110)), VALUES)
    (short,) = line.shortfalls
    assert (short.kind, short.short_mm, short.cause) == ("weep_hole_low", 10, Cause.WEEP_HOLES)


def test_weep_holes_over_part_of_a_wall_hold_the_line_only_there():
    run = brick_wall((0, -140), weep_holes=weeps_at(-86, from_mm=0, to_mm=2400))
    assert stretches(band_of(run, VALUES)) == [(0, 2520, 1), (2520, 6000, 2)]


def test_render_without_a_struck_joint_says_where_one_must_be():
    run = rendered_wall((0, -300), (6000, -150), struck_joint_mm=None)
    line = band_of(run, VALUES)
    assert (line.segments, line.needed_level_mm) == ((), -75)
    assert [item.kind for item in proposed_items(run, VALUES)] == ["no_struck_joint"]


def test_a_wall_with_nothing_measured_is_not_worked_out():
    assert band_of(brick_wall(), VALUES) is None
    assert band_of(brick_wall((0, -200), bed_joint_mm=None), VALUES) is None


def test_a_short_dip_is_not_worth_two_steps():
    # three bricks' length without paving; no stretch may be shorter than 0.96 m
    paved = (FinishToCome(0, 2400, 100, "paving"), FinishToCome(3120, 6000, 100, "paving"))
    run = brick_wall((0, -300), finishes_to_come=paved)
    assert stretches(band_of(run, VALUES)) == [(0, 2640, 1), (2640, 2880, 0), (2880, 6000, 1)]
    longer = VALUES.with_overrides({"min_step_length_mm": 960})
    assert stretches(band_of(run, longer)) == [(0, 6000, 1)]


def test_a_short_bump_lifts_a_stretch_of_the_least_length():
    bump = ((0, -300), (2400, -300), (2401, -200), (2639, -200), (2640, -300), (6000, -300))
    longer = VALUES.with_overrides({"min_step_length_mm": 960})
    line = band_of(brick_wall(*bump), longer)
    assert [part.joint_number for part in line.segments] == [0, 1, 0]
    assert line.segments[1].to_mm - line.segments[1].from_mm == 960


def test_the_fewest_steps_can_be_preferred_to_the_lowest_line():
    run = brick_wall((0, -300), (6000, -200))
    asked_for = VALUES.with_overrides({"prefer_fewest_steps": 1})
    assert stretches(band_of(run, asked_for)) == [(0, 6000, 1)]


def test_levels_are_exact_so_that_a_gauge_in_thirds_fails_nothing():
    # 3 courses in 257 mm; joint 3 is 85 exactly: ground 10 needs 85, not a hair more
    run = brick_wall((0, 10), gauge=Gauge(3, 257), bed_joint_mm=-172)
    line = band_of(run, EXACT)
    assert line.segments[0].joint_number == 3
    assert line.segments[0].level_mm == Fraction(85)


def test_nobody_treats_brick_that_is_not_there():
    # line joint 1 (-86), two courses under it would end at -258; the brickwork starts at -190, and
    # the lowest joint in it is joint 0 (-172): one course is left
    band = band_of(brick_wall((0, -200), brick_bottom_mm=-190), EXACT)
    assert band.verdict is Verdict.DECIDE
    assert band.courses == (1, 1)
    assert [part.level_mm for part in band.bottoms] == [-190]
    (said,) = decisions(band)
    assert said == (
        "From 0 m to 6 m, the brickwork ends 190 mm below the top of the slab, above the bottom of "
        "the band. What is below must be protected by the rest of the termite management system: "
        "the licensed technician decides."
    )


def test_where_there_is_no_wall_nothing_is_treated():
    # 6 m less 0.9 m of door
    door = Opening(2000, 2900, "door", threshold_mm=0, wall_below=False)
    band = band_of(brick_wall((0, -200), openings=(door,)), EXACT)
    assert [(part.from_mm, part.to_mm) for part in band.segments] == [(0, 2000), (2900, 6000)]
    assert band.answer.amounts.length_mm == 5100
    assert band.height_at(2500) is None


def test_an_opening_of_which_nobody_said_what_is_below_is_decided_by_a_person():
    band = band_of(brick_wall((0, -200), openings=(Opening(2000, 2900, "door"),)), EXACT)
    assert band.verdict is Verdict.DECIDE
    assert "From 2 m to 2.9 m is a door or window." in decisions(band)[0]


def test_a_step_of_the_ground_is_two_levels_at_one_distance():
    # -300 up to 3 m (joint 0), -200 from there (joint 1); the higher side counts at the step
    band = band_of(brick_wall((0, -300), (3000, -300), (3000, -200), (6000, -200)), EXACT)
    assert stretches(band) == [(0, 2880, 0), (2880, 6000, 1)]


def test_a_measured_perpend_moves_the_steps():
    # course 0 has perpends at 100 + 240 n: the last before 3180 is 2980 + ... 3220 is too late
    run = brick_wall((0, -300), (6000, -200), perpend=Perpend(0, 100))
    band = band_of(run, VALUES)
    assert stretches(band) == [(0, 2980, 0), (2980, 6000, 1)]
    assert notes(band) == []
    about = band_of(brick_wall((0, -300), (6000, -200)), VALUES)
    assert notes(about)[0].startswith("No upright joint was measured")


def test_brick_stays_bare_until_the_paving_comes():
    # paving 100 on -300: finished -200, line joint 1, bottom joint -1 (-258): 42 over the ground
    run = brick_wall((0, -300), finishes_to_come=(FinishToCome(0, 6000, 100, "paving"),))
    assert band_of(run, EXACT).bare == (BareBrick(0, 6000, 42, "paving"),)
    assert still_bare(band_of(run, EXACT)) == [
        "From 0 m to 6 m, up to 42 mm of untreated brick stays open until the paving is laid."
    ]


def test_finishes_that_overlap_do_not_add_up():
    # the highest counts: -300 + 100
    over = (FinishToCome(0, 6000, 100, "paving"), FinishToCome(0, 6000, 60, "soil"))
    band = band_of(brick_wall((0, -300), finishes_to_come=over), EXACT)
    assert band.worst_clearance_mm == 114


def test_an_item_says_how_much_soil_goes_and_whose_it_is():
    # 58 deep along 6 m, 150 wide: 0.0522 m3, said up
    run = brick_wall((0, -200))
    (item,) = proposed_items(run, VALUES)
    assert (item.kind, item.trade, item.measured_mm) == ("soil_against_brick", "earthworks", 58)
    assert required_fix(item, VALUES).startswith(
        "Clear soil 58 mm deep along 6 m (about 0.06 m³), from 0 m to 6 m."
    )
    assert Caution.SERVICES in get_kind(item.kind).cautions
    (ours,) = proposed_items(run, VALUES.with_overrides({"soil_by_applicator": 1}))
    assert (item.effect, ours.effect) == ("", "applicator")


def test_what_hangs_too_close_is_its_own_item_where_the_ground_is_too_high_as_well():
    run = rendered_wall((0, -140), attachments=(Attachment(3000, 10, "Gas meter"),))
    assert [(item.kind, item.from_mm) for item in besides_soil(run)] == [
        ("render_line_low", 0),
        ("attachment_too_close", 3000),
    ]


def test_weep_holes_that_come_down_to_high_ground_are_no_item_of_their_own():
    run = brick_wall((0, -140), weep_holes=weeps_at(-86))
    assert [item.kind for item in besides_soil(run)] == ["ground_too_high"]


def test_paving_to_come_that_breaks_the_rule_is_the_paver_s():
    # struck at -100, ground -200, paving 54 to come: -146 + 75 = 29 over the joint
    paving = (FinishToCome(0, 6000, 54, "paving"),)
    run = rendered_wall((0, -200), finishes_to_come=paving)
    (item,) = [found for found in proposed_items(run, VALUES) if found.short]
    assert item.trade == "paving"
    assert "lay the paving at least 29 mm lower" in required_fix(item, VALUES)


def test_walls_that_meet_at_a_corner_overlap_by_a_course():
    # Ground -200 and -450: lines at joint 1 (-86) and joint -2 (-344), bottoms at -258 and -516.
    # They do not meet: the higher one goes down at its end to -344 - 86 = -430, joint -3.
    high = brick_wall((0, -200))
    low = brick_wall((0, -450))
    runs = (high, replace(low, id="east"))
    bands = bands_of(runs, EXACT)
    assert [(p.from_mm, p.to_mm, p.joint_number) for p in bands["north"].bottoms] == [
        (0, 5520, -1), (5520, 5640, -2), (5640, 6000, -3),
    ]  # fmt: skip
    assert [part.joint_number for part in bands["east"].bottoms] == [-4]


def test_a_wall_among_its_neighbours_is_the_same_as_in_the_whole_house():
    walls = [
        replace(brick_wall((0, -200 - 90 * n), length_mm=6000), id=f"wall {n}") for n in range(4)
    ]
    for runs in (walls, walls[:3], walls[:1]):
        whole = bands_of(runs, EXACT)
        for run in runs:
            among = bands_of(walls_beside(run, runs), EXACT)
            assert among[run.id].bottoms == whole[run.id].bottoms


def test_the_note_of_an_unknown_bottom_names_its_walls():
    assert bottom_unknown(["North wall", "East wall"]).startswith(
        "Where the brickwork starts was not entered for North wall and East wall."
    )


def test_soil_is_said_with_its_volume_up():
    assert soil(SoilToClear(0, 3400, 66, 0, 34)) == (
        "Clear soil 66 mm deep along 3.4 m (about 0.04 m³), from 0 m to 3.4 m."
    )
