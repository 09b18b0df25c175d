"""The outline of a house from its wall runs: where the corners lie, and whether it closes.

Standing outside and facing a wall, distance grows from left to right, and the next wall follows
round the corner on the right. So the house is on the left-hand side of the walk; seen from above
it goes anticlockwise. A turn of +90 degrees is an outside corner, -90 an inside corner.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from readiness.rules.band.geometry import WallRun

CLOSES_WITHIN_MM = 100
"""Tape readings round a whole house rarely agree better than this (common practice, no source)."""


class Gap(StrEnum):
    """Why an outline does not close."""

    TOO_FEW_WALLS = "too_few_walls"
    CORNERS = "corners"
    DISTANCE = "distance"


@dataclass(frozen=True)
class Point:
    """A corner on the plan in mm: x to the right, y downwards, as screens and SVG have it."""

    x_mm: float
    y_mm: float

    def towards(self, other: Point, share: float) -> Point:
        """The point at that share (0 to 1) of the way to `other`."""
        return Point(
            self.x_mm + (other.x_mm - self.x_mm) * share,
            self.y_mm + (other.y_mm - self.y_mm) * share,
        )


@dataclass(frozen=True)
class Outline:
    """The plan of a house: `corners[k]` is where run k starts; the last one is where it ends.

    `gap_mm` is the distance from the end of the last run to the start of the first, which are
    called `last` and `first`; `open` is why it does not close. One of the walls `longer` would
    close it by being longer by the gap, one of `shorter` by being shorter.
    """

    corners: tuple[Point, ...]
    headings_degrees: tuple[int, ...]
    gap_mm: int
    turned_degrees: int
    open: Gap | None = None
    first: str = ""
    last: str = ""
    longer: tuple[str, ...] = ()
    shorter: tuple[str, ...] = ()

    @property
    def closes(self) -> bool:
        return self.open is None

    def at(self, run_index: int, distance_mm: float, length_mm: int) -> Point:
        """The place on the plan that lies `distance_mm` along a run."""
        start, end = self.corners[run_index], self.corners[run_index + 1]
        return start.towards(end, min(max(distance_mm / length_mm, 0), 1))


def outline(runs: Sequence[WallRun]) -> Outline:
    """Walk the runs in order; the first one goes to the right along the bottom of the plan."""
    heading, corners, headings = 0, [Point(0.0, 0.0)], []
    for run in runs:
        angle = math.radians(heading)
        last = corners[-1]
        corners.append(
            Point(
                last.x_mm + run.length_mm * math.cos(angle),
                last.y_mm - run.length_mm * math.sin(angle),
            )
        )
        headings.append(heading)
        heading += run.turn_degrees
    end = corners[-1]
    gap_mm = round(math.hypot(end.x_mm, end.y_mm))
    why = _why_open(runs, gap_mm, heading)
    found = Outline(tuple(corners), tuple(headings), gap_mm, heading, why)
    if why is not Gap.DISTANCE:
        return found
    longer, shorter = _would_close(runs, end)
    return replace(
        found, first=runs[0].label, last=runs[-1].label, longer=longer, shorter=shorter
    )  # fmt: skip


def walls_meeting(run_id: str, runs: Sequence[WallRun]) -> tuple[WallRun | None, WallRun | None]:
    """The walls that a run meets at its left and at its right end, None where it meets none.

    Runs follow each other anticlockwise, so that the next one starts at this one's right end. The
    last meets the first where the plan closes. A run that is none of them meets nothing.
    """
    at = next((place for place, run in enumerate(runs) if run.id == run_id), None)
    if at is None:
        return None, None
    closes = outline(runs).closes
    before = runs[at - 1] if at > 0 or closes else None
    after = runs[(at + 1) % len(runs)] if at + 1 < len(runs) or closes else None
    return before, after


def _why_open(runs: Sequence[WallRun], gap_mm: int, turned_degrees: int) -> Gap | None:
    if len(runs) < 3:
        return Gap.TOO_FEW_WALLS
    if turned_degrees != 360:
        return Gap.CORNERS
    return Gap.DISTANCE if gap_mm > CLOSES_WITHIN_MM else None


def _would_close(runs: Sequence[WallRun], end: Point) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """The named walls that alone would close the plan if they were longer, and if shorter."""
    longer, shorter, heading = [], [], 0
    for run in runs:
        angle = math.radians(heading)
        along = end.x_mm * math.cos(angle) - end.y_mm * math.sin(angle)
        across = end.x_mm * math.sin(angle) + end.y_mm * math.cos(angle)
        heading += run.turn_degrees
        if abs(across) > CLOSES_WITHIN_MM or not run.label:
            continue
        if along < 0:
            longer.append(run.label)
        elif run.length_mm > along:
            shorter.append(run.label)
    return tuple(longer), tuple(shorter)


COMPASS = ("North", "North-east", "East", "South-east", "South", "South-west", "West", "North-west")


def wall_names(headings_degrees: Sequence[int], first_faces: str = "") -> list[str]:
    """A name for each wall: "North wall" when it is known which way the first one faces.

    `first_faces` is one of COMPASS, or "" for "Wall A", "Wall B" and so on. Names never repeat.
    """
    if first_faces not in COMPASS:
        return [f"Wall {wall_letter(n + 1)}" for n in range(len(headings_degrees))]
    names: list[str] = []
    for heading in headings_degrees:
        eighths = round(-heading / 45) + COMPASS.index(first_faces)
        base = f"{COMPASS[eighths % 8]} wall"
        again = sum(name == base or name.startswith(f"{base} ") for name in names)
        names.append(f"{base} {again + 1}" if again else base)
    return names


def wall_letter(number: int) -> str:
    """The letter of a wall by its place round the house: 1 is "A", 26 is "Z", 27 is "AA"."""
    letters = ""
    while number > 0:
        number, rest = divmod(number - 1, 26)
        letters = chr(65 + rest) + letters
    return letters
