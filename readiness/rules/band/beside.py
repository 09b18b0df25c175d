"""What lies beside a treated band: too little clearance, soil to clear, brick that is still bare.

Decisions that nothing else settles:

- Where the line lies on a threshold no ground rule applies: the wall is treated as far as it goes.
- Where the brickwork ends at the line's own joint no course is left, and nothing is treated.
- A rule that is broken at one distance only, where ground and line step together, is broken there.
- Where today's ground alone breaks the rule the cause is today's, elsewhere the finish to come.
  Each has stretches of its own, so that each trade is told of its own part.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction

from readiness.rules.band.ground import GroundPart, GroundPiece
from readiness.rules.band.profile import Exact, Piece
from readiness.rules.band.stretch import (
    Excess,
    Stretch,
    cut_at,
    difference,
    excess,
    merged,
    not_below,
    over_each_other,
)
from readiness.rules.band.wall import LITRES_FOR_COURSES, TRENCH_MM, BandRules, Wall

FINISHED_GROUND = "finished ground"
"""What bare brick waits for where a finished level was given and no finish was named."""


class ShortCause(StrEnum):
    """What makes a line too low, or too high."""

    TO_COME = "to come"
    TODAY = "today"
    WEEP_HOLES = "weep holes"


@dataclass(frozen=True)
class TooClose:
    """Where the line breaks a rule, exactly. `what` is the finish to come that breaks it."""

    from_mm: Exact
    to_mm: Exact
    by_mm: Exact
    at_mm: Exact
    cause: ShortCause
    what: str = ""


@dataclass(frozen=True)
class Amounts:
    """How much wall is treated, and the liquid for it, before waste."""

    length_mm: Exact
    area_mm2: Exact
    litres: Fraction


def too_close(
    wall: Wall,
    rules: BandRules,
    ground: Sequence[GroundPart],
    tops: Sequence[Stretch],
    shift_mm: int = 0,
) -> list[TooClose]:
    """Where the line breaks a rule, with all ground `shift_mm` higher than it was read."""
    lift_mm = rules.clearance_mm + shift_mm
    found = [
        _ground_breach(part) for part in merged(_over(ground, tops, lift_mm), by_tag=True)
    ]  # fmt: skip
    found += [
        TooClose(start, end, top.level_mm - row.level_mm, start, ShortCause.WEEP_HOLES)
        for row in wall.weep_holes
        for top in tops
        if (start := max(row.from_mm, top.from_mm)) <= (end := min(row.to_mm, top.to_mm))
        and top.level_mm > row.level_mm
    ]
    return sorted(found, key=lambda breach: (breach.from_mm, breach.to_mm, breach.cause))


def _over(ground: Sequence[GroundPart], tops: Sequence[Stretch], lift_mm: int) -> Iterator[Excess]:
    """Where finished ground and clearance are over the line, tagged by what is to blame."""
    for part in ground:
        beside = [top for top in tops if part.from_mm <= top.from_mm and top.to_mm <= part.to_mm]
        for piece in part.pieces:
            peak = max(piece.finished.from_level_mm, piece.finished.to_level_mm) + lift_mm
            for top in beside:
                if top.from_mm > piece.to_mm or top.to_mm < piece.from_mm or top.at_sill:
                    continue
                if peak <= top.level_mm:
                    continue
                over = difference(piece.finished, top.piece, lift_mm)
                if over is None or (piece.sill is not None and over.from_mm == over.to_mm):
                    continue
                for own in _by_cause(over, piece, top.level_mm - lift_mm):
                    breach = excess(own, _blame(piece, own, top.level_mm - lift_mm))
                    if breach is not None:
                        yield breach


def _by_cause(over: Piece, piece: GroundPiece, limit_mm: Exact) -> Iterator[Piece]:
    """A piece of ground over its limit, cut where today's ground comes to that limit."""
    today = piece.today
    beyond = None if today is None else today.above(limit_mm, over.from_mm, over.to_mm)
    if beyond is None or over.from_mm == over.to_mm:
        yield over
    else:
        yield from cut_at(over, beyond)


def _blame(piece: GroundPiece, part: Piece, limit_mm: Exact) -> tuple[ShortCause, str]:
    middle = Fraction(part.from_mm + part.to_mm) / 2
    if piece.today is not None and piece.today.level_at(middle) > limit_mm:
        return ShortCause.TODAY, ""
    return ShortCause.TO_COME, piece.what or FINISHED_GROUND


def _ground_breach(part: Excess) -> TooClose:
    cause, what = part.tag if isinstance(part.tag, tuple) else (ShortCause.TODAY, "")
    return TooClose(part.from_mm, part.to_mm, part.most_mm, part.at_mm, cause, what)


def to_clear(ground: Sequence[GroundPart], bottoms: Sequence[Stretch]) -> list[Excess]:
    """Where soil lies over the bottom of the band today."""
    heights = (
        difference(today, bottom.piece)
        for today, _, beside in _todays(ground, bottoms)
        for bottom in beside
    )
    return merged(found for height in heights if height and (found := excess(height)))


def still_bare(
    wall: Wall, ground: Sequence[GroundPart], bottoms: Sequence[Stretch]
) -> list[Excess]:
    """Where untreated brick lies open between today's ground and the band; tagged by its finish."""
    lowest = wall.brick_bottom_mm
    heights = (
        (difference(bottom.piece, under), what or FINISHED_GROUND)
        for today, what, beside in _todays(ground, bottoms)
        for under in ([today] if lowest is None else not_below(today, lowest))
        for bottom in beside
        if bottom.from_mm < under.to_mm and bottom.to_mm > under.from_mm
    )
    found = (excess(height, what) for height, what in heights if height)
    return merged((bare for bare in found if bare), by_tag=True)


def _todays(
    ground: Sequence[GroundPart], bottoms: Sequence[Stretch]
) -> Iterator[tuple[Piece, str, list[Stretch]]]:
    """Each piece of today's ground, the finish that comes there, and the bottoms beside it."""
    for part in ground:
        own = [b for b in bottoms if part.from_mm <= b.from_mm and b.to_mm <= part.to_mm]
        for piece in part.pieces:
            if piece.today is not None and piece.from_mm < piece.to_mm:
                beside = [b for b in own if b.from_mm < piece.to_mm and b.to_mm > piece.from_mm]
                yield piece.today, piece.what, beside


def soil_litres(part: Excess) -> Fraction:
    """The soil of a trench beside the wall, in litres."""
    return Fraction(part.area_mm2 * TRENCH_MM) / 1_000_000


def amounts(
    wall: Wall, rules: BandRules, tops: Sequence[Stretch], bottoms: Sequence[Stretch]
) -> Amounts:
    """Treated length, area and litres: on brick by courses, on render by area."""
    length: Exact = 0
    area: Exact = 0
    course_mm: Exact = 0
    for top, bottom in over_each_other(tops, bottoms):
        height = difference(top.piece, bottom.piece)
        band = None if height is None else excess(height)
        courses = top.counted - bottom.counted
        if band is None or not (courses or wall.is_rendered):
            continue
        span = band.to_mm - band.from_mm
        length, area = length + span, area + band.area_mm2
        course_mm += span * courses
    if wall.is_rendered:
        return Amounts(length, area, area * rules.litres_per_mm2)
    litres = rules.litres_per_10_m * course_mm / (10_000 * LITRES_FOR_COURSES)
    return Amounts(length, area, Fraction(litres))
