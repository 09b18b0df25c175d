"""The treated band of a rendered wall: from the struck joint, as it was cut, down to the ground.

The bottom follows the finished ground, less what the band goes below it. Neighbouring pieces of the
joint need no widening: where their bands overlap by less than 75 mm, one of them is too close to
the ground there, and that is said as a shortfall.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from readiness.rules.band.ground import GroundPart
from readiness.rules.band.profile import Exact, Piece
from readiness.rules.band.stretch import (
    Stretch,
    cut_at,
    cut_at_sills,
    difference,
    excess,
    joined,
    merged,
    not_above,
    not_below,
)
from readiness.rules.band.wall import BandRules, Sill, Wall


@dataclass(frozen=True)
class LevelLimit:
    """From one distance to another the band goes down at least to a level."""

    from_mm: Exact
    to_mm: Exact
    level_mm: Exact


def struck_tops(wall: Wall) -> tuple[Stretch, ...]:
    """The struck joint outside openings without wall, and not above a threshold."""
    found = (
        Stretch(start, end, piece.level_mm, piece.level_mm)
        for piece in wall.struck_joint
        for part in wall.parts
        if (start := max(piece.from_mm, part[0])) < (end := min(piece.to_mm, part[1]))
    )
    ordered = sorted(found, key=lambda stretch: stretch.from_mm)
    return joined(cut for top in ordered for cut in cut_at_sills(top, wall.sills, _at_sill))


def _at_sill(sill: Sill, from_mm: Exact, to_mm: Exact) -> Stretch:
    return Stretch(from_mm, to_mm, sill.threshold_mm, sill.threshold_mm, at_sill=True)


def unstruck(wall: Wall) -> list[tuple[int, int]]:
    """From where to where no joint was struck, outside openings without wall."""
    pieces = sorted(wall.struck_joint, key=lambda piece: piece.from_mm)
    found = []
    for start, end in wall.parts:
        edges = [start]
        for piece in pieces:
            if piece.from_mm < end and piece.to_mm > start:
                edges += [max(piece.from_mm, start), min(piece.to_mm, end)]
        edges.append(end)
        found += [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if a < b]
    return found


def wanted_bottoms(
    rules: BandRules,
    ground: Sequence[GroundPart],
    shift_mm: int = 0,
    limits: Sequence[LevelLimit] = (),
) -> list[Piece]:
    """The bottom that is asked for, also where the wall ends above it."""
    drop_mm = rules.below_ground_mm - shift_mm
    wanted = [
        Piece(p.from_mm, p.to_mm, p.from_level_mm - drop_mm, p.to_level_mm - drop_mm)
        for part in ground
        for p in (piece.finished for piece in part.pieces)
        if p.from_mm < p.to_mm
    ]
    for limit in limits:
        wanted = [part for whole in wanted for part in _limited(whole, limit)]
    return wanted


def _limited(whole: Piece, limit: LevelLimit) -> Iterator[Piece]:
    for part in cut_at(whole, [limit.from_mm, limit.to_mm]):
        if limit.from_mm <= part.from_mm and part.to_mm <= limit.to_mm:
            yield from not_above(part, limit.level_mm)
        else:
            yield part


def bottoms_of(wall: Wall, wanted: Sequence[Piece]) -> tuple[Stretch, ...]:
    """The bottom outside openings without wall, where there is a wall."""
    lowest = wall.brick_bottom_mm
    return joined(
        Stretch(part.from_mm, part.to_mm, part.from_level_mm, part.to_level_mm)
        for whole in wanted
        for part in ([whole] if lowest is None else not_below(whole, lowest))
    )


def wall_ends(wall: Wall, wanted: Sequence[Piece]) -> list[tuple[Exact, Exact]]:
    """From where to where the wall ends above the bottom that is asked for."""
    lowest = wall.brick_bottom_mm
    if lowest is None:
        return []
    level = [Piece(p.from_mm, p.to_mm, lowest, lowest) for p in wanted]
    heights = (difference(a, b) for a, b in zip(level, wanted, strict=True))
    found = merged(part for height in heights if height and (part := excess(height)))
    return [(part.from_mm, part.to_mm) for part in found]
