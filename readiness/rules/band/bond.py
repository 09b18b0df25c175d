"""The half units of a wall: where a level may step, and the least one that steps only there.

In stretcher bond a course has a perpend every unit, and the course above it half a unit along. So
all perpends together cut the wall into cells half a unit long, and a level may cross one course at
the edge of a cell where that course has its perpend. Crossing several courses takes a stair of
half units. Where an opening without wall begins or ends there is no brick to cross.

Distances here are in half millimetres, so that half a unit is a whole number.
"""

from __future__ import annotations

import math
from bisect import bisect_left, bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from readiness.rules.band.profile import Exact
from readiness.rules.band.wall import Perpend, Unit, Wall

UNKNOWN_PERPEND = Perpend(0, 0)
"""Stands in where nobody measured one: steps are then "about", and the answer says so."""


@dataclass(frozen=True)
class Cells:
    """The cells of a wall from left to right, openings without wall among them.

    `edges` are in half mm, one more than there are cells. `crossing` has, for each edge, 0 where
    even courses have a perpend, 1 where odd ones have, and None where no brick is crossed.
    `parts` are the cells of each part of the wall: the first, and the one after the last.
    """

    edges: tuple[int, ...]
    crossing: tuple[int | None, ...]
    parts: tuple[tuple[int, int], ...]
    half: int

    def __len__(self) -> int:
        return len(self.edges) - 1

    def wall_cells(self) -> Iterator[int]:
        for first, after in self.parts:
            yield from range(first, after)

    def gaps(self) -> Iterator[int]:
        """The cells that are openings without wall."""
        at = 0
        for first, after in self.parts:
            yield from range(at, first)
            at = after
        yield from range(at, len(self))

    def touched(
        self,
        part: tuple[int, int],
        from_mm: Exact,
        to_mm: Exact,
        open_start: bool = False,
        open_end: bool = False,
    ) -> range:
        """The cells of a part that a stretch meets; an end that is not open meets its neighbour."""
        first = max(part[0], _cell(self.edges, 2 * from_mm, to_the_left=not open_start))
        last = min(part[1] - 1, _cell(self.edges, 2 * to_mm, to_the_left=open_end))
        return range(min(first, part[1] - 1), max(last, part[0]) + 1)

    def lies_at(self, edge: int) -> Exact:
        """The distance of an edge in mm, a whole number where it is one."""
        return half_mm(self.edges[edge])


def _cell(edges: Sequence[int], at: Exact, *, to_the_left: bool) -> int:
    """The cell at a place; at an edge that to its left or right."""
    if to_the_left:
        return bisect_left(edges, math.ceil(at)) - 1
    return bisect_right(edges, math.floor(at)) - 1


def half_mm(halves: int) -> Exact:
    """So many half millimetres, as a whole number of mm where it is one."""
    return Fraction(halves, 2) if halves & 1 else halves // 2


def cells_of(wall: Wall, unit: Unit) -> Cells:
    """The cells of a wall of this unit; by a perpend at its left end where none was measured."""
    perpend = wall.perpend or UNKNOWN_PERPEND
    at, half = 2 * perpend.at_mm, unit.pitch_mm
    edges, parts = [0], []
    crossing: list[int | None] = [None]
    for from_mm, to_mm in wall.parts:
        if from_mm > 0:
            edges.append(2 * from_mm)
            crossing.append(None)
        first = len(edges) - 1
        start = -(-(2 * from_mm + 1 - at) // half)
        end = -(-(2 * to_mm - at) // half)
        edges.extend(range(at + start * half, at + end * half, half))
        crossing.extend((mark + perpend.above_bed_joint) & 1 for mark in range(start, end))
        edges.append(2 * to_mm)
        crossing.append(None)
        parts.append((first, len(edges) - 1))
    if edges[-1] < 2 * wall.length_mm:
        edges.append(2 * wall.length_mm)
        crossing.append(None)
    return Cells(tuple(edges), tuple(crossing), tuple(parts), half)


def raised(wanted: Sequence[int], cells: Cells) -> list[int]:
    """The least levels at or above those wanted that cross each course at a perpend of it."""
    return _stepped(wanted, cells.crossing)


def lowered(wanted: Sequence[int], cells: Cells) -> list[int]:
    """The highest levels at or below those wanted that cross each course at a perpend of it."""
    # Upside down joint n is joint -n, and the course above it, n, is then the course -n - 1.
    upside_down = [None if odd is None else 1 - odd for odd in cells.crossing]
    return [-level for level in _stepped([-level for level in wanted], upside_down)]


def _stepped(wanted: Sequence[int], crossing: Sequence[int | None]) -> list[int]:
    """Once from right to left, once back: a level raised on the way back asks for nothing more."""
    levels = list(wanted)
    for edge in range(len(levels) - 1, 0, -1):
        least = _least_beside(levels[edge], crossing[edge])
        if least is not None and levels[edge - 1] < least:
            levels[edge - 1] = least
    for edge in range(1, len(levels)):
        least = _least_beside(levels[edge - 1], crossing[edge])
        if least is not None and levels[edge] < least:
            levels[edge] = least
    return levels


def _least_beside(level: int, odd: int | None) -> int | None:
    """The lowest that the next cell may be: one course lower where that course has a perpend."""
    if odd is None:
        return None
    return level - 1 if (level - 1) & 1 == odd else level
