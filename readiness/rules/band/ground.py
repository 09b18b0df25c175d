"""The ground beside the parts of a wall: as it is today, as it will be finished, and its joints.

Decisions where a level or a rule changes at one distance, all for the safe side:

- At a vertical step of the ground both levels count at that distance, also for what only touches
  it: the line has to be up before the step, and the bottom stays down until after it.
- A finish to come counts at both its ends.
- At the edge of an opening the ground inside it counts for the wall that ends there.
- The ground is level beyond its first and its last point.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise

from readiness.rules.band.geometry import GroundPoint
from readiness.rules.band.profile import Exact, Piece
from readiness.rules.band.wall import Joints, Sill, Wall


@dataclass(frozen=True)
class GroundPiece:
    """A straight piece of ground; of no length where only a level at one distance counts.

    `today` is None where it was not measured. `sill` is the place in `Wall.sills` of the opening
    that it lies under. `what` is the finish to come there, the highest where several overlap.
    """

    finished: Piece
    today: Piece | None
    sill: int | None = None

    @property
    def from_mm(self) -> Exact:
        return self.finished.from_mm

    @property
    def to_mm(self) -> Exact:
        return self.finished.to_mm

    @property
    def what(self) -> str:
        return self.finished.surface


@dataclass(frozen=True)
class GroundPart:
    """A part of a wall between openings without wall, and the ground beside it."""

    from_mm: int
    to_mm: int
    pieces: tuple[GroundPiece, ...]


@dataclass(frozen=True)
class JointRun:
    """From one distance to another one joint is asked for; an open end does not count itself."""

    from_mm: Exact
    to_mm: Exact
    joint: int
    open_start: bool = False
    open_end: bool = False


def ground_parts(wall: Wall) -> tuple[GroundPart, ...]:
    """The ground beside each part of a wall; none where no ground was measured."""
    if not wall.ground_today and not wall.ground_finished:
        return ()
    pieces = ground_pieces(wall)
    return tuple(_part(pieces, start, end) for start, end in wall.parts)


def _part(pieces: Sequence[GroundPiece], from_mm: int, to_mm: int) -> GroundPart:
    """The pieces inside, and as pieces of no length the levels that meet them at both ends."""
    inside = [p for p in pieces if p.from_mm >= from_mm and p.to_mm <= to_mm]
    # What has no length at the part's own ends is among what meets it there.
    own = [p for p in inside if p.from_mm < p.to_mm or from_mm < p.from_mm < to_mm]
    before = [_end(p, from_mm) for p in pieces if p.to_mm == from_mm]
    after = [_end(p, to_mm) for p in pieces if p.from_mm == to_mm]
    return GroundPart(from_mm, to_mm, (*before, *own, *after))


def _end(piece: GroundPiece, at_mm: int) -> GroundPiece:
    today = None if piece.today is None else _point(piece.today, at_mm)
    return GroundPiece(_point(piece.finished, at_mm), today)


def _point(piece: Piece, at_mm: int) -> Piece:
    level = piece.level_at(at_mm)
    return Piece(at_mm, at_mm, level, level, piece.surface)


def ground_pieces(wall: Wall) -> list[GroundPiece]:
    """Between neighbouring distances where anything changes; steps at the wall's ends as points."""
    today = _straight(wall.ground_today, wall.length_mm)
    finished = _straight(wall.ground_finished, wall.length_mm) or today
    edges = {0, wall.length_mm}
    for points in (wall.ground_today, wall.ground_finished):
        edges.update(point.distance_mm for point in points)
    edges.update(at for finish in wall.to_come for at in (finish.from_mm, finish.to_mm))
    edges.update(at for opening in wall.openings for at in (opening.from_mm, opening.to_mm))
    spans = list(pairwise(sorted(edges)))
    spans = [
        *_end_step(0, today, finished),
        *spans,
        *_end_step(wall.length_mm, today, finished),
    ]
    return list(_cut(wall, spans, today, finished))


def _end_step(at_mm: int, *profiles: Sequence[Piece]) -> list[tuple[int, int]]:
    """A span of no length where a profile steps at the wall's end."""
    steps = any(p.from_mm == p.to_mm == at_mm for profile in profiles for p in profile)
    return [(at_mm, at_mm)] if steps else []


def _straight(points: Sequence[GroundPoint], length_mm: int) -> list[Piece]:
    """A profile from end to end of the wall; a step at the wall's end is a piece of no length."""
    if not points:
        return []
    first, last = points[0], points[-1]
    ends = (
        *([GroundPoint(0, first.level_mm)] if first.distance_mm > 0 else []),
        *points,
        *([GroundPoint(length_mm, last.level_mm)] if last.distance_mm < length_mm else []),
    )
    found = [Piece(a.distance_mm, b.distance_mm, a.level_mm, b.level_mm) for a, b in pairwise(ends)]
    return [
        _outer(piece) if piece.from_mm == piece.to_mm else piece
        for piece in found
        if piece.from_mm < piece.to_mm or piece.from_mm in (0, length_mm)
    ]


def _outer(step: Piece) -> Piece:
    """Of a step at the wall's end the level that no other piece has."""
    level = step.from_level_mm if step.from_mm == 0 else step.to_level_mm
    return Piece(step.from_mm, step.to_mm, level, level)


def _cut(
    wall: Wall,
    spans: Sequence[tuple[int, int]],
    today: Sequence[Piece],
    finished: Sequence[Piece],
) -> Iterator[GroundPiece]:
    """Both profiles over each span, in one walk."""
    adds, sills = not wall.ground_finished, wall.sills
    now = final = 0
    for span in spans:
        now, final = _piece_of(today, now, span), _piece_of(finished, final, span)
        bare = _over(today[now], span, 0, "") if today else None
        thickness_mm, what = _thickest(wall, span)
        top = _over(finished[final], span, thickness_mm if adds else 0, what)
        sill = _sill(sills, span)
        piece = GroundPiece(top, bare, sill)
        yield piece
        if sill is not None:
            # What no threshold bounds is the wall beside the opening, which meets this ground.
            opening = sills[sill]
            yield from (_end(piece, at) for at in span if at in (opening.from_mm, opening.to_mm))


def _piece_of(pieces: Sequence[Piece], at: int, span: tuple[int, int]) -> int:
    """The place of the piece that a span lies in, from the place of the one before it."""
    if span[0] == span[1] > 0:
        return len(pieces) - 1
    while at + 1 < len(pieces) and pieces[at].to_mm < span[1]:
        at += 1
    return at


def _over(piece: Piece, span: tuple[int, int], thickness_mm: int, what: str) -> Piece:
    left, right = piece.level_at(span[0]), piece.level_at(span[1])
    return Piece(*span, left + thickness_mm, right + thickness_mm, what)


def _thickest(wall: Wall, span: tuple[int, int]) -> tuple[int, str]:
    """The highest of the finishes to come over a span, and what it is."""
    over = [f for f in wall.to_come if f.from_mm <= span[0] and f.to_mm >= span[1]]
    if not over:
        return 0, ""
    highest = max(over, key=lambda finish: finish.thickness_mm)
    return highest.thickness_mm, highest.surface


def _sill(sills: Sequence[Sill], span: tuple[int, int]) -> int | None:
    for number, sill in enumerate(sills):
        if sill.from_mm <= span[0] and sill.to_mm >= span[1] and span[0] < span[1]:
            return number
    return None


def joints_above(piece: Piece, lift_mm: int, joints: Joints) -> list[JointRun]:
    """Where along a piece which joint is the lowest at or above the ground plus `lift_mm`."""
    course = joints.course_mm
    rise = lift_mm - joints.zero_mm
    # In units of one course over its denominator, so that whole numbers stay whole numbers.
    left = (piece.from_level_mm + rise) * course.denominator
    right = (piece.to_level_mm + rise) * course.denominator
    return _runs(piece, left, right, course.numerator)


def joints_below(piece: Piece, drop_mm: int, joints: Joints) -> list[JointRun]:
    """Where along a piece which joint is the highest at or below the ground less `drop_mm`."""
    course = joints.course_mm
    fall = drop_mm + joints.zero_mm
    left = (fall - piece.from_level_mm) * course.denominator
    right = (fall - piece.to_level_mm) * course.denominator
    return [
        JointRun(run.from_mm, run.to_mm, -run.joint, run.open_start, run.open_end)
        for run in _runs(piece, left, right, course.numerator)
    ]


def _runs(piece: Piece, left: Exact, right: Exact, course: int) -> list[JointRun]:
    """Where along a piece which multiple of `course` is the lowest at or above a straight line."""
    first, last = -(-left // course), -(-right // course)
    if first == last:
        return [JointRun(piece.from_mm, piece.to_mm, first)]
    if piece.from_mm == piece.to_mm:
        return [JointRun(piece.from_mm, piece.to_mm, max(first, last))]
    numbers = range(first, last + 1) if first < last else range(first, last - 1, -1)
    # Between two neighbours the line is at the lower one: that place belongs to the lower one.
    start, length, rise = piece.from_mm, piece.to_mm - piece.from_mm, right - left
    cuts = [
        Fraction(start * rise + length * (min(pair) * course - left), rise)
        for pair in pairwise(numbers)
    ]
    up = first < last
    edges = [piece.from_mm, *cuts, piece.to_mm]
    return [
        JointRun(start, end, number, up and place > 0, not up and place < len(cuts))
        for place, (number, (start, end)) in enumerate(zip(numbers, pairwise(edges), strict=True))
    ]
