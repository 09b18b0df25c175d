"""The rules held against the brute force, which was made from the description alone.

Both answer the same random walls, and have to say the same of all of them.
"""

import json
import random

import pytest

from readiness.rules.band.beside import FINISHED_GROUND
from readiness.rules.band.ground import ground_parts
from readiness.rules.band.reading import house_from_json
from readiness.rules.band.tape import within_tape
from readiness.rules.band.treated import band_of
from tests.rules.band import brute
from tests.rules.band.random_walls import FEATURES, walls
from tests.rules.band.sites import answers

PLAIN = frozenset({"finishes", "openings", "brick_bottom", "tall units"})
"""Features that the description leaves no choice about; perpends are known, the line is lowest."""

CASES = {
    "plain": PLAIN,
    **{feature: PLAIN | {feature} for feature in sorted(FEATURES - PLAIN - {"datum"})},
    "datum": PLAIN | {"corners", "datum"},
    "render at thresholds": {"render", "thresholds", "steps", "finishes", "brick_bottom"},
    "weep holes, fewest steps": {"weep holes", "fewest steps", "rules", "steps"},
    "tape and steps": {"tape", "steps", "finishes", "openings", "thresholds", "on perpends"},
    "edges": {"openings", "thresholds", "finishes", "steps", "ends", "on perpends"},
    "everything": FEATURES,
}

DECISIVE = {
    "decide": {"brick_ends", "opening_unknown", "within_tape"},
    "short": {"short"},
    "right": set(),
    "not known": {"no_ground", "no_ground_today", "no_bed_joint", "no_struck_joint"},
}


def stored(data):
    """The file as the command reads it."""
    left_out = {"render_litres_per_m2"} if data["render_litres_per_m2"] is None else set()
    return {key: value for key, value in data.items() if key not in left_out}


def told(wall, answer):
    """What an answer says of a wall, whichever of the two it is from."""
    rendered = wall["finish"] == "render"
    bare, short = answer["bare"], answer["short"]
    codes = {str(reason["code"]) for reason in answer["why"]}
    ends = [reason for reason in answer["why"] if reason["code"] == "brick_ends"]
    return {
        "verdict": str(answer["verdict"]),
        "why": codes & DECISIVE[answer["verdict"]],
        "brick ends": [(reason["from_mm"], reason["to_mm"]) for reason in ends],
        # How a line is drawn across a door is said by no rule.
        "line": brute.on_wall(wall, answer["line"]),
        "bottom": answer["bottom"] if rendered else brute.on_wall(wall, answer["bottom"]),
        "short": short
        and sorted(short, key=lambda part: (*list(part.values())[:4], part["cause"])),
        "clear": answer["clear"],
        "bare": bare and [part | {"until": part["until"] or FINISHED_GROUND} for part in bare],
        "treated_length_mm": answer["treated_length_mm"],
        "litres": answer["litres"],
    }


def corners(answer):
    """What is said of corners, but for those of which nothing is known."""
    return [corner for corner in answer["corners"] if corner["overlap_mm"] is not None]


def as_good_lines(data, found, expected):
    """Of walls with several lines that cost the same, the one that the rules chose."""
    lines, house = {}, house_from_json(stored(data))
    for wall, one, other, own in zip(
        data["walls"], found["walls"], expected["walls"], house.walls, strict=True
    ):
        if wall["finish"] == "render" or told(wall, one)["line"] == told(wall, other)["line"]:
            continue
        run, band = brute.Brick(wall, data), band_of(own, house.rules, ground_parts(own))
        if any(reason["code"] == "within_tape" for reason in other["why"]):
            run.keep_higher()
            band, _ = within_tape(band, house.rules.tape_mm, undecided=False)
        if brute.as_good(run, band.line.joints):
            lines[wall["label"]] = band.line.joints
    return lines


def differences(data):
    """What the rules and the brute force do not agree about, as text; empty if nothing."""
    found, expected = answers(stored(data)), brute.solve(data)
    lines = as_good_lines(data, found, expected)
    if lines:
        expected = brute.solve(data, lines)
    pairs = [("corners", corners(found), corners(expected))]
    for wall, *both in zip(data["walls"], found["walls"], expected["walls"], strict=True):
        one, other = (told(wall, answer) for answer in both)
        pairs += [(f"{wall['label']}: {key}", one[key], other[key]) for key in one]
    parts = [
        f"{what}\n  rules {one}\n  brute {other}" for what, one, other in pairs if one != other
    ]
    return "\n".join([*parts, json.dumps(data)] if parts else [])


def disagreements(name, numbers):
    """The first of the walls of a case that the two do not agree about, as text."""
    for number in numbers:
        found = differences(walls(random.Random(f"{name} {number}"), CASES[name]))
        if found:
            return f"{name} {number}: {found}"
    return ""


@pytest.mark.parametrize("name", CASES)
def test_the_rules_and_the_brute_force_agree(name):
    assert disagreements(name, range(6)) == ""


@pytest.mark.long
@pytest.mark.parametrize("name", CASES)
def test_they_agree_about_many_walls(name):
    assert disagreements(name, range(1000, 1150)) == ""


def test_the_cases_have_every_feature():
    assert set().union(*CASES.values()) == FEATURES


def test_a_difference_is_seen(monkeypatch):
    """With another reading of the description the two do not agree."""
    monkeypatch.setattr(brute, "LEFT_END_MEETS_NEXT", False)
    assert disagreements("corners", range(8))
