"""Rules: a site of 40 runs with 20 ground points each, solved, assessed and drawn.

Run: python tests/bench/bench_rules.py
The baseline is the millimetre-by-millimetre reference of the tests, in the same run. The last
lines say how long the live check of one wall takes, which has to keep up with typing (a fast
typist leaves about 100 ms between two keys).
"""

import random
import statistics
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from readiness.papers.drawings.elevation import elevation_svg
from readiness.rules.band.geometry import FinishToCome, Gauge, GroundPoint, WallRun, WeepHoles
from readiness.rules.band.levels import cell_edges_mm, line_notes, solve
from readiness.rules.band.quantities import site_quantities
from readiness.rules.defects.proposals import proposed_items
from readiness.rules.site.assessment import CheckFacts, ItemFacts, ReportFacts, SiteFacts, assess
from readiness.rules.values.rule_values import RuleValues
from tests.rules.brute_force import brute_line

VALUES = RuleValues.defaults()
RUNS, POINTS = 40, 20


def wall(number: int, chance: random.Random) -> WallRun:
    """A wall of 3 to 12 m on sloping, uneven ground with some paving to come."""
    length_mm = chance.randrange(3000, 12_000)
    inner = chance.sample(range(1, length_mm), POINTS - 2)
    start, end = chance.randrange(-330, -230), chance.randrange(-330, -230)
    points = tuple(
        GroundPoint(at, round(start + (end - start) * at / length_mm) + chance.randrange(-25, 25))
        for at in sorted([0, *inner, length_mm])
    )
    return WallRun(
        id=str(number),
        label=f"Wall {number}",
        length_mm=length_mm,
        gauge=Gauge(7, 600),
        first_bed_joint_mm=-260,
        ground_today=points,
        finishes_to_come=(FinishToCome(length_mm // 3, length_mm // 2, 60, "paving"),),
        weep_holes=(WeepHoles(0, 1200),),
    )


def median_ms(work, times: int) -> float:
    took = []
    for _ in range(times):
        start = time.perf_counter()
        work()
        took.append((time.perf_counter() - start) * 1000)
    return statistics.median(took)


def main() -> None:
    chance = random.Random(20260312)
    runs = tuple(wall(number, chance) for number in range(RUNS))
    now = datetime(2026, 3, 12, 2, tzinfo=UTC)
    report = ReportFacts(1, now, tuple(CheckFacts(run.id) for run in runs))
    items = tuple(ItemFacts(str(n), n, runs[n].id, "dirty_brick") for n in range(RUNS))
    facts = SiteFacts(runs=runs, report=report, now=now, items=items)

    for run in runs:  # the same answer first, or the ratio means nothing
        line = solve(run, VALUES.with_overrides({"min_step_length_mm": 0}))
        starts = cell_edges_mm(run, VALUES)[:-1]
        levels = [next(p.level_mm for p in line.segments if p.to_mm > at) for at in starts]
        assert levels == brute_line(run, VALUES), run.label

    fast = median_ms(lambda: [solve(run, VALUES) for run in runs], 9)
    slow = median_ms(lambda: [brute_line(run, VALUES) for run in runs], 1)
    site = median_ms(lambda: (line_notes.cache_clear(), assess(facts)), 9)
    again = median_ms(lambda: assess(facts), 9)
    quantities = median_ms(lambda: site_quantities(runs, VALUES), 9)
    longest = max(runs, key=lambda run: run.length_mm)
    check = median_ms(lambda: (proposed_items(longest, VALUES), elevation_svg(longest, VALUES)), 25)
    stepped = VALUES.with_overrides({"min_step_length_mm": 960})
    careful = median_ms(lambda: [solve(run, stepped) for run in runs], 5)

    print(f"{RUNS} runs with {POINTS} ground points each, medians:")
    print(f"  brute force, every mm (baseline)  {slow:9.1f} ms    1")
    print(f"  lines solved                      {fast:9.1f} ms    1/{slow / fast:.0f}")
    print(f"  lines, stretches of 0.96 m        {careful:9.1f} ms    1/{slow / careful:.0f}")
    print(f"  site assessed, levels and all     {site:9.1f} ms    1/{slow / site:.0f}")
    print(f"  the same again, lines kept        {again:9.1f} ms    1/{slow / again:.0f}")
    print(f"  quantities with working           {quantities:9.1f} ms    1/{slow / quantities:.0f}")
    print(f"live check of the longest wall with its drawing: {check:.1f} ms")


if __name__ == "__main__":
    main()
