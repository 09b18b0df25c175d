"""The treated band of one wall, by one reading of the ground: the same questions of any finish."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Protocol

from readiness.rules.band import beside, rendered
from readiness.rules.band.coursed import Coursed, CourseLine, Lowering
from readiness.rules.band.ground import GroundPart
from readiness.rules.band.profile import Exact, Piece
from readiness.rules.band.stretch import Stretch
from readiness.rules.band.wall import RENDER_OVERLAP_MM, RENDER_UNIT_MM, BandRules, Wall


class TreatedBand(Protocol):
    """What is asked of a band; levels are from the wall's own datum."""

    @property
    def tops(self) -> tuple[Stretch, ...]:
        """The line, outside openings without wall."""

    @property
    def bottoms(self) -> tuple[Stretch, ...]:
        """The bottom, outside openings without wall."""

    @property
    def ends(self) -> list[tuple[Exact, Exact]]:
        """From where to where the brickwork ends above the bottom that is asked for."""

    @property
    def breaches(self) -> list[beside.TooClose]:
        """Where the line breaks a rule."""

    @property
    def overlap_mm(self) -> Exact:
        """By how much it overlaps a neighbour that it is lowered for."""

    @property
    def unit_mm(self) -> int:
        """How far from a corner it is lowered."""

    def lowered_to(self, level_mm: Exact, from_mm: int, to_mm: int) -> TreatedBand:
        """The band that goes down at least to a level between two distances."""

    def shifted(self, shift_mm: int) -> TreatedBand:
        """The band if all ground were that much higher than it was read."""


@dataclass(frozen=True)
class CoursedBand:
    """On brick or block."""

    work: Coursed
    line: CourseLine
    shift_mm: int = 0
    lowerings: tuple[Lowering, ...] = ()

    @cached_property
    def tops(self) -> tuple[Stretch, ...]:
        return self.work.tops(self.line)

    @cached_property
    def cells(self) -> list[int]:
        """The bottom joint of each cell."""
        return self.work.bottom(self.line, self.shift_mm, self.lowerings)

    @property
    def bottoms(self) -> tuple[Stretch, ...]:
        return self.work.bottoms(self.cells)

    @property
    def ends(self) -> list[tuple[Exact, Exact]]:
        return self.work.ends(self.cells) if self.work.joints.lowest is not None else []

    @property
    def breaches(self) -> list[beside.TooClose]:
        if not self.work.wall.weep_holes:
            return []  # only weep holes keep a bed joint from being high enough
        work = self.work
        return beside.too_close(work.wall, work.rules, work.ground, self.tops, self.shift_mm)

    @property
    def overlap_mm(self) -> Exact:
        return self.work.joints.course_mm

    @property
    def unit_mm(self) -> int:
        return self.work.unit.pitch_mm

    def lowered_to(self, level_mm: Exact, from_mm: int, to_mm: int) -> CoursedBand:
        joint = self.work.joints.at_or_below(level_mm)
        return replace(self, lowerings=(*self.lowerings, Lowering(from_mm, to_mm, joint)))

    def shifted(self, shift_mm: int) -> CoursedBand:
        return CoursedBand(self.work, self.work.line(shift_mm), shift_mm)


@dataclass(frozen=True)
class RenderedBand:
    """On render."""

    wall: Wall
    rules: BandRules
    ground: Sequence[GroundPart]
    shift_mm: int = 0
    limits: tuple[rendered.LevelLimit, ...] = ()

    @cached_property
    def tops(self) -> tuple[Stretch, ...]:
        return rendered.struck_tops(self.wall)

    @cached_property
    def wanted(self) -> list[Piece]:
        """The bottom that is asked for."""
        return rendered.wanted_bottoms(self.rules, self.ground, self.shift_mm, self.limits)

    @property
    def bottoms(self) -> tuple[Stretch, ...]:
        return rendered.bottoms_of(self.wall, self.wanted)

    @property
    def ends(self) -> list[tuple[Exact, Exact]]:
        return rendered.wall_ends(self.wall, self.wanted)

    @property
    def breaches(self) -> list[beside.TooClose]:
        return beside.too_close(self.wall, self.rules, self.ground, self.tops, self.shift_mm)

    @property
    def overlap_mm(self) -> Exact:
        return RENDER_OVERLAP_MM

    @property
    def unit_mm(self) -> int:
        return self.wall.unit.pitch_mm if self.wall.unit else RENDER_UNIT_MM

    def lowered_to(self, level_mm: Exact, from_mm: int, to_mm: int) -> RenderedBand:
        limit = rendered.LevelLimit(from_mm, to_mm, level_mm)
        return replace(self, limits=(*self.limits, limit))

    def shifted(self, shift_mm: int) -> RenderedBand:
        return RenderedBand(self.wall, self.rules, self.ground, shift_mm)


def band_of(wall: Wall, rules: BandRules, ground: Sequence[GroundPart]) -> TreatedBand | None:
    """The band of a wall; None where ground, joints or unit are not known."""
    if not ground:
        return None
    if wall.is_rendered:
        return RenderedBand(wall, rules, ground)
    work = Coursed.of(wall, rules, ground)
    return None if work is None else CoursedBand(work, work.line())
