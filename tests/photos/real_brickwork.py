"""The real photo of brickwork in scikit-image's wheel (its licence: CC0), its courses turned level.

A wall seen at an angle, 512 by 512 pixels. Where its bed joints are was marked by eye, on the pixel
rows where each is brightest: the number of a joint from one that runs level through the picture.
"""

import importlib.util
from decimal import Decimal
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from readiness.photos import by_courses, coursing, joints
from readiness.photos.marks_sent import marks_from
from readiness.photos.measuring import (
    LOUPE_ZOOM,
    CannotMeasure,
    Marks,
    Measured,
    bricks_and_courses,
    measure,
)

from .simulated import SHOWN_PX, marks_data

SIZE_PX = (512, 512)
FIRST = {10: -9, 50: -9, 100: -9, 200: -8, 300: -8, 400: -7, 490: -7}
"""The number of the uppermost joint in each of the columns."""
ROWS = {
    10: (27, 56, 85, 115, 144, 172, 201, 231, 262, 292, 321, 352, 382, 412, 442, 471, 502),
    50: (18, 49, 80, 109, 139, 168, 198, 228, 261, 292, 322, 354, 385, 416, 447, 477, 508),
    100: (8, 40, 71, 102, 134, 163, 195, 225, 260, 292, 324, 356, 389, 422, 453, 485),
    200: (21, 55, 88, 121, 153, 188, 221, 258, 292, 327, 360, 396, 431, 466, 500),
    300: (2, 38, 73, 109, 145, 181, 218, 255, 291, 329, 366, 404, 442, 479),
    400: (23, 59, 98, 135, 174, 213, 254, 292, 331, 371, 411, 451, 491),
    490: (5, 46, 88, 127, 168, 209, 250, 292, 334, 375, 417, 461, 502),
}
JOINTS = {x: dict(enumerate(rows, FIRST[x])) for x, rows in ROWS.items()}


def corner(x: int, joint: int) -> tuple[float, float]:
    return float(x), float(JOINTS[x][joint])


def patch(left: int, right: int, upper: int, lower: int):
    """Four corners on those joints, and how many courses lie between."""
    marked = [corner(left, upper), corner(right, upper), corner(right, lower), corner(left, lower)]
    return marked, lower - upper


PATCHES = {
    "all of it": patch(10, 490, -7, 5),
    "upper part": patch(50, 490, -7, 0),
    "lower part": patch(10, 400, -1, 5),
    "left part": patch(10, 200, -8, 6),
}


@cache
def picture() -> np.ndarray:
    """Its grey values. The wheel has the file; nothing of its program is loaded."""
    package = importlib.util.find_spec("skimage")
    if package is None:
        pytest.skip("scikit-image is not installed (the test extra has it).")
    path = Path(package.submodule_search_locations[0]) / "data" / "brick.png"
    with Image.open(path) as image:
        return np.asarray(image.convert("L").transpose(Image.Transpose.ROTATE_90), float)


def tried(count: int, seed: int) -> list[tuple[float, float, int]]:
    """Heights measured against four corners of this brickwork: (true, stated, give or take) in mm.

    A course is called 86 mm. Corners and ends are on joints as they are, so each is as far out of
    line as this wall is, and a hand of 0.5 to 3 px set them, by a quick tap or with the loupe.
    """
    random, found = np.random.default_rng(seed), []
    while len(found) < count:
        left, right = sorted(random.choice(list(JOINTS), 2, replace=False))
        upper = int(random.integers(-6, 2))
        lower = upper + int(random.integers(2, 7))
        x = random.choice(list(JOINTS))
        first, second = sorted(random.choice(np.arange(-6, 5), 2, replace=False))
        if lower > min(max(JOINTS[left]), max(JOINTS[right])):
            continue
        marked, courses = patch(left, right, upper, lower)
        ends = [corner(x, int(first)), corner(x, int(second))]
        stated = _measured(random, np.array([*marked, *ends]), courses)
        if stated is not None:
            found.append((86.0 * (second - first), stated.value_mm, stated.uncertainty_mm))
    return found


def _measured(random, places: np.ndarray, courses: int) -> Measured | None:
    loupe = bool(random.integers(2))
    hand_px = random.uniform(0.5, 3) * SIZE_PX[0] / (SHOWN_PX * (LOUPE_ZOOM if loupe else 1))
    shares = (places + random.normal(0, hand_px, places.shape)) / SIZE_PX
    data = marks_data(np.clip(shares, 0, 1), loupe=loupe, direction="upright")
    reference = bricks_and_courses(1, courses, gauge_mm=Decimal(86), gauge_is_measured=True)
    try:
        return measure(marks_from(data, *SIZE_PX), reference, SIZE_PX)
    except CannotMeasure:
        return None


def gauges(count: int, seed: int) -> list[tuple[float, float]]:
    """Gauges by the joints found in it and a known length that ends on two joints: how far each is
    off 86 mm and what it may be off, in mm a course.
    """
    random, found = np.random.default_rng(seed), []
    for _ in range(count):
        marked, courses = list(PATCHES.values())[random.integers(len(PATCHES))]
        x = random.choice(list(JOINTS))
        first = int(random.integers(-6, -2))
        second = int(random.integers(2, 5))
        ends = [corner(x, first), corner(x, second)]
        places = np.array([*marked, *ends]) + random.normal(0, 0.5, (6, 2))
        places = np.clip(places, 0, SIZE_PX[0])
        looked = joints.find(picture(), places[:4], courses)
        seen = by_courses.Joints(
            looked.places, looked.joints, looked.strips, looked.counted, looked.fits
        )
        marks = Marks(tuple(map(tuple, places[:4])), tuple(places[4]), tuple(places[5]), 1.0)
        sight = by_courses.sight_of(marks, SIZE_PX, courses, coursing.focal_of(None), seen)
        got = by_courses.gauge(sight, by_courses.Scale(Decimal(86 * (second - first)), Decimal(1)))
        found.append((abs(got.course_mm - 86), got.height.uncertainty_mm / courses))
    return found
