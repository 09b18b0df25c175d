"""What a business's own treatments took, beside the rule value: a rate for each group of finishes.

Litres are recorded for a whole house. So a house tells of a group only where all its treated walls
are of that group; a rate is the litres used over what the walls come to: for brick in stretches of
10 m with two courses, for render in square metres. What was used has its waste in it.

The range: put the rates of n houses and of the next one in order. If they are houses of one kind,
the next one is as likely to have any of the n + 1 places. So it lies between the r-th lowest and
the r-th highest of the n with a chance of 1 - 2r / (n + 1), however rates spread. The range has
the greatest r that leaves a chance of two in three: with 5 houses the lowest and the highest.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from statistics import median

from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import bands_of
from readiness.rules.band.measured import rules_of
from readiness.rules.band.quantities import RunLiquid, run_liquid
from readiness.rules.band.wall import Finish
from readiness.rules.values.rule_values import RuleValues

FEWEST_HOUSES = 5
"""With fewer there is no rate."""

MOST_HOUSES = 50
"""So many of the last houses are looked at: brick, product and hands change over the years."""

CHANCE = Fraction(2, 3)
"""The least chance that the next house lies in the range; FEWEST_HOUSES can just give it."""


class FinishGroup(StrEnum):
    """Finishes that take liquid alike."""

    BRICK = "brick"
    RENDER = "render"


_GROUPS = {
    Finish.FACE_BRICK: FinishGroup.BRICK,
    Finish.BAGGED: FinishGroup.BRICK,
    Finish.BLOCK: FinishGroup.BRICK,
    Finish.RENDER: FinishGroup.RENDER,
}


@dataclass(frozen=True)
class TreatedHouse:
    """A house with one group of finishes: litres used, and what its walls come to.

    `amount` is in stretches of 10 m with two courses on brick, in m2 on render. `is_measured`
    False: on some walls too little was measured, and their whole length stands in for the band.
    """

    group: FinishGroup
    litres: Fraction
    amount: Fraction
    is_measured: bool = True

    @property
    def rate(self) -> Fraction:
        """Litres for 10 m with two courses, or for 1 m2."""
        return self.litres / self.amount


@dataclass(frozen=True)
class OwnRate:
    """What houses of a group took: in the middle, and where the next one is expected.

    `estimated` of the houses have walls on which too little was measured.
    """

    group: FinishGroup
    houses: int
    estimated: int
    middle: Fraction
    low: Fraction
    high: Fraction


@dataclass(frozen=True)
class OwnRates:
    """The houses that tell of a rate, the latest first, and the rates that follow from them."""

    houses: tuple[TreatedHouse, ...] = ()

    def of(self, group: FinishGroup) -> OwnRate | None:
        """The rate of a group; None while there are fewer houses than it takes."""
        return own_rate([house for house in self.houses if house.group == group])

    def missing(self, group: FinishGroup) -> int:
        """How many houses are still missing until there is a rate."""
        known = sum(house.group == group for house in self.houses)
        return max(0, FEWEST_HOUSES - known)


def group_of(finish: str) -> FinishGroup | None:
    """The group of a finish; None for one that tells nothing of any other wall."""
    return _GROUPS.get(Finish(finish))


def amount_of(walls: Iterable[RunLiquid], group: FinishGroup, values: RuleValues) -> Fraction:
    """What the walls of a group come to: stretches of 10 m with two courses, or m2."""
    own = [wall for wall in walls if group_of(wall.finish) == group]
    if group is FinishGroup.RENDER:
        return sum((wall.area_mm2 for wall in own), Fraction(0)) / 1_000_000
    return sum((wall.litres for wall in own), Fraction(0)) / rules_of(values).litres_per_10_m


def treated_house(runs: Sequence[WallRun], values: RuleValues, used_ml: int) -> TreatedHouse | None:
    """A house as its report had it; None where its treated walls are not of one group."""
    bands = bands_of(runs, values)
    found = (run_liquid(run, bands[run.id], values) for run in runs)
    walls = [wall for wall in found if wall.litres]
    groups = {group_of(wall.finish) for wall in walls}
    group = groups.pop() if len(groups) == 1 else None
    if group is None:
        return None
    return TreatedHouse(
        group,
        Fraction(used_ml, 1000),
        amount_of(walls, group, values),
        all(wall.is_measured for wall in walls),
    )


def own_rate(houses: Sequence[TreatedHouse]) -> OwnRate | None:
    """The rate of houses of one group; None while there are fewer than it takes."""
    count = len(houses)
    if count < FEWEST_HOUSES:
        return None
    rates = sorted(house.rate for house in houses)
    place = int((1 - CHANCE) / 2 * (count + 1))
    return OwnRate(
        group=houses[0].group,
        houses=count,
        estimated=sum(not house.is_measured for house in houses),
        middle=median(rates),
        low=rates[place - 1],
        high=rates[-place],
    )
