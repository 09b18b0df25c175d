# ruff: noqa: E402  (Django has to be set up before what words things is read)
"""Rules: a site of 40 runs with 20 ground points each, worked out, assessed and drawn.

Run: python tests/bench/bench_rules.py
The baseline is the brute force of the tests on the first of these walls, in the same run. The last
lines say how long the live check of one wall takes, which has to keep up with typing (a fast
typist leaves about 100 ms between two keys).
"""

import os
import random
import statistics
import sys
import time
from datetime import UTC, datetime
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))
os.environ |= {"DJANGO_SETTINGS_MODULE": "portal.settings", "READINESS_DEMO": "1"}

import django

django.setup()


from readiness.papers.drawings.elevation import elevation_svg
from readiness.rules.band import levels, notes
from readiness.rules.band.levels import band_of, bands_of
from readiness.rules.band.quantities import site_quantities
from readiness.rules.band.reading import house_from_json
from readiness.rules.defects.proposals import proposed_items
from readiness.rules.site.assessment import CheckFacts, ItemFacts, ReportFacts, SiteFacts, assess
from readiness.rules.values.rule_values import RuleValues
from tests.rules.band import brute
from tests.rules.band.sites import finish, site, wall, weeps
from tests.rules.band.test_measured import run_of

VALUES = RuleValues.defaults()
RUNS, POINTS = 40, 20


def uneven(number: int, chance: random.Random) -> dict:
    """A wall of 3 to 12 m on sloping, uneven ground with some paving to come."""
    length_mm = chance.randrange(3000, 12_000)
    inner = chance.sample(range(1, length_mm), POINTS - 2)
    start, end = chance.randrange(-330, -230), chance.randrange(-330, -230)
    points = [
        (at, round(start + (end - start) * at / length_mm) + chance.randrange(-25, 25))
        for at in sorted([0, *inner, length_mm])
    ]
    return wall(
        *points,
        label=str(number),
        length_mm=length_mm,
        bed_joint={"level_mm": -260},
        to_come=[finish(length_mm // 3, length_mm // 2, 60)],
        weep_holes=weeps(0, length_mm, 0),
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
    stored = [uneven(number, chance) for number in range(RUNS)]
    one = site(stored[0])
    runs = tuple(run_of(wall) for wall in house_from_json(site(*stored)).walls)
    now = datetime(2026, 3, 12, 2, tzinfo=UTC)
    report = ReportFacts(1, now, tuple(CheckFacts(run.id) for run in runs))
    items = tuple(ItemFacts(str(n), n, runs[n].id, "dirty_brick") for n in range(RUNS))
    facts = SiteFacts(runs=runs, report=report, now=now, items=items)
    longest = max(runs, key=lambda run: run.length_mm)

    def afresh(work):
        levels._bands.cache_clear()
        notes.site_notes.cache_clear()
        return work()

    slow = median_ms(lambda: brute.solve(one), 3)
    single = median_ms(lambda: afresh(lambda: band_of(runs[0], VALUES)), 9)
    fast = median_ms(lambda: afresh(lambda: bands_of(runs, VALUES)), 9)
    assessed = median_ms(lambda: afresh(lambda: assess(facts)), 9)
    again = median_ms(lambda: assess(facts), 9)
    quantities = median_ms(lambda: afresh(lambda: site_quantities(runs, VALUES)), 9)
    check = median_ms(lambda: afresh(lambda: proposed_items(longest, VALUES)), 25)
    drawn = median_ms(lambda: elevation_svg(longest, VALUES), 25)

    print(f"{RUNS} runs with {POINTS} ground points each, medians:")
    print(f"  brute force, one run (baseline)   {slow:9.1f} ms    1")
    print(f"  the same run                      {single:9.1f} ms    1/{slow / single:.0f}")
    print(f"  all runs and their corners        {fast:9.1f} ms")
    print(f"  site assessed, levels and all     {assessed:9.1f} ms")
    print(f"  the same again, answers kept      {again:9.1f} ms")
    print(f"  quantities                        {quantities:9.1f} ms")
    print(f"live check of the longest wall: {check:.1f} ms, its drawing {drawn:.1f} ms")


if __name__ == "__main__":
    main()
