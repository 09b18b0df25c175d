"""Pictures of brickwork drawn from numbers: its gauge, how even it is, which joints are open."""

from dataclasses import dataclass, field

import cv2
import numpy as np

from .walls import Camera, hits

PX_A_MM = 1.0


@dataclass
class Wall:
    """Brickwork in stretcher bond, all in mm from its top left corner, y down.

    ``wander_mm`` is the standard deviation of each bed joint, and again of each brick in it.
    ``open_beds`` are (joint, from_mm, to_mm), ``open_perpends`` (course, x_mm), both from the top.
    """

    course_mm: float = 86.0
    brick_mm: float = 240.0
    joint_mm: float = 10.0
    courses: int = 26
    length_mm: float = 2600.0
    wander_mm: float = 1.5
    brick: int = 110
    mortar: int = 185
    seed: int = 1
    open_beds: list[tuple[int, float, float]] = field(default_factory=list)
    open_perpends: list[tuple[int, float]] = field(default_factory=list)

    def __post_init__(self):
        random = np.random.default_rng(self.seed)
        self.beds = np.arange(self.courses + 1) * self.course_mm
        self.beds = self.beds + random.normal(0, self.wander_mm, len(self.beds))

    def perpends(self, course: int) -> np.ndarray:
        """Where the middles of the upright joints of a course are."""
        begin = self.brick_mm / 2 if course % 2 else 0.0
        return np.arange(begin, self.length_mm, self.brick_mm)

    def drawn(self) -> np.ndarray:
        """The wall seen square, grey, ``PX_A_MM`` pixels a mm."""
        random = np.random.default_rng(self.seed + 1)
        shape = (int(self.courses * self.course_mm * PX_A_MM), int(self.length_mm * PX_A_MM))
        grey = np.full(shape, float(self.mortar))
        half = self.joint_mm / 2
        for course in range(self.courses):
            for left in self.perpends(course) - self.brick_mm * (course % 2 == 0):
                off = random.normal(0, self.wander_mm / 2, 4)
                right, top, bottom = left + self.brick_mm, *self.beds[course : course + 2]
                box = np.array([left + half, top + half, right - half, bottom - half]) + off
                x0, y0, x1, y1 = (max(0, round(side * PX_A_MM)) for side in box)
                grey[y0:y1, x0:x1] = self.brick + random.normal(0, 12)
        for joint, start, end in self.open_beds:
            self._fill(grey, start, end, self.beds[joint] - half, self.beds[joint] + half)
        for course, x in self.open_perpends:
            self._fill(grey, x - half, x + half, self.beds[course], self.beds[course + 1])
        rough = random.normal(0, 5, (shape[0] // 4, shape[1] // 4))
        grey += cv2.resize(rough, shape[::-1]) + random.integers(-8, 9, shape, dtype=np.int8)
        return np.clip(grey, 0, 255).astype(np.uint8)

    @staticmethod
    def _fill(grey, left, right, top, bottom):
        x0, x1, y0, y1 = (max(0, round(side * PX_A_MM)) for side in (left, right, top, bottom))
        grey[y0:y1, x0:x1] = 22

    def seen(self, camera: Camera, size_px: tuple[int, int]) -> np.ndarray:
        """The picture that a camera takes of the wall, grey; x of the camera is x of the wall."""
        where = (hits(camera, size_px) * PX_A_MM - 0.5).astype(np.float32)
        x, y = where[..., 0], where[..., 1]
        picture = cv2.remap(self.drawn(), x, y, cv2.INTER_AREA, borderValue=150)
        picture = cv2.GaussianBlur(picture, (0, 0), 0.7)
        ok, stored = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, 80])
        assert ok
        return cv2.imdecode(stored, cv2.IMREAD_GRAYSCALE)


def camera_at(random, wall: Wall, size_px, *, distance_mm=(1500, 2600)) -> Camera:
    """Before the middle of the wall, up to 20 degrees off square."""
    turn = np.eye(3)
    for axis, most in ((0, 15), (1, 20), (2, 3)):
        step = np.zeros(3)
        step[axis] = np.radians(random.uniform(-most, most))
        turn = cv2.Rodrigues(step)[0] @ turn
    middle = np.array([wall.length_mm / 2, wall.courses * wall.course_mm / 2, 0])
    place = np.array([0, 0, random.uniform(*distance_mm)]) - turn @ middle
    return Camera(turn, place, focal_px=0.75 * max(size_px), size_px=size_px)
