"""Soil to clear and bare brick, worked by hand on the wall of `sites.wall`."""

from tests.rules.band.sites import answer, finish, opening, wall


def test_soil_down_to_the_lowest_joint_to_be_treated():
    """-170 - (-258) = 88 deep along 6 m: 88 x 6000 x 150 mm3 = 79.2 L, of which 80 are said."""
    assert answer(wall((0, -170)))["clear"] == [
        {"from_mm": 0, "to_mm": 6000, "deepest_mm": 88, "at_mm": 0, "litres_of_soil": 80}
    ]


def test_soil_on_a_slope():
    """Joint 1 and joint -1 (-172) all along: 42 deep at the left, 92 at the right, on average 67:
    67 x 6000 x 150 mm3 = 60.3 L.
    """
    found = answer(wall((0, -130), (6000, -80)))
    assert found["clear"] == [
        {"from_mm": 0, "to_mm": 6000, "deepest_mm": 92, "at_mm": 6000, "litres_of_soil": 61}
    ]


def test_brick_is_bare_until_the_finish_comes():
    """Topsoil of 150 on -300 gives -150: joint 1 (0) and joint -1 (-172), 128 over today's."""
    found = answer(wall((0, -300), to_come=[finish(0, 6000, 150, "topsoil")]))
    assert found["bare"] == [{"from_mm": 0, "to_mm": 6000, "highest_mm": 128, "until": "topsoil"}]
    assert found["clear"] == []
    assert found["verdict"] == "right"


def test_brick_that_is_not_there_is_not_bare():
    """The brick begins at -250: 78 of the 128."""
    found = answer(wall((0, -300), to_come=[finish(0, 6000, 150, "topsoil")], brick_bottom_mm=-250))
    assert found["bare"][0]["highest_mm"] == 78


def test_each_finish_is_named_where_brick_waits_for_it():
    layers = [finish(0, 3000, 150, "topsoil"), finish(3000, 6000, 150, "paving")]
    found = answer(wall((0, -300), to_come=layers))
    assert [(part["from_mm"], part["to_mm"], part["until"]) for part in found["bare"]] == [
        (0, 3000, "topsoil"), (3000, 6000, "paving")
    ]  # fmt: skip


def test_a_finished_level_that_was_given_counts_instead_of_what_comes():
    """Finished at -150 from today's -300: joints 1 and -1, bare by 128 until it is there."""
    found = answer(wall((0, -300), ground_finished=[[0, -150]]))
    assert found["bare"][0] == {
        "from_mm": 0, "to_mm": 6000, "highest_mm": 128, "until": "finished ground"
    }  # fmt: skip


def test_ground_that_will_be_lower_has_to_go_down_to_the_band():
    """Finished at -170 (joint 0, bottom -258), today at -100: 158 deep."""
    found = answer(wall((0, -100), ground_finished=[[0, -170]]))
    assert found["clear"][0]["deepest_mm"] == 158


def test_in_an_opening_without_wall_there_is_nothing_to_clear():
    found = answer(wall((0, -170), openings=opening(0, 1000, None, False)))
    assert [(part["from_mm"], part["to_mm"]) for part in found["clear"]] == [(1000, 6000)]


def test_at_a_step_of_the_ground_the_lower_level_counts_for_the_bottom():
    """-100: joint 1 and joint -1 (-172); from 3000 on -180, which -172 would leave bare by 8: joint
    -2, from the perpend of the course above it at 2880.
    """
    found = answer(wall((0, -100), (3000, -100), (3000, -180), (6000, -180)))
    # The line goes down to joint 0 at the first perpend of the course above it after 3000: at 3120.
    assert [(p["to_mm"], p["joint"]) for p in found["line"]] == [(3120, 1), (6000, 0)]
    assert [(p["to_mm"], p["joint"]) for p in found["bottom"]] == [(2880, -1), (6000, -2)]
    assert found["bare"] == []
