"""Wall runs reach the band's rules just as the command's file does: nothing is lost or added."""

import random
from dataclasses import replace

import pytest

from readiness.rules.band.geometry import Gauge, Opening, StruckStep, WallRun, WeepHoles
from readiness.rules.band.measured import house_of
from readiness.rules.band.reading import house_from_json
from readiness.rules.band.wall import House, Wall
from tests.rules.band.random_walls import FEATURES, walls
from tests.rules.walls import VALUES, brick_wall

AS_STORED = FEATURES - {"rules", "fewest steps", "tape", "datum", "corners", "no perpend"}


def run_of(wall: Wall) -> WallRun:
    """The run that a person would have entered for a wall."""
    struck = sorted(wall.struck_joint, key=lambda piece: piece.from_mm)
    return WallRun(
        id=wall.label, label=wall.label, length_mm=wall.length_mm, finish=wall.finish,
        unit=wall.unit, gauge=wall.gauge, bed_joint_mm=wall.bed_joint_mm,
        brick_bottom_mm=wall.brick_bottom_mm, perpend=wall.perpend,
        struck_joint_mm=struck[0].level_mm if struck else None,
        struck_steps=tuple(StruckStep(p.from_mm, p.level_mm) for p in struck[1:]),
        ground_today=wall.ground_today, ground_finished=wall.ground_finished or None,
        finishes_to_come=wall.to_come,
        openings=tuple(
            Opening(o.from_mm, o.to_mm, "", o.threshold_mm, o.wall_below) for o in wall.openings
        ),
        weep_holes=tuple(
            WeepHoles(row.level_mm, from_mm=row.from_mm, to_mm=row.to_mm) for row in wall.weep_holes
        ),
    )  # fmt: skip


def whole(wall: Wall) -> Wall:
    """A wall whose struck joint goes from end to end, as a run's does, and with a unit."""
    pieces = sorted(wall.struck_joint, key=lambda piece: piece.from_mm)
    ends = [*(piece.from_mm for piece in pieces[1:]), *[wall.length_mm][: len(pieces)]]
    return replace(
        wall,
        struck_joint=tuple(
            replace(piece, from_mm=piece.from_mm if n else 0, to_mm=end)
            for n, (piece, end) in enumerate(zip(pieces, ends, strict=True))
        ),
        unit=wall.unit or brick_wall().unit_or_usual(VALUES),
    )


@pytest.mark.parametrize("number", range(60))
def test_a_run_is_the_wall_that_the_command_reads(number):
    data = walls(random.Random(number), AS_STORED)
    read = house_from_json({k: v for k, v in data.items() if k != "render_litres_per_m2"})
    expected = tuple(map(whole, read.walls))
    found = house_of([run_of(wall) for wall in reversed(expected)], VALUES)
    assert found.walls == expected


def test_the_rules_are_the_business_s_values():
    rules = house_of([brick_wall()], VALUES).rules
    assert (rules.clearance_mm, rules.courses, rules.below_ground_mm, rules.tape_mm) == (
        75,
        2,
        0,
        3,
    )


def test_walls_go_the_other_way_round_and_close_where_their_plan_does():
    runs = [replace(brick_wall(), id=name) for name in "ABCD"]
    house = house_of(runs, VALUES)
    assert isinstance(house, House)
    assert [wall.label for wall in house.walls] == ["D", "C", "B", "A"]
    assert house.closed
    assert not house_of(runs[:3], VALUES).closed


def test_a_weep_row_without_an_end_goes_to_the_end_of_the_wall():
    (wall,) = house_of([brick_wall(weep_holes=(WeepHoles(0, from_mm=500),))], VALUES).walls
    assert [(row.from_mm, row.to_mm) for row in wall.weep_holes] == [(500, 6000)]


def test_what_nobody_measured_stays_unknown():
    (wall,) = house_of([brick_wall(gauge=None)], VALUES).walls
    assert (wall.gauge, wall.brick_bottom_mm, wall.perpend) == (None, None, None)
    (wall,) = house_of([brick_wall(gauge=Gauge(1, 86, None))], VALUES).walls
    assert wall.gauge == Gauge(1, 86, None)
