"""Reading what people type and turning what they measured into levels.

People measure from the top of the slab, from a bed joint, or from the ground; the tape gives mm.
"""

from __future__ import annotations

import re
from decimal import Decimal

from readiness.rules.band.geometry import WallRun
from readiness.rules.band.profile import level_on
from readiness.rules.values.rule_values import RuleValues

FROM_SLAB = "slab"
FROM_BED_JOINT = "bed_joint"
FROM_GROUND = "ground"

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


def level_mm(run: WallRun, measured_mm: int, measured_from: str, values: RuleValues) -> int:
    """The level of a place, in whole mm, from how it was measured.

    So far down from the top of the slab (FROM_SLAB; negative is above it) or from the lowest bed
    joint (FROM_BED_JOINT), or up from today's ground at the left end (FROM_GROUND).
    """
    if measured_from == FROM_SLAB:
        return run.slab_level_mm - measured_mm
    if measured_from == FROM_BED_JOINT:
        if run.first_bed_joint_mm is None:
            raise EntryError("Say first where the lowest bed joint is.")
        return run.first_bed_joint_mm - measured_mm
    if measured_from == FROM_GROUND:
        if not run.ground_today:
            raise EntryError("Enter today's ground first: it is what this is measured from.")
        return round(level_on(run.ground_today, 0) + measured_mm)
    raise EntryError(f"“{measured_from}” is not a place to measure from.")
