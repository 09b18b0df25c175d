"""Random walls for tests of the treated band: always valid, from plain to awkward.

With no features a file is one standard brick wall with its perpends measured, on sloping ground.
Each feature adds one thing that can go wrong; with all of them everything may meet everything.
"""

from __future__ import annotations

import random
from itertools import pairwise

FEATURES = frozenset(
    {
        "steps",  # the ground has two levels at one distance
        "finishes",  # paving and the like to come, some of it overlapping
        "openings",  # doors without wall in the band
        "thresholds",  # wall up to the threshold of some openings
        "weep holes",  # single ones or rows
        "render",  # some walls are render, with one or more struck joints
        "tape",  # readings are 3 mm good; without it exact
        "corners",  # two to four walls that meet, closed or not
        "datum",  # some walls stand on a slab that is stepped down
        "finished",  # on some walls the finished ground was given as it will be
        "ends",  # ground that was not read at the wall's ends, or steps there; doors at the ends
        "brick_bottom",  # the level where the brickwork starts was measured
        "tall units",  # 119 and 162 mm brick, block
        "no perpend",  # some walls have no measured perpend
        "gauge",  # measured over several courses, or not at all
        "fewest steps",  # the other preference
        "rules",  # other clearances, courses, depth below ground, shortest stretches, rates
        "unknown",  # nulls: no bed joint, an opening nobody decided about
        "on perpends",  # ground steps, finishes and openings exactly on perpends, or on edges
        "half mm",  # unit and joint together an odd number of mm: half a unit is no whole number
    }
)
STANDARD = {"height_mm": 76, "length_mm": 230, "joint_mm": 10}
TALL = (
    {"height_mm": 119, "length_mm": 230, "joint_mm": 10},
    {"height_mm": 162, "length_mm": 230, "joint_mm": 10},
    {"height_mm": 190, "length_mm": 390, "joint_mm": 10},
)
FINISHES = ("paving", "driveway", "turf", "mulch")


def walls(rng: random.Random, features: set[str] | frozenset[str] = FEATURES) -> dict:
    """A file of walls, lengths 1 to 8 m, short ones more often."""
    unheard = set(features) - FEATURES
    if unheard:
        raise ValueError(f"no such features: {sorted(unheard)}")
    count = rng.randint(2, 4) if "corners" in features else 1
    base = rng.randint(-250, -80)
    rules = "rules" in features
    return {
        "version": 1,
        "clearance_mm": rng.choice((75, 75, 50, 100)) if rules else 75,
        "courses": rng.choice((2, 2, 1, 3)) if rules else 2,
        "below_ground_mm": rng.choice((0, 0, 20, 50)) if rules else 0,
        "tape_mm": 3 if "tape" in features else 0,
        "litres_per_10_m": rng.choice(("1.0", "0.8", "1.25")) if rules else "1.0",
        "render_litres_per_m2": rng.choice((None, "0.6")) if rules else None,
        "prefer": rng.choice(("lowest", "fewest steps"))
        if "fewest steps" in features
        else "lowest",
        "shortest_stretch_mm": rng.choice((240, 240, 0, 360, 600)) if rules else 240,
        "closed": count > 2 and rng.random() < 0.5,
        "walls": [wall(rng, features, "ABCD"[i], base) for i in range(count)],
    }


def wall(rng: random.Random, features: set[str] | frozenset[str], label: str, base: int) -> dict:
    """One wall whose ground lies about `base` mm from the datum."""
    unit = _unit(rng, features)
    length = rng.choice((rng.randint(1000, 3000), rng.randint(1000, 3000), rng.randint(3000, 8000)))
    render = "render" in features and rng.random() < 0.4
    offset = rng.randrange(0, unit["length_mm"] + unit["joint_mm"], 10)
    bottom = base - rng.randint(50, 400)
    if "brick_bottom" not in features or rng.random() < 0.4:
        bottom = None
    place = _places(rng, features, unit, offset, length)
    openings = _openings(rng, features, place, base, bottom)
    edges = [x for opening in openings for x in (opening["from_mm"], opening["to_mm"])]
    place = _places(rng, features, unit, offset, length, edges)
    to_come = _to_come(rng, features, place)
    ground = _ground(rng, features, length, place, base)
    finished = None
    if "finished" in features and rng.random() < 0.5:
        finished = _ground(rng, features, length, place, base)
    return {
        "label": label,
        "length_mm": length,
        "finish": "render" if render else _finish(unit),
        "unit": unit,
        "gauge": _gauge(rng, features, unit),
        "bed_joint": _maybe(rng, features, 0.1, {"level_mm": -86 + rng.randint(-43, 43)}),
        "brick_bottom_mm": bottom,
        "perpend": None
        if "no perpend" in features and rng.random() < 0.4
        else {"above_bed_joint": rng.randint(-1, 2), "at_mm": offset},
        "struck_joint": _struck(rng, features, length, ground, to_come) if render else [],
        "ground_today": _maybe(rng, features, 0.05, ground) or [],
        "ground_finished": finished,
        "to_come": to_come,
        "openings": openings,
        "weep_holes": _weep_holes(rng, features, length, base),
        "datum_offset_mm": rng.choice((0, 0, -86, -150, 40)) if "datum" in features else 0,
    }


def _maybe(rng, features, chance, value):
    return None if "unknown" in features and rng.random() < chance else value


def _unit(rng, features):
    if "tall units" in features and rng.random() < 0.5:
        return dict(rng.choice(TALL))
    if "half mm" in features and rng.random() < 0.3:
        return {**STANDARD, "length_mm": 225}
    return dict(STANDARD)


def _finish(unit):
    return "block" if unit["length_mm"] == 390 else "face_brick"


def _gauge(rng, features, unit):
    nominal = unit["height_mm"] + unit["joint_mm"]
    if "gauge" not in features:
        return {"height_mm": nominal, "courses": 1}
    courses = rng.choice((1, 4, 7))
    measured = {"height_mm": nominal * courses + rng.randint(-courses, courses), "courses": courses}
    return rng.choice((measured, measured, None))


def _places(rng, features, unit, offset, length, edges=()):
    """A function that gives a distance inside the wall, now and then a perpend or an edge."""
    pitch = unit["length_mm"] + unit["joint_mm"]
    perpends = [x for x in range(offset % pitch, length, pitch) if x > 0]
    if pitch % 2 == 0:
        perpends += [x for x in range((offset + pitch // 2) % pitch, length, pitch) if x > 0]

    def place(low=1, high=length - 1):
        low, high = max(1, low), min(high, length - 1)
        near = [x for x in (*perpends, *edges, *edges) if low <= x <= high]
        if "on perpends" in features and near and rng.random() < 0.3:
            return rng.choice(near)
        return rng.randint(low, high) if low <= high else high

    return place


def _ground(rng, features, length, place, base):
    """Two to four measured levels, at most 200 mm apart, and in between steps of the ground."""
    distances = sorted({0, length, *(place() for _ in range(rng.randint(0, 2)))})
    points = [[x, base + rng.randint(-100, 100)] for x in distances]
    if rng.random() < 0.3:
        points = [[x, base] for x in distances]  # flat ground puts many levels exactly on a limit
    if "steps" in features and rng.random() < 0.7:
        for _ in range(rng.randint(1, 2)):
            x = place()
            if all(x != other for other, _ in points):
                points += [[x, base + rng.randint(-200, 0)], [x, base + rng.randint(0, 200)]]
        points.sort(key=lambda point: point[0])
        if rng.random() < 0.5:  # a step down as well as up
            points = [[length - x, level] for x, level in reversed(points)]
    return _at_ends(rng, points, base) if "ends" in features else points


def _at_ends(rng, points, base):
    """Each end left out, or with a step at it, or as it was."""
    length = points[-1][0]
    for end, place in ((0, 0), (length, -1)):
        choice = rng.random()
        if choice < 0.2 and len(points) > 2:
            points = points[1:] if end == 0 else points[:-1]
        elif choice < 0.5 and points[place][0] == end:
            points.insert(0 if end == 0 else len(points), [end, base + rng.randint(-100, 200)])
    return points


def _to_come(rng, features, place):
    finishes = []
    for _ in range(rng.randint(0, 3) if "finishes" in features else 0):
        a = place()
        b = place(a + 1)
        if a < b:
            thick = rng.choice((40, 50, 60, 60, 100, 180))
            kind = rng.choice(FINISHES)
            part = {"from_mm": a, "to_mm": b, "thickness_mm": thick, "what": kind}
            finishes.append(part)
    return finishes


def _openings(rng, features, place, base, bottom):
    """Up to two openings, at least 50 mm of wall between and beside them."""
    openings, start = [], 50 if "ends" not in features or rng.random() < 0.5 else 0
    for _ in range(rng.randint(0, 2) if {"openings", "thresholds"} & set(features) else 0):
        a = place(start)
        b = place(a + 300, a + 1200)
        if a < b - 50:
            unknown = None if "unknown" in features else False
            below = rng.choice((False, False, "thresholds" in features, unknown))
            threshold = base + rng.randint(-150, 250)
            threshold = threshold if bottom is None else max(threshold, bottom)
            threshold = threshold if below is None else _maybe(rng, features, 0.1, threshold)
            part = {"from_mm": a, "to_mm": b, "threshold_mm": threshold, "wall_below": below}
            openings.append(part)
            start = b + (50 if "ends" not in features else rng.choice((0, 50)))
    if openings and "ends" in features and rng.random() < 0.3:
        openings[0]["from_mm"] = 0
    return openings


def _weep_holes(rng, features, length, base):
    if "weep holes" not in features or rng.random() < 0.3:
        return []
    level = base + rng.randint(100, 350)
    first = rng.randint(0, 1200)
    ends = [(x, x) for x in range(first, length + 1, 1200)]
    if rng.random() < 0.4:
        ends = [tuple(sorted((rng.randint(0, length), rng.randint(0, length))))]
    return [{"from_mm": a, "to_mm": b, "level_mm": level} for a, b in ends]


def _struck(rng, features, length, ground, to_come):
    """One to three struck joints that cover the wall, mostly high enough."""
    cuts = sorted({0, length, *(rng.randint(1, length - 1) for _ in range(rng.randint(0, 2)))})
    pieces = []
    for a, b in pairwise(cuts):
        high = max([level for x, level in ground if a <= x <= b] or [max(y for _, y in ground)])
        up = max([f["thickness_mm"] for f in to_come if f["from_mm"] < b and f["to_mm"] > a] or [0])
        level = high + up + 75 + rng.randint(-20, 60)
        pieces.append({"from_mm": a, "to_mm": b, "level_mm": level})
    if "unknown" in features and rng.random() < 0.2:
        pieces.pop()
    return pieces
