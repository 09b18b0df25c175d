"""Where the bands of the walls round the corners meet this one's, at the ends of an elevation."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from readiness.papers.drawings import svg
from readiness.papers.drawings.band_marks import BOTTOM_WIDE, LINE_WIDE, TINT
from readiness.papers.drawings.frame import Frame
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import WallBand
from readiness.rules.band.perimeter import walls_meeting
from readiness.rules.band.profile import Exact

GAP, TICK = 2, 12
SIDE = 24
"""What is left beside the wall where a neighbour is drawn."""


@dataclass(frozen=True)
class BandEnd:
    """Line and bottom of a band where it reaches a corner; `wall` is that wall's label."""

    wall: str
    top_mm: Exact
    bottom_mm: Exact

    def overlap_mm(self, other: BandEnd) -> Exact:
        """How far two bands overlap at their corner; below 0 they are that far apart."""
        return min(self.top_mm, other.top_mm) - max(self.bottom_mm, other.bottom_mm)


@dataclass(frozen=True)
class Neighbours:
    """The bands round the corner at a wall's left and right end, None where none is known."""

    left: BandEnd | None = None
    right: BandEnd | None = None

    @property
    def known(self) -> list[BandEnd]:
        return [end for end in (self.left, self.right) if end]


def neighbours_of(
    run: WallRun, runs: Sequence[WallRun], bands: Mapping[str, WallBand | None]
) -> Neighbours:
    """The bands next to a run among those of its house."""
    before, after = walls_meeting(run.id, runs)
    return Neighbours(
        left=end_of(bands.get(before.id), at_right=True) if before else None,
        right=end_of(bands.get(after.id), at_right=False) if after else None,
    )


def end_of(band: WallBand | None, *, at_right: bool) -> BandEnd | None:
    """A band where its wall ends; None where it does not reach that end, or is not known."""
    if band is None or not band.segments or not band.bottoms:
        return None
    place, at_mm = (-1, band.run.length_mm) if at_right else (0, 0)
    top, bottom = band.segments[place], band.bottoms[place]
    reaches = top.to_mm == bottom.to_mm == at_mm if at_right else top.from_mm == bottom.from_mm == 0
    if not reaches:
        return None
    return BandEnd(band.run.label, top.level_mm, bottom.level_at(at_mm))


def corner_marks(neighbours: Neighbours, frame: Frame) -> list[str]:
    """Past each end of the wall a piece of the next band: its line, its bottom and the tint."""
    drawn = []
    ends = ((neighbours.left, frame.left, -1), (neighbours.right, frame.right, 1))
    for end, x, way in ends:
        if end is not None:
            drawn += _tick(end, x + way * GAP, x + way * (GAP + TICK), frame)
    return drawn


def _tick(end: BandEnd, near: float, far: float, frame: Frame) -> list[str]:
    top, bottom = frame.y(end.top_mm), frame.y(end.bottom_mm)
    shown, foot = frame.within(top), frame.within(bottom)
    drawn = [
        svg.rect(min(near, far), shown, abs(far - near), max(foot - shown, 0), fill=svg.INK,
                 fill_opacity=TINT)
    ]  # fmt: skip
    if top == shown:
        drawn.append(svg.line(near, top, far, top, LINE_WIDE, class_="next-line"))
    if bottom == foot:
        drawn.append(
            svg.line(near, bottom, far, bottom, BOTTOM_WIDE, class_="next-bottom",
                     stroke_dasharray="4 2")
        )  # fmt: skip
    return drawn
