"""A level stretch of a treatment line, and at which joints a line ends."""

from __future__ import annotations

from dataclasses import dataclass

from readiness.rules.band.profile import Exact

BED_JOINT = "bed joint"
STRUCK_JOINT = "struck joint"


@dataclass(frozen=True)
class LineSegment:
    """A level stretch of the line. `level_mm` is exact; `joint_number` is None on render.

    Bed joints count up from the lowest one, which is number 0.
    """

    from_mm: int
    to_mm: int
    level_mm: Exact
    joint_number: int | None = None
    courses_treated: int = 2

    @property
    def rounded_mm(self) -> int:
        """The level to the nearest mm, for words and drawings."""
        return round(self.level_mm)
