"""Levels as they are stored: every version is read, and none says more than somebody measured."""

import json

import pytest

from readiness.rules.band import stored_levels
from readiness.rules.band.geometry import Gauge, WallRun
from readiness.rules.band.levels import solve
from readiness.wording.levels import line_doubts
from tests.rules.walls import VALUES, brick_wall, rendered_wall

# As the form of version 0.1 stored it: the gauge was filled in beforehand.
FIRST = {
    "surface": "soil", "gauge": {"courses": 7, "height_mm": 600}, "first_bed_joint_mm": -172,
    "ground_today": [{"distance_mm": 0, "level_mm": -300}], "brick_length_mm": 230,
}  # fmt: skip
PLAIN = WallRun("north", "North wall", 6000)


def test_a_gauge_of_the_first_version_is_not_known_to_be_measured():
    run = PLAIN.with_levels(FIRST)
    assert run.gauge == Gauge(7, 600, measured=None)
    assert run.first_bed_joint_mm == -172
    assert line_doubts(solve(run, VALUES))[1:] == [
        "Gauge: 7 courses in 600 mm, not known whether measured on this wall."
    ]


def test_the_line_of_the_first_version_stays_where_it_was():
    measured = {**FIRST, "gauge": {"courses": 7, "height_mm": 602}}
    old = solve(PLAIN.with_levels(measured), VALUES)
    new = solve(brick_wall((0, -300), gauge=Gauge(7, 602)), VALUES)
    assert [part.level_mm for part in old.segments] == [part.level_mm for part in new.segments]


def test_what_is_stored_says_its_version_and_comes_back_the_same():
    run = brick_wall((0, -300), gauge=Gauge(7, 602))
    stored = json.loads(json.dumps(run.levels_as_dict()))
    assert stored["version"] == stored_levels.VERSION == 2
    assert stored["gauge"] == {"courses": 7, "height_mm": 602, "measured": True}
    assert PLAIN.with_levels(stored).levels_as_dict() == run.levels_as_dict()


def test_a_doubt_about_the_gauge_survives_being_stored_again():
    stored = json.loads(json.dumps(PLAIN.with_levels(FIRST).levels_as_dict()))
    assert PLAIN.with_levels(stored).gauge == Gauge(7, 600, measured=None)


def test_reading_twice_is_reading_once_and_changes_nothing_given():
    before = json.dumps(FIRST)
    once = stored_levels.upgraded(FIRST)
    assert stored_levels.upgraded(once) == once
    assert json.dumps(FIRST) == before
    assert stored_levels.upgraded({}) == stored_levels.upgraded(None) == {}


@pytest.mark.parametrize("version", [3, 0, -1, "2", None, True, 1.5])
def test_a_version_that_is_not_known_is_refused(version):
    with pytest.raises(stored_levels.UnknownLevels, match="can be read"):
        PLAIN.with_levels({**FIRST, "version": version})


def test_an_unmeasured_gauge_is_said_to_be_the_usual_one():
    line = solve(brick_wall((0, -300), gauge=None), VALUES)
    assert line_doubts(line) == [
        "The courses under the line were not checked against the brickwork.",
        "Gauge not measured: the usual 7 courses in 600 mm is used.",
    ]


def test_a_measured_gauge_leaves_only_the_courses_in_doubt():
    assert line_doubts(solve(brick_wall((0, -300)), VALUES)) == [
        "The courses under the line were not checked against the brickwork."
    ]


def test_render_has_no_courses_to_doubt():
    assert line_doubts(solve(rendered_wall((0, -300)), VALUES)) == []
