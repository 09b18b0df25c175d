"""What holds of every wall, on walls that hypothesis makes up.

The ground, the line and the bottom are read from the file and the printed answer only, at each
distance where one of them can turn: there the higher ground meets the lower line, and the higher
bottom the lower ground.
"""

from fractions import Fraction
from itertools import pairwise

from hypothesis import assume, given
from hypothesis import strategies as st

from tests.rules.band.sites import answer, wall

CLEARANCE = 75


@st.composite
def grounds(draw, length):
    """Up to six points, sometimes two at one distance."""
    count = draw(st.integers(1, 6))
    at = sorted(draw(st.lists(st.integers(0, length), min_size=count, max_size=count)))
    at = [x for n, x in enumerate(at) if n < 2 or at[n - 2] != x]
    return [[x, draw(st.integers(-400, 0))] for x in at]


@st.composite
def walls(draw, **parts):
    """Walls of even pitch, so that each perpend lies on a whole mm."""
    length = draw(st.integers(300, 4000))
    unit = {"height_mm": draw(st.sampled_from([50, 76, 119, 162, 190])),
            "length_mm": draw(st.sampled_from([230, 290, 390])), "joint_mm": 10}  # fmt: skip
    gauge = draw(st.sampled_from([None, {"height_mm": 600, "courses": 7}]))
    bottom = draw(st.sampled_from([None, None, -500, -300]))
    stored = wall(
        length_mm=length, unit=unit, gauge=gauge, ground_today=draw(grounds(length)),
        bed_joint={"level_mm": draw(st.integers(-200, 50))}, brick_bottom_mm=bottom,
        perpend={"above_bed_joint": draw(st.integers(-2, 2)), "at_mm": draw(st.integers(0, 240))},
    )  # fmt: skip
    ends = st.integers(0, length)
    for _ in range(draw(st.integers(0, 2))):
        start, end = sorted((draw(ends), draw(ends)))
        if start < end:
            stored["to_come"].append(
                {"from_mm": start, "to_mm": end, "thickness_mm": draw(st.integers(0, 150)),
                 "what": "paving"}
            )  # fmt: skip
    start, end = sorted((draw(ends), draw(ends)))
    if start < end and draw(st.booleans()):
        stored["openings"].append(
            {"from_mm": start, "to_mm": end, "threshold_mm": 0, "wall_below": False}
        )
    return stored | parts


def sites():
    return st.fixed_dictionaries(
        {
            "prefer": st.sampled_from(["lowest", "fewest steps"]),
            "shortest_stretch_mm": st.sampled_from([0, 240, 700]),
            "below_ground_mm": st.sampled_from([0, 50]),
            "courses": st.integers(1, 3),
        }
    )


def today(stored, x):
    """Both levels at a distance."""
    points = stored["ground_today"]
    here = [level for at, level in points if at == x]
    if here:
        return here
    if x < points[0][0] or x > points[-1][0]:
        return [points[0][1] if x < points[0][0] else points[-1][1]]
    for (a, low), (b, high) in pairwise(points):
        if a < x < b:
            return [low + Fraction((high - low) * (x - a), b - a)]
    raise AssertionError(x)


def finished(stored, x):
    """The levels of finished ground left and right of a distance."""
    levels, finishes = today(stored, x), stored["to_come"]
    left = [f["thickness_mm"] for f in finishes if f["from_mm"] < x <= f["to_mm"]]
    right = [f["thickness_mm"] for f in finishes if f["from_mm"] <= x < f["to_mm"]]
    if x == 0:
        return [level + max([0, *right]) for level in levels]
    if x == stored["length_mm"]:
        return [level + max([0, *left]) for level in levels]
    return [levels[0] + max([0, *left]), levels[-1] + max([0, *right])]


def outside(stored, x):
    """Whether the wall is there; where an opening begins or ends it is."""
    length = stored["length_mm"]
    return 0 <= x <= length and not any(
        (o["from_mm"] < x < o["to_mm"]) or (o["from_mm"] == x == 0) or (o["to_mm"] == x == length)
        for o in stored["openings"]
    )


def turns(stored, *stretches):
    found = {0, stored["length_mm"], *(x for x, _ in stored["ground_today"])}
    for part in (
        *stored["to_come"],
        *stored["openings"],
        *(s for list_ in stretches for s in list_),
    ):
        found |= {part["from_mm"], part["to_mm"]}
    return sorted(x for x in found if outside(stored, x))


def at(stretches, x):
    """The stretches at a distance."""
    return [part for part in stretches if part["from_mm"] <= x <= part["to_mm"]]


def own_sides(stored, stretches, x):
    """The stretches beside a distance that have wall: where an opening begins those before it."""
    found = at(stretches, x)
    for opening in stored["openings"]:
        if x == opening["from_mm"]:
            found = [part for part in found if part["from_mm"] < x]
        if x == opening["to_mm"]:
            found = [part for part in found if part["to_mm"] > x]
    return found


def level(part):
    return Fraction(part["level_mm"])


@given(walls(), sites())
def test_the_line_is_never_too_close_to_finished_ground(stored, rules):
    found = answer(stored, **rules)
    for x in turns(stored, found["line"]):
        for part in own_sides(stored, found["line"], x):
            assert level(part) >= max(finished(stored, x)) + CLEARANCE
    assert found["short"] in ([], None)


@given(walls(), sites())
def test_the_bottom_is_never_above_finished_ground(stored, rules):
    """So no brick is bare between the band and finished ground, whatever is preferred."""
    found = answer(stored, **rules)
    ends = [r for r in found["why"] if r["code"] == "brick_ends"]
    for x in turns(stored, found["bottom"]):
        for part in own_sides(stored, found["bottom"], x):
            if not any(end["from_mm"] <= x <= end["to_mm"] for end in ends):
                assert level(part) <= min(finished(stored, x)) - rules["below_ground_mm"]


@given(walls(), sites())
def test_courses_are_never_fewer_than_asked_unless_the_brick_ends(stored, rules):
    found = answer(stored, **rules)
    course = stored["unit"]["height_mm"] + stored["unit"]["joint_mm"]
    asked = max(1, -(-rules["courses"] * 86 // course))
    ends = [r for r in found["why"] if r["code"] == "brick_ends"]
    xs = turns(stored, found["line"], found["bottom"])
    for left, right in pairwise(xs):
        x = Fraction(left + right, 2)
        if not outside(stored, x) or any(end["from_mm"] <= x <= end["to_mm"] for end in ends):
            continue
        top, bottom = at(found["line"], x)[0], at(found["bottom"], x)[0]
        assert top["joint"] - bottom["joint"] >= asked


@given(walls(), sites())
def test_a_step_is_always_at_a_perpend_of_the_course_that_it_crosses(stored, rules):
    found = answer(stored, **rules)
    pitch = stored["unit"]["length_mm"] + 10
    perpend = stored["perpend"]
    gaps = {x for o in stored["openings"] for x in (o["from_mm"], o["to_mm"])}
    ends = [r for r in found["why"] if r["code"] == "brick_ends"]
    for stretches in (found["line"], found["bottom"]):
        for left, right in pairwise(stretches):
            x = left["to_mm"]
            if x in gaps or (stretches is found["bottom"] and ends):
                continue
            assert abs(left["joint"] - right["joint"]) == 1
            course = min(left["joint"], right["joint"])
            half = (course - perpend["above_bed_joint"]) % 2 * pitch // 2
            assert (x - perpend["at_mm"] - half) % pitch == 0


@given(walls(), sites())
def test_bands_beside_a_step_overlap_by_a_course(stored, rules):
    found = answer(stored, **rules)
    assume("brick_ends" not in [reason["code"] for reason in found["why"]])
    gaps = {x for o in stored["openings"] for x in (o["from_mm"], o["to_mm"])}
    for left, right in pairwise(found["line"]):
        if left["to_mm"] not in gaps:
            beside = at(found["bottom"], left["to_mm"])
            assert min(left["joint"], right["joint"]) - max(b["joint"] for b in beside) >= 1


def mirrored(stored):
    """The wall seen from inside."""
    length = stored["length_mm"]

    def turned(parts):
        return [p | {"from_mm": length - p["to_mm"], "to_mm": length - p["from_mm"]} for p in parts]

    pitch = stored["unit"]["length_mm"] + 10
    perpend = stored["perpend"]
    return stored | {
        "ground_today": [[length - x, y] for x, y in reversed(stored["ground_today"])],
        "to_come": turned(stored["to_come"]),
        "openings": turned(stored["openings"]),
        "perpend": perpend | {"at_mm": (length - perpend["at_mm"]) % pitch},
    }


@given(walls(), sites())
def test_a_mirrored_wall_has_the_mirrored_answer(stored, rules):
    """Where two lines are equally good either may be chosen: so without a shortest stretch."""
    rules |= {"shortest_stretch_mm": 0}
    one, other = answer(stored, **rules), answer(mirrored(stored), **rules)
    length = stored["length_mm"]
    for key in ("line", "bottom"):
        turned = [
            p | {"from_mm": length - p["to_mm"], "to_mm": length - p["from_mm"]}
            for p in reversed(other[key])
        ]
        assert one[key] == turned
    for key in ("verdict", "litres", "treated_length_mm"):
        assert one[key] == other[key]


@given(walls(), sites(), st.integers(2, 5))
def test_a_wall_drawn_out_has_its_answer_drawn_out(stored, rules, times):
    """All distances and the bricks so many times as long, all levels as they were."""

    def longer(parts):
        return [
            p | {"from_mm": p["from_mm"] * times, "to_mm": p["to_mm"] * times} for p in parts
        ]  # fmt: skip

    unit, perpend = stored["unit"], stored["perpend"]
    drawn_out = stored | {
        "length_mm": stored["length_mm"] * times,
        "unit": unit | {"length_mm": (unit["length_mm"] + 10) * times - 10},
        "perpend": perpend | {"at_mm": perpend["at_mm"] * times},
        "ground_today": [[x * times, y] for x, y in stored["ground_today"]],
        "to_come": longer(stored["to_come"]),
        "openings": longer(stored["openings"]),
    }
    shortest = rules["shortest_stretch_mm"] * times
    found = answer(drawn_out, **rules | {"shortest_stretch_mm": shortest})
    plain = answer(stored, **rules)
    for key in ("line", "bottom"):
        assert found[key] == longer(plain[key])


@given(walls(), sites(), st.data())
def test_a_point_more_on_a_straight_line_changes_nothing(stored, rules, data):
    whole = [
        (n, x)
        for n, ((a, low), (b, high)) in enumerate(pairwise(stored["ground_today"]))
        for x in range(a + 1, b)
        if (high - low) * (x - a) % (b - a) == 0
    ]
    assume(whole)
    place, x = data.draw(st.sampled_from(whole))
    more = list(stored["ground_today"])
    more.insert(place + 1, [x, int(today(stored, x)[0])])
    assert answer(stored | {"ground_today": more}, tape_mm=3, **rules) == answer(
        stored, tape_mm=3, **rules
    )


@given(walls(), sites())
def test_a_higher_ground_never_lowers_the_line(stored, rules):
    """Stretches may come out otherwise where they have to be long enough: so without."""
    rules |= {"shortest_stretch_mm": 0}
    higher = stored | {"ground_today": [[x, y + 20] for x, y in stored["ground_today"]]}
    one, other = answer(stored, **rules)["line"], answer(higher, **rules)["line"]
    for x in turns(stored, one, other):
        assert min(p["joint"] for p in at(other, x)) >= min(p["joint"] for p in at(one, x))
