"""The treated band of a wall of brick or block: its top and its bottom, cell by cell.

Decisions that nothing else settles, all for the safe side:

- Where the wall ends at a threshold the band ends there, and the courses asked for are counted down
  from the highest joint at or below the threshold.
- A row of weep holes counts at both its ends. Above a weep hole the line never goes, unless no
  joint exists at or below it.
- Bands beside a step overlap by a course. In the bond they do once the bottom is widened to its
  perpends; beside a threshold the higher band goes down for a unit and its joint, and on to those.
- No joint lies below the bottom of the brickwork: the line is at the lowest that exists or higher.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from readiness.rules.band.bond import Cells, cells_of, lowered, raised
from readiness.rules.band.ground import GroundPart, JointRun, joints_above, joints_below
from readiness.rules.band.level_stretches import across_gaps, cheapest, long_enough, stretches
from readiness.rules.band.profile import Exact
from readiness.rules.band.stretch import Stretch, cut_at_sills, joined
from readiness.rules.band.wall import BandRules, Joints, Sill, Unit, Wall, joints_of

_UNSET = 10**9
"""Beyond every joint: what a cell has before any ground was seen there."""


@dataclass(frozen=True)
class Lowering:
    """The band goes down at least to a joint from one distance to another."""

    from_mm: Exact
    to_mm: Exact
    joint: int


@dataclass(frozen=True)
class CourseLine:
    """The line of one reading of the ground: the joint of each cell, and the joint needed there.

    `runs` are the joints needed point by point.
    """

    joints: list[int]
    needed: list[int]
    runs: list[JointRun]


class Coursed:
    """One wall of brick or block with known joints and ground."""

    def __init__(
        self, wall: Wall, unit: Unit, joints: Joints, rules: BandRules, ground: Sequence[GroundPart]
    ) -> None:
        self.wall, self.unit, self.joints, self.rules = wall, unit, joints, rules
        self.ground = ground
        self.cells: Cells = cells_of(wall, unit)
        self.sill_tops = [joints.at_or_above(sill.threshold_mm) for sill in wall.sills]
        self.caps = self._caps()

    @classmethod
    def of(cls, wall: Wall, rules: BandRules, ground: Sequence[GroundPart]) -> Coursed | None:
        """None where the joints, the unit or the ground are not known."""
        joints = joints_of(wall, rules.courses)
        if joints is None or wall.unit is None or not ground:
            return None
        return cls(wall, wall.unit, joints, rules, ground)

    # The top

    def line(self, shift_mm: int = 0) -> CourseLine:
        """The line, with all ground that much higher than it was read."""
        runs, needed = self._needed(shift_mm)
        lowest = self.joints.lowest
        if lowest is not None:
            needed = [max(joint, lowest) for joint in needed]
        return CourseLine(across_gaps(self._chosen(needed), self.cells), needed, runs)

    def _needed(self, shift_mm: int) -> tuple[list[JointRun], list[int]]:
        """The lowest joint that clears the ground, point by point and in each cell."""
        needed, found = [-_UNSET] * len(self.cells), []
        lift_mm = self.rules.clearance_mm + shift_mm
        for ground, part in zip(self.ground, self.cells.parts, strict=True):
            for piece in ground.pieces:
                top = _UNSET if piece.sill is None else self.sill_tops[piece.sill]
                for run in joints_above(piece.finished, lift_mm, self.joints):
                    joint = min(run.joint, top)
                    found.append(JointRun(run.from_mm, run.to_mm, joint))
                    for cell in self._touched(part, run):
                        if needed[cell] < joint:
                            needed[cell] = joint
        return found, needed

    def _chosen(self, needed: list[int]) -> list[int]:
        cells, rules = self.cells, self.rules
        walled = list(cells.wall_cells())
        if rules.fewest_steps:
            simple = [max(needed[cell] for cell in walled)] * len(cells)
        else:
            simple = across_gaps(raised(needed, cells), cells)
        if self._below_caps(simple) and long_enough(simple, cells, rules.shortest_stretch_mm):
            return simple
        return cheapest(needed, self.caps, cells, rules.shortest_stretch_mm, rules.fewest_steps)

    def _below_caps(self, levels: Sequence[int]) -> bool:
        return all(
            cap is None or level <= cap for level, cap in zip(levels, self.caps, strict=True)
        )  # fmt: skip

    def _caps(self) -> list[int | None]:
        """For each cell the highest joint that is not above a weep hole there."""
        caps: list[int | None] = [None] * len(self.cells)
        for row in self.wall.weep_holes:
            highest = self.joints.at_or_below(row.level_mm)
            if self.joints.lowest is not None:
                highest = max(highest, self.joints.lowest)
            for ground, part in zip(self.ground, self.cells.parts, strict=True):
                start, end = max(row.from_mm, ground.from_mm), min(row.to_mm, ground.to_mm)
                for cell in self.cells.touched(part, start, end) if start <= end else ():
                    here = caps[cell]
                    caps[cell] = highest if here is None else min(here, highest)
        return caps

    # The bottom

    def bottom(
        self, line: CourseLine, shift_mm: int = 0, lowerings: Sequence[Lowering] = ()
    ) -> list[int]:
        """The bottom joint of each cell, also where the brickwork ends above it."""
        asked = self.joints.asked
        wanted = [joint - asked for joint in line.joints]
        for gap in self.cells.gaps():
            wanted[gap] = _UNSET
        for sill in self.wall.sills:
            under = self.joints.at_or_below(sill.threshold_mm) - asked
            self._lower(wanted, Lowering(sill.from_mm, sill.to_mm, under))
        self._lower_to_ground(wanted, shift_mm)
        for lowering in lowerings:
            self._lower(wanted, lowering)
        found = lowered(wanted, self.cells)
        beside_steps = list(self._beside_steps(line, found))
        for lowering in beside_steps:
            self._lower(found, lowering)
        return lowered(found, self.cells) if beside_steps else found

    def _lower_to_ground(self, wanted: list[int], shift_mm: int) -> None:
        drop_mm = self.rules.below_ground_mm - shift_mm
        for ground, part in zip(self.ground, self.cells.parts, strict=True):
            for piece in ground.pieces:
                for run in joints_below(piece.finished, drop_mm, self.joints):
                    for cell in self._touched(part, run):
                        if wanted[cell] > run.joint:
                            wanted[cell] = run.joint

    def _lower(self, wanted: list[int], lowering: Lowering) -> None:
        for ground, part in zip(self.ground, self.cells.parts, strict=True):
            start = max(lowering.from_mm, ground.from_mm)
            end = min(lowering.to_mm, ground.to_mm)
            if start < end:
                for cell in self.cells.touched(part, start, end, True, True):
                    wanted[cell] = min(wanted[cell], lowering.joint)

    def _beside_steps(self, line: CourseLine, bottom: Sequence[int]) -> Iterator[Lowering]:
        """Where the bands left and right of a step overlap by less than a course."""
        for place, left, right in self._steps(line):
            ground, part = self.ground[place], self.cells.parts[place]
            at = left.to_mm
            under = min(self._whole(left), self._whole(right)) - 1
            goes_on = right.level_mm > left.level_mm
            end = at + self.unit.pitch_mm if goes_on else at - self.unit.pitch_mm
            beside = self.cells.touched(part, min(at, end), max(at, end), True, True)
            if bottom[beside[0] if goes_on else beside[-1]] > under:
                start = max(ground.from_mm, min(at, end))
                yield Lowering(start, min(ground.to_mm, max(at, end)), under)

    def _steps(self, line: CourseLine) -> Iterator[tuple[int, Stretch, Stretch]]:
        """Each step with the number of the part of the wall that it is in."""
        for place, tops in enumerate(self._tops(line)):
            for left, right in pairwise(tops):
                if left.level_mm != right.level_mm:
                    yield place, left, right

    def _whole(self, top: Stretch) -> int:
        """The highest joint at or below the top of the band."""
        return self.joints.at_or_below(top.level_mm)

    def _touched(self, part: tuple[int, int], run: JointRun) -> range:
        return self.cells.touched(part, run.from_mm, run.to_mm, run.open_start, run.open_end)

    # Both as stretches

    def tops(self, line: CourseLine) -> tuple[Stretch, ...]:
        """The line as stretches, outside openings without wall, and not above a threshold."""
        return tuple(top for tops in self._tops(line) for top in tops)

    def _tops(self, line: CourseLine) -> Iterator[tuple[Stretch, ...]]:
        for part in self.cells.parts:
            whole = (self._level(*span) for span in self._spans(line.joints, part))
            yield joined(
                cut for top in whole for cut in cut_at_sills(top, self.wall.sills, self._at_sill)
            )

    def _spans(
        self, levels: Sequence[int], part: tuple[int, int]
    ) -> Iterator[tuple[Exact, Exact, int]]:
        """From where to where a part of the wall has which level."""
        for first, after, level in stretches(levels[slice(*part)]):
            yield self.cells.lies_at(part[0] + first), self.cells.lies_at(part[0] + after), level

    def _level(self, from_mm: Exact, to_mm: Exact, joint: int) -> Stretch:
        level = self.joints.level_mm(joint)
        return Stretch(from_mm, to_mm, level, level, joint, joint)

    def _at_sill(self, sill: Sill, from_mm: Exact, to_mm: Exact) -> Stretch:
        level, top = sill.threshold_mm, self.joints.at_or_above(sill.threshold_mm)
        exact = top if self.joints.level_mm(top) == level else None
        return Stretch(from_mm, to_mm, level, level, exact, top, at_sill=True)

    def bottoms(self, bottom: Sequence[int]) -> tuple[Stretch, ...]:
        """The bottom as stretches, outside openings without wall, and where brick is."""
        return joined(
            self._lowest(*span) for part in self.cells.parts for span in self._spans(bottom, part)
        )

    def _lowest(self, from_mm: Exact, to_mm: Exact, joint: int) -> Stretch:
        lowest, level_mm = self.joints.lowest, self.wall.brick_bottom_mm
        if lowest is None or level_mm is None or joint >= lowest:
            return self._level(from_mm, to_mm, joint)
        exact = lowest if self.joints.level_mm(lowest) == level_mm else None
        return Stretch(from_mm, to_mm, level_mm, level_mm, exact, lowest)

    def ends(self, bottom: Sequence[int]) -> list[tuple[Exact, Exact]]:
        """From where to where the brickwork ends above the bottom that is asked for."""
        lowest = self.joints.lowest
        if lowest is None:
            return []
        found: list[tuple[Exact, Exact]] = []
        for part in self.cells.parts:
            for start, end, joint in self._spans(bottom, part):
                if joint < lowest and found and found[-1][1] == start:
                    found[-1] = (found[-1][0], end)
                elif joint < lowest:
                    found.append((start, end))
        return found
