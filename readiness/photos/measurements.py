"""From what a measuring screen sends to a measurement of a stored photo.

The screen sends plain JSON (`marks_sent`) and what the reference is. Everything is worked out here,
so a stored value never comes from the browser.
"""

from dataclasses import dataclass, field
from decimal import Decimal

import numpy as np

from readiness.models import Photo, WallRun
from readiness.photos import by_courses, coursing, found_joints, measuring
from readiness.photos.by_courses import Gauge, Scale, Sight
from readiness.photos.marks_sent import marks_from, millimetres, require_current, whole
from readiness.photos.measuring import CannotMeasure, Marks, Measured, Reference
from readiness.rules.band import geometry
from readiness.rules.values.rule_values import RuleValues
from readiness.wording import photos as say
from readiness.wording.refusals import measuring as refusals

LEAST_COURSES, MOST_COURSES = 3, 20
LEAST_FOR_GAUGE = 6


@dataclass(frozen=True)
class Result:
    """What was measured, by what (in words), and the gauge where that was asked for.

    ``lines`` are the bed joints as found, each two places as shares of the picture; ``outlines``
    four places each of joints that look open.
    """

    measured: Measured
    reference: str
    gauge: Gauge | None = None
    lines: list = field(default_factory=list)
    outlines: list = field(default_factory=list)


def wall_run_of(photo: Photo) -> WallRun | None:
    """The wall run that the photo shows, as far as it belongs to something on one."""
    if photo.item:
        return photo.item.wall_run
    if photo.fix:
        return photo.fix.item.wall_run
    return photo.run_check.wall_run if photo.run_check else None


@dataclass(frozen=True)
class Coursing:
    """The bricks of a wall: one course and one brick, each with its joint, in mm."""

    course_mm: Decimal
    measured: bool | None  # None: it is not known whether anybody measured it on this wall
    brick_and_joint_mm: int
    brick_mm: int
    brick_height_mm: int

    @property
    def course(self) -> Scale:
        """One course and how far off that may be on this wall."""
        off = measuring.JOINT_TOLERANCE_MM
        if self.measured:
            off = measuring.MEASURED_GAUGE_TOLERANCE_MM
        return Scale(self.course_mm, Decimal(off))


def coursing_of(run: WallRun | None, values: RuleValues) -> Coursing:
    """The gauge of this wall, or the business's usual coursing; `measured` says which."""
    length_mm, finish = (run.length_mm, run.finish) if run else (1, "")
    plain = geometry.WallRun(id="", label="", length_mm=length_mm, finish=finish)
    wall = plain.with_levels(run.levels if run else None)
    gauge, unit = wall.gauge_or_nominal(values), wall.unit_or_usual(values)
    course = gauge.course_mm
    course_mm = Decimal(course.numerator) / course.denominator
    return Coursing(
        course_mm=course_mm,
        measured=gauge.measured,
        brick_and_joint_mm=unit.pitch_mm,
        brick_mm=unit.length_mm,
        brick_height_mm=unit.height_mm,
    )


def work_out(photo: Photo, data: dict, values: RuleValues, *, open_too: bool = False) -> Result:
    """What the marks in ``data`` give (`marks_sent`). Raises ``CannotMeasure`` or ``NotNow``.

    ``values`` give the usual coursing where none was measured on the wall. ``data`` has also
    ``wanted`` ("distance" or "gauge"), ``direction`` of a distance, ``reference``
    (``reference_from``, or ``{"kind": "courses", "courses": 12}``) and, for a gauge, ``known``:
    ``{"length_mm": 1000, "tolerance_mm": 1}``, the length between the two ends.
    ``open_too`` asks for joints that look open as well, where courses are the reference.
    """
    require_current(data)
    marks = marks_from(data, photo.width_px, photo.height_px)
    wall = coursing_of(wall_run_of(photo), values)
    given = data.get("reference")
    if isinstance(given, dict) and given.get("kind") == "courses":
        return _by_courses(photo, data, marks, wall, open_too)
    if data.get("wanted") == "gauge":
        raise CannotMeasure(refusals.gauge_by_courses_only())
    reference = reference_from(given, wall)
    size_px = (photo.width_px, photo.height_px)
    return Result(measuring.measure(marks, reference, size_px), reference.description)


def _by_courses(photo: Photo, data: dict, marks: Marks, wall: Coursing, open_too: bool) -> Result:
    """A gauge or a distance by the courses between the corners."""
    wants_gauge = data.get("wanted") == "gauge"
    least = LEAST_FOR_GAUGE if wants_gauge else LEAST_COURSES
    courses = whole(data["reference"].get("courses"), least, MOST_COURSES, refusals.courses_between)
    known = _known(data.get("known")) if wants_gauge else None
    if not wants_gauge and marks.direction not in measuring.DIRECTIONS:
        raise CannotMeasure(refusals.no_direction())
    measuring.check_corners(np.array(marks.corners, float))
    looked = found_joints.look(photo, data["corners"], courses, open_too=open_too)
    size_px = (photo.width_px, photo.height_px)
    focal = coursing.focal_of(photo.original.metadata.get("focal_35_mm"))
    sight = by_courses.sight_of(marks, size_px, courses, focal, looked.joints)
    found = sight.found is not None
    lines, outlines = (_lines(sight, size_px), looked.outlines) if found else ([], [])
    if known is None:
        measured = by_courses.distance(sight, wall.course, marks.direction)
        by = say.by_courses(courses, wall.course_mm, found=found)
        return Result(measured, by, None, lines, outlines)
    gauge = by_courses.gauge(sight, known)
    by = say.gauge_by(courses, known.mm, known.tolerance_mm, found=found)
    return Result(gauge.height, by, gauge, lines, outlines)


def _known(data) -> Scale:
    """The length between the ends, as typed."""
    given = data if isinstance(data, dict) else {}
    length, tolerance = (
        millimetres(given.get(name), refusals.length_without_size)
        for name in ("length_mm", "tolerance_mm")
    )
    if not length:
        raise CannotMeasure(refusals.length_without_size())
    if tolerance >= length / 4:
        raise CannotMeasure(refusals.length_too_vague())
    return Scale(length, tolerance)


def _lines(sight: Sight, size_px: tuple[int, int]) -> list:
    """The bed joints of the grid from side to side, as shares of the picture."""
    ends = np.array([[side, k] for k in range(sight.courses + 1) for side in (0.0, 1.0)])
    shares = sight.grid.places(ends) * sight.reach_px / np.array(size_px) + 0.5
    return shares.reshape(-1, 2, 2).round(5).tolist()


def reference_from(data, coursing: Coursing) -> Reference:
    """``{"kind": "bricks", "bricks": 2, "courses": 4}``, ``{"kind": "brick"}`` or
    ``{"kind": "known", "width_mm": 300, "height_mm": 200, "tolerance_mm": 1}``.
    """
    if not isinstance(data, dict):
        raise CannotMeasure(refusals.no_reference())
    kind = data.get("kind")
    if kind == "brick":
        return measuring.one_brick(coursing.brick_mm, coursing.brick_height_mm)
    if kind == "bricks":
        return measuring.bricks_and_courses(
            whole(data.get("bricks"), 1, 40, refusals.bricks_along),
            whole(data.get("courses"), 1, 60, refusals.courses_up),
            gauge_mm=coursing.course_mm,
            gauge_is_measured=bool(coursing.measured),
            brick_length_mm=coursing.brick_and_joint_mm,
        )
    if kind == "known":
        width, height = (millimetres(data.get(name)) for name in ("width_mm", "height_mm"))
        return measuring.known_size(width, height, millimetres(data.get("tolerance_mm")))
    raise CannotMeasure(refusals.no_reference())
