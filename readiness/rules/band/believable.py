"""Measurements that can't be right: which number, and what would be believable."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Any

from readiness.rules.band.geometry import GroundPoint, WallRun

LENGTH_MAX_MM = 200_000
LEVEL_MAX_MM = 3000
THICKNESS_MAX_MM = 1000
JOINT_WIDTH_MAX_MM = 200
JOINT_DEPTH_MAX_MM = 400
GAP_MAX_MM = 5000
COURSE_MM = (40, 450)
"""A course lower or higher than this is a slip of the tape: any brick or block is between."""
UNIT_HEIGHT_MM, UNIT_LENGTH_MM, UNIT_JOINT_MM = (30, 440), (50, 1000), (1, 40)
RAKED_MAX_MM = 60


class Doubt(StrEnum):
    """Why a number can't be right. What it says is `readiness.wording.believable`'s."""

    LENGTH = "length"
    NO_GAUGE = "no_gauge"
    GAUGE = "gauge"
    BRICK_LENGTH = "brick_length"
    COURSES = "courses"
    LEVEL = "level"
    FALL = "fall"
    OFF_THE_WALL = "off_the_wall"
    TWICE = "twice"
    OUT_OF_ORDER = "out_of_order"
    ENDS_BEFORE_START = "ends_before_start"
    PAST_THE_END = "past_the_end"
    THICKNESS = "thickness"
    WIDTH = "width"
    DEPTH = "depth"
    HEIGHT = "height"
    GAP = "gap"
    SPACING = "spacing"
    UNDER_BRICKWORK = "under_brickwork"
    UNIT = "unit"
    RAKED = "raked"
    OVERLAP = "overlap"


@dataclass(frozen=True)
class Unbelievable:
    """A number that can't be used: where it was entered, and why. Lengths in mm.

    `field` is the part of the wall run ("gauge", "ground_today"); `index` the row in it, from 0,
    `at_mm` where it is along the wall and `label` what it is called. `found` is the number; it can
    be from `low` to `high`. `other_mm` is what it is held against: the distance before it, its
    start, the wall's length, where the brickwork starts. `courses` are those of a gauge.
    """

    field: str
    code: Doubt
    index: int | None = None
    at_mm: int | None = None
    label: str = ""
    found: int = 0
    low: int = 0
    high: int = 0
    other_mm: int = 0
    courses: int = 0


class LevelsError(ValueError):
    """Measurements that can't be worked with; `problems` has one entry for each."""

    def __init__(self, problems: Sequence[Unbelievable]):
        super().__init__(" ".join(f"{problem.field}: {problem.code}" for problem in problems))
        self.problems = tuple(problems)


def problems(run: WallRun) -> list[Unbelievable]:
    """Everything in a run's measurements that is hard to believe; empty if all can be used."""
    if not 1 <= run.length_mm <= LENGTH_MAX_MM:
        return [Unbelievable("length_mm", Doubt.LENGTH, found=run.length_mm, high=LENGTH_MAX_MM)]
    return [
        *_brick(run),
        *_single_levels(run),
        *_profile(run, "ground_today", run.ground_today),
        *_profile(run, "ground_finished", run.ground_finished or ()),
        *_steps(run),
        *_finishes(run),
        *_joints(run),
        *_attachments(run),
        *_openings(run),
        *_weep_holes(run),
    ]


def check(run: WallRun) -> None:
    """LevelsError, with every problem, if something can't be believed."""
    found = problems(run)
    if found:
        raise LevelsError(found)


def gauge_problem(courses: int, height_mm: int) -> Unbelievable | None:
    """A gauge that no brick or block has, with the range for so many courses."""
    low, high = COURSE_MM
    if courses < 1 or height_mm < 1:
        return Unbelievable("gauge", Doubt.NO_GAUGE)
    if low * courses <= height_mm <= high * courses:
        return None
    return Unbelievable(
        "gauge", Doubt.GAUGE, found=height_mm, low=low, high=high, courses=courses
    )  # fmt: skip


def _outside(
    field: str, code: Doubt, found: int, low: int, high: int, index: int | None = None, **more: Any
) -> Iterator[Unbelievable]:
    """The number, where it is not from `low` to `high`."""
    if not low <= found <= high:
        yield Unbelievable(field, code, index, found=found, low=low, high=high, **more)


def _brick(run: WallRun) -> Iterator[Unbelievable]:
    if run.gauge is not None:
        found = gauge_problem(run.gauge.courses, run.gauge.height_mm)
        if found:
            yield found
    if run.unit is not None:
        yield from _outside("unit", Doubt.UNIT, run.unit.height_mm, *UNIT_HEIGHT_MM)
        yield from _outside("unit", Doubt.BRICK_LENGTH, run.unit.length_mm, *UNIT_LENGTH_MM)
        yield from _outside("unit", Doubt.THICKNESS, run.unit.joint_mm, *UNIT_JOINT_MM)
    if run.brick_length_mm is not None:
        yield from _outside(
            "brick_length_mm", Doubt.BRICK_LENGTH, run.brick_length_mm, *UNIT_LENGTH_MM
        )
    if run.courses_treated is not None:
        yield from _outside("courses_treated", Doubt.COURSES, run.courses_treated, 1, 20)
    if run.raked_mm is not None:
        yield from _outside("raked_mm", Doubt.RAKED, run.raked_mm, 0, RAKED_MAX_MM)
    if run.perpend is not None and _off_the_wall(run, run.perpend.at_mm):
        yield _off(run, "perpend", None, run.perpend.at_mm)


def _level(
    field: str, level_mm: int, index: int | None = None, at_mm: int | None = None
) -> Iterator[Unbelievable]:
    return _outside(
        field, Doubt.LEVEL, level_mm, -LEVEL_MAX_MM, LEVEL_MAX_MM, index, at_mm=at_mm
    )  # fmt: skip


def _single_levels(run: WallRun) -> Iterator[Unbelievable]:
    for field in ("bed_joint_mm", "struck_joint_mm", "slab_level_mm", "brick_bottom_mm"):
        level_mm = getattr(run, field)
        if level_mm is not None:
            yield from _level(field, level_mm)
    if run.fall_mm is not None:
        yield from _outside("fall_mm", Doubt.FALL, run.fall_mm, -1000, 1000)


def _off_the_wall(run: WallRun, distance_mm: int) -> bool:
    return not 0 <= distance_mm <= run.length_mm


def _off(run: WallRun, field: str, index: int | None, at_mm: int, label: str = "") -> Unbelievable:
    return Unbelievable(
        field, Doubt.OFF_THE_WALL, index, at_mm, label, other_mm=run.length_mm
    )  # fmt: skip


def _profile(run: WallRun, field: str, points: Sequence[GroundPoint]) -> Iterator[Unbelievable]:
    """Distances on the run and in order, levels believable. Two at one distance are a step."""
    before: list[int] = []
    for index, point in enumerate(points):
        at = point.distance_mm
        if _off_the_wall(run, at):
            yield _off(run, field, index, at)
        elif before and at < before[-1]:
            yield Unbelievable(field, Doubt.OUT_OF_ORDER, index, at, other_mm=before[-1])
        elif before[-2:] == [at, at]:
            yield Unbelievable(field, Doubt.TWICE, index, at, other_mm=at)
        yield from _level(field, point.level_mm, index, at)
        before.append(at)


def _steps(run: WallRun) -> Iterator[Unbelievable]:
    before = -1
    for index, step in enumerate(run.struck_steps):
        at = step.distance_mm
        if _off_the_wall(run, at):
            yield _off(run, "struck_steps", index, at)
        elif at <= before:
            yield Unbelievable("struck_steps", Doubt.OUT_OF_ORDER, index, at, other_mm=before)
        yield from _level("struck_steps", step.level_mm, index, at)
        before = at


def _finishes(run: WallRun) -> Iterator[Unbelievable]:
    field = "finishes_to_come"
    for index, part in enumerate(run.finishes_to_come):
        if part.to_mm <= part.from_mm:
            yield _before_start(field, index, part.to_mm, part.from_mm)
        elif _off_the_wall(run, part.from_mm) or _off_the_wall(run, part.to_mm):
            yield Unbelievable(field, Doubt.PAST_THE_END, index, other_mm=run.length_mm)
        yield from _outside(field, Doubt.THICKNESS, part.thickness_mm, 1, THICKNESS_MAX_MM, index)


def _before_start(field: str, index: int, end_mm: int, start_mm: int) -> Unbelievable:
    return Unbelievable(
        field, Doubt.ENDS_BEFORE_START, index, found=end_mm, other_mm=start_mm
    )  # fmt: skip


def _joints(run: WallRun) -> Iterator[Unbelievable]:
    for index, joint in enumerate(run.joints):
        at = joint.distance_mm
        if _off_the_wall(run, at):
            yield _off(run, "joints", index, at)
        sizes = [
            (Doubt.WIDTH, joint.width_mm, JOINT_WIDTH_MAX_MM),
            (Doubt.DEPTH, joint.depth_mm, JOINT_DEPTH_MAX_MM),
        ]
        if joint.height_mm is not None:
            sizes.append((Doubt.HEIGHT, joint.height_mm, LEVEL_MAX_MM))
        for code, found, most in sizes:
            yield from _outside("joints", code, found, 1, most, index, at_mm=at)


def _attachments(run: WallRun) -> Iterator[Unbelievable]:
    for index, item in enumerate(run.attachments):
        at = item.distance_mm
        if _off_the_wall(run, at):
            yield _off(run, "attachments", index, at, item.label)
        yield from _outside(
            "attachments", Doubt.GAP, item.gap_mm, 0, GAP_MAX_MM, index, at_mm=at, label=item.label
        )


def _openings(run: WallRun) -> Iterator[Unbelievable]:
    """On the run, and no two over each other: the band knows one of them at a place."""
    field, reached = "openings", 0
    for index, part in sorted(enumerate(run.openings), key=lambda pair: pair[1].from_mm):
        if part.to_mm <= part.from_mm:
            yield _before_start(field, index, part.to_mm, part.from_mm)
            continue
        if _off_the_wall(run, part.from_mm) or _off_the_wall(run, part.to_mm):
            yield Unbelievable(field, Doubt.PAST_THE_END, index, other_mm=run.length_mm)
        elif part.from_mm < reached:
            yield Unbelievable(field, Doubt.OVERLAP, index, part.from_mm, other_mm=reached)
        if part.threshold_mm is not None:
            yield from _level(field, part.threshold_mm, index, part.from_mm)
        reached = max(reached, part.to_mm)


def _weep_holes(run: WallRun) -> Iterator[Unbelievable]:
    field = "weep_holes"
    lowest = run.brick_bottom_mm
    for index, row in enumerate(run.weep_holes):
        yield from _level(field, row.level_mm, index)
        if row.spacing_mm is not None:
            yield from _outside(field, Doubt.SPACING, row.spacing_mm, 100, 10_000, index)
        end_mm = run.length_mm if row.to_mm is None else row.to_mm
        if end_mm <= row.from_mm and row.to_mm is not None:
            yield _before_start(field, index, end_mm, row.from_mm)
        elif _off_the_wall(run, row.from_mm) or _off_the_wall(run, end_mm):
            yield Unbelievable(field, Doubt.PAST_THE_END, index, other_mm=run.length_mm)
        off = next((at for at in row.positions_mm if _off_the_wall(run, at)), None)
        if off is not None:
            yield _off(run, field, index, off)
        if lowest is not None and row.level_mm < lowest:
            yield Unbelievable(
                field, Doubt.UNDER_BRICKWORK, index, found=row.level_mm, other_mm=lowest
            )
