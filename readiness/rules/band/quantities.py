"""How much liquid, sealant, backing rod and solvent a site takes, with the steps of the working.

Liquid on brick goes by the length of mortar joint in the treated band: common practice (1 L per
10 lineal metres for two courses) is the base, scaled by bed and perpend joint per metre of wall.
Render goes by area. Everything adds up by length, so cutting a run in two changes no total.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from enum import StrEnum
from fractions import Fraction

from readiness.rules.band.geometry import Joint, WallRun
from readiness.rules.values.rule_values import RuleValues, minutes_key


class SealingNote(StrEnum):
    """What has to be known of a joint before it is sealed."""

    CRACK_TOO_WIDE = "crack_too_wide"
    TOO_WIDE = "too_wide"
    TIGHT = "tight"
    NO_ROD = "no_rod"


@dataclass(frozen=True)
class RunLiquid:
    """What one wall run takes. Lengths in mm; litres before waste, exactly."""

    run_id: str
    label: str
    length_mm: int
    courses: int
    bed_joint_mm: int
    perpend_mm: Fraction
    area_mm2: Fraction
    litres: Fraction


@dataclass(frozen=True)
class JointSealing:
    """What one joint takes. `rod_mm` is None for a tight crack, or where no stocked rod fits."""

    run_id: str
    distance_mm: int
    kind: str
    width_mm: int
    height_mm: int
    rod_mm: int | None
    rod_length_mm: int
    sealant_depth_mm: Fraction
    sealant_mm3: Fraction
    note: SealingNote | None = None


@dataclass(frozen=True)
class Quantities:
    """The totals for a site. Litres and mL are rounded as people order them.

    `exact_litres` are without waste; `is_average` says that no walls were given.
    """

    runs: tuple[RunLiquid, ...]
    sealing: tuple[JointSealing, ...]
    lineal_mm: int
    litres: Decimal
    litres_with_waste: Decimal
    first_fill_litres: Decimal
    refills: int
    drums: int
    rod_mm_by_diameter: dict[int, int]
    sealant_ml: Decimal
    cartridges: int
    solvent_ml: int
    exact_litres: Fraction
    pumps: int
    is_average: bool = False


def joint_mm_per_wall_mm(run: WallRun, courses: int, values: RuleValues) -> Fraction:
    """Length of bed and perpend joint in so many courses, for each mm of wall.

    One bed joint a course (the band's top joint; the next band's belongs to the next course), and
    in each course one perpend every brick, as high as the brick.
    """
    brick_mm = run.gauge_or_default(values).course_mm - values["joint_thickness_mm"]
    return courses * (1 + brick_mm / run.perpend_spacing_mm(values))


def base_litres_per_joint_mm(values: RuleValues) -> Fraction:
    """Litres for each mm of joint that common practice comes to, on standard brick."""
    courses = values["litres_base_courses"]
    course_mm = Fraction(values["gauge_height_mm"], values["gauge_courses"])
    brick_mm = course_mm - values["joint_thickness_mm"]
    pitch_mm = values["brick_length_mm"] + values["joint_thickness_mm"]
    return Fraction(values["litres_per_10_m"]) / (10_000 * courses * (1 + brick_mm / pitch_mm))


def run_liquid(run: WallRun, values: RuleValues) -> RunLiquid:
    """The liquid for one run: by joint length on brick, by area on render."""
    courses = run.courses_or_default(values)
    course_mm = run.gauge_or_default(values).course_mm
    area_mm2 = run.length_mm * courses * course_mm
    bed_mm, perpend_mm = 0, Fraction(0)
    if run.is_rendered:
        litres = area_mm2 * Fraction(values["render_litres_per_m2"]) / 1_000_000
    else:
        bed_mm = run.length_mm * courses
        perpend_mm = run.length_mm * joint_mm_per_wall_mm(run, courses, values) - bed_mm
        litres = (bed_mm + perpend_mm) * base_litres_per_joint_mm(values)
    return RunLiquid(
        run.id, run.label, run.length_mm, courses, bed_mm, perpend_mm, area_mm2, litres
    )  # fmt: skip


def rod_diameter_mm(width_mm: int, values: RuleValues) -> int | None:
    """The smallest stocked rod at or above the width plus its allowance; None if none is."""
    least = Fraction(width_mm * (100 + values["rod_oversize_percent"]), 100)
    return next((rod for rod in sorted(values["rod_diameters_mm"]) if rod >= least), None)


def joint_sealing(run: WallRun, joint: Joint, values: RuleValues) -> JointSealing:
    """Backing rod and sealant of one joint: depth half the width, never under the least depth."""
    band_mm = run.courses_or_default(values) * run.gauge_or_default(values).course_mm
    height_mm = joint.height_mm or math.ceil(band_mm)
    tight = joint.width_mm <= values["crack_sealant_alone_max_mm"]
    rod_mm = None if tight else rod_diameter_mm(joint.width_mm, values)
    half = Fraction(joint.width_mm * values["sealant_depth_percent"], 100)
    depth = min(max(half, Fraction(values["sealant_depth_min_mm"])), Fraction(joint.depth_mm))
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
        note=_joint_note(joint, tight, rod_mm, values),
    )


def _joint_note(
    joint: Joint, tight: bool, rod_mm: int | None, values: RuleValues
) -> SealingNote | None:
    if joint.width_mm > values["sealant_width_max_mm"]:
        return SealingNote.CRACK_TOO_WIDE if joint.kind == "crack" else SealingNote.TOO_WIDE
    if tight:
        return SealingNote.TIGHT
    return SealingNote.NO_ROD if rod_mm is None else None


def site_quantities(runs: Sequence[WallRun], values: RuleValues) -> Quantities:
    """Everything for a site; with no wall runs, the average house's perimeter is taken."""
    is_average = not runs
    if not runs:
        runs = (WallRun("average", "", values["average_perimeter_m"] * 1000),)
    liquid = tuple(run_liquid(run, values) for run in runs)
    sealing = tuple(joint_sealing(run, joint, values) for run in runs for joint in run.joints)
    exact = sum((part.litres for part in liquid), Fraction(0))
    with_waste = _rounded_up(exact * (100 + values["waste_percent"]) / 100, "0.1")
    first_fill = min(values["tank_litres"], with_waste)
    sealant_ml = sum((part.sealant_mm3 for part in sealing), Fraction(0)) / 1000
    sealant_ml = sealant_ml * (100 + values["sealant_waste_percent"]) / 100
    return Quantities(
        runs=liquid,
        sealing=sealing,
        lineal_mm=sum(part.length_mm for part in liquid),
        litres=rounded(exact, "0.1"),
        litres_with_waste=with_waste,
        first_fill_litres=first_fill,
        refills=math.ceil((with_waste - first_fill) / values["tank_litres"]),
        drums=math.ceil(with_waste / values["drum_litres"]),
        rod_mm_by_diameter=_rods(sealing),
        sealant_ml=_rounded_up(sealant_ml, "1"),
        cartridges=math.ceil(sealant_ml / values["cartridge_ml"]),
        solvent_ml=values["solvent_ml_per_sprayer"] * values["sprayers"],
        exact_litres=exact,
        pumps=math.ceil(values["pumps_per_5_l"] * first_fill / 5),
        is_average=is_average,
    )


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
