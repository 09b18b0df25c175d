"""The band held against values from outside the project, each with its source beside it."""

from fractions import Fraction

import pytest

from readiness.rules.band.geometry import Gauge
from readiness.rules.band.wall import Unit
from tests.rules.band.sites import answer, block_wall, steps, wall, weeps


@pytest.mark.parametrize(
    ("height", "length", "course", "along"),
    [
        (76, 230, 86, 240),  # open university building text: 230 x 110 x 76 mm
        (119, 230, 129, 240),  # a brick technical manual, 1.1: one and a half courses
        (162, 230, 172, 240),  # a brick technical manual, 1.1: two courses and the joint between
        (190, 390, 200, 400),  # open university building text: block face 390 x 190 mm
    ],
)
def test_units_with_the_nominal_joint(height, length, course, along):
    unit = Unit(height, length)  # joint 10 mm: HP 5.6.4(1), 2025
    assert (unit.course_mm, unit.pitch_mm) == (course, along)


def test_coursing():
    assert 7 * Unit(76, 230).course_mm == 602  # public coursing table: 602 mm at 86
    # NZS 4210:2001 in a brick veneer guide, its example: 38 courses in 3300 mm give 86.8 mm
    assert Gauge(38, 3300).course_mm == Fraction(3300, 38)
    assert round(float(Gauge(38, 3300).course_mm), 1) == 86.8


def test_perpends_of_the_next_course_are_half_a_brick_along():
    """Common practice (no source): half a brick, 120 mm, in stretcher bond."""
    found = answer(wall((0, -170), (3010, -170), (3010, -20), (6000, -20)))
    assert steps(found["line"])[1] == (2880, 3000, 1)


def test_one_litre_covers_two_courses_along_ten_metres():
    """Common practice (no source): 1 L per 10 lineal metres; 60 m of perimeter, 6.0 L."""
    assert answer(wall((0, -170), length_mm=60_000))["litres"] == "6.000"


@pytest.mark.parametrize(("ground", "joint"), [(-161, 0), (-160, 1)])
def test_the_band_ends_at_least_75_mm_above_finished_ground(ground, joint):
    """Common practice (no source): at least 75 mm, on a bed joint; joint 0 is at -86."""
    assert answer(wall((0, ground)))["line"][0]["joint"] == joint


@pytest.mark.parametrize(("underside", "joint"), [(0, 1), (-1, 0), (86, 1)])
def test_weep_holes_are_sometimes_directly_above_the_line_and_never_below_it(underside, joint):
    """Common practice (no source). Ground at -80 wants joint 1, at 0."""
    found = answer(wall((0, -80), weep_holes=weeps(0, 6000, underside)))
    assert found["line"][0]["joint"] == joint


def test_soil_comes_off_down_to_the_lowest_joint_to_be_treated():
    """Common practice (no source). Two courses of 86 under -86."""
    found = answer(wall((0, -170)))
    assert found["clear"][0]["deepest_mm"] == -170 + 86 + 2 * 86


def test_two_courses_of_brick_are_one_of_block():
    """Block course 200 reaches the 172 mm of two courses (open university building text)."""
    found = answer(block_wall((0, -180)))
    assert found["line"][0]["joint"] - found["bottom"][0]["joint"] == 1
