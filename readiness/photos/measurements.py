"""From what a measuring screen sends to a measurement of a stored photo.

The screen sends plain JSON: positions as fractions of the displayed picture, and what the
reference is. Everything is worked out here, so a stored value never comes from the browser.
"""

from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from math import isfinite

from readiness.models import Photo, WallRun
from readiness.photos import measuring
from readiness.photos.limits import LARGE_PX
from readiness.photos.measuring import CannotMeasure, Marks, Measured, Reference
from readiness.rules.band import geometry
from readiness.rules.values.rule_values import RuleValues
from readiness.wording.refusals import measuring as refusals

MOST_MM = 20_000


@dataclass(frozen=True)
class Result:
    measured: Measured
    reference: Reference
    marks: Marks


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


def coursing_of(run: WallRun | None, values: RuleValues) -> Coursing:
    """The gauge of this wall, or the business's usual coursing; `measured` says which."""
    length_mm, finish = (run.length_mm, run.finish) if run else (1, "")
    plain = geometry.WallRun(id="", label="", length_mm=length_mm, finish=finish)
    wall = plain.with_levels(run.levels if run else None)
    gauge = wall.gauge_or_default(values)
    course = gauge.course_mm
    course_mm = Decimal(course.numerator) / course.denominator
    return Coursing(
        course_mm=course_mm,
        measured=gauge.measured,
        brick_and_joint_mm=wall.perpend_spacing_mm(values),
        brick_mm=wall.brick_length_mm or values["brick_length_mm"],
        brick_height_mm=values["brick_height_mm"],
    )


def work_out(photo: Photo, data: dict, values: RuleValues) -> Result:
    """The measurement that the marks in ``data`` give. Raises ``CannotMeasure``.

    ``values`` give the usual coursing where none was measured on the wall.

    ``data``: ``corners`` (four points), ``start``, ``end``, ``direction``, ``mark_error`` (standard
    deviation of a mark as a share of the longer side) and ``reference`` (``reference_from``).
    """
    reference = reference_from(data.get("reference"), coursing_of(wall_run_of(photo), values))
    marks = marks_from(data, photo.width_px, photo.height_px)
    lens = measuring.lens_share(photo.original.metadata.get("focal_35_mm"))
    size_px = (photo.width_px, photo.height_px)
    return Result(measuring.measure(marks, reference, size_px, lens=lens), reference, marks)


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
            _whole(data.get("bricks"), 1, 40, refusals.bricks_along),
            _whole(data.get("courses"), 1, 60, refusals.courses_up),
            gauge_mm=coursing.course_mm,
            gauge_is_measured=bool(coursing.measured),
            brick_length_mm=coursing.brick_and_joint_mm,
        )
    if kind == "known":
        width, height = (_mm(data.get(name)) for name in ("width_mm", "height_mm"))
        return measuring.known_size(width, height, _mm(data.get("tolerance_mm")))
    raise CannotMeasure(refusals.no_reference())


def marks_from(data: dict, width_px: int, height_px: int) -> Marks:
    """Marks in pixels of the displayed original, from fractions of it."""
    corners = data.get("corners")
    if not isinstance(corners, list) or len(corners) != 4:
        raise CannotMeasure(refusals.corners_missing())
    points = [*corners, data.get("start"), data.get("end")]
    if any(not _is_point(point) for point in points):
        raise CannotMeasure(refusals.ends_missing())
    one, two, three, four, start, end = (
        (point[0] * width_px, point[1] * height_px) for point in points
    )
    longest = max(width_px, height_px)
    error = data.get("mark_error")
    share = error if _is_number(error) and error > 0 else 0
    # Marks are placed on the 1600 px size: nobody places them better than to one of its pixels.
    error_px = max(share * longest, longest / LARGE_PX, 1.0)
    direction = data.get("direction", "straight")
    return Marks((one, two, three, four), start, end, error_px, str(direction))


def _is_number(value) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)


def _is_point(value) -> bool:
    return isinstance(value, list) and len(value) == 2 and all(map(_is_number, value))


def _whole(value, least: int, most: int, words: Callable[[int, int], str]) -> int:
    if not _is_number(value) or value != int(value) or not least <= value <= most:
        raise CannotMeasure(words(least, most))
    return int(value)


def _mm(value) -> Decimal:
    try:
        number = Decimal(str(value))
    except InvalidOperation as error:
        raise CannotMeasure(refusals.reference_without_size()) from error
    if not number.is_finite() or not 0 <= number <= MOST_MM:
        raise CannotMeasure(refusals.reference_without_size())
    return number
