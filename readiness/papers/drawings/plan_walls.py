"""Where the walls of a plan lie on the drawing, and what touches what there."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from readiness.papers.drawings import svg
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.perimeter import Outline
from readiness.rules.words import metres
from readiness.wording import drawings as say

Box = tuple[float, float, float, float]
"""Left, top, right and bottom of something on a drawing."""

NO_DIRECTION = (0.0, 1.0)


@dataclass(frozen=True)
class Wall:
    """One run on the drawing: its ends, the way out of the house, and the key it goes by.

    `turns` are the corners at its start and end in degrees: 90 outside, -90 inside.
    """

    run: WallRun
    key: str
    start: svg.Point
    end: svg.Point
    outwards: svg.Point = NO_DIRECTION
    turns: tuple[int, int] = (90, 90)

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    @property
    def name(self) -> str:
        return self.run.label or say.unnamed_wall(self.key)

    @property
    def words(self) -> str:
        return f"{self.name}, {metres(self.run.length_mm)}"

    def at(self, share: float, out: float = 0) -> svg.Point:
        """A place along the wall (share 0 to 1), moved outwards by so much."""
        return (
            self.start[0] + (self.end[0] - self.start[0]) * share + self.outwards[0] * out,
            self.start[1] + (self.end[1] - self.start[1]) * share + self.outwards[1] * out,
        )


def placed(
    runs: Sequence[WallRun],
    keys: Sequence[str],
    shape: Outline,
    width: float,
    most_height: float,
    margins: tuple[float, float],
) -> tuple[list[Wall], float]:
    """The walls scaled into a drawing of that width, and how high the drawing becomes.

    `margins` is the room left free at the sides, and above and below.
    """
    side, above = margins
    xs = [corner.x_mm for corner in shape.corners]
    ys = [corner.y_mm for corner in shape.corners]
    across, down = max(max(xs) - min(xs), 1), max(max(ys) - min(ys), 1)
    scale = min((width - 2 * side) / across, most_height / down)
    left = (width - across * scale) / 2
    points = [
        (left + (x - min(xs)) * scale, above + (y - min(ys)) * scale)
        for x, y in zip(xs, ys, strict=True)
    ]
    walls = []
    for n, (run, key) in enumerate(zip(runs, keys, strict=True)):
        angle = math.radians(shape.headings_degrees[n])
        outwards = (math.sin(angle), math.cos(angle))
        turns = (runs[n - 1].turn_degrees, run.turn_degrees)
        walls.append(Wall(run, key, points[n], points[n + 1], outwards, turns))
    return walls, down * scale + 2 * above


def overlap(one: Box, other: Box) -> bool:
    """Whether two boxes have any room in common."""
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def crosses(box: Box, start: svg.Point, end: svg.Point, thick: float = 0) -> bool:
    """Whether a straight line, `thick` to each side, runs through a box.

    The part of the line within each pair of parallel sides is cut out in turn (the Liang-Barsky
    way of clipping a line); what is left of it, if anything, lies in the box.
    """
    first, last = 0.0, 1.0
    for axis in (0, 1):
        low, high = box[axis] - thick, box[axis + 2] + thick
        step = end[axis] - start[axis]
        if abs(step) < 1e-9:
            if not low < start[axis] < high:
                return False
            continue
        near, far = sorted(((low - start[axis]) / step, (high - start[axis]) / step))
        first, last = max(first, near), min(last, far)
    return first < last


def is_free(
    box: Box, taken: Iterable[Box], lines: Iterable[tuple[svg.Point, svg.Point]], thick: float
) -> bool:
    """Whether a box keeps clear of other boxes and of lines of some thickness."""
    return not any(overlap(box, other) for other in taken) and not any(
        crosses(box, *line, thick) for line in lines
    )
