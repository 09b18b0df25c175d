"""What 3 mm of the tape change, worked by hand: joints at -86 (0) and 0 (1), clearance 75."""

from tests.rules.band.sites import answer, codes, rendered, steps, wall


def test_the_higher_joint_is_kept_where_higher_ground_would_need_it():
    """-162 + 75 = -87: joint 0, by 1 mm. 3 mm higher it is joint 1."""
    found = answer(wall((0, -162)), tape_mm=3)
    assert found["verdict"] == "decide"
    assert found["why"] == [
        {"code": "within_tape", "tape_mm": 3, "higher": "right", "lower": "right",
         "from_mm": 0, "to_mm": 6000}
    ]  # fmt: skip
    assert steps(found["line"]) == [(0, 6000, 1)]
    assert steps(found["bottom"]) == [(0, 6000, -1)]


def test_the_higher_joint_is_kept_where_lower_ground_would_not_need_it():
    """-160 + 75 = -85: joint 1. 3 mm lower it is joint 0."""
    found = answer(wall((0, -160)), tape_mm=3)
    assert (found["verdict"], codes(found)) == ("decide", ["within_tape"])
    assert steps(found["line"]) == [(0, 6000, 1)]


def test_further_from_the_rule_nothing_is_said():
    for level in (-164, -157):
        assert answer(wall((0, level)), tape_mm=3)["why"] == []
    assert answer(wall((0, -162)), tape_mm=0)["why"] == []


def test_less_than_a_bricks_length_is_not_said():
    """At -162 over the last 230 mm, then over 231; the rest is well clear."""
    for length, said in ((230, []), (231, ["within_tape"])):
        start = 6000 - length
        ground = (0, -180), (start, -180), (start, -162), (6000, -162)
        assert codes(answer(wall(*ground), tape_mm=3)) == said


def test_a_struck_joint_within_the_tape_of_the_rule():
    """-166 + 75 = -91 under the joint at -90; 3 mm higher it is 2 over."""
    found = answer(rendered((0, -166)), tape_mm=3)
    assert found["verdict"] == "decide"
    assert found["why"] == [
        {"code": "within_tape", "tape_mm": 3, "higher": "short", "lower": "right",
         "from_mm": None, "to_mm": None}
    ]  # fmt: skip
    assert found["short"] == []


def test_a_rule_that_is_broken_within_the_tape_says_both():
    """-164 + 75 = -89, 1 over; 3 mm lower it is right. What was read is said too."""
    found = answer(rendered((0, -164)), tape_mm=3)
    assert codes(found) == ["within_tape", "short"]
    assert (found["verdict"], found["short"][0]["by_mm"]) == ("decide", 1)
    assert answer(rendered((0, -160)), tape_mm=3)["verdict"] == "short"


def test_the_bottom_of_the_brickwork_within_the_tape():
    """Ground at -173 with brick down to -172 only: a course more is asked for, and it is not there.
    2 mm higher it would not be.
    """
    struck = ((0, 6000, 0),)
    found = answer(rendered((0, -173), struck=struck, brick_bottom_mm=-172), tape_mm=3)
    assert codes(found) == ["brick_ends", "within_tape"]
    assert found["why"][1]["higher"] == "right"
