"""The treated band: a house of 40 walls of 12 m with 20 ground points each, worked out.

    .venv/bin/python tests/bench/bench_band.py

The baseline is the brute force of the tests on the first of these walls, in the same run. The last
line says how time grows with the points of a wall: 1.0 is as fast as their number.
"""

import random
import sys
import time
from collections.abc import Callable
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from readiness.rules.band.judged import judged
from readiness.rules.band.reading import house_from_json
from tests.rules.band import brute
from tests.rules.band.sites import site, wall

WALLS, POINTS, MORE_POINTS = 40, 20, 320


def house(points: int, walls: int = WALLS) -> dict:
    """Walls of 12 m with uneven ground, as the command reads them."""
    chance = random.Random(5)
    made = []
    for number in range(walls):
        level, ground = -170, []
        for n in range(points):
            level = max(-260, min(-40, level + chance.randint(-30, 30)))
            ground.append((12_000 * n // (points - 1), level))
        made.append(wall(*ground, label=str(number), length_mm=12_000, brick_bottom_mm=-500))
    return site(*made, tape_mm=3)


def seconds(work: Callable[[], object]) -> float:
    """Of this process alone, the best of three: the machine may be busy."""
    taken = []
    for _ in range(3):
        begun = time.process_time()
        work()
        taken.append(time.process_time() - begun)
    return min(taken)


def main() -> None:
    few, many = house_from_json(house(POINTS)), house_from_json(house(MORE_POINTS))
    one = house(POINTS, walls=1)
    solved, grown = seconds(lambda: judged(few)), seconds(lambda: judged(many))
    single = seconds(lambda: judged(house_from_json(one)))
    baseline = seconds(lambda: brute.solve(one))
    print(f"{WALLS} walls of {POINTS} points    {solved * 1000:8.1f} ms")
    print(f"one of them             {single * 1000:8.1f} ms")
    print(f"brute force (baseline)  {baseline * 1000:8.1f} ms {baseline / single:8.1f}x as long")
    print(f"time over points        {grown / solved / (MORE_POINTS / POINTS):8.2f}")


if __name__ == "__main__":
    main()
