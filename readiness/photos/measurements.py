"""From what a measuring screen sends to a measurement of a stored photo.

The screen sends plain JSON: positions as fractions of the displayed picture, and what the
reference is. Everything is worked out here, so a stored value never comes from the browser.
"""

from dataclasses import dataclass
from decimal import Decimal, InvalidOperation
from math import isfinite

from readiness.models import Photo, WallRun
from readiness.photos import measuring
from readiness.photos.limits import LARGE_PX
from readiness.photos.measuring import CannotMeasure, Marks, Measured, Reference

# A brick of 76 mm and a joint of 10 mm (AS/NZS 4455.1 sizes, from memory), until it is measured.
USUAL_GAUGE_MM = Decimal(86)
USUAL_BRICK_LENGTH_MM = 240
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


def gauge_of(run: WallRun | None) -> tuple[Decimal, bool]:
    """One course with its joint in mm, and whether it was measured on this wall."""
    if run is not None and run.gauge_courses and run.gauge_height_mm:
        return Decimal(run.gauge_height_mm) / run.gauge_courses, True
    return USUAL_GAUGE_MM, False


def work_out(photo: Photo, data: dict) -> Result:
    """The measurement that the marks in ``data`` give. Raises ``CannotMeasure``.

    ``data``: ``corners`` (four points), ``start``, ``end``, ``direction``, ``mark_error`` (standard
    deviation of a mark as a share of the longer side) and ``reference`` (``reference_from``).
    """
    reference = reference_from(data.get("reference"), wall_run_of(photo))
    marks = marks_from(data, photo.width_px, photo.height_px)
    lens = measuring.lens_share(photo.original.metadata.get("focal_35_mm"))
    size_px = (photo.width_px, photo.height_px)
    return Result(measuring.measure(marks, reference, size_px, lens=lens), reference, marks)


def reference_from(data, run: WallRun | None) -> Reference:
    """``{"kind": "bricks", "bricks": 2, "courses": 4}``, ``{"kind": "brick"}`` or
    ``{"kind": "known", "width_mm": 300, "height_mm": 200, "tolerance_mm": 1}``.
    """
    if not isinstance(data, dict):
        raise CannotMeasure("Say what the four corners are the corners of.")
    kind = data.get("kind")
    if kind == "brick":
        return measuring.one_brick()
    if kind == "bricks":
        gauge_mm, is_measured = gauge_of(run)
        return measuring.bricks_and_courses(
            _whole(data.get("bricks"), 1, 40, "bricks along"),
            _whole(data.get("courses"), 1, 60, "courses up"),
            gauge_mm=gauge_mm,
            gauge_is_measured=is_measured,
            brick_length_mm=run.brick_length_mm if run else USUAL_BRICK_LENGTH_MM,
        )
    if kind == "known":
        width, height = (_mm(data.get(name)) for name in ("width_mm", "height_mm"))
        return measuring.known_size(width, height, _mm(data.get("tolerance_mm")))
    raise CannotMeasure("Say what the four corners are the corners of.")


def marks_from(data: dict, width_px: int, height_px: int) -> Marks:
    """Marks in pixels of the displayed original, from fractions of it."""
    corners = data.get("corners")
    if not isinstance(corners, list) or len(corners) != 4:
        raise CannotMeasure("Mark all four corners first.")
    points = [*corners, data.get("start"), data.get("end")]
    if any(not _is_point(point) for point in points):
        raise CannotMeasure("Mark both ends of what you want to measure.")
    placed = [(point[0] * width_px, point[1] * height_px) for point in points]
    longest = max(width_px, height_px)
    error = data.get("mark_error")
    share = error if _is_number(error) and error > 0 else 0
    # Marks are placed on the 1600 px size: nobody places them better than to one of its pixels.
    error_px = max(share * longest, longest / LARGE_PX, 1.0)
    direction = data.get("direction", "straight")
    return Marks(tuple(placed[:4]), placed[4], placed[5], error_px, str(direction))


def _is_number(value) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)


def _is_point(value) -> bool:
    return isinstance(value, list) and len(value) == 2 and all(map(_is_number, value))


def _whole(value, least: int, most: int, name: str) -> int:
    if not _is_number(value) or value != int(value) or not least <= value <= most:
        raise CannotMeasure(f"Give the number of {name}, from {least} to {most}.")
    return int(value)


def _mm(value) -> Decimal:
    try:
        number = Decimal(str(value))
    except InvalidOperation as error:
        raise CannotMeasure("Give the reference's width, height and tolerance in mm.") from error
    if not number.is_finite() or not 0 <= number <= MOST_MM:
        raise CannotMeasure("Give the reference's width, height and tolerance in mm.")
    return number
