"""Photos of whole walls drawn from numbers, with a tape of known length in them, and marked."""

from dataclasses import dataclass
from decimal import Decimal

import numpy as np

from readiness.photos import by_courses, coursing, joints
from readiness.photos.measuring import TAP_ERROR_PX, CannotMeasure, Marks

from .brickwork import Wall, camera_at

SIZE_PX, SHOWN_PX, ZOOM = (1600, 1200), 358, 6.0
LENS = 0.03


@dataclass(frozen=True)
class Marked:
    """A photo of a wall with its six marks: what the program is told, and what is true."""

    wall: Wall
    picture: np.ndarray
    marks: Marks
    courses: int
    length_mm: float
    focal_35_mm: float | None

    @property
    def found(self) -> joints.Found:
        corners = np.array(self.marks.corners)
        return joints.find(self.picture.astype(float), corners, self.courses)

    def sight(self) -> by_courses.Sight:
        found = self.found
        seen = by_courses.Joints(
            found.places, found.joints, found.strips, found.counted, found.fits
        )
        focal = coursing.focal_of(self.focal_35_mm)
        return by_courses.sight_of(self.marks, SIZE_PX, self.courses, focal, seen)

    def gauge(self) -> by_courses.Gauge:
        known = by_courses.Scale(Decimal(self.length_mm), Decimal(1))
        return by_courses.gauge(self.sight(), known)


def marked(random, *, upright: bool = True, courses: tuple[int, int] = (10, 19)) -> Marked:
    """A wall out of line by up to 3 mm (standard deviation of its joints), and a tape on it, a
    metre long; marked by a hand of 0.5 to 3 px, zoomed in.
    """
    wall = Wall(
        course_mm=random.uniform(82, 91),
        brick_mm=random.uniform(235, 245),
        wander_mm=random.uniform(0, 3),
        brick=int(random.integers(70, 140)),
        seed=int(random.integers(1_000_000)),
    )
    count = int(random.integers(*courses))
    first = (wall.courses - count) // 2
    half = random.uniform(450, 600)
    left, right = wall.length_mm / 2 - half, wall.length_mm / 2 + half
    top, bottom = wall.beds[first], wall.beds[first + count]
    corners = np.array([[left, top], [right, top], [right, bottom], [left, bottom]])
    length = random.uniform(700, 1000)
    if upright:
        begin = np.array([random.uniform(left, right), (top + bottom - length) / 2])
        step = np.array([random.uniform(-0.03, 0.03), 1.0])
    else:
        begin = np.array([wall.length_mm / 2 - length / 2, random.uniform(top, bottom)])
        step = np.array([1.0, random.uniform(-0.01, 0.01)])
    ends = np.array([begin, begin + length * step / np.hypot(*step)])
    hand_px = random.uniform(0.5, 3.0) * SIZE_PX[0] / (SHOWN_PX * ZOOM)
    told_px = max(TAP_ERROR_PX * SIZE_PX[0] / (SHOWN_PX * ZOOM), 1.0)
    seen = None
    while seen is None or (seen < 0).any() or (seen > SIZE_PX).any():
        camera = camera_at(random, wall, SIZE_PX)
        camera.distortion = random.uniform(-LENS, LENS)
        seen = camera.project(np.concatenate([corners, ends])) + random.normal(0, hand_px, (6, 2))
    marks = Marks(tuple(map(tuple, seen[:4])), tuple(seen[4]), tuple(seen[5]), told_px)
    says_focal = random.random() < 0.5
    focal = coursing.FILM_DIAGONAL_MM * camera.focal_px / np.hypot(*SIZE_PX)
    picture = wall.seen(camera, SIZE_PX)
    return Marked(wall, picture, marks, count, length, float(focal) if says_focal else None)


@dataclass(frozen=True)
class Got:
    """What was stated of a marked photo: the gauge and how far off it may be, in mm a course."""

    true_mm: float
    stated_mm: float | None = None
    give_or_take_mm: float = 0.0
    by_joints: bool = False

    @property
    def holds(self) -> bool:
        return abs(self.true_mm - self.stated_mm) <= self.give_or_take_mm


def got(count: int, seed: int, **of) -> list[Got]:
    """What was stated of so many photos."""
    random = np.random.default_rng(seed)
    found = []
    for photo in (marked(random, **of) for _ in range(count)):
        try:
            gauge = photo.gauge()
        except CannotMeasure:
            found.append(Got(photo.wall.course_mm))
            continue
        off = gauge.height.uncertainty_mm / gauge.courses
        found.append(Got(photo.wall.course_mm, gauge.course_mm, off, gauge.by_joints))
    return found
