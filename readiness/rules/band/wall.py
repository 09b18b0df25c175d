"""One wall as it stands in the brick, and the rules that its treated band goes by.

Lengths are whole mm, distances are from the wall's left end as seen from outside, levels are from
the wall's own datum, up positive. What nobody measured is None and never a usual value.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from functools import cached_property

from readiness.rules.band.geometry import (
    RENDERED,
    STANDARD_COURSE_MM,
    FinishToCome,
    Gauge,
    GroundPoint,
    Opening,
    Perpend,
    Unit,
)
from readiness.rules.band.profile import Exact

LOWEST = "lowest"
FEWEST_STEPS = "fewest_steps"

LITRES_FOR_COURSES = 2
"""`litres_per_10_m` is for so many courses."""

RENDER_OVERLAP_MM = 75
"""Neighbouring bands overlap by this on render, by one course on brick."""

RENDER_UNIT_MM = 240
"""How far a rendered wall's band goes down beside a corner where no unit is named: a brick and its
joint.
"""

TRENCH_MM = 150
"""The width of the trench beside the wall that soil to clear is worked out for."""


class Finish(StrEnum):
    """What the face of a wall is."""

    FACE_BRICK = "face_brick"
    BAGGED = "bagged"
    BLOCK = "block"
    RENDER = "render"
    OTHER = "other"


@dataclass(frozen=True)
class Sill:
    """A threshold that was measured, with wall below it or where that is not known."""

    from_mm: int
    to_mm: int
    threshold_mm: int


@dataclass(frozen=True)
class StruckPiece:
    """The joint struck in the render, level from one distance to another."""

    from_mm: int
    to_mm: int
    level_mm: int


@dataclass(frozen=True)
class WeepRow:
    """Weep holes from one distance to another, both ends included: level of their underside."""

    from_mm: int
    to_mm: int
    level_mm: int


@dataclass(frozen=True)
class Wall:
    """One straight stretch of external wall with what was measured on it.

    `ground_finished` None: today's ground and the finishes to come. Two points at one distance are
    a vertical step, the left level first. `datum_offset_mm` is the level of this wall's datum above
    the datum that the walls share. `courses_asked` is this wall's own number of courses of its
    unit, where the rules' is not to count.
    """

    label: str
    length_mm: int
    finish: Finish
    unit: Unit | None = None
    gauge: Gauge | None = None
    bed_joint_mm: int | None = None
    brick_bottom_mm: int | None = None
    perpend: Perpend | None = None
    struck_joint: tuple[StruckPiece, ...] = ()
    ground_today: tuple[GroundPoint, ...] = ()
    ground_finished: tuple[GroundPoint, ...] = ()
    to_come: tuple[FinishToCome, ...] = ()
    openings: tuple[Opening, ...] = ()
    weep_holes: tuple[WeepRow, ...] = ()
    datum_offset_mm: int = 0
    courses_asked: int | None = None

    @property
    def is_rendered(self) -> bool:
        return self.finish in RENDERED

    @cached_property
    def parts(self) -> tuple[tuple[int, int], ...]:
        """The stretches of wall between openings that have no wall in the band, left to right."""
        gaps = sorted((o.from_mm, o.to_mm) for o in self.openings if o.wall_below is False)
        starts = [0, *(end for _, end in gaps)]
        ends = [*(start for start, _ in gaps), self.length_mm]
        return tuple((a, b) for a, b in zip(starts, ends, strict=True) if a < b)

    @cached_property
    def sills(self) -> tuple[Sill, ...]:
        """The thresholds of openings that are not known to have no wall in the band."""
        found = (
            Sill(o.from_mm, o.to_mm, o.threshold_mm)
            for o in self.openings
            if o.wall_below is not False and o.threshold_mm is not None
        )
        return tuple(sorted(found, key=lambda sill: sill.from_mm))


def whole_if_whole(exact: Exact) -> Exact:
    """The same number, as an int where it is whole."""
    return exact.numerator if exact.denominator == 1 else exact


@dataclass(frozen=True)
class Joints:
    """The bed joints of one wall: where each lies, and how many courses are asked for."""

    zero_mm: int
    course_mm: Exact
    asked: int
    lowest: int | None = None

    def level_mm(self, number: int) -> Exact:
        """The level of a joint, a whole number where it is one."""
        return whole_if_whole(self.zero_mm + number * self.course_mm)

    def at_or_above(self, level_mm: Exact) -> int:
        return -((self.zero_mm - level_mm) // self.course_mm)

    def at_or_below(self, level_mm: Exact) -> int:
        return (level_mm - self.zero_mm) // self.course_mm


def joints_of(wall: Wall, courses: int) -> Joints | None:
    """The joints of a wall where they are known, for so many courses of standard brick."""
    if wall.is_rendered or wall.bed_joint_mm is None or wall.unit is None:
        return None
    course_mm: Exact = wall.unit.course_mm
    if wall.gauge:
        course_mm = whole_if_whole(wall.gauge.course_mm)
    asked = wall.courses_asked or wall.unit.courses_for(courses)
    joints = Joints(wall.bed_joint_mm, course_mm, asked)
    if wall.brick_bottom_mm is None:
        return joints
    return Joints(
        joints.zero_mm, course_mm, joints.asked, joints.at_or_above(wall.brick_bottom_mm)
    )  # fmt: skip


@dataclass(frozen=True)
class BandRules:
    """What the band goes by. `prefer` is LOWEST or FEWEST_STEPS.

    `render_litres_per_m2` None: as much as on brick, where `litres_per_10_m` covers two courses
    of 86 mm along 10 m.
    """

    clearance_mm: int
    courses: int
    below_ground_mm: int
    tape_mm: int
    litres_per_10_m: Fraction
    prefer: str
    shortest_stretch_mm: int
    render_litres_per_m2: Fraction | None = None

    @property
    def fewest_steps(self) -> bool:
        return self.prefer == FEWEST_STEPS

    @property
    def litres_per_mm2(self) -> Fraction:
        """Litres for each mm2 of render."""
        if self.render_litres_per_m2 is not None:
            return self.render_litres_per_m2 / 1_000_000
        return self.litres_per_10_m / (10_000 * LITRES_FOR_COURSES * STANDARD_COURSE_MM)


@dataclass(frozen=True)
class House:
    """Walls in order, clockwise: the left end of each meets the right end of the next.

    `closed`: the last meets the first.
    """

    rules: BandRules
    walls: tuple[Wall, ...]
    closed: bool = False

    @property
    def bottom_unknown(self) -> tuple[str, ...]:
        """Walls of which nobody saw where the brickwork starts: one note a site, not one a wall."""
        return tuple(wall.label for wall in self.walls if wall.brick_bottom_mm is None)
