"""A stretch of the top or the bottom of a treated band, and what lies between two such lines."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from readiness.rules.band.profile import Exact, Piece
from readiness.rules.band.wall import Sill


@dataclass(frozen=True)
class Stretch:
    """From one distance to another: level, but for the bottom of a band on render.

    `joint` is the bed joint that it lies on, None where it lies on none. `counted` is the joint
    that courses are counted from: on a threshold between two joints the upper one, at the bottom of
    the brickwork the lowest that exists. `at_sill`: the wall ends at a threshold there.
    """

    from_mm: Exact
    to_mm: Exact
    level_mm: Exact
    to_level_mm: Exact
    joint: int | None = None
    counted: int = 0
    at_sill: bool = False

    @property
    def piece(self) -> Piece:
        return Piece(self.from_mm, self.to_mm, self.level_mm, self.to_level_mm)

    def continues(self, other: Stretch) -> bool:
        """True where `other` goes straight on from this one."""
        if other.from_mm != self.to_mm or other.level_mm != self.to_level_mm:
            return False
        if (other.joint, other.counted, other.at_sill) != (self.joint, self.counted, self.at_sill):
            return False
        rise, run = self.to_level_mm - self.level_mm, self.to_mm - self.from_mm
        onward, length = other.to_level_mm - other.level_mm, other.to_mm - other.from_mm
        return rise * length == onward * run


def cut_at_sills(
    top: Stretch, sills: Iterable[Sill], at_sill: Callable[[Sill, Exact, Exact], Stretch]
) -> Iterator[Stretch]:
    """A level stretch of the line, and what `at_sill` gives where a threshold lies below it."""
    at = top.from_mm
    for sill in sills:
        start, end = max(at, sill.from_mm), min(top.to_mm, sill.to_mm)
        if start >= end or sill.threshold_mm >= top.level_mm:
            continue
        if at < start:
            yield replace(top, from_mm=at, to_mm=start)
        yield at_sill(sill, start, end)
        at = end
    if at < top.to_mm:
        yield replace(top, from_mm=at)


def joined(stretches: Iterable[Stretch]) -> tuple[Stretch, ...]:
    """Neighbours that go straight on are one stretch."""
    found: list[Stretch] = []
    for part in stretches:
        if found and found[-1].continues(part):
            found[-1] = replace(found[-1], to_mm=part.to_mm, to_level_mm=part.to_level_mm)
        else:
            found.append(part)
    return tuple(found)


def whole_extent(from_mm: Exact, to_mm: Exact) -> tuple[int, int]:
    """From where to where in whole mm, all of it included."""
    return math.floor(from_mm), math.ceil(to_mm)


def whole_ends(parts: Sequence[Stretch], *, goes_early: bool) -> list[tuple[int, int]]:
    """From where to where each stretch goes, in whole mm.

    Where a line steps at half a millimetre the higher side begins early, or else late.
    """
    if not parts:
        return []
    starts, ends = [math.floor(parts[0].from_mm)], []
    for left, right in pairwise(parts):
        up = (right.level_mm > left.to_level_mm) == goes_early
        meet = math.floor(right.from_mm) if up else math.ceil(right.from_mm)
        apart = left.to_mm < right.from_mm
        ends.append(math.ceil(left.to_mm) if apart else meet)
        starts.append(math.floor(right.from_mm) if apart else meet)
    ends.append(math.ceil(parts[-1].to_mm))
    return list(zip(starts, ends, strict=True))


def over_each_other(
    tops: Iterable[Stretch], bottoms: Sequence[Stretch]
) -> Iterator[tuple[Stretch, Stretch]]:
    """Each stretch of the top with each of the bottom that lies under some of it."""
    for top in tops:
        for bottom in bottoms:
            if bottom.from_mm < top.to_mm and bottom.to_mm > top.from_mm:
                yield top, bottom


def difference(upper: Piece, lower: Piece, lift_mm: Exact = 0) -> Piece | None:
    """Height of one line plus `lift_mm` over another where both are; None where they are apart.

    Where they only meet at one distance the answer has no length.
    """
    start, end = max(upper.from_mm, lower.from_mm), min(upper.to_mm, lower.to_mm)
    if start > end:
        return None
    left = upper.level_at(start) - lower.level_at(start) + lift_mm
    right = upper.level_at(end) - lower.level_at(end) + lift_mm
    return Piece(start, end, left, right)


def not_below(piece: Piece, level_mm: Exact) -> Iterator[Piece]:
    """A line, and a level in its place where it lies below that."""
    for part in _cut_at_level(piece, level_mm):
        left, right = max(part.from_level_mm, level_mm), max(part.to_level_mm, level_mm)
        yield replace(part, from_level_mm=left, to_level_mm=right)


def not_above(piece: Piece, level_mm: Exact) -> Iterator[Piece]:
    """A line, and a level in its place where it lies above that."""
    for part in _cut_at_level(piece, level_mm):
        left, right = min(part.from_level_mm, level_mm), min(part.to_level_mm, level_mm)
        yield replace(part, from_level_mm=left, to_level_mm=right)


def _cut_at_level(piece: Piece, level_mm: Exact) -> Iterator[Piece]:
    left, right = piece.from_level_mm - level_mm, piece.to_level_mm - level_mm
    if left * right >= 0:
        yield piece
        return
    length = piece.to_mm - piece.from_mm
    yield from cut_at(piece, [piece.from_mm + length * Fraction(left) / (left - right)])


def cut_at(piece: Piece, distances: Iterable[Exact]) -> Iterator[Piece]:
    """A line in parts, cut at those of the distances that lie inside it."""
    inside = sorted({at for at in distances if piece.from_mm < at < piece.to_mm})
    for start, end in pairwise([piece.from_mm, *inside, piece.to_mm]):
        left, right = piece.level_at(start), piece.level_at(end)
        yield Piece(start, end, left, right, piece.surface)


@dataclass
class Excess:
    """Where one line lies over another: from, to, by how much at most, where, and how much area."""

    from_mm: Exact
    to_mm: Exact
    most_mm: Exact
    at_mm: Exact
    area_mm2: Exact = 0
    tag: object = None

    def take_in(self, other: Excess) -> None:
        """Make one of two that touch; what is most, where and why stays of the greater one."""
        self.to_mm = max(self.to_mm, other.to_mm)
        self.area_mm2 += other.area_mm2
        if other.most_mm > self.most_mm:
            self.most_mm, self.at_mm, self.tag = other.most_mm, other.at_mm, other.tag


def excess(height: Piece, tag: object = None) -> Excess | None:
    """The part of a difference that is over nothing; None if nothing is."""
    part = height.above(0, height.from_mm, height.to_mm)
    if part is None:
        return None
    most, at = height.highest(*part)
    ends = height.level_at(part[0]) + height.level_at(part[1])
    return Excess(*part, most, at, Fraction(ends * (part[1] - part[0])) / 2, tag)


def merged(parts: Iterable[Excess], *, by_tag: bool = False) -> list[Excess]:
    """Parts that touch are one; `by_tag`: only where they have the same tag."""
    found: list[Excess] = []
    latest: dict[object, Excess] = {}
    for part in sorted(parts, key=lambda excess: (excess.from_mm, excess.to_mm)):
        last = latest.get(part.tag if by_tag else None)
        if last and part.from_mm <= last.to_mm:
            last.take_in(part)
        else:
            found.append(part)
            latest[part.tag if by_tag else None] = part
    return found
