"""What is said of the business's own rates, beside the rule values."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.band.own_rates import (
    FinishGroup,
    OwnRate,
    OwnRates,
    amount_of,
    group_of,
)
from readiness.rules.band.quantities import Quantities, RunLiquid, rounded
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import number
from readiness.wording.quantities import litres_between

RULE_OF_GROUP = {
    FinishGroup.BRICK: "litres_per_10_m",
    FinishGroup.RENDER: "render_litres_per_m2",
}
"""The rule value that a group's own rate stands beside."""


def beside_rules(rates: OwnRates) -> dict[str, str]:
    """For the key of each rule value that has an own rate beside it, what is said there."""
    return {key: beside_rule(rates, group) for group, key in RULE_OF_GROUP.items()}


def beside_rule(rates: OwnRates, group: FinishGroup) -> str:
    """The business's own rate of a group, or how many houses it still takes."""
    rate = rates.of(group)
    return missing(group, rates.missing(group)) if rate is None else own_rate(rate)


def missing(group: FinishGroup, count: int) -> str:
    """How many houses are still missing."""
    if group is FinishGroup.RENDER:
        words = ngettext(
            "Your own rate for render: after %(count)d more treated house that is all render.",
            "Your own rate for render: after %(count)d more treated houses that are all render.",
            count,
        )
    else:
        words = ngettext(
            "Your own rate for brick: after %(count)d more treated house that is all brick.",
            "Your own rate for brick: after %(count)d more treated houses that are all brick.",
            count,
        )
    return words % {"count": count}


def own_rate(rate: OwnRate) -> str:
    """What the last houses took in the middle, and what to expect of the next one."""
    words = _(
        "Your last %(houses)d brick houses took %(middle)s L per 10 m of two courses in the "
        "middle, waste included. Expect %(low)s to %(high)s on the next one, two times in three."
    )
    if rate.group is FinishGroup.RENDER:
        words = _(
            "Your last %(houses)d rendered houses took %(middle)s L/m² in the middle, waste "
            "included. Expect %(low)s to %(high)s on the next one, two times in three."
        )
    told = {
        "houses": rate.houses,
        "middle": _rate(rate.middle),
        "low": _rate(rate.low),
        "high": _rate(rate.high),
    }
    return " ".join([words % told, *_estimated(rate.estimated)])


def _rate(exact: Fraction) -> str:
    return number(rounded(exact, "0.01"))


def _estimated(houses: int) -> list[str]:
    if not houses:
        return []
    words = ngettext(
        "%(count)d of them had walls that were not measured: those count with their whole length.",
        "%(count)d of them had walls that were not measured: those count with their whole length.",
        houses,
    )
    return [words % {"count": houses}]


@dataclass(frozen=True)
class Beside:
    """The own rate of a group, or what is still missing; and what it comes to on a site."""

    rate: str
    here: str = ""


def beside_quantities(found: Quantities, rates: OwnRates, values: RuleValues) -> list[Beside]:
    """What is said beside the quantities of a site, for each group that it has walls of."""
    return [
        Beside(beside_rule(rates, group), _comes_to(found.runs, rates.of(group), values))
        for group in FinishGroup
        if any(group_of(part.finish) == group for part in found.runs)
    ]


def _comes_to(parts: Iterable[RunLiquid], rate: OwnRate | None, values: RuleValues) -> str:
    """Both with waste: like is set beside like."""
    if rate is None:
        return ""
    words = _(
        "On the brick here that makes %(own)s L (%(range)s). By the rule value, with waste: "
        "%(rule)s L."
    )
    if rate.group is FinishGroup.RENDER:
        words = _(
            "On the render here that makes %(own)s L (%(range)s). By the rule value, with waste: "
            "%(rule)s L."
        )
    amount = amount_of(parts, rate.group, values)
    by_rule = Fraction(values[RULE_OF_GROUP[rate.group]]) * (100 + values["waste_percent"]) / 100
    low, high = rounded(rate.low * amount, "0.1"), rounded(rate.high * amount, "0.1")
    told = {
        "own": f"{rounded(rate.middle * amount, '0.1'):.1f}",
        "range": litres_between(low, high),
        "rule": f"{rounded(by_rule * amount, '0.1'):.1f}",
    }
    return words % told
