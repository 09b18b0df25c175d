"""Simulated photos of brickwork that is not quite even, marked by a hand that is not quite steady.

Each has its own truth: how far the joints wander, how steady the hand is, how much the lens bends
and how the marks were set. The program is told the last alone, as the page tells it.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from decimal import Decimal
from itertools import pairwise

import numpy as np

from readiness.photos import marks_sent, measuring
from readiness.photos.measuring import CannotMeasure

from .walls import random_camera

SIZE_PX = (4000, 3000)
SHOWN_PX = 358  # the longer side of a photo on a phone of 390 pixels
WANDER_MM, HAND_PX, LENS = (0.0, 10.0), (0.5, 3.0), (0.0, 0.06)
HOW = {"tapped": (1.0, False), "with the loupe": (1.0, True), "zoomed in": (4.0, False)}


@dataclass(frozen=True)
class Tried:
    """One simulated measurement: what was true of it, and what was stated (None: refused)."""

    wander_mm: float
    hand_px: float
    lens: float
    how: str
    truth_mm: float
    value_mm: int | None = None
    uncertainty_mm: int | None = None

    @property
    def holds(self) -> bool:
        return abs(self.value_mm - self.truth_mm) <= self.uncertainty_mm


def tried(count: int, seed: int) -> list[Tried]:
    """So many measurements, drawn evenly over the whole of WANDER_MM, HAND_PX, LENS and HOW."""
    random = np.random.default_rng(seed)
    return [one(random) for _ in range(count)]


def one(random) -> Tried:
    wander, hand, lens = (random.uniform(*of) for of in (WANDER_MM, HAND_PX, LENS))
    how = random.choice(list(HOW))
    zoom, loupe = HOW[how]
    bricks, courses = (int(random.integers(*of)) for of in ((2, 4), (4, 7)))
    reference = measuring.bricks_and_courses(
        bricks, courses, gauge_mm=Decimal(86), gauge_is_measured=True
    )
    tolerance = [float(reference.width_tolerance_mm), float(reference.height_tolerance_mm)]
    real = np.array([bricks * 240, courses * 86]) + random.uniform(-1, 1, 2) * tolerance
    even = np.array([[0, 0], [1, 0], [1, 1], [0, 1]]) * real
    corners = even + random.uniform(-wander, wander, (4, 2))
    error_px = hand * SIZE_PX[0] / (SHOWN_PX * zoom * (measuring.LOUPE_ZOOM if loupe else 1))
    seen = None
    while seen is None or (seen < 0).any() or (seen > SIZE_PX).any():
        camera = random_camera(random, SIZE_PX)
        camera.distortion = lens * random.choice([-1, 1])
        ends, truth = _distance(random, real)
        seen = camera.project(np.concatenate([corners, ends])) + random.normal(0, error_px, (6, 2))
    told = Tried(wander, hand, lens, str(how), truth)
    data = marks_data(seen / SIZE_PX, zoom=zoom, loupe=loupe)
    try:
        found = measuring.measure(marks_sent.marks_from(data, *SIZE_PX), reference, SIZE_PX)
    except CannotMeasure:
        return told
    return Tried(wander, hand, lens, str(how), truth, found.value_mm, found.uncertainty_mm)


def _distance(random, around):
    """Two ends near the reference, in mm on the wall, and how far they are apart."""
    start = random.uniform([-150, -150], around + 150)
    angle, length = random.uniform(0, 2 * np.pi), random.uniform(40, 400)
    return np.array([start, start + length * np.array([np.cos(angle), np.sin(angle)])]), length


def marks_data(places, *, zoom: float = 1.0, loupe: bool = False, direction="straight") -> dict:
    """What the page sends for six marks, as shares of the picture, all set in one way."""
    points = [list(map(float, place)) for place in places]
    how = {"shown_px": SHOWN_PX, "zoom": zoom, "loupe": loupe}
    return {
        "version": marks_sent.VERSION,
        "wanted": "distance",
        "corners": points[:4],
        "start": points[4],
        "end": points[5],
        "direction": direction,
        "set": [how] * 6,
    }


def share(found) -> float:
    """How many of these hold, of those that were stated at all."""
    stated = [each for each in found if each.value_mm is not None]
    return sum(each.holds for each in stated) / max(1, len(stated))


def cells(found: list[Tried], parts: int = 4) -> Iterator[tuple[str, list[Tried]]]:
    """Those measurements by how they were set, and by even parts of each range."""
    for how in HOW:
        yield how, [each for each in found if each.how == how]
    for name, (low, high) in (("wander_mm", WANDER_MM), ("hand_px", HAND_PX), ("lens", LENS)):
        edges = np.linspace(low, high, parts + 1)
        for left, right in pairwise(edges):
            words = f"{name} {left:.3g} to {right:.3g}"
            yield words, [each for each in found if left <= getattr(each, name) < right]
