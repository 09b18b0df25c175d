"""The ground along a wall run as straight pieces, and comparing it with a level line.

Everything is exact: distances and levels are ints or Fractions of a mm, so that a line that just
meets a rule is never failed by rounding.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from readiness.rules.band.geometry import FinishToCome, GroundPoint, WallRun

Exact = int | Fraction


@dataclass(frozen=True)
class Piece:
    """The ground, straight from one distance to the next: distances and levels in mm.

    `surface` is what the finished ground is made of there.
    """

    from_mm: int
    to_mm: int
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


def today_pieces(run: WallRun) -> tuple[Piece, ...]:
    """The ground as it is today; empty if it was not measured."""
    return _pieces(run, run.ground_today, add_finishes=False)


def finished_pieces(run: WallRun) -> tuple[Piece, ...]:
    """The ground as it will be finished.

    Where a finished profile was given, that is it. Otherwise it is today's ground plus the
    thickness of each finish to come over its part of the run (finishes that overlap add up).
    """
    if run.ground_finished:
        return _pieces(run, run.ground_finished, add_finishes=False)
    return _pieces(run, run.ground_today, add_finishes=True)


def _pieces(
    run: WallRun, points: Sequence[GroundPoint], *, add_finishes: bool
) -> tuple[Piece, ...]:
    if not points:
        return ()
    finishes = run.finishes_to_come
    edges = {0, run.length_mm}
    edges.update(point.distance_mm for point in points)
    edges.update(edge for finish in finishes for edge in (finish.from_mm, finish.to_mm))
    inside = sorted(edge for edge in edges if 0 <= edge <= run.length_mm)
    levels = [level_on(points, edge) for edge in inside]
    return tuple(
        _piece(run, finishes, add_finishes, inside[n : n + 2], levels[n : n + 2])
        for n in range(len(inside) - 1)
    )


def _piece(
    run: WallRun,
    finishes: Iterable[FinishToCome],
    add_finishes: bool,
    span: Sequence[int],
    levels: Sequence[Exact],
) -> Piece:
    over = [part for part in finishes if part.from_mm < span[1] and part.to_mm > span[0]]
    thickness_mm = sum(part.thickness_mm for part in over) if add_finishes else 0
    surface = over[-1].surface if over else run.surface
    return Piece(span[0], span[1], levels[0] + thickness_mm, levels[1] + thickness_mm, surface)


def level_at(pieces: Sequence[Piece], distance_mm: Exact) -> Exact:
    """The higher of the levels at a distance, where two pieces meet with a step."""
    return max(
        piece.level_at(distance_mm)
        for piece in pieces
        if piece.from_mm <= distance_mm <= piece.to_mm
    )


def highest_in_cells(pieces: Sequence[Piece], edges: Sequence[int]) -> list[Exact]:
    """The highest level inside each cell between neighbouring edges, in one walk."""
    tops: list[Exact] = []
    at = 0
    for start, end in pairwise(edges):
        while pieces[at].to_mm <= start:
            at += 1
        top, ahead = pieces[at].highest(start, end)[0], at
        while pieces[ahead].to_mm < end:
            ahead += 1
            top = max(top, pieces[ahead].highest(start, end)[0])
        tops.append(top)
    return tops
