"""How well the business's own rate tells the litres of the next house, beside the rule value.

    .venv/bin/python tests/bench/bench_litres.py [--businesses 200] [--spread 0.15] [--skip-demo]

Leave-one-out: of some houses each in turn is the next one, and told from the others alone. Prints
the median of the absolute errors in per cent, with the rule value (the baseline) and with the own
rate, the ratio of the two, and how many houses lay in the range (two in three are stated).

The houses are simulated, with a fixed seed: walls on sloping ground as the rules work them out,
litres as they are recorded (to 0.1 L) by businesses whose true rates differ from the rule value by
25 % and whose houses spread round their rate by --spread (standard deviations of logarithms). Both
are assumptions: nobody has measured them. "As the rule" is a business that the rule value is right
for: what the own rate costs there. Then the same on the demo's designs, and on the demo's own
treated houses with what was recorded for them.
"""

import argparse
import math
import os
import random
import sys
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from statistics import median

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from readiness.rules.band.geometry import Gauge, GroundPoint, Opening, WallRun
from readiness.rules.band.own_rates import (
    FEWEST_HOUSES,
    TreatedHouse,
    own_rate,
    treated_house,
)
from readiness.rules.values.rule_values import RuleValues

SEED, POOL, BUSINESSES_SPREAD = 20261120, 60, 0.25
COUNTS = (5, 10, 20, 40)
VALUES = RuleValues.defaults()
RULE = Fraction(VALUES["litres_per_10_m"])


@dataclass(frozen=True)
class Errors:
    """Absolute errors in per cent of what was used, and how many houses lay in the range."""

    by_rule: list[float]
    by_own: list[float]
    inside: int

    def row(self) -> str:
        rule, own = median(self.by_rule), median(self.by_own)
        share = self.inside / len(self.by_own) * 100
        ratio = f"{own / rule:8.2f}" if rule else "       -"
        return f"{rule:9.1f} % {own:9.1f} % {ratio} {share:9.0f} %"


def left_out(houses: Sequence[TreatedHouse], rule: Fraction) -> Errors:
    """Each house in turn told from the others."""
    by_rule, by_own, inside = [], [], 0
    for number, house in enumerate(houses):
        known = own_rate([*houses[:number], *houses[number + 1 :]])
        by_rule.append(100 * abs(float(rule / house.rate) - 1))
        by_own.append(100 * abs(float(known.middle / house.rate) - 1))
        inside += known.low <= house.rate <= known.high
    return Errors(by_rule, by_own, inside)


def pooled(parts: Sequence[Errors]) -> Errors:
    return Errors(
        [error for part in parts for error in part.by_rule],
        [error for part in parts for error in part.by_own],
        sum(part.inside for part in parts),
    )


def random_house(chance: random.Random) -> TreatedHouse:
    """Eight walls of face brick of 3 to 12 m on sloping ground, some with a door, as worked out."""
    runs = []
    for number in range(8):
        length_mm = chance.randrange(3000, 12_000)
        start, end = chance.randrange(-330, -180), chance.randrange(-330, -180)
        door = Opening(1000, 1900, "door", wall_below=False)
        runs.append(
            WallRun(
                id=str(number),
                label=f"Wall {number}",
                length_mm=length_mm,
                gauge=Gauge(7, 600),
                bed_joint_mm=-172,
                ground_today=(GroundPoint(0, start), GroundPoint(length_mm, end)),
                openings=(door,) if chance.random() < 0.3 else (),
            )
        )
    return treated_house(runs, VALUES, 1)


def designs() -> list[TreatedHouse]:
    """The demo's designs, all of it in brick: each as it is, and with its walls a little longer."""
    from readiness.demo.houses import COURTYARD, TERRACE, brick_levels

    found = []
    for number in range(POOL):
        house = (COURTYARD, TERRACE)[number % 2]
        walls = [replace(wall, length_mm=wall.length_mm + number * 20) for wall in house.walls]
        runs = [
            WallRun(wall.label, wall.label, wall.length_mm).with_levels(brick_levels(wall))
            for wall in walls
        ]
        found.append(treated_house(runs, VALUES, 1))
    return found


def treat(house: TreatedHouse, rate: float, chance: random.Random, spread: float) -> TreatedHouse:
    """The house treated at a rate, with what is recorded: tenths of a litre."""
    litres = float(house.amount) * rate * math.exp(chance.gauss(0, spread))
    return replace(house, litres=Fraction(max(1, round(litres * 10)), 10))


def simulated(
    pool: Sequence[TreatedHouse], known: int, businesses: int, differs: float, spread: float
) -> Errors:
    """Businesses that recorded one house more than `known`."""
    chance = random.Random(SEED + known)
    parts = []
    for _ in range(businesses):
        rate = float(RULE) * math.exp(chance.gauss(0, differs))
        houses = [treat(house, rate, chance, spread) for house in chance.sample(pool, known + 1)]
        parts.append(left_out(houses, RULE))
    return pooled(parts)


def table(title: str, pool: Sequence[TreatedHouse], options: argparse.Namespace) -> None:
    print(f"\n{title}")
    print("houses known     rule value    own rate    ratio   in range")
    for words, differs in (("", BUSINESSES_SPREAD), (", as the rule", 0.0)):
        for known in COUNTS:
            errors = simulated(pool, known, options.businesses, differs, options.spread)
            print(f"{f'{known}{words}':<16}{errors.row()}")


def demo_houses() -> None:
    """What the demo's own treatments say, loaded into a folder that goes away."""
    with tempfile.TemporaryDirectory(prefix="bench-litres-") as folder:
        os.environ.update(
            READINESS_DEMO="1", READINESS_DATA=folder, DJANGO_SETTINGS_MODULE="portal.settings"
        )
        import django

        django.setup()
        from django.core.management import call_command

        from readiness.demo import scenario
        from readiness.insights.liquid import own_rates
        from readiness.models import Booking
        from readiness.wording.own_rates import RULE_OF_GROUP

        call_command("migrate", verbosity=0)
        call_command("createcachetable", verbosity=0)
        scenario.load()
        known, treated = own_rates(), Booking.objects.first_treatments().count()
        print(f"\nTreated houses of the demo: {treated}")
        for group, key in RULE_OF_GROUP.items():
            houses = [house for house in known.houses if house.group == group]
            if len(houses) > FEWEST_HOUSES:
                print(f"{f'{len(houses) - 1}, {group}':<16}{left_out(houses, VALUES[key]).row()}")
            else:
                print(f"all {group}: {len(houses)} (to leave one out takes {FEWEST_HOUSES + 1})")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--businesses", type=int, default=200)
    parser.add_argument("--spread", type=float, default=0.15)
    parser.add_argument("--skip-demo", action="store_true", help="do not load the demo")
    options = parser.parse_args()
    chance = random.Random(SEED)
    houses = [random_house(chance) for _ in range(POOL)]
    print(f"Simulated, {options.businesses} businesses each, spread {options.spread:.0%}:", end="")
    table("Houses of eight walls on sloping ground", houses, options)
    table("The demo's designs, all in brick", designs(), options)
    if not options.skip_demo:
        demo_houses()


if __name__ == "__main__":
    main()
