"""A wrong file gets one sentence a mistake, and nothing in it is guessed."""

import json
import re
from copy import deepcopy
from pathlib import Path

import pytest

from readiness.rules.band import reading
from readiness.rules.band.reading import Mistakes, house_from_text
from tests.rules.band.sites import BRICK, SAMPLE, finish, opening, rendered, site, wall, weeps

GROUND = (0, -170)


def mistakes(stored) -> tuple[str, ...]:
    text = stored if isinstance(stored, str) else json.dumps(stored)
    with pytest.raises(Mistakes) as caught:
        house_from_text(text)
    return caught.value.sentences


def without(stored, key):
    return {name: value for name, value in stored.items() if name != key}


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "This is not JSON: Expecting value in line 1, column 1."),
        ("{", "This is not JSON: Expecting property name enclosed in double quotes in line 1, "
              "column 2."),
        ("[]", "The file has to hold one JSON object."),
        ('{"version": 1, "version": 1}', 'The key "version" stands twice in one object.'),
        ('{"version": NaN}', "NaN is not a number that JSON has."),
        ("{}", "version is missing; this program reads version 1."),
        ('{"version": 2}', "Version 2 is not known; this program reads version 1."),
        ('{"version": "1"}', 'Version "1" is not known; this program reads version 1.'),
        ('{"version": true}', "Version true is not known; this program reads version 1."),
        ("[" * 100_000, "This is not JSON that we can read: it is nested too deep."),
        ('{"version": ' + "1" * 5000 + "}", "This is not JSON that we can read: a number is too "
                                            "long."),
    ],
)  # fmt: skip
def test_what_is_no_file_of_this_version(text, sentence):
    assert mistakes(text) == (sentence,)


@pytest.mark.parametrize(
    ("stored", "sentence"),
    [
        (without(SAMPLE, "closed"), "closed is missing."),
        (SAMPLE | {"colour": 1}, "colour is not a key that this version knows."),
        (SAMPLE | {"a\nb": 1}, '"a\\nb" is not a key that this version knows.'),
        (SAMPLE | {"clearance_mm": 75.5},
         "clearance_mm has to be a whole number from 0 to 1000; it is 75.5."),
        (SAMPLE | {"courses": True}, "courses has to be a whole number from 1 to 50; it is true."),
        (SAMPLE | {"litres_per_10_m": 1.0},
         'litres_per_10_m has to be a number of litres as text, such as "1.0"; it is 1.0.'),
        (SAMPLE | {"prefer": "neat"},
         'prefer has to be one of "lowest", "fewest steps"; it is "neat".'),
        (SAMPLE | {"closed": 1}, "closed has to be true or false; it is 1."),
        (SAMPLE | {"closed": True}, "closed is true, but fewer than 3 walls close no house."),
        (SAMPLE | {"walls": {}}, "walls has to be a list; it is {}."),
        (SAMPLE | {"walls": ["A"]}, 'walls[0] has to be an object; it is "A".'),
        (SAMPLE | {"walls": [wall(GROUND)] * 501}, "walls has 501 entries; 500 at most are read."),
        (site(wall(GROUND), wall(GROUND)), 'Two walls are called "A".'),
    ],
)  # fmt: skip
def test_a_mistake_in_what_holds_for_all_walls(stored, sentence):
    assert mistakes(stored) == (sentence,)


@pytest.mark.parametrize(
    ("parts", "sentence"),
    [
        ({"label": " "}, 'label has to be a text of 1 to 200 characters; it is " ".'),
        ({"length_mm": 0}, "length_mm has to be a whole number from 1 to 200000; it is 0."),
        ({"finish": "brick"},
         'finish has to be one of "face_brick", "bagged", "block", "render", "other"; it is '
         '"brick".'),
        ({"unit": None}, "unit may be null on render only."),
        ({"unit": 76}, "unit has to be an object or null; it is 76."),
        ({"unit": BRICK | {"height_mm": "76"}},
         'unit.height_mm has to be a whole number from 20 to 1000; it is "76".'),
        ({"unit": without(BRICK, "joint_mm")}, "unit.joint_mm is missing."),
        ({"gauge": {"height_mm": 86, "courses": 0}},
         "gauge.courses has to be a whole number from 1 to 500; it is 0."),
        ({"gauge": {"height_mm": 86, "courses": 7}},
         "gauge gives a course that is not from 20 to 1050 mm high."),
        ({"bed_joint": {"level_mm": None}},
         "bed_joint.level_mm has to be a whole number from -20000 to 20000; it is null."),
        ({"perpend": {"at_mm": 0}}, "perpend.above_bed_joint is missing."),
        ({"ground_today": [[0]]},
         "ground_today[0] has to be a distance and a level, [mm, mm]; it is [0]."),
        ({"ground_today": [[0, 1.5]]},
         "ground_today[0]: its level has to be a whole number from -20000 to 20000; it is 1.5."),
        ({"ground_today": [[6001, 0]]},
         "ground_today[0]: its distance has to be a whole number from 0 to 6000; it is 6001."),
        ({"ground_today": [[9, 0], [8, 0]]}, "ground_today[1] lies left of the point before it."),
        ({"ground_today": [[9, 0], [9, 1], [9, 2]]}, "ground_today[2] is a third level at 9 mm."),
        ({"ground_today": None}, "ground_today has to be a list; it is null."),
        ({"to_come": [finish(100, 100, 60)]}, "to_come[0].to_mm has to be more than from_mm."),
        ({"to_come": [finish(0, 6001, 60)]},
         "to_come[0].to_mm has to be a whole number from 0 to 6000; it is 6001."),
        ({"to_come": [finish(0, 9, -1)]},
         "to_come[0].thickness_mm has to be a whole number from 0 to 20000; it is -1."),
        ({"openings": opening(0, 9, 0, 1)},
         "openings[0].wall_below has to be true, false or null; it is 1."),
        ({"openings": opening(0, 9, 0, True) + opening(8, 20, 0, True)},
         "openings: two of them overlap at 8 mm."),
        ({"openings": opening(0, 9, -300, True), "brick_bottom_mm": -200},
         "openings[0] has wall below a threshold that lies under brick_bottom_mm."),
        ({"length_mm": 200_000, "ground_today": [[0, -20_000], [200_000, 20_000]]},
         "ground_today: its levels are too far apart for a wall of this length."),
        ({"weep_holes": weeps(9, 8, 0)}, "weep_holes[0].to_mm has to be more than from_mm."),
        ({"datum_offset_mm": "0"},
         'datum_offset_mm has to be a whole number from -20000 to 20000; it is "0".'),
    ],
)  # fmt: skip
def test_a_mistake_in_a_wall_is_named_with_its_place(parts, sentence):
    at = "" if sentence.startswith("Two") else "walls[0]."
    assert mistakes(site(wall(GROUND, **parts))) == (at + sentence,)


def test_every_mistake_is_named():
    stored = site(wall(GROUND, length_mm="6 m", finish="brick"), courses=0)
    assert [sentence.split()[0] for sentence in mistakes(stored)] == [
        "courses", "walls[0].length_mm", "walls[0].finish",
    ]  # fmt: skip


def test_pieces_of_a_struck_joint_may_not_overlap():
    stored = site(rendered(GROUND, struck=((0, 3000, -90), (2999, 6000, -60))))
    assert mistakes(stored) == ("walls[0].struck_joint: two of them overlap at 2999 mm.",)


def test_one_weep_hole_is_a_row_of_no_length():
    house_from_text(json.dumps(site(wall(GROUND, weep_holes=weeps(9, 9, 0)))))


def test_a_long_value_is_cut():
    assert len(mistakes(SAMPLE | {"prefer": "x" * 1000})[0]) < 120


@pytest.mark.parametrize("value", [None, True, 1, -1, 1.5, "", "x", [], {}, [[]], [{}], 10**30])
def test_no_value_anywhere_breaks_the_reader(value):
    """Each value of the sample in turn is another: a house, or mistakes."""
    for place in places(SAMPLE):
        stored = deepcopy(SAMPLE)
        parent = stored
        for step in place[:-1]:
            parent = parent[step]
        parent[place[-1]] = value
        assert all(re.fullmatch(r"[^\n]+\.", sentence) for sentence in said_of(stored))


def said_of(stored) -> tuple[str, ...]:
    try:
        house_from_text(json.dumps(stored))
    except Mistakes as caught:
        return caught.sentences
    return ()


def places(value, before=()):
    keys = value if isinstance(value, dict) else range(len(value) if isinstance(value, list) else 0)
    for key in keys:
        yield (*before, key)
        yield from places(value[key], (*before, key))


def test_the_schema_that_people_read_has_each_key_and_no_other():
    text = (Path(reading.__file__).parent / "schema.txt").read_text()
    read = text.split("WHAT IS READ")[1].split("WHAT IS PRINTED")[0]
    named = set(re.findall(r"^ {2,4}(\w+)(?= {2,}|$| \w)", read, re.M)) - {"Each"}
    keys = {*reading._HOUSE_KEYS, *reading._WALL_KEYS}
    assert named == keys | {"render_litres_per_m2", "ground_finished", "datum_offset_mm"}
