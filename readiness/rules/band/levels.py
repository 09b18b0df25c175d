"""The treatment line of a wall run: where it must go, and where it can't be right.

For every distance x: line(x) >= finished ground(x) + the height rule, and line(x) <= the underside
of the weep holes there. On face brick the line is the lowest bed joint that satisfies the first,
stepping only at perpends; on render it is the struck joint, as it was cut.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from itertools import pairwise

from readiness.rules.band import believable
from readiness.rules.band.geometry import Gauge, WallRun, WeepHoles
from readiness.rules.band.line import BED_JOINT, STRUCK_JOINT, LineSegment
from readiness.rules.band.line_steps import FEWEST_STEPS, LOWEST, stepped_line
from readiness.rules.band.profile import (
    Exact,
    Piece,
    finished_pieces,
    highest_in_cells,
    today_pieces,
)
from readiness.rules.band.shortfalls import Shortfall, ground_shortfalls, weep_shortfalls
from readiness.rules.codes import Code
from readiness.rules.values.rule_values import RuleValues


@dataclass(frozen=True)
class TreatmentLine:
    """The answer for one wall run.

    `segments` is empty when a rendered wall has no struck joint yet: `needed_level_mm` then says
    where one must at least be. `worst_clearance_mm` is the least height of the line above finished
    ground (rounded down), and `worst_at_mm` where that is. `gauge` is the one that the joints were
    counted with, None on render. Nothing here says that there is brickwork under the line.
    """

    run_id: str
    ends_at: str
    segments: tuple[LineSegment, ...]
    shortfalls: tuple[Shortfall, ...]
    needed_level_mm: int
    clearance_rule_mm: int
    worst_clearance_mm: int | None = None
    worst_at_mm: int | None = None
    gauge: Gauge | None = None

    @property
    def steps(self) -> int:
        """How many times the line steps up or down."""
        return max(0, len(self.segments) - 1)

    @property
    def meets_rules(self) -> bool:
        """True where the line exists and meets every rule; `line_doubts` says what is left open."""
        return bool(self.segments) and not self.shortfalls

    def level_at(self, distance_mm: int) -> Exact:
        """The level of the line at a distance; where it steps, that of the stretch to the left."""
        for segment in self.segments:
            if distance_mm <= segment.to_mm:
                return segment.level_mm
        return self.segments[-1].level_mm


def solve(run: WallRun, values: RuleValues, *, prefer: str | None = None) -> TreatmentLine | None:
    """Work out the line of a run; None if too little was measured.

    `prefer` is `line_steps.LOWEST` or `line_steps.FEWEST_STEPS`; None leaves it to the rule value.
    LevelsError if a measurement can't be believed.
    """
    believable.check(run, values)
    prefer = prefer or (FEWEST_STEPS if values["prefer_fewest_steps"] else LOWEST)
    if not run.has_levels:
        return None
    ground = finished_pieces(run)
    clearance_mm = values["line_above_ground_mm"]
    segments = (
        _struck_segments(run, values)
        if run.is_rendered
        else _bed_joint_segments(run, values, ground, prefer)
    )
    worst = _worst(segments, ground)
    needed = math.ceil(_highest(ground) + clearance_mm)
    shortfalls = (
        *ground_shortfalls(run, segments, ground, today_pieces(run), values),
        *weep_shortfalls(run, segments, values),
    )
    return TreatmentLine(
        run_id=run.id,
        ends_at=STRUCK_JOINT if run.is_rendered else BED_JOINT,
        segments=segments,
        shortfalls=tuple(sorted(shortfalls, key=lambda short: (short.from_mm, short.kind))),
        needed_level_mm=needed,
        clearance_rule_mm=clearance_mm,
        gauge=None if run.is_rendered else run.gauge_or_default(values),
        worst_clearance_mm=None if worst is None else math.floor(worst[0]),
        worst_at_mm=None if worst is None else round(worst[1]),
    )


def bed_joint_level_mm(lowest_mm: int, number: int, gauge: Gauge) -> Fraction:
    """The level of bed joint `number`: the lowest one plus so many courses, exactly."""
    return lowest_mm + number * gauge.course_mm


def cell_edges_mm(run: WallRun, values: RuleValues) -> list[int]:
    """Distances where the line may step: the perpends, and the two ends of the run."""
    return [*range(0, run.length_mm, run.perpend_spacing_mm(values)), run.length_mm]


def _bed_joint_segments(
    run: WallRun, values: RuleValues, ground: Sequence[Piece], prefer: str
) -> tuple[LineSegment, ...]:
    """Bed joint by bed joint; empty if the lowest one was not measured."""
    lowest_mm, gauge = run.first_bed_joint_mm, run.gauge_or_default(values)
    if lowest_mm is None:
        return ()
    edges, course_mm = cell_edges_mm(run, values), gauge.course_mm
    lift = values["line_above_ground_mm"] - lowest_mm
    wanted = [
        max(0, math.ceil((top + lift) / course_mm)) for top in highest_in_cells(ground, edges)
    ]
    caps = _caps(run, edges, lowest_mm, course_mm)
    widths = [end - start for start, end in pairwise(edges)]
    stretches = stepped_line(wanted, caps, widths, values["min_step_length_mm"], prefer)
    return tuple(
        LineSegment(
            from_mm=edges[part.start],
            to_mm=edges[part.end],
            level_mm=bed_joint_level_mm(lowest_mm, part.joint, gauge),
            joint_number=part.joint,
            courses_treated=run.courses_or_default(values),
        )
        for part in stretches
    )


def _caps(
    run: WallRun, edges: Sequence[int], lowest_mm: int, course_mm: Fraction
) -> list[int | None]:
    """For each cell, the highest bed joint that is not above a weep hole there."""
    caps: list[int | None] = []
    for start, end in pairwise(edges):
        levels = [row.level_mm for row in run.weep_holes if _reaches(row, run, start, end)]
        joint = (min(levels) - lowest_mm) // course_mm if levels else None
        caps.append(joint)
    return caps


def _reaches(row: WeepHoles, run: WallRun, from_mm: int, to_mm: int) -> bool:
    row_end = run.length_mm if row.to_mm is None else row.to_mm
    return row.from_mm < to_mm and row_end > from_mm


def _struck_segments(run: WallRun, values: RuleValues) -> tuple[LineSegment, ...]:
    """The struck joint as it was cut, step by step; empty if there is none."""
    starts = [(0, run.struck_joint_mm), *((s.distance_mm, s.level_mm) for s in run.struck_steps)]
    known = [(at, level) for at, level in starts if level is not None]
    if not known:
        return ()
    known[0] = (0, known[0][1])
    ends = [at for at, _ in known[1:]] + [run.length_mm]
    return tuple(
        LineSegment(at, end, level, courses_treated=run.courses_or_default(values))
        for (at, level), end in zip(known, ends, strict=True)
        if end > at
    )


def _highest(ground: Sequence[Piece]) -> Exact:
    return max(max(piece.from_level_mm, piece.to_level_mm) for piece in ground)


def _worst(segments: Sequence[LineSegment], ground: Sequence[Piece]) -> tuple[Exact, Exact] | None:
    """(clearance, distance) where the line is closest to finished ground."""
    found = None
    for segment in segments:
        for piece in ground:
            if piece.to_mm <= segment.from_mm or piece.from_mm >= segment.to_mm:
                continue
            top, at = piece.highest(segment.from_mm, segment.to_mm)
            if found is None or segment.level_mm - top < found[0]:
                found = (segment.level_mm - top, at)
    return found


@dataclass(frozen=True)
class LineNote:
    """Something that the levels of a run say; `kind` is the defect it would be as an item.

    `problems` are those that can't be believed, `short` where the line breaks a rule, and
    `needed_level_mm` the least level of a struck joint that is missing.
    """

    code: Code
    distance_mm: int | None = None
    kind: str | None = None
    problems: tuple[believable.Unbelievable, ...] = ()
    short: Shortfall | None = None
    needed_level_mm: int | None = None


@lru_cache(maxsize=4096)
def line_notes(run: WallRun, values: RuleValues) -> tuple[LineNote, ...]:
    """What the levels say of a run; notes never decide readiness alone.

    Lists of sites ask this again and again for walls that did not change: answers are kept.
    """
    try:
        line = solve(run, values)
    except believable.LevelsError as error:
        return (LineNote(Code.LEVELS_UNBELIEVABLE, problems=error.problems),)
    if line is None:
        return (LineNote(Code.NO_LEVELS),)
    if not line.segments:
        return (
            LineNote(
                Code.NO_STRUCK_JOINT, kind="no_struck_joint", needed_level_mm=line.needed_level_mm
            ),
        )
    return tuple(
        LineNote(Code.LEVELS_SHORT, short.worst_at_mm, short.kind, short=short)
        for short in line.shortfalls
    )
