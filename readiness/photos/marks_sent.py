"""Marks as a screen sends them and as they are kept: plain JSON, in versions.

Version 2: ``corners`` (four), ``start`` and ``end`` as shares of the displayed picture, and
``set``, how each of the six was set: ``shown_px`` (the picture's longer side on the screen in CSS
pixels), ``zoom`` and ``loupe`` (whether the loupe was held). Version 1 has no ``version``: its
``mark_error`` is what its screen took for the error of all six, a share of the longer side. It
counted the loupe whether or not it was held, so nothing new is measured with it; what was measured
keeps its reading.
"""

from collections.abc import Callable
from decimal import Decimal, InvalidOperation
from math import isfinite
from typing import Any

from readiness.photos import measuring
from readiness.photos.limits import LARGE_PX
from readiness.photos.measuring import CannotMeasure, Marks
from readiness.wording.refusals import measuring as refusals

VERSION = 2
FIELDS = (
    "version", "wanted", "corners", "start", "end", "direction", "set", "reference", "known",
)  # fmt: skip
MARKS, MOST_ZOOM = 6, 12  # as `photo-view.js` zooms
MOST_MM = 20_000


def require_current(data: dict) -> None:
    """Refuse to measure anew with marks of an earlier page."""
    if data.get("version") != VERSION:
        raise CannotMeasure(refusals.marks_of_an_earlier_page())


def marks_from(data: dict, width_px: int, height_px: int) -> Marks:
    """Marks of any version in pixels of the displayed original. Raises ``CannotMeasure``."""
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
    # Marks are placed on the 1600 px size: nobody places them better than to one of its pixels.
    errors_px = tuple(max(share * longest, longest / LARGE_PX, 1.0) for share in _errors(data))
    direction = data.get("direction", "straight" if "version" not in data else "")
    return Marks((one, two, three, four), start, end, errors_px, str(direction))


def _errors(data: dict) -> list[float]:
    """The error of each mark as a share of the picture's longer side."""
    if "version" not in data:
        error = data.get("mark_error")
        return [error if is_number(error) and error > 0 else 0] * MARKS
    how = data.get("set")
    if not isinstance(how, list) or len(how) != MARKS or not all(map(_is_how, how)):
        raise CannotMeasure(refusals.marks_of_an_earlier_page())
    return [
        measuring.TAP_ERROR_PX
        / (each["shown_px"] * each["zoom"] * (measuring.LOUPE_ZOOM if each["loupe"] else 1))
        for each in how
    ]


def _is_how(how: Any) -> bool:
    if not isinstance(how, dict) or not isinstance(how.get("loupe"), bool):
        return False
    limits = (("shown_px", 50, 20_000), ("zoom", 1, MOST_ZOOM))
    return all(is_number(how.get(name)) and low <= how[name] <= high for name, low, high in limits)


def is_number(value: Any) -> bool:
    return isinstance(value, int | float) and not isinstance(value, bool) and isfinite(value)


def _is_point(value: Any) -> bool:
    return isinstance(value, list) and len(value) == 2 and all(map(is_number, value))


def whole(value: Any, least: int, most: int, words: Callable[[int, int], str]) -> int:
    """A whole number from ``least`` to ``most``; else ``words`` say what to enter."""
    if not is_number(value) or value != int(value) or not least <= value <= most:
        raise CannotMeasure(words(least, most))
    return int(value)


def millimetres(value: Any, words: Callable[[], str] = refusals.reference_without_size) -> Decimal:
    """A length in mm as typed; else ``words`` say what to enter."""
    try:
        number = Decimal(str(value))
    except InvalidOperation as error:
        raise CannotMeasure(words()) from error
    if not number.is_finite() or not 0 <= number <= MOST_MM:
        raise CannotMeasure(words())
    return number
