"""The band on render: the struck joint, finished ground, litres by area; worked by hand."""

from tests.rules.band.sites import answer, codes, finish, opening, rendered, weeps

TWO = ((0, 3000, -90), (3000, 6000, -60))


def test_the_band_goes_from_the_struck_joint_to_the_finished_ground():
    """Ground at -170: 80 mm high over 3 m and 110 over 3 m: 0.57 m2. 1.0 L covers two courses along
    10 m, 1.72 m2: 0.57 / 1.72 = 0.3314 L, rounded up.
    """
    found = answer(rendered((0, -170), struck=TWO))
    assert [(p["to_mm"], p["level_mm"], p["joint"]) for p in found["line"]] == [
        (3000, "-90", None), (6000, "-60", None)
    ]  # fmt: skip
    assert found["bottom"] == [
        {"from_mm": 0, "to_mm": 6000, "level_mm": "-170", "to_level_mm": "-170", "joint": None}
    ]
    assert (found["verdict"], found["why"], found["clear"]) == ("right", [], [])
    assert found["litres"] == "0.332"


def test_render_may_have_litres_of_its_own():
    """0.57 m2 x 0.6 L/m2."""
    found = answer(rendered((0, -170), struck=TWO), render_litres_per_m2="0.6")
    assert found["litres"] == "0.342"


def test_the_band_may_go_below_the_ground():
    """50 deep over 6 m: 50 x 6000 x 150 mm3 = 45 L."""
    found = answer(rendered((0, -170)), below_ground_mm=50)
    assert found["bottom"][0]["level_mm"] == "-220"
    assert found["clear"] == [
        {"from_mm": 0, "to_mm": 6000, "deepest_mm": 50, "at_mm": 0, "litres_of_soil": 45}
    ]


def test_a_joint_struck_too_low():
    """-140 + 75 = -65 at 6 m, 5 over -70; the ground passes -145 at 5500 mm."""
    found = answer(rendered((0, -200), (6000, -140), struck=((0, 6000, -70),)))
    assert found["short"] == [
        {"from_mm": 5500, "to_mm": 6000, "by_mm": 5, "at_mm": 6000, "cause": "today"}
    ]
    assert found["verdict"] == "short"


def test_paving_to_come_that_is_too_high():
    """-170 + 50 + 75 = -45 against -90 from 4 m on: 45, by the paving alone."""
    found = answer(rendered((0, -170), to_come=[finish(4000, 6000, 50)]))
    assert found["short"] == [
        {"from_mm": 4000, "to_mm": 6000, "by_mm": 45, "at_mm": 4000, "cause": "to come"}
    ]
    assert found["why"][0]["what"] == "paving"


def test_a_joint_above_weep_holes():
    found = answer(rendered((0, -170), struck=TWO, weep_holes=weeps(5000, 6000, -80)))
    assert found["short"] == [
        {"from_mm": 5000, "to_mm": 6000, "by_mm": 20, "at_mm": 5000, "cause": "weep holes"}
    ]


def test_where_joint_and_ground_step_together_the_worse_sides_meet():
    """At 3000 the line is still at -90 and the ground already at -140: 25 short, there only."""
    ground = (0, -170), (3000, -170), (3000, -140), (6000, -140)
    found = answer(rendered(*ground, struck=TWO))
    assert found["short"] == [
        {"from_mm": 3000, "to_mm": 3000, "by_mm": 25, "at_mm": 3000, "cause": "today"}
    ]


def test_without_a_struck_joint_too_little_is_known():
    found = answer(rendered((0, -170), struck=((0, 2000, -90),)))
    assert found["verdict"] == "not known"
    assert found["why"] == [{"code": "no_struck_joint", "from_mm": 2000, "to_mm": 6000}]
    assert (found["litres"], found["treated_length_mm"]) == (None, None)
    assert found["bottom"][0]["to_mm"] == 6000


def test_no_joint_is_needed_where_no_wall_is():
    found = answer(
        rendered((0, -170), struck=((0, 2000, -90),), openings=opening(2000, 6000, None, False))
    )
    assert (found["verdict"], found["treated_length_mm"]) == ("right", 2000)


def test_a_threshold_below_the_struck_joint_ends_the_band():
    found = answer(rendered((0, -170), openings=opening(1000, 2000, -120, True)))
    assert [(p["to_mm"], p["level_mm"]) for p in found["line"]] == [
        (1000, "-90"), (2000, "-120"), (6000, "-90")
    ]  # fmt: skip
    assert (found["verdict"], codes(found)) == ("right", ["ends_at_threshold"])
    # (80 x 5 + 50 x 1) mm x m = 0.45 m2 / 1.72 = 0.2616 L
    assert found["litres"] == "0.262"


def test_a_wall_that_ends_above_the_ground():
    """It starts at -150, and the ground falls from -140 to -170: from 2 m on it lies lower."""
    found = answer(rendered((0, -140), (6000, -170), struck=((0, 6000, 0),), brick_bottom_mm=-150))
    assert found["verdict"] == "decide"
    assert found["why"] == [
        {"code": "brick_ends", "from_mm": 2000, "to_mm": 6000, "level_mm": -150}
    ]
    assert [(p["to_mm"], p["to_level_mm"]) for p in found["bottom"]] == [
        (2000, "-150"), (6000, "-150")
    ]  # fmt: skip


def test_each_trade_is_told_of_its_own_part():
    """Ground may come up to -165. The paving to 2000 is at -110, 55 over it; today's ground beside
    it, at -160, is 5 over it. Of both the paving alone is the paver's.
    """
    ground = (0, -170), (2000, -170), (2000, -160), (6000, -160)
    found = answer(rendered(*ground, to_come=[finish(0, 2000, 60)]))
    assert found["short"] == [
        {"from_mm": 0, "to_mm": 2000, "by_mm": 55, "at_mm": 0, "cause": "to come"},
        {"from_mm": 2000, "to_mm": 6000, "by_mm": 5, "at_mm": 2000, "cause": "today"},
    ]


def test_under_one_finish_todays_ground_breaks_the_rule_in_part():
    """Today's ground comes to -165 at 2000, with 60 of paving over it 60 too high; 100 at the end,
    of which 40 are today's.
    """
    found = answer(rendered((0, -185), (6000, -125), to_come=[finish(0, 6000, 60)]))
    assert found["short"] == [
        {"from_mm": 0, "to_mm": 2000, "by_mm": 60, "at_mm": 2000, "cause": "to come"},
        {"from_mm": 2000, "to_mm": 6000, "by_mm": 100, "at_mm": 6000, "cause": "today"},
    ]
