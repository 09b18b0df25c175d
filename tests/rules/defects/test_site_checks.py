"""Slab, fall, attachments, weep holes and joints, held against their rules."""

import pytest

from readiness.rules.band.geometry import Attachment, FinishToCome, Gauge, Joint
from readiness.rules.band.levels import band_of
from readiness.rules.defects.site_checks import hole_positions_mm, site_checks, weeps_over_line
from readiness.wording.checks import finding_sentence
from tests.rules.walls import VALUES, besides_soil, brick_wall, rendered_wall, weeps_at


def found(run, code):
    return [finding for finding in site_checks(run, VALUES) if finding.code == code]


@pytest.mark.parametrize(
    ("surface", "needed_mm"),
    [
        ("soil", 150),  # ABCB Housing Provisions 3.3.3(b)(iii), 2025 (quoted)
        ("sandy", 100),  # ABCB Housing Provisions 3.3.3(b)(i), 2022 (seen): sandy, well drained
        ("paving", 50),  # ABCB Housing Provisions 3.3.3(b)(ii), 2022 (seen): it falls away
    ],
)
def test_the_slab_stands_above_the_ground_by_what_the_surface_asks(surface, needed_mm):
    (right,) = found(brick_wall((0, -needed_mm), surface=surface), "slab_height")
    (low,) = found(brick_wall((0, 1 - needed_mm), surface=surface), "slab_height")
    assert (right.ok, right.needed_mm) == (True, needed_mm)
    assert (low.ok, low.found_mm) == (False, needed_mm - 1)
    assert low.is_note
    assert low.source.startswith("ABCB Housing Provisions 3.3.3(b)")


def test_each_surface_beside_a_wall_is_judged_by_its_own_rule():
    run = brick_wall((0, -160), finishes_to_come=(FinishToCome(2000, 4000, 80, "paving"),))
    soil, paving = found(run, "slab_height")
    assert (soil.found_mm, soil.needed_mm) == (160, 150)
    assert (paving.found_mm, paving.needed_mm, paving.ok) == (80, 50, True)


@pytest.mark.parametrize(("fall_mm", "ok"), [(50, True), (49, False), (25, False), (-10, False)])
def test_the_ground_falls_50_mm_in_the_first_metre(fall_mm, ok):
    # ABCB Housing Provisions 3.3.3(a), 2022 (seen): at least 50 mm in the first 1 m
    (fall,) = found(brick_wall((0, -200), fall_mm=fall_mm), "fall")
    assert fall.ok is ok
    # ... or 25 mm where rainfall intensity is low and the surface reasonably impermeable
    assert ("where rain is light" in finding_sentence(fall)) == (25 <= fall_mm < 50)


@pytest.mark.parametrize(("gap_mm", "ok"), [(25, True), (24, False), (0, False)])
def test_an_attachment_keeps_a_clear_gap_of_25_mm(gap_mm, ok):
    # AS 3660.2:2017, an extract (quoted): at least 25 mm
    run = brick_wall((0, -200), attachments=(Attachment(1500, gap_mm, "Water tank"),))
    (gap,) = found(run, "attachment")
    assert gap.ok is ok
    assert finding_sentence(gap).startswith(f"Water tank at 1.5 m has a clear gap of {gap_mm} mm")
    assert [item.kind for item in besides_soil(run)] == ([] if ok else ["attachment_too_close"])


@pytest.mark.parametrize(("spacing_mm", "ok"), [(800, True), (1200, True), (1201, False)])
def test_weep_holes_are_not_more_than_1200_mm_apart(spacing_mm, ok):
    # ABCB Housing Provisions 5.7.5(1), 2025 (quoted)
    run = brick_wall((0, -300), weep_holes=weeps_at(0, spacing_mm=spacing_mm))
    assert found(run, "weep_spacing")[0].ok is ok


def test_a_business_may_go_by_800_mm():
    # from memory: Ontario Building Code, Part 9: not more than 800 mm apart
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
    assert [item.kind for item in besides_soil(run)] == ["ground_too_high"]


def test_a_low_weep_hole_over_good_render_is_proposed_by_itself():
    run = rendered_wall((0, -150), struck_joint_mm=None, weep_holes=weeps_at(-100))
    kinds = [item.kind for item in besides_soil(run)]
    assert kinds == ["no_struck_joint", "weep_hole_low"]


def test_a_crack_too_wide_for_sealant_stays_a_crack_and_is_no_gap_for_the_bricklayer():
    # common practice (no source): find out why it opened before anything goes in
    run = brick_wall((0, -200), joints=(Joint(2000, 40, kind="crack"),))
    (item,) = besides_soil(run)
    assert (item.kind, item.trade, item.measured_mm) == ("tight_crack", "sealing", 40)


@pytest.mark.parametrize(("depth_mm", "noted"), [(18, True), (21, True), (22, False), (110, False)])
def test_a_joint_too_shallow_for_rod_and_sealant_is_noted(depth_mm, noted):
    # Worked out: a 12 mm joint takes a 16 mm rod (12 x 1.25 = 15, next size; ASTM D5249, 5.2,
    # seen: 25 to 35 % wider) and 6 mm of sealant over it (CMAA CM01 (2019), 10.1, quoted): 22 mm
    run = brick_wall((0, -200), joints=(Joint(2000, 12, depth_mm),))
    depths = found(run, "joint_depth")
    assert bool(depths) is noted
    if noted:
        assert (depths[0].found_mm, depths[0].needed_mm, depths[0].is_note) == (depth_mm, 22, True)
        assert finding_sentence(depths[0]) == (
            f"The joint at 2 m is {depth_mm} mm deep; a 16 mm backing rod with sealant over it "
            f"needs 22 mm: {22 - depth_mm} mm too little. Ask before it is sealed."
        )


def test_a_joint_that_takes_no_rod_needs_no_room_for_one():
    run = brick_wall((0, -200), joints=(Joint(2000, 4, 8), Joint(3000, 60, 8)))
    assert not found(run, "joint_depth")


@pytest.mark.parametrize(("gauge_mm", "noted"), [(83, False), (89, False), (82, True), (90, True)])
def test_bed_joints_are_10_mm_3_mm_either_way(gauge_mm, noted):
    # NZS 4210:2001 in a brick veneer guide (quoted): 3 mm either way; 76 mm brick
    run = brick_wall((0, -200), gauge=Gauge(10, 10 * gauge_mm))
    assert bool(found(run, "joint_thickness")) is noted


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


@pytest.mark.parametrize(("weep_mm", "noted"), [(-86, True), (-10, True), (0, False), (86, False)])
def test_weep_holes_are_usually_one_course_above_the_line(weep_mm, noted):
    # common practice (no source): usually one course above, sometimes directly above, never below
    run = brick_wall((0, -200), weep_holes=weeps_at(weep_mm))  # the line is at -86
    notes = list(weeps_over_line(run, band_of(run, VALUES), VALUES))
    assert bool(notes) is noted
    assert all(
        note.is_note and "usually there is 1 course between" in finding_sentence(note)
        for note in notes
    )
