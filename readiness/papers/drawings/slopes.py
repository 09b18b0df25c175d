"""Ground, line and bottom as straight strokes on a drawing, and the areas between them.

Places are those of the drawing: y counts down, so what is higher on the wall has the smaller y.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import NamedTuple

from readiness.papers.drawings.frame import Frame
from readiness.papers.drawings.svg import Point
from readiness.rules.band.line import LineSegment
from readiness.rules.band.profile import Piece


class Slope(NamedTuple):
    """A straight stroke from left to right."""

    x1: float
    y1: float
    x2: float
    y2: float

    def y_at(self, x: float) -> float:
        """Its height at a place within it."""
        if self.y1 == self.y2:
            return self.y1
        return self.y1 + (self.y2 - self.y1) * (x - self.x1) / (self.x2 - self.x1)

    def part(self, x1: float, x2: float) -> Slope:
        """The stroke between two places within it."""
        return Slope(x1, self.y_at(x1), x2, self.y_at(x2))

    def raised(self, by: float) -> Slope:
        return Slope(self.x1, self.y1 - by, self.x2, self.y2 - by)


def of_ground(pieces: Iterable[Piece], frame: Frame) -> list[Slope]:
    return [
        Slope(
            frame.x(p.from_mm), frame.y(p.from_level_mm), frame.x(p.to_mm), frame.y(p.to_level_mm)
        )
        for p in pieces
    ]


def of_band(segments: Iterable[LineSegment], frame: Frame) -> list[Slope]:
    """The line or the bottom of a band."""
    return [
        Slope(frame.x(s.from_mm), frame.y(s.level_mm), frame.x(s.to_mm), frame.y(s.to_level_mm))
        for s in segments
    ]


def outside(slopes: Iterable[Slope], gaps: Sequence[tuple[float, float]]) -> list[Slope]:
    """What is left of strokes outside some stretches, which are in order."""
    if not gaps:
        return list(slopes)
    found = []
    for slope in slopes:
        edges = [slope.x1]
        for left, right in gaps:
            if left < slope.x2 and right > slope.x1:
                edges += [max(left, slope.x1), min(right, slope.x2)]
        edges.append(slope.x2)
        found += [
            slope.part(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if a < b
        ]  # fmt: skip
    return found


def together(ones: Sequence[Slope], others: Sequence[Slope]) -> Iterator[tuple[Slope, Slope]]:
    """The parts of two lines over each other: both are in order, and either may have gaps."""
    first = second = 0
    while first < len(ones) and second < len(others):
        one, other = ones[first], others[second]
        start, end = max(one.x1, other.x1), min(one.x2, other.x2)
        if start < end:
            yield one.part(start, end), other.part(start, end)
        if one.x2 <= other.x2:
            first += 1
        else:
            second += 1


def between(upper: Slope, lower: Slope) -> list[Point]:
    """The corners of the area between two strokes over each other."""
    return [
        (upper.x1, upper.y1), (upper.x2, upper.y2), (lower.x2, lower.y2), (lower.x1, lower.y1)
    ]  # fmt: skip


def over(upper: Slope, lower: Slope) -> list[Point] | None:
    """The area where the first of two strokes is over the second; None where it is not."""
    left, right = lower.y1 - upper.y1, lower.y2 - upper.y2
    if left <= 0 and right <= 0:
        return None
    if left >= 0 and right >= 0:
        return between(upper, lower)
    meet = upper.x1 + (upper.x2 - upper.x1) * left / (left - right)
    start, end = (upper.x1, meet) if left > 0 else (meet, upper.x2)
    return between(upper.part(start, end), lower.part(start, end))


def strokes(slopes: Sequence[Slope]) -> list[list[Point]]:
    """Strokes that follow each other, as lines with their steps; a gap begins a new line."""
    lines: list[list[Point]] = []
    for before, slope in pairwise([None, *slopes]):
        if before is None or slope.x1 - before.x2 > 0.01:
            lines.append([])
        lines[-1] += [(slope.x1, slope.y1), (slope.x2, slope.y2)]
    return lines
