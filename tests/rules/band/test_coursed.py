"""The band on brick and block, worked by hand.

Unless a test says otherwise joints lie at -258, -172, -86 (joint 0), 0 (1) and 86 (2), and the
course above joint 0 has its perpends at 0, 240, 480 ... mm, the one above joint 1 at 120, 360 ...
"""

import pytest

from tests.rules.band.sites import (
    answer,
    block_wall,
    codes,
    finish,
    opening,
    steps,
    wall,
    weeps,
)

LEVEL = (0, -170), (6000, -170)


def test_level_ground():
    """-170 + 75 = -95: joint 0. Two courses under it: joint -2, below the ground."""
    found = answer(wall(*LEVEL))
    assert steps(found["line"]) == [(0, 6000, 0)]
    assert steps(found["bottom"]) == [(0, 6000, -2)]
    assert found["litres"] == "0.600"  # 6 m / 10 x 2 / 2
    assert (found["verdict"], found["why"]) == ("right", [])


def test_a_line_high_above_the_ground_leaves_no_bare_brick():
    """-74 + 75 = 1 at the right end: joint 2 (86), with the fewest steps from end to end. Two
    courses under it would end at joint 0 (-86), over the ground at the left (-130). So the bottom
    is joint -1 until the ground is at -86, at 44 x 6000 / 56 = 4714 mm, and on to the next perpend
    of the course above joint -1: 120 + 20 x 240 = 4920.
    """
    found = answer(wall((0, -130), (6000, -74)), prefer="fewest steps")
    assert steps(found["line"]) == [(0, 6000, 2)]
    assert steps(found["bottom"]) == [(0, 4920, -1), (4920, 6000, 0)]


def test_a_riser_over_two_courses_climbs_a_stair_of_half_bricks():
    """-20 + 75 = 55 from 3010 on: joint 2. The course above joint 1 has a perpend at 3000, the one
    above joint 0 at 2880. Today's ground is at -170 until 3010: the bottom stays at joint -1 (-172)
    until then and on to the perpend of the course above it at 3240; then joint 0 (-86).
    """
    found = answer(wall((0, -170), (3010, -170), (3010, -20), (6000, -20)))
    assert steps(found["line"]) == [(0, 2880, 0), (2880, 3000, 1), (3000, 6000, 2)]
    assert steps(found["bottom"]) == [(0, 2880, -2), (2880, 3240, -1), (3240, 6000, 0)]


def test_where_ground_and_perpend_step_together_both_levels_count():
    """The ground steps at 3000, where the course above joint 1 has a perpend: at that distance the
    higher ground meets the lower line, so the line has to be up one perpend earlier.
    """
    found = answer(wall((0, -170), (3000, -170), (3000, -20), (6000, -20)))
    assert steps(found["line"]) == [(0, 2640, 0), (2640, 2760, 1), (2760, 6000, 2)]
    assert found["short"] == []


def test_a_level_stretch_that_would_be_too_short_begins_earlier():
    """-150 + 75 = -75 from 5900 on: joint 1, from the perpend at 5760. For 500 mm at least it has
    to begin at 5500 or before: at the perpend at 5280.
    """
    ground = (0, -170), (5900, -170), (5900, -150), (6000, -150)
    assert steps(answer(wall(*ground))["line"]) == [(0, 5760, 0), (5760, 6000, 1)]
    found = answer(wall(*ground), shortest_stretch_mm=500)
    assert steps(found["line"]) == [(0, 5280, 0), (5280, 6000, 1)]
    found = answer(wall(*ground), shortest_stretch_mm=7000)
    assert steps(found["line"]) == [(0, 6000, 1)]


def test_the_shortest_stretch_does_not_forbid_the_stair_of_a_riser():
    found = answer(
        wall((0, -170), (3010, -170), (3010, -20), (6000, -20)), shortest_stretch_mm=2000
    )
    assert steps(found["line"]) == [(0, 2880, 0), (2880, 3000, 1), (3000, 6000, 2)]


def test_weep_holes_stop_the_line():
    """-60 + 75 = 15 wants joint 2 (86), but the weep holes' underside is at 40: joint 1 (0) is the
    last below it, 15 too low.
    """
    found = answer(wall((0, -60), weep_holes=weeps(0, 6000, 40)))
    assert steps(found["line"]) == [(0, 6000, 1)]
    assert found["short"] == [
        {"from_mm": 0, "to_mm": 6000, "by_mm": 15, "at_mm": 0, "cause": "today"}
    ]
    assert found["verdict"] == "short"


def test_a_joint_at_the_underside_of_the_weep_holes_serves():
    found = answer(wall((0, -60), weep_holes=weeps(0, 6000, 86)))
    assert steps(found["line"]) == [(0, 6000, 2)]
    assert found["verdict"] == "right"


def test_a_finish_to_come_that_breaks_the_rule_is_named():
    """-170 + 110 + 75 = 15, over joint 1 (0) by 15; today -170 + 75 is not."""
    found = answer(
        wall(*LEVEL, to_come=[finish(0, 6000, 110)], weep_holes=weeps(0, 6000, 40))
    )  # fmt: skip
    assert found["short"][0]["cause"] == "to come"
    assert found["short"][0]["by_mm"] == 15
    assert found["why"] == [
        {"code": "short", "from_mm": 0, "to_mm": 6000, "by_mm": 15, "cause": "to come",
         "what": "paving"}
    ]  # fmt: skip


def test_the_line_goes_down_beside_low_weep_holes_and_up_again():
    """-100 + 75 = -25 wants joint 1; from 2000 to 4000 weep holes at -10 allow joint 0 (-86), which
    is 61 too low. It steps at 1920 (8 x 240) and 4080 (17 x 240).
    """
    found = answer(wall((0, -100), weep_holes=weeps(2000, 4000, -10)))
    assert steps(found["line"]) == [(0, 1920, 1), (1920, 4080, 0), (4080, 6000, 1)]
    assert found["short"] == [
        {"from_mm": 1920, "to_mm": 4080, "by_mm": 61, "at_mm": 1920, "cause": "today"}
    ]


def test_finishes_that_overlap_do_not_add_up():
    """-170 + 60 + 75 = -35: joint 1. With 100 mm it would be 5: joint 2."""
    layers = [finish(0, 6000, 40, "sand"), finish(0, 6000, 60)]
    found = answer(wall(*LEVEL, to_come=layers))
    assert steps(found["line"]) == [(0, 6000, 1)]


@pytest.mark.parametrize(
    ("unit", "asked", "litres"),
    [
        ({"height_mm": 76, "length_mm": 230, "joint_mm": 10}, 2, "0.600"),  # 172 / 86
        ({"height_mm": 90, "length_mm": 290, "joint_mm": 10}, 2, "0.600"),  # 172 / 100 = 1.72
        ({"height_mm": 119, "length_mm": 230, "joint_mm": 10}, 2, "0.600"),  # 172 / 129 = 1.33
        ({"height_mm": 162, "length_mm": 230, "joint_mm": 10}, 1, "0.300"),  # 172 / 172
        ({"height_mm": 190, "length_mm": 390, "joint_mm": 10}, 1, "0.300"),  # 172 / 200
        ({"height_mm": 50, "length_mm": 290, "joint_mm": 10}, 3, "0.900"),  # 172 / 60 = 2.87
    ],
)
def test_as_many_courses_as_reach_two_of_standard_brick(unit, asked, litres):
    """The ground is just high enough that the courses asked for end at or below it."""
    course = unit["height_mm"] + 10
    found = answer(wall((0, -170), unit=unit, gauge=None, bed_joint={"level_mm": -95}))
    top, bottom = found["line"][0], found["bottom"][0]
    assert (top["level_mm"], top["joint"]) == ("-95", 0)
    assert bottom["joint"] == -asked
    assert bottom["level_mm"] == str(-95 - asked * course)
    assert found["litres"] == litres
    assert codes(found) == ["gauge_not_measured"]


def test_block_steps_by_half_a_block():
    """Course 200, 400 along. -180 + 75 = -105: joint 0 (-100); -80 + 75 = -5 from 2500: joint 1
    (100), from the perpend at 2400. One course under each; today's ground is at -180 until 2500, so
    the bottom stays at -300 until then, and on to 2600, a perpend of the course above joint -1.
    """
    found = answer(block_wall((0, -180), (2500, -180), (2500, -80), (6000, -80)))
    assert steps(found["line"]) == [(0, 2400, 0), (2400, 6000, 1)]
    assert steps(found["bottom"]) == [(0, 2600, -1), (2600, 6000, 0)]


def test_bands_of_one_course_overlap_beside_a_step():
    """-80 + 75 = -5: joint 1 (100), its one course down to joint 0 (-100). Between 2000 and 4000
    weep holes hold the line at joint 0: its course goes down to joint -1 (-300), and the two bands
    would only meet. The perpends of the course above joint -1 are half a block further: 1800, 4200.
    """
    found = answer(block_wall((0, -80), weep_holes=weeps(2010, 3990, 50)))
    assert steps(found["line"]) == [(0, 2000, 1), (2000, 4000, 0), (4000, 6000, 1)]
    assert steps(found["bottom"]) == [(0, 1800, 0), (1800, 4200, -1), (4200, 6000, 0)]


def test_a_band_goes_down_beside_a_threshold_that_lies_under_it():
    """-20 + 75 = 55: joint 2 (86), bottom joint 0 (-86). Under the door the wall ends at -130, over
    joint -1 (-172): two courses under that are joint -3. The door begins at 1800 and ends at 3000,
    where the course above joint -3 has perpends; that above joint -2 has them half a brick further,
    at 1680 and 3120, that above joint -1 at 1560 and 3240. Beside the door the bands overlap from
    -130 to joint -2 (-258), more than a course.
    """
    found = answer(wall((0, -20), openings=opening(1800, 3000, -130, True)))
    assert steps(found["line"]) == [(0, 1800, 2), (1800, 3000, None), (3000, 6000, 2)]
    assert steps(found["bottom"]) == [
        (0, 1560, 0), (1560, 1680, -1), (1680, 1800, -2), (1800, 3000, -3), (3000, 3120, -2),
        (3120, 3240, -1), (3240, 6000, 0),
    ]  # fmt: skip


def test_a_band_of_one_course_goes_down_beside_a_threshold():
    """-80 + 75 = -5: joint 1 (100), bottom joint 0 (-100). Under the door the wall ends at -50,
    over joint 0: one course under that, joint -1 (-300). It begins at 1800 and ends at 3000, where
    the course above joint -1 has perpends, so that the bands overlap by 50 only: beside it the
    band goes down to joint -1 for 400 mm, to the perpends at 1400 and 3400.
    """
    found = answer(block_wall((0, -80), openings=opening(1800, 3000, -50, True)))
    assert steps(found["line"]) == [(0, 1800, 1), (1800, 3000, None), (3000, 6000, 1)]
    assert steps(found["bottom"]) == [(0, 1400, 0), (1400, 3400, -1), (3400, 6000, 0)]


def test_a_measured_gauge_gives_exact_levels():
    """Seven courses in 600 mm: joint 1 is at -86 + 600/7 = -2/7, joint -1 at -86 - 600/7 = -1202/7.
    Ground at -78 needs -3: joint 1.
    """
    found = answer(wall((0, -78), gauge={"height_mm": 600, "courses": 7}))
    assert found["line"][0]["level_mm"] == "-2/7"
    assert found["bottom"][0]["level_mm"] == "-1202/7"


def test_steps_are_about_where_no_perpend_was_measured():
    found = answer(wall((0, -170), (3010, -170), (3010, -120), (6000, -120), perpend=None))
    assert codes(found) == ["steps_about"]
    assert found["verdict"] == "right"
    assert codes(answer(wall(*LEVEL, perpend=None))) == []


def test_the_perpend_that_was_measured_moves_all_steps():
    """The course above joint 1 has one at 50 mm, so the one above joint 0 at 170 and every 240."""
    ground = (0, -170), (3010, -170), (3010, -120), (6000, -120)
    found = answer(wall(*ground, perpend={"above_bed_joint": 1, "at_mm": 50}))
    assert steps(found["line"]) == [(0, 2810, 0), (2810, 6000, 1)]


def test_half_a_millimetre_is_rounded_to_the_side_that_is_treated():
    """225 mm and a joint: half a unit is 117.5. Course 0 has a perpend at 117.5, 352.5 ... when the
    course above joint 1 has one at 0. The line rises early: 2937.5 is 2937. The bottom steps at the
    same place (joint -2 to -1) and rises late: 2938.
    """
    found = answer(
        wall(
            (0, -170), (3010, -120), (6000, -120),
            unit={"height_mm": 76, "length_mm": 225, "joint_mm": 10},
            perpend={"above_bed_joint": 1, "at_mm": 0},
        ),
        shortest_stretch_mm=0,
    )  # fmt: skip
    # -161 is reached at 9 x 3010 / 50 = 541.8 mm: the perpend before it is at 352.5.
    assert steps(found["line"]) == [(0, 352, 0), (352, 6000, 1)]
    assert steps(found["bottom"])[0] == (0, 353, -2)


class TestOpenings:
    """What an opening does to the band."""

    def test_where_the_wall_goes_up_to_a_threshold_it_is_treated_as_far_as_it_goes(self):
        """-100 + 75 = -25: joint 1 (0), bottom joint -1. The threshold at -20 lies over joint 0:
        two courses under that are joint -2, from the perpend at 1920 to the one at 3120. Litres: a
        part of a course counts as one: 1.92 x 2 + 0.08 x 3 + 0.9 x 3 + 0.22 x 3 + 2.88 x 2 = 13.2.
        """
        found = answer(wall((0, -100), openings=opening(2000, 2900, -20, True)))
        assert [(p["level_mm"], p["joint"]) for p in found["line"]] == [
            ("0", 1), ("-20", None), ("0", 1)
        ]  # fmt: skip
        assert [p["from_mm"] for p in found["line"]] == [0, 2000, 2900]
        assert steps(found["bottom"]) == [(0, 1920, -1), (1920, 3120, -2), (3120, 6000, -1)]
        assert found["litres"] == "0.660"
        assert found["treated_length_mm"] == 6000
        assert (found["verdict"], codes(found)) == ("right", ["ends_at_threshold"])

    def test_a_threshold_above_the_line_changes_nothing(self):
        assert answer(wall((0, -100), openings=opening(2000, 2900, 0, True))) == answer(
            wall((0, -100))
        )

    def test_no_ground_rule_applies_at_a_threshold(self):
        """-20 + 75 = 55 under the opening only, threshold -20: nothing is short."""
        ground = (0, -100), (2010, -100), (2010, -20), (2890, -20), (2890, -100)
        found = answer(wall(*ground, openings=opening(2000, 2900, -20, True)))
        assert found["short"] == []
        assert steps(found["line"])[0] == (0, 2000, 1)

    @pytest.mark.parametrize(("threshold", "below"), [(900, None), (None, True), (None, None)])
    def test_an_opening_that_is_not_known_is_to_be_decided(self, threshold, below):
        found = answer(wall((0, -100), openings=opening(2000, 2900, threshold, below)))
        assert found["verdict"] == "decide"
        assert found["why"] == [{"code": "opening_unknown", "from_mm": 2000, "to_mm": 2900}]
        assert found["treated_length_mm"] == 6000

    def test_the_ground_in_an_opening_without_wall_does_not_count(self):
        """A porch inside the opening only, 10 mm off the brick at both sides."""
        ground = (0, -100), (2010, -100), (2010, -20), (2890, -20), (2890, -100)
        found = answer(wall(*ground, openings=opening(2000, 2900, None, False)))
        assert steps(found["line"]) == [(0, 6000, 1)]
        assert found["treated_length_mm"] == 5100

    def test_a_porch_that_meets_the_brick_beside_an_opening_counts_there(self):
        """-20 + 75 = 55 at 2000 and at 2900: joint 2, from the perpend of the course above joint 1
        at 1800 to the one at 3000.
        """
        ground = (0, -100), (2000, -100), (2000, -20), (2900, -20), (2900, -100)
        found = answer(wall(*ground, openings=opening(2000, 2900, None, False)))
        assert steps(found["line"]) == [(0, 1800, 1), (1800, 3000, 2), (3000, 6000, 1)]

    def test_a_porch_under_a_threshold_counts_for_the_brick_beside_it(self):
        """-170 + 120 + 75 = 25 at both edges of the porch: joint 2, from the perpend of the course
        above joint 1 at 1080, and of the one above joint 0 at 960; on the right to 2520 and 2640.
        """
        porch = {"to_come": [finish(1200, 2400, 120)], "openings": opening(1200, 2400, -150, True)}
        found = answer(wall(*LEVEL, **porch))
        assert steps(found["line"]) == [
            (0, 960, 0), (960, 1080, 1), (1080, 1200, 2), (1200, 2400, None),
            (2400, 2520, 2), (2520, 2640, 1), (2640, 6000, 0),
        ]  # fmt: skip

    def test_each_side_of_an_opening_has_its_own_level(self):
        """Left -170: joint 0. Right -100: joint 1. Across it the higher line, the lower bottom. No
        brick is crossed, so both step at the opening: nothing at 1920 or 3120.
        """
        ground = (0, -170), (2450, -170), (2450, -100), (6000, -100)
        found = answer(wall(*ground, openings=opening(2000, 2900, None, False)))
        assert steps(found["line"]) == [(0, 2000, 0), (2000, 6000, 1)]
        assert steps(found["bottom"]) == [(0, 2900, -2), (2900, 6000, -1)]
        assert codes(found) == []

    def test_a_wall_that_is_all_opening_has_nothing_to_treat(self):
        found = answer(wall(openings=opening(0, 6000, None, False), bed_joint=None))
        assert (found["verdict"], codes(found)) == ("right", ["no_wall"])
        assert (found["line"], found["litres"], found["treated_length_mm"]) == ([], "0.000", 0)

    def test_an_opening_at_the_end_of_a_wall(self):
        found = answer(wall(*LEVEL, openings=opening(5000, 6000, None, False)))
        assert steps(found["line"]) == [(0, 6000, 0)]
        assert found["treated_length_mm"] == 5000
        assert found["clear"][0]["to_mm"] == 5000


class TestWhereTheBrickEnds:
    """A band can't go below the bottom of the brickwork."""

    def test_the_courses_that_exist_are_counted(self):
        """The band would go down to -258, the brick ends at -200: of joints -1 (-172) and 0 one
        course. 6 m x 1 / 10 / 2 = 0.3 L.
        """
        found = answer(wall(*LEVEL, brick_bottom_mm=-200))
        assert found["bottom"] == [
            {"from_mm": 0, "to_mm": 6000, "level_mm": "-200", "joint": None}
        ]  # fmt: skip
        assert found["litres"] == "0.300"
        assert found["verdict"] == "decide"
        assert found["why"] == [
            {"code": "brick_ends", "from_mm": 0, "to_mm": 6000, "level_mm": -200}
        ]

    def test_where_no_course_is_left_nothing_is_treated(self):
        """-60 + 75 = 15: joint 1 (100), and under it the block ends at 40: less than a course."""
        found = answer(block_wall((0, -60), brick_bottom_mm=40))
        assert found["verdict"] == "decide"
        assert (found["treated_length_mm"], found["litres"]) == (0, "0.000")

    def test_brick_down_to_the_bottom_joint_is_enough(self):
        found = answer(wall(*LEVEL, brick_bottom_mm=-258))
        assert (found["verdict"], found["bottom"][0]["joint"]) == ("right", -2)

    def test_a_slab_edge_above_the_ground_is_to_be_decided(self):
        """Ground at -300: the lowest joint that exists, -172, clears it by 128, and no course lies
        under it. Between -172 and the ground there is no brick that could be bare.
        """
        found = answer(wall((0, -300), brick_bottom_mm=-172))
        assert steps(found["line"]) == [(0, 6000, -1)]
        assert found["bottom"][0]["level_mm"] == "-172"
        assert (found["verdict"], found["bare"], found["litres"]) == ("decide", [], "0.000")

    def test_an_unknown_bottom_is_no_matter_of_a_wall(self):
        assert answer(wall(*LEVEL, brick_bottom_mm=None))["why"] == []
