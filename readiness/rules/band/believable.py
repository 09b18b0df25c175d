"""Measurements that can't be right: which number, and what would be believable."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from readiness.rules.band.geometry import GroundPoint, WallRun
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import counted, metres, millimetres

LENGTH_MAX_MM = 200_000
LEVEL_MAX_MM = 3000
THICKNESS_MAX_MM = 1000
JOINT_WIDTH_MAX_MM = 200
JOINT_DEPTH_MAX_MM = 400
GAP_MAX_MM = 5000


@dataclass(frozen=True)
class Unbelievable:
    """A number that can't be used: where it was entered, and why, in plain words.

    `field` is the part of the wall run ("gauge", "ground_today"); `index` the row in it, from 0.
    """

    field: str
    sentence: str
    index: int | None = None


class LevelsError(ValueError):
    """Measurements that can't be worked with; `problems` has one entry for each."""

    def __init__(self, problems: Sequence[Unbelievable]):
        super().__init__(" ".join(problem.sentence for problem in problems))
        self.problems = tuple(problems)


def problems(run: WallRun, values: RuleValues) -> list[Unbelievable]:
    """Everything in a run's measurements that is hard to believe; empty if all can be used."""
    if not 1 <= run.length_mm <= LENGTH_MAX_MM:
        text = (
            f"The wall's length is {millimetres(run.length_mm)}. "
            f"More than 0 and up to {metres(LENGTH_MAX_MM)} would be believable."
        )
        return [Unbelievable("length_mm", text)]
    return [
        *_gauge(run, values),
        *_single_levels(run),
        *_profile(run, "ground_today", "Ground today", run.ground_today),
        *_profile(run, "ground_finished", "Finished ground", run.ground_finished or ()),
        *_steps(run),
        *_finishes(run),
        *_joints(run),
        *_attachments(run),
        *_weep_holes(run, values),
    ]


def check(run: WallRun, values: RuleValues) -> None:
    """LevelsError, with every problem, if something can't be believed."""
    found = problems(run, values)
    if found:
        raise LevelsError(found)


def gauge_problem(courses: int, height_mm: int, values: RuleValues) -> Unbelievable | None:
    """A gauge outside the believable range, with what would be in it."""
    low, high = values["gauge_min_mm"], values["gauge_max_mm"]
    if courses < 1 or height_mm < 1:
        text = "The gauge needs at least 1 course and a height of more than 0 mm."
        return Unbelievable("gauge", text)
    if low * courses <= height_mm <= high * courses:
        return None
    text = (
        f"{counted(courses, 'course')} in {millimetres(height_mm)} is {height_mm / courses:.1f} mm "
        f"a course. Between {low} and {high} mm would be believable: for "
        f"{counted(courses, 'course')}, "
        f"{low * courses} to {high * courses} mm."
    )
    return Unbelievable("gauge", text)


def _gauge(run: WallRun, values: RuleValues) -> Iterator[Unbelievable]:
    if run.gauge is not None:
        found = gauge_problem(run.gauge.courses, run.gauge.height_mm, values)
        if found:
            yield found
    if run.brick_length_mm is not None and not 50 <= run.brick_length_mm <= 1000:
        text = f"A brick {millimetres(run.brick_length_mm)} long is hard to believe."
        yield Unbelievable("brick_length_mm", f"{text} Between 50 and 1000 mm would be.")
    if run.courses_treated is not None and not 1 <= run.courses_treated <= 20:
        text = f"{run.courses_treated} courses treated is hard to believe."
        yield Unbelievable("courses_treated", f"{text} Between 1 and 20 would be.")


def _single_levels(run: WallRun) -> Iterator[Unbelievable]:
    singles = {
        "first_bed_joint_mm": "The lowest bed joint",
        "struck_joint_mm": "The struck joint",
        "slab_level_mm": "The top of the slab",
    }
    for field, name in singles.items():
        level_mm = getattr(run, field)
        if level_mm is not None and abs(level_mm) > LEVEL_MAX_MM:
            yield Unbelievable(field, _unbelievable_level(name, level_mm))
    if run.fall_mm is not None and abs(run.fall_mm) > 1000:
        text = f"A fall of {millimetres(run.fall_mm)} in the first metre is hard to believe."
        yield Unbelievable("fall_mm", f"{text} Between -1000 and 1000 mm would be.")


def _unbelievable_level(name: str, level_mm: int) -> str:
    return (
        f"{name} at {millimetres(level_mm)} is hard to believe. Between -{LEVEL_MAX_MM} and "
        f"{LEVEL_MAX_MM} mm from the top of the slab would be."
    )


def _profile(
    run: WallRun, field: str, name: str, points: Sequence[GroundPoint]
) -> Iterator[Unbelievable]:
    """Distances on the run and in order, levels believable."""
    before: int | None = None
    for index, point in enumerate(points):
        here = f"{name}, point {index + 1} at {metres(point.distance_mm)}"
        if not 0 <= point.distance_mm <= run.length_mm:
            text = f"{here}, is off the wall, which is {metres(run.length_mm)} long."
            yield Unbelievable(field, text, index)
        elif before is not None and point.distance_mm <= before:
            same = point.distance_mm == before
            what = "is measured twice" if same else f"comes after the point at {metres(before)}"
            yield Unbelievable(field, f"{here}, {what}. Distances must grow along the wall.", index)
        if abs(point.level_mm) > LEVEL_MAX_MM:
            yield Unbelievable(field, _unbelievable_level(here + ",", point.level_mm), index)
        before = point.distance_mm


def _off_the_wall(run: WallRun, distance_mm: int) -> bool:
    return not 0 <= distance_mm <= run.length_mm


def _steps(run: WallRun) -> Iterator[Unbelievable]:
    before = -1
    for index, step in enumerate(run.struck_steps):
        here = f"Step {index + 1} of the struck joint, at {metres(step.distance_mm)}"
        if _off_the_wall(run, step.distance_mm):
            text = f"{here}, is off the wall, which is {metres(run.length_mm)} long."
            yield Unbelievable("struck_steps", text, index)
        elif step.distance_mm <= before:
            text = f"{here}, is out of order. Distances must grow along the wall."
            yield Unbelievable("struck_steps", text, index)
        if abs(step.level_mm) > LEVEL_MAX_MM:
            yield Unbelievable(
                "struck_steps", _unbelievable_level(here + ",", step.level_mm), index
            )
        before = step.distance_mm


def _finishes(run: WallRun) -> Iterator[Unbelievable]:
    for index, part in enumerate(run.finishes_to_come):
        here = f"Finish to come {index + 1}"
        if part.to_mm <= part.from_mm:
            text = (
                f"{here} ends at {metres(part.to_mm)}, before it starts ({metres(part.from_mm)})."
            )
            yield Unbelievable("finishes_to_come", text, index)
        elif _off_the_wall(run, part.from_mm) or _off_the_wall(run, part.to_mm):
            text = f"{here} goes past the wall, which is {metres(run.length_mm)} long."
            yield Unbelievable("finishes_to_come", text, index)
        if not 1 <= part.thickness_mm <= THICKNESS_MAX_MM:
            text = f"{here} is {millimetres(part.thickness_mm)} thick."
            yield Unbelievable(
                "finishes_to_come", f"{text} 1 to {THICKNESS_MAX_MM} mm would be believable.", index
            )


def _joints(run: WallRun) -> Iterator[Unbelievable]:
    for index, joint in enumerate(run.joints):
        here = f"Joint {index + 1} at {metres(joint.distance_mm)}"
        if _off_the_wall(run, joint.distance_mm):
            text = f"{here} is off the wall, which is {metres(run.length_mm)} long."
            yield Unbelievable("joints", text, index)
        if not 1 <= joint.width_mm <= JOINT_WIDTH_MAX_MM:
            text = f"{here} is {millimetres(joint.width_mm)} wide."
            yield Unbelievable("joints", f"{text} 1 to {JOINT_WIDTH_MAX_MM} mm would be.", index)
        if not 1 <= joint.depth_mm <= JOINT_DEPTH_MAX_MM:
            text = f"{here} is {millimetres(joint.depth_mm)} deep."
            yield Unbelievable("joints", f"{text} 1 to {JOINT_DEPTH_MAX_MM} mm would be.", index)
        if joint.height_mm is not None and not 1 <= joint.height_mm <= LEVEL_MAX_MM:
            text = f"{here} is {millimetres(joint.height_mm)} high."
            yield Unbelievable("joints", f"{text} 1 to {LEVEL_MAX_MM} mm would be.", index)


def _attachments(run: WallRun) -> Iterator[Unbelievable]:
    for index, item in enumerate(run.attachments):
        here = f"{item.label or 'Attachment'} at {metres(item.distance_mm)}"
        if _off_the_wall(run, item.distance_mm):
            text = f"{here} is off the wall, which is {metres(run.length_mm)} long."
            yield Unbelievable("attachments", text, index)
        if not 0 <= item.gap_mm <= GAP_MAX_MM:
            text = f"{here} has a gap of {millimetres(item.gap_mm)}."
            yield Unbelievable(
                "attachments", f"{text} 0 to {GAP_MAX_MM} mm would be believable.", index
            )


def _weep_holes(run: WallRun, values: RuleValues) -> Iterator[Unbelievable]:
    for index, row in enumerate(run.weep_holes):
        if abs(row.level_mm) > LEVEL_MAX_MM:
            yield Unbelievable("weep_holes", _unbelievable_level("Weep holes", row.level_mm), index)
        if row.spacing_mm is not None and not 100 <= row.spacing_mm <= 10_000:
            text = f"Weep holes {millimetres(row.spacing_mm)} apart are hard to believe."
            yield Unbelievable("weep_holes", f"{text} Between 100 and 10000 mm would be.", index)
        end_mm = run.length_mm if row.to_mm is None else row.to_mm
        if end_mm <= row.from_mm and row.to_mm is not None:
            text = (
                f"Row {index + 1} of the weep holes ends at {metres(end_mm)}, before it starts "
                f"({metres(row.from_mm)})."
            )
            yield Unbelievable("weep_holes", text, index)
        elif _off_the_wall(run, row.from_mm) or _off_the_wall(run, end_mm):
            text = (
                f"Row {index + 1} of the weep holes goes past the wall, which is "
                f"{metres(run.length_mm)} long."
            )
            yield Unbelievable("weep_holes", text, index)
        if any(_off_the_wall(run, at) for at in row.positions_mm):
            text = f"A weep hole is off the wall, which is {metres(run.length_mm)} long."
            yield Unbelievable("weep_holes", text, index)
        lowest = None if run.is_rendered else run.first_bed_joint_mm
        if lowest is not None and row.level_mm < lowest:
            text = (
                f"The weep holes ({millimetres(row.level_mm)}) are under the lowest bed joint "
                f"({millimetres(lowest)}). One of the two must be wrong."
            )
            yield Unbelievable("weep_holes", text, index)
