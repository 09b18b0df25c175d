"""Slips of the tape: the message names the number and says what would be believable."""

from dataclasses import replace

import pytest

from readiness.rules.band.believable import LevelsError, problems
from readiness.rules.band.geometry import (
    Attachment,
    FinishToCome,
    Gauge,
    GroundPoint,
    Joint,
    Opening,
    Perpend,
    StruckStep,
    Unit,
    WeepHoles,
)
from readiness.rules.band.levels import band_of
from readiness.rules.band.notes import site_notes
from readiness.wording.believable import all_of, unbelievable
from tests.rules.walls import VALUES, brick_wall, ground, rendered_wall


@pytest.mark.parametrize(
    ("parts", "field", "message"),
    [
        (
            {"gauge": Gauge(7, 6000)},
            "gauge",
            "7 courses in 6000 mm is 857.1 mm a course. It can be from 40 to 450 mm a "
            "course: for 7 courses, 280 to 3150 mm.",
        ),
        ({"gauge": Gauge(7, 279)}, "gauge", "39.9 mm a course"),
        ({"gauge": Gauge(0, 600)}, "gauge", "at least 1 course"),
        (
            {"bed_joint_mm": -17_200},
            "bed_joint_mm",
            "17200 mm below the top of the slab. It can be up to 3000 mm",
        ),
        (
            {"ground_today": (GroundPoint(3000, -200), GroundPoint(1200, -180))},
            "ground_today",
            "point 2 at 1.2 m, comes after the one at 3 m. Distances must grow along the wall.",
        ),
        (
            {"ground_today": ground((3000, -200), (3000, -180), (3000, -190))},
            "ground_today",
            "is the third one there. Two at one distance are a step.",
        ),
        (
            {"ground_today": ground((7000, -200))},
            "ground_today",
            "is off the wall, which is 6 m long",
        ),
        (
            {"ground_finished": ground((0, -4000))},
            "ground_finished",
            "4000 mm below the top of the slab. It can",
        ),
        (
            {"finishes_to_come": (FinishToCome(3000, 2000, 50),)},
            "finishes_to_come",
            "ends at 2 m, before it starts (3 m)",
        ),
        ({"finishes_to_come": (FinishToCome(0, 9000, 50),)}, "finishes_to_come", "past the wall"),
        ({"finishes_to_come": (FinishToCome(0, 900, 0),)}, "finishes_to_come", "0 mm thick"),
        ({"joints": (Joint(-5, 10),)}, "joints", "off the wall"),
        ({"joints": (Joint(5, 1000),)}, "joints", "1000 mm wide"),
        ({"joints": (Joint(5, 10, depth_mm=0),)}, "joints", "0 mm deep"),
        ({"attachments": (Attachment(50, -1, "Deck"),)}, "attachments", "Deck at 0.05 m has a gap"),
        (
            {"openings": (Opening(1000, 2000), Opening(1500, 3000))},
            "openings",
            "Opening 2 starts at 1.5 m, inside the one that ends at 2 m",
        ),
        ({"openings": (Opening(2000, 1000),)}, "openings", "before it starts"),
        ({"openings": (Opening(5000, 7000),)}, "openings", "goes past the wall"),
        ({"openings": (Opening(0, 900, threshold_mm=9000),)}, "openings", "9000 mm above"),
        ({"unit": Unit(8, 230)}, "unit", "8 mm high. It can be from 30 to 440 mm"),
        ({"unit": Unit(76, 2300)}, "unit", "2300 mm long"),
        ({"unit": Unit(76, 230, 100)}, "unit", "100 mm thick"),
        ({"raked_mm": 100}, "raked_mm", "raked 100 mm deep"),
        ({"perpend": Perpend(0, 7000)}, "perpend", "7 m is off the wall"),
        ({"weep_holes": (WeepHoles(0, spacing_mm=5),)}, "weep_holes", "5 mm apart"),
        (
            {"weep_holes": (WeepHoles(0), WeepHoles(0, from_mm=3000, to_mm=2000))},
            "weep_holes",
            "Row 2 of the weep holes ends at 2 m, before it starts (3 m)",
        ),
        ({"weep_holes": (WeepHoles(0, to_mm=7000),)}, "weep_holes", "goes past the wall"),
        ({"weep_holes": (WeepHoles(0, from_mm=7000),)}, "weep_holes", "goes past the wall"),
        (
            {"fall_mm": 5000},
            "fall_mm",
            "5000 mm in the first metre. It can be from -1000 to 1000 mm",
        ),
        (
            {"courses_treated": 90},
            "courses_treated",
            "90 courses are to be treated. It can be from 1 to 20",
        ),
        ({"brick_length_mm": 2}, "brick_length_mm", "2 mm long. It can be from 50 to 1000 mm"),
    ],
)
def test_a_number_that_cant_be_right_is_named(parts, field, message):
    run = brick_wall((0, -200))
    run = type(run)(**(run.__dict__ | parts))
    found = problems(run)
    assert [problem.field for problem in found] == [field]
    assert message in unbelievable(found[0])


@pytest.mark.parametrize(
    ("last_mm", "next_mm", "parts"),
    [
        (3000, 3001, lambda mm: {"slab_level_mm": mm}),
        (3000, 3001, lambda mm: {"bed_joint_mm": mm, "weep_holes": ()}),
        (-3000, -3001, lambda mm: {"struck_joint_mm": mm}),
        (1000, 1001, lambda mm: {"fall_mm": mm}),
        (-1000, -1001, lambda mm: {"fall_mm": mm}),
        (1, 0, lambda mm: {"courses_treated": mm}),
        (20, 21, lambda mm: {"courses_treated": mm}),
        (50, 49, lambda mm: {"brick_length_mm": mm}),
        (1000, 1001, lambda mm: {"brick_length_mm": mm}),
        (280, 279, lambda mm: {"gauge": Gauge(7, mm)}),
        (3150, 3151, lambda mm: {"gauge": Gauge(7, mm)}),
        (30, 29, lambda mm: {"unit": Unit(mm, 230)}),
        (440, 441, lambda mm: {"unit": Unit(mm, 230)}),
        (50, 49, lambda mm: {"unit": Unit(76, mm)}),
        (1000, 1001, lambda mm: {"unit": Unit(76, mm)}),
        (1, 0, lambda mm: {"unit": Unit(76, 230, mm)}),
        (40, 41, lambda mm: {"unit": Unit(76, 230, mm)}),
        (0, -1, lambda mm: {"perpend": Perpend(0, mm)}),
        (6000, 6001, lambda mm: {"perpend": Perpend(0, mm)}),
        (60, 61, lambda mm: {"raked_mm": mm}),
        (0, -1, lambda mm: {"raked_mm": mm}),
        (3000, 3001, lambda mm: {"brick_bottom_mm": mm, "weep_holes": ()}),
        (1000, 999, lambda mm: {"openings": (Opening(0, 1000), Opening(mm, 2000))}),
        (1001, 1000, lambda mm: {"openings": (Opening(1000, mm),)}),
        (3000, 3001, lambda mm: {"ground_today": ground((0, mm))}),
        (0, -1, lambda mm: {"ground_today": ground((mm, -200))}),
        (6000, 6001, lambda mm: {"ground_today": ground((mm, -200))}),
        (3000, 3001, lambda mm: {"struck_steps": (StruckStep(0, mm),)}),
        (6000, 6001, lambda mm: {"struck_steps": (StruckStep(mm, 0),)}),
        (1001, 1000, lambda mm: {"struck_steps": (StruckStep(1000, 0), StruckStep(mm, 0))}),
        (1001, 1000, lambda mm: {"finishes_to_come": (FinishToCome(1000, mm, 50),)}),
        (6000, 6001, lambda mm: {"finishes_to_come": (FinishToCome(0, mm, 50),)}),
        (0, -1, lambda mm: {"finishes_to_come": (FinishToCome(mm, 900, 50),)}),
        (1, 0, lambda mm: {"finishes_to_come": (FinishToCome(0, 900, mm),)}),
        (1000, 1001, lambda mm: {"finishes_to_come": (FinishToCome(0, 900, mm),)}),
        (6000, 6001, lambda mm: {"joints": (Joint(mm, 10),)}),
        (1, 0, lambda mm: {"joints": (Joint(5, mm),)}),
        (200, 201, lambda mm: {"joints": (Joint(5, mm),)}),
        (1, 0, lambda mm: {"joints": (Joint(5, 10, depth_mm=mm),)}),
        (400, 401, lambda mm: {"joints": (Joint(5, 10, depth_mm=mm),)}),
        (1, 0, lambda mm: {"joints": (Joint(5, 10, height_mm=mm),)}),
        (3000, 3001, lambda mm: {"joints": (Joint(5, 10, height_mm=mm),)}),
        (0, -1, lambda mm: {"attachments": (Attachment(50, mm, "Deck"),)}),
        (5000, 5001, lambda mm: {"attachments": (Attachment(50, mm, "Deck"),)}),
        (6000, 6001, lambda mm: {"attachments": (Attachment(mm, 50, "Deck"),)}),
        (3000, 3001, lambda mm: {"weep_holes": (WeepHoles(mm),)}),
        (-300, -301, lambda mm: {"weep_holes": (WeepHoles(mm),), "brick_bottom_mm": -300}),
        (100, 99, lambda mm: {"weep_holes": (WeepHoles(0, spacing_mm=mm),)}),
        (10_000, 10_001, lambda mm: {"weep_holes": (WeepHoles(0, spacing_mm=mm),)}),
        (1001, 1000, lambda mm: {"weep_holes": (WeepHoles(0, from_mm=1000, to_mm=mm),)}),
        (6000, 6001, lambda mm: {"weep_holes": (WeepHoles(0, to_mm=mm),)}),
        (6000, 6001, lambda mm: {"weep_holes": (WeepHoles(0, positions_mm=(mm,)),)}),
    ],
)
def test_the_last_number_that_can_be_right_passes_and_the_next_does_not(last_mm, next_mm, parts):
    run = brick_wall((0, -200))
    right, wrong = (replace(run, **parts(mm)) for mm in (last_mm, next_mm))
    assert problems(right) == []
    assert [problem.field for problem in problems(wrong)] == [next(iter(parts(0)))]


@pytest.mark.parametrize("length_mm", [1, 200_000])
def test_a_wall_may_be_as_long_as_200_m(length_mm):
    assert problems(brick_wall((0, -200), length_mm=length_mm)) == []


@pytest.mark.parametrize("length_mm", [0, -2400, 200_001])
def test_a_wall_needs_a_believable_length(length_mm):
    (problem,) = problems(brick_wall((0, -200), length_mm=length_mm))
    assert problem.field == "length_mm"
    assert f"{length_mm} mm" in unbelievable(problem)


def test_a_stepped_struck_joint_has_its_steps_in_order():
    run = rendered_wall((0, -200), struck_steps=(StruckStep(3000, 0), StruckStep(2000, 50)))
    (problem,) = problems(run)
    assert (problem.field, problem.index) == ("struck_steps", 1)


def test_every_slip_is_reported_at_once():
    run = brick_wall((0, -9000), gauge=Gauge(7, 60))
    with pytest.raises(LevelsError) as caught:
        band_of(run, VALUES)
    assert [problem.field for problem in caught.value.problems] == ["gauge", "ground_today"]


def test_unbelievable_levels_become_a_note_where_readiness_is_worked_out():
    (note,) = site_notes((brick_wall((0, -9000)),), VALUES)
    assert note.code == "levels_unbelievable"
    assert all_of(note.problems).startswith("Ground today, point 1")


def test_an_ordinary_wall_has_no_problems():
    assert problems(brick_wall((0, -250), (6000, -180))) == []
