"""What is said of the business's own rates."""

from fractions import Fraction

import pytest

from readiness.rules.band.geometry import WallRun
from readiness.rules.band.own_rates import FinishGroup, OwnRates, TreatedHouse
from readiness.rules.band.quantities import site_quantities
from readiness.rules.values.rule_values import RULE_VALUES, RuleValues
from readiness.wording.own_rates import (
    RULE_OF_GROUP,
    Beside,
    beside_quantities,
    beside_rules,
    missing,
)

VALUES = RuleValues.defaults()
BRICK, RENDER = FinishGroup.BRICK, FinishGroup.RENDER


def rates(group: FinishGroup, *per_unit: str, is_measured=True) -> OwnRates:
    return OwnRates(
        tuple(
            TreatedHouse(group, Fraction(rate), Fraction(1), is_measured=is_measured)
            for rate in per_unit
        )
    )


def quantities(*finishes: str):
    runs = [WallRun(finish, finish, 20_000, finish) for finish in finishes]
    return site_quantities(runs, VALUES)


def test_every_group_has_a_rule_value_to_stand_beside():
    assert list(RULE_OF_GROUP) == list(FinishGroup)
    assert set(RULE_OF_GROUP.values()) <= set(RULE_VALUES)


@pytest.mark.parametrize(
    ("group", "count", "words"),
    [
        (BRICK, 1, "Your own rate for brick: after 1 more treated house that is all brick."),
        (RENDER, 3, "Your own rate for render: after 3 more treated houses that are all render."),
    ],
)
def test_the_houses_that_are_missing_are_counted(group, count, words):
    assert missing(group, count) == words


def test_a_rate_says_its_middle_its_range_and_how_many_houses():
    # 17 houses: between the third lowest and the third highest
    found = beside_rules(rates(RENDER, *(f"{n}/100" for n in range(50, 67))))
    assert found["render_litres_per_m2"] == (
        "Your last 17 rendered houses took 0.58 L/m² in the middle, waste included. Expect 0.52 to "
        "0.64 on the next one, two times in three."
    )
    assert found["litres_per_10_m"].startswith("Your own rate for brick: after 5 more")


def test_beside_quantities_each_group_of_the_site_has_its_own_line():
    # 20 m of brick: 2 stretches of 10 m, 2.2 L, from 1.8 to 2.8; by the rule 2 L, with waste 2.2
    known = rates(BRICK, "0.9", "1", "1.1", "1.2", "1.4")
    brick, render = beside_quantities(quantities("face_brick", "render"), known, VALUES)
    assert brick.rate.startswith("Your last 5 brick houses took 1.1 L per 10 m")
    assert brick.here == (
        "On the brick here that makes 2.2 L (1.8 to 2.8 L). By the rule value, with waste: 2.2 L."
    )
    assert render == Beside(missing(RENDER, 5))
    assert beside_quantities(quantities("other"), known, VALUES) == []


def test_on_render_it_goes_by_the_area():
    # 20 m x 172 mm are 3.44 m2: at 0.5 L/m2 1.72 L; by the rule (0.6) 2.064 L, with waste 2.27
    known = rates(RENDER, *["1/2"] * 5)
    (render,) = beside_quantities(quantities("render"), known, VALUES)
    assert render.here == (
        "On the render here that makes 1.7 L (1.7 L). By the rule value, with waste: 2.3 L."
    )


def test_walls_that_were_not_measured_are_said():
    found = beside_rules(rates(BRICK, *["1"] * 5, is_measured=False))
    assert found["litres_per_10_m"].endswith(
        "5 of them had walls that were not measured: those count with their whole length."
    )
