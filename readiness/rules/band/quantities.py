"""How much liquid, sealant, backing rod and solvent a site takes, with the steps of the working.

Liquid on brick goes by the length of mortar joint in the treated band: common practice (1 L per
10 lineal metres for two courses) is the base, scaled by bed and perpend joint per metre of wall.
Render goes by area. Everything adds up by length, so cutting a run in two changes no total.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from decimal import ROUND_CEILING, ROUND_HALF_UP, Decimal
from fractions import Fraction

from readiness.rules.band.geometry import Joint, WallRun
from readiness.rules.values.rule_values import RuleValues, minutes_key
from readiness.rules.words import counted, listed, metres, number


@dataclass(frozen=True)
class Step:
    """One step of the working: what, how it was worked out, and the result with its unit."""

    what: str
    working: str
    result: str


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
    note: str = ""


@dataclass(frozen=True)
class Quantities:
    """The totals for a site, and the working. Litres and mL are rounded as people order them."""

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
    steps: tuple[Step, ...] = ()
    notes: tuple[str, ...] = ()


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


def _joint_note(joint: Joint, tight: bool, rod_mm: int | None, values: RuleValues) -> str:
    if joint.width_mm > values["sealant_width_max_mm"]:
        wide = (
            f"{joint.width_mm} mm is wider than sealant can take "
            f"({values['sealant_width_max_mm']} mm)"
        )
        if joint.kind == "crack":
            return f"{wide}: find out why it opened before anything goes in."
        return f"{wide}: ask before filling it. It must still be able to move, so no mortar."
    if tight:
        return "Tight: sealant alone, no backing rod."
    if rod_mm is None:
        return f"No stocked backing rod is wide enough for {joint.width_mm} mm."
    return ""


def site_quantities(runs: Sequence[WallRun], values: RuleValues) -> Quantities:
    """Everything for a site; with no wall runs, the average house's perimeter is taken."""
    notes: list[str] = []
    if not runs:
        length_mm = values["average_perimeter_m"] * 1000
        runs = (WallRun("average", "Average house", length_mm),)
        notes.append(f"No wall runs yet: an average perimeter of {metres(length_mm)} is taken.")
    liquid = tuple(run_liquid(run, values) for run in runs)
    sealing = tuple(joint_sealing(run, joint, values) for run in runs for joint in run.joints)
    notes += [f"Joint at {metres(part.distance_mm)}: {part.note}" for part in sealing if part.note]
    exact = sum((part.litres for part in liquid), Fraction(0))
    with_waste = _rounded_up(exact * (100 + values["waste_percent"]) / 100, "0.1")
    first_fill = min(values["tank_litres"], with_waste)
    sealant_ml = sum((part.sealant_mm3 for part in sealing), Fraction(0)) / 1000
    sealant_ml = sealant_ml * (100 + values["sealant_waste_percent"]) / 100
    found = Quantities(
        runs=liquid,
        sealing=sealing,
        lineal_mm=sum(part.length_mm for part in liquid),
        litres=_rounded(exact, "0.1"),
        litres_with_waste=with_waste,
        first_fill_litres=first_fill,
        refills=math.ceil((with_waste - first_fill) / values["tank_litres"]),
        drums=math.ceil(with_waste / values["drum_litres"]),
        rod_mm_by_diameter=_rods(sealing),
        sealant_ml=_rounded_up(sealant_ml, "1"),
        cartridges=math.ceil(sealant_ml / values["cartridge_ml"]),
        solvent_ml=values["solvent_ml_per_sprayer"] * values["sprayers"],
        notes=tuple(notes),
    )
    return replace(found, steps=tuple(_steps(found, exact, values)))


def _rods(sealing: Iterable[JointSealing]) -> dict[int, int]:
    rods: dict[int, int] = {}
    for part in sealing:
        if part.rod_mm:
            rods[part.rod_mm] = rods.get(part.rod_mm, 0) + part.rod_length_mm
    return dict(sorted(rods.items()))


def _rounded(exact: Fraction, places: str) -> Decimal:
    return _decimal(exact).quantize(Decimal(places), ROUND_HALF_UP)


def _rounded_up(exact: Fraction, places: str) -> Decimal:
    """Up, but not for a sliver that division left behind."""
    return _decimal(exact).quantize(Decimal(places), ROUND_CEILING)


def _decimal(exact: Fraction) -> Decimal:
    return round(Decimal(exact.numerator) / Decimal(exact.denominator), 9)


def _steps(found: Quantities, litres: Fraction, values: RuleValues) -> Iterable[Step]:
    """The working behind what was found; `litres` are exact and without waste."""
    yield from _liquid_steps(found.runs, values)
    bring = f"{number(found.litres_with_waste)} L"
    waste = f"{number(_rounded(litres, '0.01'))} L + {values['waste_percent']}% waste, rounded up"
    yield Step("Liquid to bring", waste, bring)
    tank = f"a tank of {number(values['tank_litres'])} L"
    then = f"then {counted(found.refills, 'refill')}" if found.refills else "no refill"
    yield Step("Fills", tank, f"first fill {number(found.first_fill_litres)} L, {then}")
    pumps = math.ceil(values["pumps_per_5_l"] * found.first_fill_litres / 5)
    each = f"low pressure: about {values['pumps_per_5_l']} pumps for each 5 L in the sprayer"
    yield Step("Pumps for the first fill", each, f"about {pumps}")
    drum = f"{bring} from drums of {number(values['drum_litres'])} L"
    yield Step("Drums to carry", drum, counted(found.drums, "drum"))
    if found.sealing:
        yield from _sealing_steps(found, values)
    yield Step(
        "Solvent for clean-out",
        f"{counted(values['sprayers'], 'sprayer')} at {values['solvent_ml_per_sprayer']} mL",
        f"{found.solvent_ml} mL",
    )


def _liquid_steps(liquid: Sequence[RunLiquid], values: RuleValues) -> Iterable[Step]:
    brick = [part for part in liquid if part.bed_joint_mm]
    render = [part for part in liquid if not part.bed_joint_mm]
    if brick:
        lineal_mm = sum(part.length_mm for part in brick)
        bed_mm = sum(part.bed_joint_mm for part in brick)
        perpend_mm = sum(part.perpend_mm for part in brick)
        litres = _rounded(sum((part.litres for part in brick), Fraction(0)), "0.01")
        courses = listed(str(n) for n in sorted({part.courses for part in brick}))
        yield Step(
            "Mortar joint in the band",
            f"{metres(lineal_mm)} of brick wall, {courses} courses: {metres(bed_mm)} of bed joint "
            f"+ {metres(round(perpend_mm))} of perpend",
            metres(round(bed_mm + perpend_mm)),
        )
        per_metre = _rounded(base_litres_per_joint_mm(values) * 1000, "0.0001")
        yield Step(
            "Liquid on brick",
            f"{number(values['litres_per_10_m'])} L per 10 m of wall for "
            f"{values['litres_base_courses']} courses is {number(per_metre)} L per metre of joint",
            f"{number(litres)} L",
        )
    if render:
        area = _rounded(sum((part.area_mm2 for part in render), Fraction(0)) / 1_000_000, "0.01")
        litres = _rounded(sum((part.litres for part in render), Fraction(0)), "0.01")
        yield Step(
            "Liquid on render",
            f"{metres(sum(part.length_mm for part in render))} of wall, {number(area)} m² at "
            f"{number(values['render_litres_per_m2'])} L/m²",
            f"{number(litres)} L",
        )


def _sealing_steps(found: Quantities, values: RuleValues) -> Iterable[Step]:
    rods = found.rod_mm_by_diameter
    if rods:
        yield Step(
            "Backing rod",
            f"next stocked size at or above the width plus {values['rod_oversize_percent']}%",
            listed(f"{metres(length)} of {rod} mm" for rod, length in rods.items()),
        )
    yield Step(
        "Sealant",
        f"{counted(len(found.sealing), 'joint')}: width x depth x height, depth "
        f"{values['sealant_depth_percent']}% of the width and at least "
        f"{values['sealant_depth_min_mm']} mm, + {values['sealant_waste_percent']}% waste",
        f"{number(found.sealant_ml)} mL",
    )
    each = f"{values['cartridge_ml']} mL each"
    yield Step("Cartridges", each, counted(found.cartridges, "cartridge"))


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
