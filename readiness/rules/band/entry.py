"""Reading what people type and turning what they measured into levels.

People measure from the top of the slab, from a bed joint, or from the ground; the tape gives mm.
"""

from __future__ import annotations

import re
from decimal import Decimal
from enum import StrEnum

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


class EntryProblem(StrEnum):
    """Why a length can't be used. What it says is `readiness.wording.refusals.lengths`'s."""

    NOT_A_LENGTH = "not_a_length"
    NOT_WHOLE_MM = "not_whole_mm"
    NO_BED_JOINT = "no_bed_joint"
    NO_GROUND_TODAY = "no_ground_today"


class EntryError(ValueError):
    """What was `typed` can't be read as a length, or not be measured from there.

    `number` is the number in it, where there is one.
    """

    def __init__(self, problem: EntryProblem, typed: str = "", number: str = ""):
        super().__init__(f"{problem}: {typed!r}")
        self.problem, self.typed, self.number = problem, typed.strip(), number


def parse_length_mm(text: str, *, default_unit: str = "mm") -> int:
    """Read "2400", "2400 mm", "240 cm" or "2.4 m" as whole mm.

    A number without a unit is in `default_unit`. With mm as the default, "2.4" is refused rather
    than taken for 2 mm: the person surely meant metres.
    """
    match = _LENGTH.match(text)
    if match is None:
        raise EntryError(EntryProblem.NOT_A_LENGTH, text)
    typed = match["number"].replace(",", ".").replace("−", "-")
    unit = (match["unit"] or default_unit).lower()
    length = Decimal(typed) * _TO_MM[unit]
    if length != length.to_integral_value():
        raise EntryError(EntryProblem.NOT_WHOLE_MM, text, typed)
    return int(length)


def level_mm(run: WallRun, measured_mm: int, measured_from: str, values: RuleValues) -> int:
    """The level of a place, in whole mm, from how it was measured.

    So far down from the top of the slab (FROM_SLAB; negative is above it) or from the measured bed
    joint (FROM_BED_JOINT), or up from today's ground at the left end (FROM_GROUND).
    """
    if measured_from == FROM_SLAB:
        return run.slab_level_mm - measured_mm
    if measured_from == FROM_BED_JOINT:
        if run.bed_joint_mm is None:
            raise EntryError(EntryProblem.NO_BED_JOINT)
        return run.bed_joint_mm - measured_mm
    if measured_from == FROM_GROUND:
        if not run.ground_today:
            raise EntryError(EntryProblem.NO_GROUND_TODAY)
        return round(level_on(run.ground_today, 0) + measured_mm)
    raise ValueError(f"Not a place to measure from: {measured_from!r}")
