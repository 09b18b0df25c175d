"""Levels as they are stored: every version is read, and none says more than somebody measured."""

import json

import pytest

from readiness.rules.band import stored_levels
from readiness.rules.band.geometry import Gauge, Opening, WallRun
from readiness.rules.band.levels import band_of
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
    assert run.bed_joint_mm == -172
    assert line_doubts(band_of(run, VALUES)) == [
        "Gauge: 7 courses in 600 mm, not known whether measured on this wall."
    ]


def test_the_line_of_the_first_version_stays_where_it_was():
    measured = {**FIRST, "gauge": {"courses": 7, "height_mm": 602}}
    old = band_of(PLAIN.with_levels(measured), VALUES)
    new = band_of(brick_wall((0, -300), gauge=Gauge(7, 602)), VALUES)
    assert [part.level_mm for part in old.segments] == [part.level_mm for part in new.segments]


def test_what_is_stored_says_its_version_and_comes_back_the_same():
    run = brick_wall((0, -300), gauge=Gauge(7, 602))
    stored = json.loads(json.dumps(run.levels_as_dict()))
    assert stored["version"] == stored_levels.VERSION == 3
    gauge = {"courses": 7, "height_mm": 602, "measured": True, "from_photo": False}
    assert stored["gauge"] == gauge
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


@pytest.mark.parametrize("version", [4, 0, -1, "2", None, True, 1.5])
def test_a_version_that_is_not_known_is_refused(version):
    with pytest.raises(stored_levels.UnknownLevels, match="can be read"):
        PLAIN.with_levels({**FIRST, "version": version})


def test_an_unmeasured_gauge_is_said_to_be_the_unit_s():
    band = band_of(brick_wall((0, -300), gauge=None), VALUES)
    assert line_doubts(band) == [
        "Gauge not measured: 1 course in 86 mm is used, as the unit has it."
    ]


def test_a_measured_gauge_leaves_nothing_in_doubt():
    assert line_doubts(band_of(brick_wall((0, -300)), VALUES)) == []


# As the form stored it before units, thresholds and the bottom of the brickwork were asked.
SECOND = {
    "version": 2, "surface": "soil", "first_bed_joint_mm": -172,
    "gauge": {"courses": 7, "height_mm": 602, "measured": True},
    "ground_today": [{"distance_mm": 0, "level_mm": -300}],
    "openings": [{"from_mm": 1000, "to_mm": 1900, "label": "door"}],
}  # fmt: skip


def test_levels_of_the_second_version_say_no_more_than_they_said():
    run = PLAIN.with_levels(SECOND)
    assert run.bed_joint_mm == -172
    assert run.openings == (Opening(1000, 1900, "door", None, None),)
    assert (run.unit, run.brick_bottom_mm, run.perpend, run.raked_mm) == (None,) * 4


def test_render_has_no_courses_to_doubt():
    assert line_doubts(band_of(rendered_wall((0, -300)), VALUES)) == []
