"""What a few mm of the tape change: all ground readings of a wall move together, up and down.

Decisions that nothing else settles:

- The line changes over a stretch where another joint is needed point by point and another joint is
  chosen, and only a stretch longer than the unit itself counts. That a step moves along to the next
  perpend is no change.
- Where higher ground would change the line, the band is that of the higher ground.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from readiness.rules.band.coursed import CourseLine
from readiness.rules.band.ground import JointRun
from readiness.rules.band.profile import Exact
from readiness.rules.band.treated import CoursedBand, TreatedBand
from readiness.rules.band.verdict import Verdict, of_band


@dataclass(frozen=True)
class TapeDoubt:
    """The verdicts with the ground higher and lower; from where to where the line would change."""

    higher: Verdict
    lower: Verdict
    from_mm: Exact | None = None
    to_mm: Exact | None = None


def within_tape(
    band: TreatedBand, tape_mm: int, *, undecided: bool
) -> tuple[TreatedBand, TapeDoubt | None]:
    """The band to go by, and the doubt where the tape's error changes the answer."""
    if tape_mm == 0:
        return band, None
    higher, lower = band.shifted(tape_mm), band.shifted(-tape_mm)
    verdicts = [of_band(part, undecided=undecided) for part in (band, higher, lower)]
    up, down = _changed(band, higher), _changed(band, lower)
    if len(set(verdicts)) == 1 and up is None and down is None:
        return band, None
    doubt = TapeDoubt(verdicts[1], verdicts[2], *(up or down or ()))
    if up is not None and isinstance(band, CoursedBand) and isinstance(higher, CoursedBand):
        return CoursedBand(band.work, higher.line), doubt
    return band, doubt


def _changed(one: TreatedBand, other: TreatedBand) -> tuple[Exact, Exact] | None:
    """The first stretch longer than a unit where the line changes."""
    if not isinstance(one, CoursedBand) or not isinstance(other, CoursedBand):
        return None
    if one.line.joints == other.line.joints:
        return None
    found: list[tuple[Exact, Exact]] = []
    for start, end in _both(one, other):
        if found and found[-1][1] == start:
            start = found.pop()[0]
        found.append((start, end))
    return next(((a, b) for a, b in found if b - a > one.work.unit.length_mm), None)


def _both(one: CoursedBand, other: CoursedBand) -> Iterator[tuple[Exact, Exact]]:
    """Where another joint is needed and another one is chosen, from left to right."""
    moved = list(_moved(one, other.line))
    for start, end in _needing_another(one.line.runs, other.line.runs):
        for first, last in moved:
            if max(start, first) < min(end, last):
                yield max(start, first), min(end, last)


def _moved(band: CoursedBand, other: CourseLine) -> Iterator[tuple[Exact, Exact]]:
    cells = band.work.cells
    start: int | None = None
    for cell, pair in enumerate(zip(band.line.joints, other.joints, strict=True)):
        if pair[0] != pair[1] and start is None:
            start = cell
        elif pair[0] == pair[1] and start is not None:
            yield cells.lies_at(start), cells.lies_at(cell)
            start = None
    if start is not None:
        yield cells.lies_at(start), cells.lies_at(len(cells))


def _needing_another(
    these: Sequence[JointRun], those: Sequence[JointRun]
) -> Iterator[tuple[Exact, Exact]]:
    """Where two walks over the same ground need different joints."""
    left = [run for run in these if run.from_mm < run.to_mm]
    right = [run for run in those if run.from_mm < run.to_mm]
    here = there = 0
    while here < len(left) and there < len(right):
        one, other = left[here], right[there]
        start, end = max(one.from_mm, other.from_mm), min(one.to_mm, other.to_mm)
        if start < end and one.joint != other.joint:
            yield start, end
        here, there = here + (one.to_mm == end), there + (other.to_mm == end)
