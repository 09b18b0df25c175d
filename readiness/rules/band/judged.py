"""Everything that is said of the walls of a house: the bands, what lies beside them, the verdicts.

Pure computation: `judged(house)` is all that the command calls.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass

from readiness.rules.band import beside
from readiness.rules.band.corners import Corner, corners_of, lowered_at
from readiness.rules.band.ground import GroundPart, ground_parts
from readiness.rules.band.profile import Exact
from readiness.rules.band.rendered import unstruck
from readiness.rules.band.stretch import Excess, Stretch, whole_extent
from readiness.rules.band.tape import TapeDoubt, within_tape
from readiness.rules.band.treated import CoursedBand, TreatedBand, band_of
from readiness.rules.band.verdict import Details, Reason, Verdict, Why, of_reasons
from readiness.rules.band.wall import BandRules, House, Wall


@dataclass(frozen=True)
class WallAnswer:
    """What is said of one wall, exactly; None is what could not be told.

    `line` and `bottom` are outside openings without wall.
    """

    wall: Wall
    verdict: Verdict
    why: tuple[Reason, ...]
    line: tuple[Stretch, ...] = ()
    bottom: tuple[Stretch, ...] = ()
    short: tuple[beside.TooClose, ...] | None = None
    clear: tuple[Excess, ...] | None = None
    bare: tuple[Excess, ...] | None = None
    amounts: beside.Amounts | None = None


@dataclass(frozen=True)
class HouseAnswer:
    """What is said of the walls of a house, in their order, and of its corners."""

    walls: tuple[WallAnswer, ...]
    corners: tuple[Corner, ...]


@dataclass(frozen=True)
class _Looked:
    """A wall before its neighbours were looked at."""

    wall: Wall
    ground: tuple[GroundPart, ...]
    band: TreatedBand | None
    doubt: TapeDoubt | None = None


def judged(house: House) -> HouseAnswer:
    """Work out all walls of a house; never fails on walls that `reading` let through."""
    looked = [_looked(wall, house.rules) for wall in house.walls]
    bands = [part.band for part in looked]
    corners = corners_of(house, bands)
    final = lowered_at(house, bands, corners)
    return HouseAnswer(
        tuple(_answer(part, band, house.rules) for part, band in zip(looked, final, strict=True)),
        tuple(corners),
    )


def _looked(wall: Wall, rules: BandRules) -> _Looked:
    ground = ground_parts(wall)
    band = band_of(wall, rules, ground)
    if band is None or any(_unknowns(wall)):
        return _Looked(wall, ground, band)
    undecided = not all(opening.is_known for opening in wall.openings)
    return _Looked(wall, ground, *within_tape(band, rules.tape_mm, undecided=undecided))


def _answer(looked: _Looked, band: TreatedBand | None, rules: BandRules) -> WallAnswer:
    wall, ground = looked.wall, looked.ground
    if not wall.parts:
        none = beside.Amounts(0, 0, 0 * rules.litres_per_10_m)
        return WallAnswer(
            wall, Verdict.RIGHT, (Reason(Why.NO_WALL),), (), (), (), (), (), none
        )  # fmt: skip
    if band is None:
        reasons = tuple(_unknowns(wall))
        return WallAnswer(wall, of_reasons([*reasons]), reasons)
    tops, bottoms = band.tops, band.bottoms
    short = beside.too_close(wall, rules, ground, tops)
    why = [*_unknowns(wall), *_decisions(wall, band, looked.doubt, rules), *_breaches(short)]
    why += _notes(wall, band)
    verdict = of_reasons(why)
    seen, known = bool(wall.ground_today), verdict is not Verdict.NOT_KNOWN
    return WallAnswer(
        wall,
        verdict,
        tuple(why),
        tops,
        bottoms,
        tuple(short),
        tuple(beside.to_clear(ground, bottoms)) if seen else None,
        tuple(beside.still_bare(wall, ground, bottoms)) if seen else None,
        beside.amounts(wall, rules, tops, bottoms) if known else None,
    )


def _unknowns(wall: Wall) -> Iterator[Reason]:
    """What was not measured and has to be."""
    if not wall.parts:
        return
    if not wall.ground_today and not wall.ground_finished:
        yield Reason(Why.NO_GROUND)
    elif not wall.ground_today:
        yield Reason(Why.NO_GROUND_TODAY)
    if wall.is_rendered:
        for start, end in unstruck(wall):
            yield Reason(Why.NO_STRUCK_JOINT, {"from_mm": start, "to_mm": end})
        return
    if wall.bed_joint_mm is None:
        yield Reason(Why.NO_BED_JOINT)
    if wall.unit is None:
        yield Reason(Why.NO_UNIT)


def _decisions(
    wall: Wall, band: TreatedBand, doubt: TapeDoubt | None, rules: BandRules
) -> Iterator[Reason]:
    """What somebody has to decide."""
    for start, end in band.ends:
        yield Reason(Why.BRICK_ENDS, extent(start, end) | {"level_mm": wall.brick_bottom_mm})
    for opening in wall.openings:
        if not opening.is_known:
            yield Reason(Why.OPENING_UNKNOWN, extent(opening.from_mm, opening.to_mm))
    if doubt is not None:
        details: Details = {"tape_mm": rules.tape_mm}
        details |= {"higher": doubt.higher, "lower": doubt.lower}
        if doubt.from_mm is None or doubt.to_mm is None:
            details |= {"from_mm": None, "to_mm": None}
        else:
            details |= extent(doubt.from_mm, doubt.to_mm)
        yield Reason(Why.WITHIN_TAPE, details)


def _breaches(short: list[beside.TooClose]) -> Iterator[Reason]:
    for breach in short:
        details = extent(breach.from_mm, breach.to_mm)
        details |= {"by_mm": math.ceil(breach.by_mm), "cause": breach.cause}
        yield Reason(Why.SHORT, details | ({"what": breach.what} if breach.what else {}))


def _notes(wall: Wall, band: TreatedBand) -> Iterator[Reason]:
    """What is worth knowing and decides nothing."""
    if isinstance(band, CoursedBand):
        if wall.gauge is None:
            yield Reason(Why.GAUGE_NOT_MEASURED)
        if wall.perpend is None and _steps(band):
            yield Reason(Why.STEPS_ABOUT)
    for top in band.tops:
        if top.at_sill:
            level: Details = {"level_mm": str(top.level_mm)}
            yield Reason(Why.ENDS_AT_THRESHOLD, extent(top.from_mm, top.to_mm) | level)


def _steps(band: CoursedBand) -> bool:
    """True where line or bottom step within a part of the wall."""
    parts = band.work.cells.parts
    return any(
        len(set(levels[first:after])) > 1
        for levels in (band.line.joints, band.cells)
        for first, after in parts
    )


def extent(from_mm: Exact, to_mm: Exact) -> Details:
    """From where to where in whole mm, all of it included, as an answer has it."""
    start, end = whole_extent(from_mm, to_mm)
    return {"from_mm": start, "to_mm": end}
