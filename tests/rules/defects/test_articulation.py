"""Articulation joints, against ABCB Housing Provisions 5.6.8, 2025 (quoted).

6 m centres with no opening over 900 x 900 mm; 5 m with larger ones and within 1.2 m of each; the
first one within 4.5 m of a corner, not under 470 mm; none on soil class A or S; 10 mm wide or more.
"""

import pytest

from readiness.rules.band.geometry import Joint, Opening
from readiness.rules.defects.site_checks import Check, site_checks
from readiness.wording.checks import finding_sentence
from tests.rules.walls import VALUES, brick_wall

CHECKS = (
    Check.ARTICULATION_SPACING,
    Check.ARTICULATION_OPENING,
    Check.ARTICULATION_CORNER,
    Check.ARTICULATION_NEAR_CORNER,
)


def notes(length_mm, joints=(), openings=(), soil_class="M", **more):
    """The notes about joints of a wall: each with its code, from, to and what was found."""
    run = brick_wall(
        (0, -200),
        length_mm=length_mm,
        joints=tuple(Joint(at, 10) for at in joints),
        openings=tuple(Opening(*span) for span in openings),
        **more,
    )
    found = [one for one in site_checks(run, VALUES, soil_class) if one.code in CHECKS]
    assert all(one.is_note and one.kind is None and not one.ok for one in found)
    return found


def told(*args, **more):
    return [(one.code, one.from_mm, one.to_mm, one.found_mm) for one in notes(*args, **more)]


@pytest.mark.parametrize("apart_mm", [6000, 6001])
def test_joints_are_at_most_6_m_apart(apart_mm):
    found = told(4500 + apart_mm + 4500, joints=(4500, 4500 + apart_mm))
    assert found == (
        [(Check.ARTICULATION_SPACING, 4500, 4500 + apart_mm, apart_mm)] if apart_mm > 6000 else []
    )


@pytest.mark.parametrize(
    ("opening", "most_mm"), [((6000, 6900), 6000), ((6000, 6901), 5000), ((5000, 7400), 5000)]
)
def test_with_an_opening_over_900_mm_they_are_at_most_5_m_apart(opening, most_mm):
    for apart_mm in (most_mm, most_mm + 1):
        first = opening[0] - 1000
        found = told(20_000, joints=(first - apart_mm, first), openings=(opening,))
        spacing = [one for one in found if one[0] is Check.ARTICULATION_SPACING]
        assert bool(spacing) is (apart_mm > most_mm)


@pytest.mark.parametrize(
    ("at_mm", "noted"), [(1800, False), (1799, True), (5600, False), (5601, True)]
)
def test_a_joint_is_within_1200_mm_of_each_large_opening(at_mm, noted):
    found = [
        one for one in told(7000, joints=(at_mm,), openings=((3000, 4400),))
        if one[0] is Check.ARTICULATION_OPENING
    ]  # fmt: skip
    assert bool(found) is noted


def test_a_narrow_opening_asks_for_no_joint():
    assert told(4400, openings=((1000, 1900),)) == []
    assert told(4400, openings=((1000, 1901),)) == [(Check.ARTICULATION_OPENING, 1000, 1901, None)]


@pytest.mark.parametrize(("at_mm", "noted"), [(4500, False), (4501, True)])
def test_the_first_joint_is_within_4500_mm_of_each_corner(at_mm, noted):
    left = told(at_mm + 3000, joints=(at_mm,))
    right = told(at_mm + 3000, joints=(3000,))
    assert bool(left) is bool(right) is noted
    if noted:
        assert left == [(Check.ARTICULATION_CORNER, 0, at_mm, at_mm)]
        assert right == [(Check.ARTICULATION_CORNER, 3000, at_mm + 3000, at_mm)]


@pytest.mark.parametrize(("at_mm", "noted"), [(470, False), (469, True)])
def test_a_joint_is_not_nearer_than_470_mm_to_a_corner(at_mm, noted):
    assert bool(told(4000, joints=(at_mm,))) is noted
    assert bool(told(4000, joints=(4000 - at_mm,))) is noted


def test_where_the_wall_goes_on_straight_there_is_no_corner():
    assert told(8000, joints=(3000,), turn_degrees=0) == []


@pytest.mark.parametrize(("length_mm", "noted"), [(4500, False), (4501, True), (12_000, True)])
def test_a_wall_without_a_joint_is_noted_once(length_mm, noted):
    found = notes(length_mm, openings=((1000, 3400),) if length_mm > 4500 else ())
    assert len(found) == noted
    if noted:
        assert "No articulation joint is entered" in finding_sentence(found[0])
        assert "at most 4.5 m from a corner. One may be missing: check." in finding_sentence(
            found[0]
        )


@pytest.mark.parametrize("soil_class", ["A", "S"])
def test_on_soil_of_class_a_or_s_none_are_needed(soil_class):
    assert notes(30_000, openings=((1000, 3400),), soil_class=soil_class) == []


def test_a_soil_class_that_nobody_entered_is_said_to_be_unknown_once_a_wall():
    many = notes(30_000, joints=(10_000, 20_000), soil_class="")
    said = [finding_sentence(one) for one in many]
    unknown = "The site's soil class is not entered: on class A or S none are needed."
    assert len(many) == 3
    assert [unknown in sentence for sentence in said] == [True, False, False]
    assert not any(unknown in finding_sentence(one) for one in notes(30_000, soil_class="H1"))


@pytest.mark.parametrize(("width_mm", "noted"), [(10, False), (9, True), (7, True)])
def test_a_joint_narrower_than_10_mm_is_noted(width_mm, noted):
    # ABCB Housing Provisions 5.6.8(2), 2025 (quoted): at least 10 mm wide
    run = brick_wall((0, -200), length_mm=6000, joints=(Joint(3000, width_mm),))
    found = [one for one in site_checks(run, VALUES, "M") if one.code is Check.JOINT_WIDTH]
    assert bool(found) is noted
    if noted:
        said = f"The articulation joint at 3 m is {width_mm} mm wide; it has to be at least 10 mm."
        assert said in finding_sentence(found[0])
        assert found[0].is_note
        assert found[0].source == "ABCB Housing Provisions 5.6.8(2), 2025"


def test_each_note_names_the_place_the_distance_and_its_source():
    opening, far = notes(20_000, joints=(4000, 9000, 14_000), openings=((11_000, 12_000),))[::-1]
    assert finding_sentence(far) == (
        "No articulation joint from 14 m to 20 m (6 m); the first one is at most 4.5 m from a "
        "corner. One may be missing: check."
    )
    assert finding_sentence(opening) == (
        "No articulation joint within 1200 mm of the opening from 11 m to 12 m. If the opening is "
        "over 900 mm high too, one may be missing: check."
    )
    assert {far.source, opening.source} == {"ABCB Housing Provisions 5.6.8, 2025"}
