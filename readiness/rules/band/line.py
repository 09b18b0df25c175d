"""Level stretches of a treatment line and of the bottom of a band, in whole mm along the wall."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from readiness.rules.band.profile import Exact
from readiness.rules.band.stretch import Stretch, whole_ends

BED_JOINT = "bed joint"
STRUCK_JOINT = "struck joint"


@dataclass(frozen=True)
class LineSegment:
    """A stretch of the line, or of the bottom, outside openings without wall.

    Levels are exact; the line is level, the bottom on render may slope to `to_level_mm`.
    `joint_number` counts up from the bed joint that was measured, which is 0; it is None on render
    and where the wall ends between two joints. `at_sill`: the wall ends at a threshold there.
    """

    from_mm: int
    to_mm: int
    level_mm: Exact
    to_level_mm: Exact
    joint_number: int | None = None
    at_sill: bool = False

    @property
    def rounded_mm(self) -> int:
        """The level to the nearest mm, for words and drawings."""
        return round(self.level_mm)

    def level_at(self, distance_mm: Exact) -> Exact:
        """The level at a distance within the stretch."""
        rise, run = self.to_level_mm - self.level_mm, self.to_mm - self.from_mm
        return self.level_mm + rise * Fraction(distance_mm - self.from_mm) / run


def segments_of(stretches: Sequence[Stretch], *, is_line: bool) -> tuple[LineSegment, ...]:
    """Stretches in whole mm: a line steps up early and a bottom late, for the safe side."""
    ends = whole_ends(stretches, goes_early=is_line)
    return tuple(
        LineSegment(start, end, part.level_mm, part.to_level_mm, part.joint, part.at_sill)
        for part, (start, end) in zip(stretches, ends, strict=True)
        if start < end
    )
