"""The cheapest line over the half units of a wall whose level stretches are long enough.

Used where the lowest line has stretches that are too short, or would lie above weep holes. What
the line lies lower than it should is kept as small as can be (in mm of wall times courses), then,
by what is preferred, the area under the line or the number of its steps.

Decisions that nothing else settles:

- A stretch of one half unit between two steps the same way is the stair of a riser, never too
  short. A stretch at an end of the wall is too short like any other, unless it is the whole wall.
- Across an opening without wall the line is that of the higher side, and the length of the opening
  counts for that side's stretch. A step there is one step, however high.
- Each course crossed counts as one step.
"""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise

from readiness.rules.band.bond import Cells

NEVER = 10**60
"""The cost of a line above weep holes: more than any wall can come to."""

_SCALE = 10**16
"""Parts a cost from the one that matters less: no wall has that much area or so many steps."""


def stretches(levels: Sequence[int]) -> list[tuple[int, int, int]]:
    """Level stretches as (first cell, cell after the last, level)."""
    found: list[tuple[int, int, int]] = []
    for cell, level in enumerate(levels):
        if found and found[-1][2] == level:
            found[-1] = (found[-1][0], cell + 1, level)
        else:
            found.append((cell, cell + 1, level))
    return found


def across_gaps(levels: Sequence[int], cells: Cells) -> list[int]:
    """The levels with each opening without wall at that of its higher side."""
    filled = list(levels)
    for gap in cells.gaps():
        sides = [filled[side] for side in (gap - 1, gap + 1) if 0 <= side < len(filled)]
        filled[gap] = max(sides, default=filled[gap])
    return filled


def long_enough(levels: Sequence[int], cells: Cells, shortest_mm: int) -> bool:
    """True where no stretch is too short; levels go across the gaps."""
    found = stretches(levels)
    if len(found) == 1:
        return True
    return all(
        cells.edges[after] - cells.edges[first] >= 2 * shortest_mm or _is_stair(place, found, cells)
        for place, (first, after, _) in enumerate(found)
    )


def _is_stair(place: int, found: Sequence[tuple[int, int, int]], cells: Cells) -> bool:
    if not 0 < place < len(found) - 1:
        return False
    first, after, level = found[place]
    before, behind = found[place - 1][2], found[place + 1][2]
    return after - first == 1 and _half_unit(first, cells) and (before < level) == (level < behind)


def _half_unit(cell: int, cells: Cells) -> bool:
    """True for a cell between two perpends."""
    return cells.crossing[cell] is not None and cells.crossing[cell + 1] is not None


def cheapest(
    wanted: Sequence[int], caps: Sequence[int | None], cells: Cells, shortest_mm: int, fewest: bool
) -> list[int]:
    """The cheapest line at or below `caps`; what is said of gaps in both lists does not matter."""
    return _Search(wanted, caps, cells, shortest_mm, fewest).answer()


class _Search:
    """A dynamic programme over the edges of cells, with the line's level beside each.

    `ripe[n]` is the cheapest line up to an edge whose last stretch is at level n and long enough
    to step; `fresh[edge][way][n]` the cheapest that steps at that edge to n, up (1) or down (0).
    Each knows where its last stretch began and which way it got there.
    """

    def __init__(
        self,
        wanted: Sequence[int],
        caps: Sequence[int | None],
        cells: Cells,
        shortest_mm: int,
        fewest: bool,
    ) -> None:
        walled = list(cells.wall_cells())
        capped = [w if (cap := caps[i]) is None else min(w, cap) for i, w in enumerate(wanted)]
        self.low = min(capped[cell] for cell in walled)
        self.count = max(wanted[cell] for cell in walled) - self.low + 1
        self.cells = cells
        self.shortest = max(1, 2 * shortest_mm)
        self.step_cost = _SCALE if fewest else 1
        self.area_cost = 1 if fewest else _SCALE
        self.sums = self._summed(wanted, caps)

    def _summed(self, wanted: Sequence[int], caps: Sequence[int | None]) -> list[list[int]]:
        """For each level what the cells up to each edge cost together."""
        gaps = set(self.cells.gaps())
        walled = [
            (0, 0, 0)
            if cell in gaps
            else (b - a, wanted[cell], self.low + self.count if cap is None else cap)
            for cell, ((a, b), cap) in enumerate(zip(pairwise(self.cells.edges), caps, strict=True))
        ]
        return [self._summed_at(place, walled) for place in range(self.count)]

    def _summed_at(self, place: int, walled: Sequence[tuple[int, int, int]]) -> list[int]:
        """What the cells (width, wanted, cap) up to each edge cost together at one level."""
        level, area = self.low + place, place * self.area_cost
        sums, total = [0], 0
        for width, wish, cap in walled:
            if wish > level:
                total += width * (wish - level) * _SCALE * _SCALE
            total += width * area if level <= cap or not width else NEVER
            sums.append(total)
        return sums

    def answer(self) -> list[int]:
        count, end = self.count, len(self.cells)
        never: list[int] = [NEVER] * count
        ripe, ripe_from = list(never), [(0, 2)] * count
        self.fresh = [[list(never), list(never), list(never)] for _ in range(end + 1)]
        self.before = [[[0] * count, [0] * count, [0] * count] for _ in range(end + 1)]
        self.begun: list[list[list[tuple[int, int]]]] = [
            [[(0, 2)] * count, [(0, 2)] * count] for _ in range(end + 1)
        ]
        self.fresh[0][2] = [0] * count
        ripening = 0
        for edge in range(1, end + 1):
            ripe = [c + row[edge] - row[edge - 1] for c, row in zip(ripe, self.sums, strict=True)]
            while self._is_ripe(ripening, edge):
                self._ripen(ripening, edge, ripe, ripe_from)
                ripening += 1
            if edge < end:
                self._step(edge, ripe, ripe_from)
        return self._walked_back(ripe, ripe_from)

    def _is_ripe(self, start: int, edge: int) -> bool:
        edges = self.cells.edges
        return start < edge and edges[edge] - edges[start] >= self.shortest

    def _ripen(
        self, start: int, edge: int, ripe: list[int], ripe_from: list[tuple[int, int]]
    ) -> None:
        """Stretches that began at `start` are long enough from `edge` on."""
        for way, costs in enumerate(self.fresh[start]):
            for place, cost in enumerate(costs):
                if cost >= NEVER:
                    continue
                total = cost + self.sums[place][edge] - self.sums[place][start]
                if total < ripe[place]:
                    ripe[place], ripe_from[place] = total, (start, way)

    def _step(self, edge: int, ripe: list[int], ripe_from: list[tuple[int, int]]) -> None:
        odd = self.cells.crossing[edge]
        if odd is None:
            self._step_at_gap(edge, ripe, ripe_from)
            return
        # Course n, between joints n and n + 1, is crossed where its number is odd or even as asked.
        for place in range((odd - self.low) % 2, self.count - 1, 2):
            for way, source in ((1, place), (0, place + 1)):
                cost, start = ripe[source], ripe_from[source]
                stair = self._stair(edge, way, source)
                if stair < cost:
                    cost, start = stair, (edge - 1, way)
                if cost < NEVER:
                    self._begin(edge, way, source, 2 * place + 1 - source, cost, start)

    def _stair(self, edge: int, way: int, place: int) -> int:
        """The cost of a stretch of half a unit that steps on the way it came."""
        if not _half_unit(edge - 1, self.cells):
            return NEVER
        row = self.sums[place]
        return self.fresh[edge - 1][way][place] + row[edge] - row[edge - 1]

    def _step_at_gap(self, edge: int, ripe: list[int], ripe_from: list[tuple[int, int]]) -> None:
        """Up into an opening without wall, or down out of it, however far."""
        into = all(edge != first for first, _ in self.cells.parts)
        places = range(self.count) if into else range(self.count - 1, -1, -1)
        best: int | None = None
        for place in places:
            if best is not None:
                self._begin(edge, int(into), best, place, ripe[best], ripe_from[best])
            if ripe[place] < (NEVER if best is None else ripe[best]):
                best = place

    def _begin(
        self, edge: int, way: int, source: int, place: int, cost: int, start: tuple[int, int]
    ) -> None:
        self.fresh[edge][way][place] = cost + self.step_cost
        self.before[edge][way][place] = source
        self.begun[edge][way][place] = start

    def _walked_back(self, ripe: list[int], ripe_from: list[tuple[int, int]]) -> list[int]:
        end = len(self.cells)
        costs = [min(ripe[n], self.sums[n][end]) for n in range(self.count)]
        place = min(range(self.count), key=costs.__getitem__)
        start, way = ripe_from[place] if ripe[place] == costs[place] else (0, 2)
        levels: list[int] = []
        while True:
            levels += [self.low + place] * (end - start)
            if start == 0:
                return levels[::-1]
            end, source = start, self.before[start][way][place]
            start, way = self.begun[start][way][place]
            place = source
