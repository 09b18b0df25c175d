"""The ground along a wall run as straight pieces, and comparing it with a level line.

Everything is exact: distances and levels are ints or Fractions of a mm, so that a line that just
meets a rule is never failed by rounding.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from readiness.rules.band.geometry import GroundPoint

Exact = int | Fraction


@dataclass(frozen=True)
class Piece:
    """The ground, straight from one distance to the next: distances and levels in mm.

    `surface` is what the finished ground is made of there.
    """

    from_mm: Exact
    to_mm: Exact
    from_level_mm: Exact
    to_level_mm: Exact
    surface: str = ""

    def level_at(self, distance_mm: Exact) -> Exact:
        """The level at a distance within the piece."""
        if distance_mm == self.from_mm or self.from_level_mm == self.to_level_mm:
            return self.from_level_mm
        if distance_mm == self.to_mm:
            return self.to_level_mm
        rise = (self.to_level_mm - self.from_level_mm) * (distance_mm - self.from_mm)
        return self.from_level_mm + Fraction(rise, self.to_mm - self.from_mm)

    def highest(self, from_mm: Exact, to_mm: Exact) -> tuple[Exact, Exact]:
        """(level, distance) of the highest place between two distances within the piece."""
        start, end = max(from_mm, self.from_mm), min(to_mm, self.to_mm)
        if self.from_level_mm >= self.to_level_mm:
            return self.level_at(start), start
        return self.level_at(end), end

    def above(self, level_mm: Exact, from_mm: Exact, to_mm: Exact) -> tuple[Exact, Exact] | None:
        """The part between two distances that lies higher than a level, or None."""
        start, end = max(from_mm, self.from_mm), min(to_mm, self.to_mm)
        left, right = self.level_at(start) - level_mm, self.level_at(end) - level_mm
        if left <= 0 and right <= 0:
            return None
        if left > 0 and right > 0:
            return start, end
        crossing = start + (end - start) * Fraction(left) / (left - right)
        return (start, crossing) if left > 0 else (crossing, end)


def level_on(points: Sequence[GroundPoint], distance_mm: Exact) -> Exact:
    """The level of a profile at a distance: straight between points, level beyond the ends."""
    after = bisect_right([point.distance_mm for point in points], distance_mm)
    if after == 0:
        return points[0].level_mm
    if after == len(points):
        return points[-1].level_mm
    left, right = points[after - 1], points[after]
    if distance_mm == left.distance_mm:
        return left.level_mm
    rise = (right.level_mm - left.level_mm) * (distance_mm - left.distance_mm)
    return left.level_mm + Fraction(rise, right.distance_mm - left.distance_mm)


def level_at(pieces: Sequence[Piece], distance_mm: Exact) -> Exact:
    """The higher of the levels at a distance, where two pieces meet with a step."""
    return max(
        piece.level_at(distance_mm)
        for piece in pieces
        if piece.from_mm <= distance_mm <= piece.to_mm
    )
