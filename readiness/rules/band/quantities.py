"""How much liquid, sealant, backing rod and solvent a site takes, with the steps of the working.

Liquid on brick goes with length and courses, from the courses that exist and the wall that is
there: common practice is 1 L per 10 lineal metres for two courses. Render goes by area. What walls
really take differs with suction, joint depth and raking: so there is a range beside the figure.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_FLOOR, ROUND_HALF_UP, Decimal
from enum import StrEnum
from fractions import Fraction

from readiness.rules.band import believable
from readiness.rules.band.geometry import Joint, WallRun
from readiness.rules.band.levels import WallBand, bands_of
from readiness.rules.band.measured import gaps_of, rules_of
from readiness.rules.band.wall import LITRES_FOR_COURSES
from readiness.rules.values.rule_values import RuleValues, minutes_key


class SealingNote(StrEnum):
    """What has to be known of a joint before it is sealed."""

    CRACK_TOO_WIDE = "crack_too_wide"
    TOO_WIDE = "too_wide"
    TIGHT = "tight"
    NO_ROD = "no_rod"
    SHALLOW = "shallow"


@dataclass(frozen=True)
class RunLiquid:
    """What one wall run takes, where somebody can reach it: treated length in mm, area, and litres
    before waste, exactly.

    `courses` are the fewest and the most in its band, None on render. `is_measured` False: too
    little was measured, so that the whole run with the courses asked for stands in for its band.
    `openings_unknown` are doors and windows that count as wall, as nobody said what is below them;
    `raked_mm` is how deep the joints are raked.
    """

    run_id: str
    label: str
    finish: str
    length_mm: int
    courses: tuple[int, int] | None
    area_mm2: Fraction
    litres: Fraction
    is_measured: bool
    openings_unknown: int = 0
    raked_mm: int | None = None


@dataclass(frozen=True)
class JointSealing:
    """What one joint takes. `rod_mm` is None for a tight crack, or where no stocked rod fits.

    `depth_mm` is how deep the joint is, `depth_needed_mm` how deep rod and sealant want it to be.
    """

    run_id: str
    distance_mm: int
    kind: str
    width_mm: int
    depth_mm: int
    height_mm: int
    rod_mm: int | None
    rod_length_mm: int
    sealant_depth_mm: Fraction
    sealant_mm3: Fraction
    depth_needed_mm: int
    note: SealingNote | None = None


@dataclass(frozen=True)
class Quantities:
    """The totals for a site. Litres and mL are rounded as people order them.

    `exact_litres` are without waste, and so are `litres`, which lie between `least_litres` and
    `most_litres`. What is carried is enough for the most, with waste: who runs short drives twice.
    `refills` go by the figure with waste, `most_refills` by the most. `is_average` says that no
    walls were given.
    """

    runs: tuple[RunLiquid, ...]
    sealing: tuple[JointSealing, ...]
    lineal_mm: int
    litres: Decimal
    least_litres: Decimal
    most_litres: Decimal
    litres_with_waste: Decimal
    carried_litres: Decimal
    first_fill_litres: Decimal
    refills: int
    most_refills: int
    drums: int
    rod_mm_by_diameter: dict[int, int]
    sealant_ml: Decimal
    cartridges: int
    solvent_ml: int
    exact_litres: Fraction
    pumps: int
    is_average: bool = False


def run_liquid(run: WallRun, band: WallBand | None, values: RuleValues) -> RunLiquid:
    """The liquid for one run: by courses on brick, by area on render."""
    amounts = band.answer.amounts if band else None
    if band is None or amounts is None:
        return _estimate(run, values)
    return RunLiquid(
        run.id, run.label, run.finish, math.floor(amounts.length_mm), band.courses,
        Fraction(amounts.area_mm2), amounts.litres, True, _unknown(run), run.raked_mm,
    )  # fmt: skip


def _estimate(run: WallRun, values: RuleValues) -> RunLiquid:
    """The whole run but for openings without wall, with the courses that are asked for."""
    run = _without_slips(run)
    length_mm = run.length_mm - sum(end - start for start, end in gaps_of(run))
    courses = run.courses_asked(values)
    area_mm2 = length_mm * courses * run.gauge_or_nominal(values).course_mm
    rules = rules_of(values)
    if run.is_rendered:
        litres, asked = area_mm2 * rules.litres_per_mm2, None
    else:
        litres = rules.litres_per_10_m * length_mm * courses / (10_000 * LITRES_FOR_COURSES)
        asked = (courses, courses)
    return RunLiquid(
        run.id, run.label, run.finish, length_mm, asked, Fraction(area_mm2), Fraction(litres),
        False, _unknown(run), run.raked_mm,
    )  # fmt: skip


def _without_slips(run: WallRun) -> WallRun:
    """The run, and only its length and finish where a measurement on it can't be right."""
    if not believable.problems(run):
        return run
    plain = WallRun(run.id, run.label, max(run.length_mm, 0), run.finish)
    return replace(plain, out_of_reach=run.out_of_reach)


def _unknown(run: WallRun) -> int:
    return sum(part.wall_below is None for part in run.openings)


def rod_diameter_mm(width_mm: int, values: RuleValues) -> int | None:
    """The smallest stocked rod at or above the width plus its allowance; None if none is."""
    least = Fraction(width_mm * (100 + values["rod_oversize_percent"]), 100)
    return next((rod for rod in sorted(values["rod_diameters_mm"]) if rod >= least), None)


def joint_sealing(
    run: WallRun, joint: Joint, values: RuleValues, band: WallBand | None = None
) -> JointSealing:
    """Backing rod and sealant of one joint: depth half the width, never under the least depth."""
    height_mm = joint.height_mm or _band_height_mm(run, joint, values, band)
    tight = joint.width_mm <= values["crack_sealant_alone_max_mm"]
    rod_mm = None if tight else rod_diameter_mm(joint.width_mm, values)
    half = Fraction(joint.width_mm * values["sealant_depth_percent"], 100)
    wanted = max(half, Fraction(values["sealant_depth_min_mm"]))
    depth = min(wanted, Fraction(joint.depth_mm))
    needed_mm = math.ceil(wanted) + (rod_mm or 0)
    return JointSealing(
        run_id=run.id,
        distance_mm=joint.distance_mm,
        kind=joint.kind,
        width_mm=joint.width_mm,
        height_mm=height_mm,
        rod_mm=rod_mm,
        rod_length_mm=height_mm if rod_mm else 0,
        sealant_depth_mm=depth,
        sealant_mm3=joint.width_mm * depth * height_mm,
        depth_mm=joint.depth_mm,
        depth_needed_mm=needed_mm,
        note=_joint_note(joint, tight, rod_mm, needed_mm, values),
    )


def _band_height_mm(run: WallRun, joint: Joint, values: RuleValues, band: WallBand | None) -> int:
    """The height of the band at a joint; where it is not known, that of the courses asked for."""
    height = band.height_at(joint.distance_mm) if band else None
    if height is None:
        run = _without_slips(run)
        height = run.courses_asked(values) * run.gauge_or_nominal(values).course_mm
    return math.ceil(height)


def _joint_note(
    joint: Joint, tight: bool, rod_mm: int | None, needed_mm: int, values: RuleValues
) -> SealingNote | None:
    if joint.width_mm > values["sealant_width_max_mm"]:
        return SealingNote.CRACK_TOO_WIDE if joint.kind == "crack" else SealingNote.TOO_WIDE
    if tight:
        return SealingNote.TIGHT
    if rod_mm is None:
        return SealingNote.NO_ROD
    return SealingNote.SHALLOW if joint.depth_mm < needed_mm else None


def site_quantities(runs: Sequence[WallRun], values: RuleValues) -> Quantities:
    """Everything for a site; with no wall runs, the average house's perimeter is taken."""
    is_average = not runs
    if not runs:
        runs = (WallRun("average", "", values["average_perimeter_m"] * 1000),)
    bands = bands_of(runs, values)
    liquid = tuple(run_liquid(run, bands[run.id], values) for run in runs if run.reachable_mm)
    sealing = tuple(
        joint_sealing(run, joint, values, bands[run.id]) for run, joint in _joints(runs)
    )  # fmt: skip
    exact = sum((part.litres for part in liquid), Fraction(0))
    most = exact * (100 + values["litres_more_percent"]) / 100
    waste = Fraction(100 + values["waste_percent"], 100)
    with_waste, carried = _rounded_up(exact * waste, "0.1"), _rounded_up(most * waste, "0.1")
    first_fill = min(values["tank_litres"], carried)
    sealant_ml = sum((part.sealant_mm3 for part in sealing), Fraction(0)) / 1000
    sealant_ml = sealant_ml * (100 + values["sealant_waste_percent"]) / 100
    return Quantities(
        runs=liquid,
        sealing=sealing,
        lineal_mm=sum(part.length_mm for part in liquid),
        litres=rounded(exact, "0.1"),
        least_litres=_rounded_down(exact * (100 - values["litres_less_percent"]) / 100, "0.1"),
        most_litres=_rounded_up(most, "0.1"),
        litres_with_waste=with_waste,
        carried_litres=carried,
        first_fill_litres=first_fill,
        refills=_refills(with_waste - first_fill, values),
        most_refills=_refills(carried - first_fill, values),
        drums=math.ceil(carried / values["drum_litres"]),
        rod_mm_by_diameter=_rods(sealing),
        sealant_ml=_rounded_up(sealant_ml, "1"),
        cartridges=math.ceil(sealant_ml / values["cartridge_ml"]),
        solvent_ml=values["solvent_ml_per_sprayer"] * values["sprayers"],
        exact_litres=exact,
        pumps=math.ceil(values["pumps_per_5_l"] * first_fill / 5),
        is_average=is_average,
    )


def _refills(litres: Decimal, values: RuleValues) -> int:
    return max(0, math.ceil(litres / values["tank_litres"]))


def _joints(runs: Iterable[WallRun]) -> Iterator[tuple[WallRun, Joint]]:
    """Each joint that somebody can reach, with its wall."""
    for run in runs:
        for joint in run.joints:
            if not run.is_out_of_reach(joint.distance_mm, joint.distance_mm):
                yield run, joint


def _rods(sealing: Iterable[JointSealing]) -> dict[int, int]:
    rods: dict[int, int] = {}
    for part in sealing:
        if part.rod_mm:
            rods[part.rod_mm] = rods.get(part.rod_mm, 0) + part.rod_length_mm
    return dict(sorted(rods.items()))


def rounded(exact: Fraction, places: str) -> Decimal:
    """To the nearest, halves up; `places` is such as "0.01"."""
    return _decimal(exact).quantize(Decimal(places), ROUND_HALF_UP)


def _rounded_up(exact: Fraction, places: str) -> Decimal:
    """Up, but not for a sliver that division left behind."""
    return _decimal(exact).quantize(Decimal(places), ROUND_CEILING)


def _rounded_down(exact: Fraction, places: str) -> Decimal:
    return _decimal(exact).quantize(Decimal(places), ROUND_FLOOR)


def _decimal(exact: Fraction) -> Decimal:
    return round(Decimal(exact.numerator) / Decimal(exact.denominator), 9)


@dataclass(frozen=True)
class CleaningCost:
    """What it would take the applicator to put items right: minutes, and cents at the rate."""

    minutes: int
    cents: int
    minutes_by_kind: dict[str, int]


def cleaning_cost(kinds: Iterable[str], values: RuleValues) -> CleaningCost:
    """An estimate for items of these kinds (one entry an item), rounded up to whole cents."""
    rate = values["labour_cents_per_hour"]
    by_kind: dict[str, int] = {}
    for slug in kinds:
        by_kind[slug] = by_kind.get(slug, 0) + values.get(minutes_key(slug), 0)
    minutes = sum(by_kind.values())
    return CleaningCost(minutes, math.ceil(Fraction(minutes * rate, 60)), by_kind)
