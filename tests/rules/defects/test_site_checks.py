"""Slab, fall, attachments, weep holes and joints, held against their rules."""

import pytest

from readiness.rules.band.geometry import Attachment, FinishToCome, Gauge, Joint, Opening
from readiness.rules.band.levels import solve
from readiness.rules.defects.proposals import proposed_items
from readiness.rules.defects.site_checks import hole_positions_mm, site_checks, weeps_over_line
from readiness.wording.checks import finding_sentence
from tests.rules.walls import VALUES, brick_wall, ground, rendered_wall, weeps_at


def found(run, code):
    return [finding for finding in site_checks(run, VALUES) if finding.code == code]


@pytest.mark.parametrize(
    ("surface", "needed_mm"),
    [
        ("soil", 150),  # from memory: NCC 2019 Volume Two 3.1.3.3
        ("sandy", 100),  # from memory: the same
        ("paving", 50),  # from memory: the same, paving that falls away
    ],
)
def test_the_slab_stands_above_the_ground_by_what_the_surface_asks(surface, needed_mm):
    (right,) = found(brick_wall((0, -needed_mm), surface=surface), "slab_height")
    (low,) = found(brick_wall((0, 1 - needed_mm), surface=surface), "slab_height")
    assert (right.ok, right.needed_mm) == (True, needed_mm)
    assert (low.ok, low.found_mm) == (False, needed_mm - 1)
    assert low.is_note
    assert "From memory" in low.source


def test_each_surface_beside_a_wall_is_judged_by_its_own_rule():
    run = brick_wall((0, -160), finishes_to_come=(FinishToCome(2000, 4000, 80, "paving"),))
    soil, paving = found(run, "slab_height")
    assert (soil.found_mm, soil.needed_mm) == (160, 150)
    assert (paving.found_mm, paving.needed_mm, paving.ok) == (80, 50, True)


@pytest.mark.parametrize(("fall_mm", "ok"), [(50, True), (49, False), (25, False), (-10, False)])
def test_the_ground_falls_50_mm_in_the_first_metre(fall_mm, ok):
    # NCC 2019 Volume Two 3.1.3.3: at least 50 mm in the first 1 m
    (fall,) = found(brick_wall((0, -200), fall_mm=fall_mm), "fall")
    assert fall.ok is ok
    # ... or 25 mm where rainfall intensity is low and the surface reasonably impermeable
    assert ("where rain is light" in finding_sentence(fall)) == (25 <= fall_mm < 50)


@pytest.mark.parametrize(("gap_mm", "ok"), [(25, True), (24, False), (0, False)])
def test_an_attachment_keeps_a_clear_gap_of_25_mm(gap_mm, ok):
    # AS 3660.2:2017, after AS 3660.1: at least 25 mm
    run = brick_wall((0, -200), attachments=(Attachment(1500, gap_mm, "Water tank"),))
    (gap,) = found(run, "attachment")
    assert gap.ok is ok
    assert finding_sentence(gap).startswith(f"Water tank at 1.5 m has a clear gap of {gap_mm} mm")
    assert [item.kind for item in proposed_items(run, VALUES)] == (
        [] if ok else ["attachment_too_close"]
    )


@pytest.mark.parametrize(("spacing_mm", "ok"), [(800, True), (1200, True), (1201, False)])
def test_weep_holes_are_not_more_than_1200_mm_apart(spacing_mm, ok):
    # from memory: ABCB Housing Provisions 5.7.5
    run = brick_wall((0, -300), weep_holes=weeps_at(0, spacing_mm=spacing_mm))
    assert found(run, "weep_spacing")[0].ok is ok


def test_a_business_may_go_by_800_mm():
    # Ontario Building Code, Part 9: not more than 800 mm apart
    values = VALUES.with_overrides({"weep_spacing_max_mm": 800})
    run = brick_wall((0, -300), weep_holes=weeps_at(0, spacing_mm=960))
    spacing = next(f for f in site_checks(run, values) if f.code == "weep_spacing")
    assert not spacing.ok


def test_the_widest_gap_between_measured_weep_holes_counts():
    run = brick_wall((0, -300), weep_holes=weeps_at(0, positions_mm=(4000, 900, 2000)))
    (spacing,) = found(run, "weep_spacing")
    assert (spacing.found_mm, spacing.from_mm, spacing.ok) == (2000, 2000, False)


def test_weep_holes_spread_evenly_have_a_place_each():
    row = weeps_at(0, spacing_mm=1200)[0]
    assert hole_positions_mm(row, brick_wall(length_mm=6000)) == (600, 1800, 3000, 4200, 5400)


def test_a_low_weep_hole_is_proposed_once_even_where_the_line_is_short_too():
    run = brick_wall((0, -100), weep_holes=weeps_at(-50))
    assert not found(run, "weep_height")[0].ok
    assert [item.kind for item in proposed_items(run, VALUES)] == ["ground_too_high"]


def test_a_low_weep_hole_over_good_render_is_proposed_by_itself():
    run = rendered_wall((0, -150), struck_joint_mm=None, weep_holes=weeps_at(-100))
    kinds = [item.kind for item in proposed_items(run, VALUES)]
    assert kinds == ["no_struck_joint", "weep_hole_low"]


def test_a_long_wall_without_articulation_joints_is_a_note_and_never_a_verdict():
    # seen in a public answer; from memory: ABCB Housing Provisions 5.6.8: 6 m centres
    assert not found(brick_wall((0, -200), length_mm=6000), "articulation_spacing")
    (gap,) = found(brick_wall((0, -200), length_mm=6001), "articulation_spacing")
    assert gap.is_note
    assert gap.kind is None
    assert "One may be missing: check." in finding_sentence(gap)


def test_joints_and_openings_break_a_long_wall():
    run = brick_wall((0, -200), length_mm=12_000, joints=(Joint(6000, 10),))
    assert not found(run, "articulation_spacing")
    run = brick_wall((0, -200), length_mm=12_000, openings=(Opening(5000, 6500),))
    assert not found(run, "articulation_spacing")
    run = brick_wall((0, -200), length_mm=13_000, openings=(Opening(2000, 3000),))
    (gap,) = found(run, "articulation_spacing")
    assert (gap.from_mm, gap.to_mm, gap.found_mm) == (3000, 13_000, 10_000)


def test_a_gap_too_wide_for_sealant_is_proposed_for_the_bricklayer():
    # common practice (no source): the bricklayer fills it before the booking
    run = brick_wall((0, -200), joints=(Joint(2000, 40, kind="crack"),))
    (item,) = proposed_items(run, VALUES)
    assert (item.kind, item.trade, item.measured_mm) == ("gap_too_wide", "bricklayer", 40)


@pytest.mark.parametrize(("gauge_mm", "noted"), [(83, False), (89, False), (82, True), (90, True)])
def test_bed_joints_are_10_mm_3_mm_either_way(gauge_mm, noted):
    # NZS 4210:2001, 2.2 and its tolerance table, as cited in a brick veneer guide; 76 mm brick
    run = brick_wall((0, -200), gauge=Gauge(10, 10 * gauge_mm))
    assert bool(found(run, "joint_thickness")) is noted


def test_soil_that_must_still_go_is_measured_where_it_is_highest():
    run = brick_wall((0, -300), (3000, -150), (6000, -300), ground_finished=ground((0, -250)))
    (soil,) = found(run, "soil_on_brick")
    assert (soil.found_mm, soil.from_mm, soil.to_mm) == (100, 1000, 5000)
    assert "soil_against_brick" in [item.kind for item in proposed_items(run, VALUES)]


def test_without_today_s_ground_nothing_is_said_of_soil():
    assert found(brick_wall(ground_finished=ground((0, -250))), "soil_on_brick") == []


def test_weep_holes_are_held_against_the_ground_below_them_and_no_other():
    paving = FinishToCome(3000, 4000, 150, "paving")
    run = brick_wall(
        (0, -200),
        finishes_to_come=(paving,),
        weep_holes=(
            *weeps_at(-86, from_mm=0, to_mm=3000),
            *weeps_at(-86, from_mm=4000, to_mm=6000),
            *weeps_at(-86, from_mm=2000, to_mm=5000),
        ),
    )
    before, after, over = found(run, "weep_height")
    assert [height.found_mm for height in (before, after, over)] == [114, 114, -36]


def test_soil_that_ends_at_a_point_of_the_profile_is_named_up_to_there():
    run = brick_wall((0, -150), (3000, -250), (6000, -300), ground_finished=ground((0, -250)))
    (soil,) = found(run, "soil_on_brick")
    assert (soil.found_mm, soil.from_mm, soil.to_mm) == (100, 0, 3000)


def test_soil_that_only_just_reaches_the_finished_level_is_not_named():
    run = brick_wall(
        (0, -300), (1000, -250), (2000, -300), (4000, -200), (6000, -200),
        ground_finished=ground((0, -250)),
    )  # fmt: skip
    (soil,) = found(run, "soil_on_brick")
    assert (soil.found_mm, soil.from_mm, soil.to_mm) == (50, 3000, 6000)


@pytest.mark.parametrize(("weep_mm", "noted"), [(-86, True), (-10, True), (0, False), (86, False)])
def test_weep_holes_are_usually_one_course_above_the_line(weep_mm, noted):
    # common practice (no source): usually one course above, sometimes directly above, never below
    run = brick_wall((0, -200), weep_holes=weeps_at(weep_mm))  # the line is at -86
    notes = list(weeps_over_line(run, solve(run, VALUES), VALUES))
    assert bool(notes) is noted
    assert all(
        note.is_note and "usually there is 1 course between" in finding_sentence(note)
        for note in notes
    )
