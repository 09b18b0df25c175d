"""What was measured on wall runs, as the band's rules take it.

Wall runs follow each other anticlockwise, seen from above (`perimeter` says why), the walls of a
house clockwise: so a house has them the other way round.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

from readiness.rules.band.geometry import Opening, WallRun, apart
from readiness.rules.band.ground import ground_pieces
from readiness.rules.band.perimeter import outline
from readiness.rules.band.profile import Piece
from readiness.rules.band.wall import (
    FEWEST_STEPS,
    LOWEST,
    BandRules,
    Finish,
    House,
    StruckPiece,
    Wall,
    WeepRow,
)
from readiness.rules.values.rule_values import RuleValues


def rules_of(values: RuleValues) -> BandRules:
    """The rules of the band out of a business's rule values."""
    return BandRules(
        clearance_mm=values["line_above_ground_mm"],
        courses=values["courses_treated"],
        below_ground_mm=values["band_below_ground_mm"],
        tape_mm=values["tape_error_mm"],
        litres_per_10_m=Fraction(values["litres_per_10_m"]),
        prefer=FEWEST_STEPS if values["prefer_fewest_steps"] else LOWEST,
        shortest_stretch_mm=values["min_step_length_mm"],
        render_litres_per_m2=Fraction(values["render_litres_per_m2"]),
    )


def wall_of(run: WallRun, values: RuleValues) -> Wall:
    """One run as a wall; levels stay from the site's datum, so that no wall has an offset."""
    return Wall(
        label=run.id,
        length_mm=run.length_mm,
        finish=Finish(run.finish),
        unit=run.unit_or_usual(values),
        gauge=run.gauge,
        bed_joint_mm=run.bed_joint_mm,
        brick_bottom_mm=run.brick_bottom_mm,
        perpend=run.perpend,
        struck_joint=_struck(run),
        ground_today=run.ground_today,
        ground_finished=run.ground_finished or (),
        to_come=run.finishes_to_come,
        openings=tuple(_openings(run)) if run.out_of_reach else run.openings,
        weep_holes=tuple(
            WeepRow(row.from_mm, run.length_mm if row.to_mm is None else row.to_mm, row.level_mm)
            for row in run.weep_holes
        ),
        courses_asked=run.courses_treated,
    )


def gaps_of(run: WallRun) -> tuple[tuple[int, int], ...]:
    """Where nothing is treated: no wall in the band, or nobody can reach it; in order, apart."""
    gaps = [(part.from_mm, part.to_mm) for part in run.openings if part.wall_below is False]
    return apart((*gaps, *run.out_of_reach))


def _openings(run: WallRun) -> Iterator[Opening]:
    """The openings; what nobody can reach is as if there were no wall in the band."""
    gaps = gaps_of(run)
    yield from (Opening(start, end, wall_below=False) for start, end in gaps)
    for part in run.openings:
        edges = sorted(
            {part.from_mm, part.to_mm}
            | {at for gap in gaps for at in gap if part.from_mm < at < part.to_mm}
        )
        for start, end in pairwise(edges):
            if not any(gap[0] <= start and end <= gap[1] for gap in gaps):
                yield replace(part, from_mm=start, to_mm=end)


def _struck(run: WallRun) -> tuple[StruckPiece, ...]:
    """The struck joint piece by piece; the first one measured holds from the left end."""
    starts = [(0, run.struck_joint_mm), *((s.distance_mm, s.level_mm) for s in run.struck_steps)]
    known = [(at, level) for at, level in starts if level is not None]
    if not known:
        return ()
    known[0] = (0, known[0][1])
    ends = [at for at, _ in known[1:]] + [run.length_mm]
    return tuple(
        StruckPiece(at, end, level)
        for (at, level), end in zip(known, ends, strict=True)
        if end > at
    )


def house_of(runs: Sequence[WallRun], values: RuleValues) -> House:
    """Runs that follow each other round a house; `closed` where their plan closes."""
    walls = tuple(wall_of(run, values) for run in reversed(runs))
    return House(rules_of(values), walls, closed=outline(runs).closes)


def today_pieces(run: WallRun) -> tuple[Piece, ...]:
    """The ground as it is today, from end to end; empty if it was not measured."""
    if not run.ground_today:
        return ()
    todays = (piece.today for piece in ground_pieces(_bare(run)))
    return tuple(today for today in todays if today and today.from_mm < today.to_mm)


def finished_pieces(run: WallRun) -> tuple[Piece, ...]:
    """The ground as it will be finished, with what it is made of; empty if nothing was measured.

    Where a finished profile was given, that is it. Otherwise it is today's ground and on it the
    thickest of the finishes that are to come there.
    """
    if not run.has_ground:
        return ()
    return tuple(
        replace(piece.finished, surface=piece.what or run.surface)
        for piece in ground_pieces(_bare(run))
        if piece.from_mm < piece.to_mm
    )


def _bare(run: WallRun) -> Wall:
    """The ground beside a run without the wall."""
    return Wall(
        label=run.id,
        length_mm=run.length_mm,
        finish=Finish(run.finish),
        ground_today=run.ground_today,
        ground_finished=run.ground_finished or (),
        to_come=run.finishes_to_come,
    )
