"""The treated band of wall runs, out of what was measured on them.

`band_of` works out one run, `bands_of` all runs of a house, whose bands meet at its corners. The
model is `judged`'s; here its answer is put in whole mm, with what a wall run is besides.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from itertools import pairwise

from readiness.rules.band import believable
from readiness.rules.band.beside import soil_litres
from readiness.rules.band.geometry import Gauge, WallRun
from readiness.rules.band.judged import WallAnswer, judged
from readiness.rules.band.line import BED_JOINT, STRUCK_JOINT, LineSegment, segments_of
from readiness.rules.band.measured import finished_pieces, house_of
from readiness.rules.band.perimeter import walls_meeting
from readiness.rules.band.profile import Exact, Piece
from readiness.rules.band.shortfalls import Shortfall, shortfalls_of
from readiness.rules.band.stretch import difference, over_each_other, whole_extent
from readiness.rules.band.verdict import Reason, Verdict
from readiness.rules.values.rule_values import RuleValues


@dataclass(frozen=True)
class SoilToClear:
    """Soil over the bottom of the band today: from where to where, how deep at most and where.

    Whole mm, depth rounded up; `litres` are those of a trench 150 mm wide beside the wall.
    """

    from_mm: int
    to_mm: int
    deepest_mm: int
    at_mm: int
    litres: int


@dataclass(frozen=True)
class BareBrick:
    """Brick between today's ground and the band, open until a finish comes; `until` names it."""

    from_mm: int
    to_mm: int
    highest_mm: int
    until: str


@dataclass(frozen=True)
class WallBand:
    """The band of one wall run: line (top), bottom, what lies beside it, and the verdict.

    `segments` is empty when a rendered wall has no struck joint yet: `needed_level_mm` then says
    where one must at least be, from the top of the wall's own slab. `worst_clearance_mm` is the
    least height of the line above finished ground (rounded down), and `worst_at_mm` where that is.
    `gauge` is the one that the joints were counted with, None on render.
    """

    run: WallRun
    answer: WallAnswer
    shortfalls: tuple[Shortfall, ...]
    needed_level_mm: int
    clearance_rule_mm: int
    worst_clearance_mm: int | None = None
    worst_at_mm: int | None = None
    gauge: Gauge | None = None

    @property
    def run_id(self) -> str:
        return self.run.id

    @property
    def ends_at(self) -> str:
        return STRUCK_JOINT if self.run.is_rendered else BED_JOINT

    @property
    def verdict(self) -> Verdict:
        return self.answer.verdict

    @property
    def why(self) -> tuple[Reason, ...]:
        """What is behind the verdict, and what is worth knowing beside it."""
        return self.answer.why

    @cached_property
    def segments(self) -> tuple[LineSegment, ...]:
        """The line, outside openings without wall."""
        return segments_of(self.answer.line, is_line=True)

    @cached_property
    def bottoms(self) -> tuple[LineSegment, ...]:
        """The bottom, outside openings without wall, where there is brick."""
        return segments_of(self.answer.bottom, is_line=False)

    @cached_property
    def clear(self) -> tuple[SoilToClear, ...]:
        """Where soil lies over the bottom of the band today; nothing where that is not known."""
        return tuple(
            SoilToClear(
                *whole_extent(part.from_mm, part.to_mm), math.ceil(part.most_mm), round(part.at_mm),
                math.ceil(soil_litres(part)),
            )
            for part in self.answer.clear or ()
        )  # fmt: skip

    @cached_property
    def bare(self) -> tuple[BareBrick, ...]:
        """Where brick stays open under the band until a finish comes."""
        return tuple(
            BareBrick(
                *whole_extent(part.from_mm, part.to_mm), math.ceil(part.most_mm), str(part.tag)
            )
            for part in self.answer.bare or ()
        )

    @property
    def steps(self) -> int:
        """How many times the line steps up or down."""
        levels = [part.level_mm for part in self.segments]
        return sum(one != other for one, other in pairwise(levels))

    @property
    def is_right(self) -> bool:
        """True where everything asked of the band was measured and holds."""
        return bool(self.segments) and self.verdict is Verdict.RIGHT

    @cached_property
    def courses(self) -> tuple[int, int] | None:
        """The fewest and the most courses in the band, of those that exist; None on render."""
        if self.run.is_rendered:
            return None
        found = [
            top.counted - bottom.counted
            for top, bottom in over_each_other(self.answer.line, self.answer.bottom)
        ]
        return (min(found), max(found)) if found else None

    def level_at(self, distance_mm: int) -> Exact:
        """The level of the line at a distance; where it steps, that of the stretch to the left."""
        for segment in self.segments:
            if distance_mm <= segment.to_mm:
                return segment.level_mm
        return self.segments[-1].level_mm

    def height_at(self, distance_mm: int) -> Exact | None:
        """From the bottom of the band to its top at a distance; None where nothing is treated."""
        tops = [t.level_mm for t in self.answer.line if t.from_mm <= distance_mm <= t.to_mm]
        bottoms = [
            part.piece.level_at(distance_mm)
            for part in self.answer.bottom
            if part.from_mm <= distance_mm <= part.to_mm
        ]
        return max(tops) - min(bottoms) if tops and bottoms else None


def band_of(run: WallRun, values: RuleValues) -> WallBand | None:
    """The band of a run without its neighbours; None if too little was measured for a line.

    LevelsError if a measurement can't be believed.
    """
    believable.check(run)
    return _bands((run,), values)[0]


def bands_of(runs: Sequence[WallRun], values: RuleValues) -> dict[str, WallBand | None]:
    """The bands of all runs of a house by their ids, None where too little can be used."""
    usable = tuple(_unmeasured(run) if believable.problems(run) else run for run in runs)
    return {run.id: band for run, band in zip(runs, _bands(usable, values), strict=True)}


def walls_beside(run: WallRun, runs: Sequence[WallRun]) -> tuple[WallRun, ...]:
    """A run between those of its house that it meets; it counts in the place of its own there.

    Its band is the same among them as in the whole house, and keeps up with typing.
    """
    before, after = walls_meeting(run.id, runs)
    return tuple(wall for wall in (before, run, after) if wall is not None)


def _unmeasured(run: WallRun) -> WallRun:
    """The run without its levels: what can't be believed says nothing of its neighbours either."""
    length_mm = min(max(run.length_mm, 1), believable.LENGTH_MAX_MM)
    return WallRun(run.id, run.label, length_mm, run.finish, run.turn_degrees)


@lru_cache(maxsize=1024)
def _bands(runs: tuple[WallRun, ...], values: RuleValues) -> tuple[WallBand | None, ...]:
    """In the order of the runs. Lists of sites ask again and again for what did not change."""
    answers = reversed(judged(house_of(runs, values)).walls)
    return tuple(
        _band(run, answer, values) for run, answer in zip(runs, answers, strict=True)
    )  # fmt: skip


def _band(run: WallRun, answer: WallAnswer, values: RuleValues) -> WallBand | None:
    if not run.has_levels:
        return None
    clearance_mm = values["line_above_ground_mm"]
    ground = finished_pieces(run)
    highest = max(max(piece.from_level_mm, piece.to_level_mm) for piece in ground)
    worst = min(_clearances(answer, ground), default=None)
    return WallBand(
        run=run,
        answer=answer,
        shortfalls=shortfalls_of(run, answer.short or (), answer.line, values),
        needed_level_mm=math.ceil(highest + clearance_mm) - run.slab_level_mm,
        clearance_rule_mm=clearance_mm,
        worst_clearance_mm=None if worst is None else math.floor(worst[0]),
        worst_at_mm=None if worst is None else round(worst[1]),
        gauge=None if run.is_rendered else run.gauge_or_nominal(values),
    )


def _clearances(answer: WallAnswer, ground: Sequence[Piece]) -> Iterator[tuple[Exact, Exact]]:
    """(clearance, distance) of the line over finished ground, at the worst place of each piece."""
    for top in answer.line:
        if top.at_sill:
            continue  # the wall ends there, whatever the ground does
        for piece in ground:
            height = difference(top.piece, piece)
            if height is None or height.from_mm == height.to_mm:
                continue
            lowest = min(height.from_level_mm, height.to_level_mm)
            falls = height.to_level_mm < height.from_level_mm
            yield lowest, height.to_mm if falls else height.from_mm
