"""A photo of a drawn wall as a phone sends it, and the marks that a screen sends for it."""

import io
from functools import cache

import numpy as np
from PIL import Image

from readiness.photos.marks_sent import VERSION

from .brickwork import Wall
from .simulated_walls import SHOWN_PX, SIZE_PX
from .walls import Camera

COURSES, TAPE_MM = 12, 1000
WALL = Wall(course_mm=86.0, wander_mm=0.5, open_perpends=[(13, 1200.0)])
CAMERA = Camera(np.eye(3), np.array([-1300.0, -1118.0, 2000.0]), 1200.0, SIZE_PX)
"""Square before the middle of the wall: 0.6 pixels a mm."""


@cache
def photo_bytes() -> bytes:
    out = io.BytesIO()
    Image.fromarray(WALL.seen(CAMERA, SIZE_PX)).save(out, "JPEG", quality=92)
    return out.getvalue()


def places(*, courses: int = COURSES) -> list[list[float]]:
    """Four corners, so many courses high from joint 7 on, and the ends of a metre of tape."""
    top, bottom = WALL.beds[7], WALL.beds[7 + courses]
    on_wall = [[800, top], [1800, top], [1800, bottom], [800, bottom], [1000, 620], [1000, 1620]]
    return (CAMERA.project(np.array(on_wall)) / SIZE_PX).tolist()


def gauge_marks(*, zoom: float = 8.0, courses: int = COURSES, known_mm=TAPE_MM) -> dict:
    """What the page sends to measure the gauge by a metre of tape."""
    points = places()
    return {
        "version": VERSION,
        "wanted": "gauge",
        "corners": points[:4],
        "start": points[4],
        "end": points[5],
        "set": [{"shown_px": SHOWN_PX, "zoom": zoom, "loupe": False}] * 6,
        "reference": {"kind": "courses", "courses": courses},
        "known": {"length_mm": known_mm, "tolerance_mm": 1},
    }


def length_marks(direction: str = "upright") -> dict:
    """What the page sends to measure the metre by 12 courses."""
    marks = gauge_marks() | {"wanted": "distance", "direction": direction}
    return {name: value for name, value in marks.items() if name != "known"}
