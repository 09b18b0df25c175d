"""Which verdict holds first, and what is said where too little was measured."""

import pytest

from tests.rules.band.sites import answer, codes, opening, rendered, wall, weeps


@pytest.mark.parametrize(
    ("stored", "code"),
    [
        (wall(), "no_ground"),
        (wall((0, -170), bed_joint=None), "no_bed_joint"),
        (wall(ground_finished=[[0, -170]]), "no_ground_today"),
        (rendered((0, -170), struck=()), "no_struck_joint"),
    ],
)
def test_too_little_measured(stored, code):
    found = answer(stored)
    assert (found["verdict"], codes(found)) == ("not known", [code])
    assert (found["litres"], found["treated_length_mm"]) == (None, None)


def test_what_nobody_measured_is_null_and_not_an_empty_list():
    found = answer(wall((0, -170), bed_joint=None))
    assert (found["line"], found["bottom"]) == ([], [])
    assert [found[key] for key in ("short", "clear", "bare")] == [None, None, None]


def test_without_todays_ground_line_and_bottom_are_told_all_the_same():
    found = answer(wall(ground_finished=[[0, -170]]))
    assert (found["line"][0]["joint"], found["bottom"][0]["joint"]) == (0, -2)
    assert (found["short"], found["clear"], found["bare"]) == ([], None, None)


def test_the_first_that_holds():
    """Ground -60 under weep holes at 40 is short; an unknown opening is to be decided; without all
    of the ground it is not known.
    """
    short = wall((0, -60), weep_holes=weeps(0, 6000, 40))
    assert answer(short)["verdict"] == "short"
    decide = short | {"openings": opening(0, 900, None, None)}
    assert answer(decide)["verdict"] == "decide"
    assert codes(answer(decide)) == ["opening_unknown", "short"]
    unknown = decide | {"ground_today": [], "ground_finished": [[0, -60]]}
    assert answer(unknown)["verdict"] == "not known"


def test_a_note_decides_nothing():
    found = answer(wall((0, -170), gauge=None, brick_bottom_mm=-300))
    assert (found["verdict"], codes(found)) == ("right", ["gauge_not_measured"])
