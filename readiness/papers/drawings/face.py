"""A wall as its elevation shows it: what was measured, its band, and where both lie."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from readiness.papers.drawings import slopes
from readiness.papers.drawings.frame import Frame
from readiness.papers.drawings.slopes import Slope
from readiness.rules.band.geometry import Unit, WallRun
from readiness.rules.band.levels import WallBand
from readiness.rules.band.line import LineSegment
from readiness.rules.band.profile import Piece
from readiness.rules.values.rule_values import RuleValues


@dataclass(frozen=True)
class Face:
    """A wall seen from outside. Where an opening is not known, nothing is said of its band."""

    run: WallRun
    values: RuleValues
    band: WallBand | None
    frame: Frame
    today_pieces: tuple[Piece, ...]
    finished_pieces: tuple[Piece, ...]

    @cached_property
    def unit(self) -> Unit:
        return self.run.unit_or_usual(self.values)

    @cached_property
    def course_mm(self) -> float:
        return float(self.run.gauge_or_nominal(self.values).course_mm)

    @cached_property
    def today(self) -> list[Slope]:
        """The ground as it is today."""
        return slopes.of_ground(self.today_pieces, self.frame)

    @cached_property
    def finished(self) -> list[Slope]:
        """The ground as it will be finished."""
        return slopes.of_ground(self.finished_pieces, self.frame)

    @cached_property
    def stretches(self) -> list[tuple[Slope, LineSegment]]:
        """The top of the band where it is drawn, each part with the stretch that it is of."""
        return [
            (part, segment)
            for segment in (self.band.segments if self.band else ())
            for part in slopes.outside(slopes.of_band([segment], self.frame), self._not_known)
        ]

    @property
    def line(self) -> list[Slope]:
        """The top of the band."""
        return [part for part, _ in self.stretches]

    @cached_property
    def bottom(self) -> list[Slope]:
        """The bottom of the band; none without a line."""
        segments = self.band.bottoms if self.band and self.band.segments else ()
        return slopes.outside(slopes.of_band(segments, self.frame), self._not_known)

    @cached_property
    def _not_known(self) -> list[tuple[float, float]]:
        return sorted(
            (self.frame.x(part.from_mm), self.frame.x(part.to_mm))
            for part in self.run.openings
            if not part.is_known
        )

    @cached_property
    def brick_foot(self) -> float | None:
        """Where the brickwork starts; None where nobody saw it or it is not on the drawing."""
        level = self.run.brick_bottom_mm
        if level is None or not self.frame.low_mm < level < self.frame.high_mm:
            return None
        return self.frame.y(level)
