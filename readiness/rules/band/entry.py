"""Reading what people type and turning what they measured into levels.

People measure from the top of the slab, from a bed joint, or from the ground; the tape gives mm.
"""

from __future__ import annotations

import re
from decimal import Decimal

from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import bed_joint_level_mm
from readiness.rules.band.profile import level_on
from readiness.rules.values.rule_values import RuleValues

FROM_SLAB = "slab"
FROM_BED_JOINT = "bed_joint"
FROM_GROUND = "ground"

MEASURED_FROM = {
    FROM_SLAB: "Down from the top of the slab",
    FROM_BED_JOINT: "Down from the lowest bed joint",
    FROM_GROUND: "Up from the ground today",
}

_LENGTH = re.compile(
    r"^\s*(?P<number>[-+−]?\d+(?:[.,]\d+)?)\s*(?P<unit>mm|cm|m)?\s*$", re.IGNORECASE
)
_TO_MM = {"mm": Decimal(1), "cm": Decimal(10), "m": Decimal(1000)}


class EntryError(ValueError):
    """What was typed can't be read as a length; the text says how to write it."""


def parse_length_mm(text: str, name: str, *, default_unit: str = "mm") -> int:
    """Read "2400", "2400 mm", "240 cm" or "2.4 m" as whole mm.

    A number without a unit is in `default_unit`. With mm as the default, "2.4" is refused rather
    than taken for 2 mm: the person surely meant metres.
    """
    match = _LENGTH.match(text)
    if match is None:
        raise EntryError(f"{name}: “{text.strip()}” is not a length. Write 2400 or 2.4 m.")
    typed = match["number"].replace(",", ".").replace("−", "-")
    unit = (match["unit"] or default_unit).lower()
    length = Decimal(typed) * _TO_MM[unit]
    if length != length.to_integral_value():
        raise EntryError(
            f"{name}: “{text.strip()}” is not in whole mm. For metres, write “{typed} m”."
        )
    return int(length)


def level_from_slab_mm(down_mm: int, slab_level_mm: int = 0) -> int:
    """The level of a place so far down from the top of the slab (negative: above it)."""
    return slab_level_mm - down_mm


def level_from_bed_joint_mm(
    run: WallRun, down_mm: int, values: RuleValues, joint_number: int = 0
) -> int:
    """The level of a place so far down from a bed joint, rounded to whole mm."""
    if run.first_bed_joint_mm is None:
        raise EntryError("Say first where the lowest bed joint is.")
    return round(
        bed_joint_level_mm(run.first_bed_joint_mm, joint_number, run.gauge_or_default(values))
        - down_mm
    )


def level_from_ground_mm(run: WallRun, up_mm: int, distance_mm: int) -> int:
    """The level of a place so far up from today's ground at a distance, rounded to whole mm."""
    if not run.ground_today:
        raise EntryError("Enter today's ground first: it is what this is measured from.")
    return round(level_on(run.ground_today, distance_mm) + up_mm)


def level_mm(
    run: WallRun, measured_mm: int, measured_from: str, values: RuleValues, distance_mm: int = 0
) -> int:
    """The level of a place from how it was measured (one of `MEASURED_FROM`)."""
    if measured_from == FROM_BED_JOINT:
        return level_from_bed_joint_mm(run, measured_mm, values)
    if measured_from == FROM_GROUND:
        return level_from_ground_mm(run, measured_mm, distance_mm)
    if measured_from == FROM_SLAB:
        return level_from_slab_mm(measured_mm, run.slab_level_mm)
    raise EntryError(f"“{measured_from}” is not a place to measure from.")
