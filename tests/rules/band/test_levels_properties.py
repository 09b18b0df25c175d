"""The treatment line on walls of every shape, against the rules themselves and brute force."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise, product

from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.rules.band.geometry import FinishToCome, Gauge, GroundPoint, WeepHoles
from readiness.rules.band.levels import cell_edges_mm, solve
from readiness.rules.band.line_steps import FEWEST_STEPS, LOWEST, stepped_line
from readiness.rules.band.profile import level_on
from tests.rules.brute_force import brute_line, brute_shortfall_mm, finished_mm
from tests.rules.walls import VALUES, brick_wall, rendered_wall

CLEARANCE_MM = VALUES["line_above_ground_mm"]


@st.composite
def grounds(draw, length_mm):
    inner = st.integers(1, length_mm - 1)
    distances = {0, length_mm, *draw(st.lists(inner, max_size=6))}
    return tuple(GroundPoint(at, draw(st.integers(-600, -100))) for at in sorted(distances))


@st.composite
def finishes(draw, length_mm):
    start = draw(st.integers(0, length_mm - 1))
    end = draw(st.integers(start + 1, length_mm))
    return FinishToCome(start, end, draw(st.integers(1, 150)), "paving")


@st.composite
def brick_walls(draw, longest_mm=4000, with_weeps=True):
    length_mm = draw(st.integers(200, longest_mm))
    gauge = draw(st.sampled_from([Gauge(1, 86), Gauge(7, 600), Gauge(38, 3300), Gauge(3, 257)]))
    weep_mm = draw(st.none() | st.integers(-400, 100)) if with_weeps else None
    run = brick_wall(length_mm=length_mm, gauge=gauge, first_bed_joint_mm=-430)
    return replace(
        run,
        ground_today=draw(grounds(length_mm)),
        finishes_to_come=tuple(draw(st.lists(finishes(length_mm), max_size=2))),
        weep_holes=() if weep_mm is None else (WeepHoles(weep_mm),),
    )


def line_mm(line, distance_mm):
    """The level of the line just right of a distance."""
    return next(part.level_mm for part in line.segments if part.to_mm > distance_mm)


@given(brick_walls())
def test_the_line_covers_the_wall_and_steps_only_at_perpends(run):
    line = solve(run, VALUES)
    edges = set(cell_edges_mm(run, VALUES))
    assert line.segments[0].from_mm == 0
    assert line.segments[-1].to_mm == run.length_mm
    for left, right in pairwise(line.segments):
        assert left.to_mm == right.from_mm
        assert left.to_mm in edges
        assert left.joint_number != right.joint_number


@given(brick_walls())
def test_the_line_is_always_on_a_joint_and_never_above_a_weep_hole(run):
    for part in solve(run, VALUES).segments:
        courses = (part.level_mm - run.first_bed_joint_mm) / run.gauge.course_mm
        assert courses == part.joint_number >= 0
        assert all(part.level_mm <= row.level_mm for row in run.weep_holes)


@given(brick_walls(with_weeps=False))
def test_without_weep_holes_the_line_is_never_under_the_clearance(run):
    line = solve(run, VALUES)
    assert line.meets_rules
    for x in range(0, run.length_mm, 17):
        assert line_mm(line, x) >= finished_mm(run, x) + CLEARANCE_MM
    assert line.worst_clearance_mm >= CLEARANCE_MM


@settings(max_examples=60)
@given(brick_walls(longest_mm=1500))
def test_the_line_is_the_lowest_possible_by_brute_force_on_every_millimetre(run):
    # Stretches shorter than a brick (the end of a wall) are left to the next test.
    free = VALUES.with_overrides({"min_step_length_mm": 0})
    line = solve(run, free)
    expected = brute_line(run, free)
    edges = cell_edges_mm(run, free)
    assert [line_mm(line, edge) for edge in edges[:-1]] == expected


@settings(max_examples=60)
@given(brick_walls(longest_mm=1500))
def test_shortfalls_are_just_where_and_as_much_as_brute_force_finds(run):
    line = solve(run, VALUES)
    worst = max((short.short_mm for short in line.shortfalls), default=0)
    over = [brute_shortfall_mm(run, line, x, VALUES) for x in range(run.length_mm)]
    assert worst == max(0, -(-max(over) // 1))
    for x, short_mm in enumerate(over):
        inside = any(part.from_mm <= x and x + 1 <= part.to_mm for part in line.shortfalls)
        assert inside or short_mm <= 0


@given(brick_walls(with_weeps=False), st.data())
def test_raising_the_ground_never_lowers_the_line(run, data):
    index = data.draw(st.integers(0, len(run.ground_today) - 1))
    points = list(run.ground_today)
    lift = data.draw(st.integers(1, 200))
    points[index] = replace(points[index], level_mm=points[index].level_mm + lift)
    before, after = solve(run, VALUES), solve(replace(run, ground_today=tuple(points)), VALUES)
    for edge in cell_edges_mm(run, VALUES)[:-1]:
        assert line_mm(after, edge) >= line_mm(before, edge)


@given(brick_walls(with_weeps=False), st.integers(1, 2000))
def test_longer_stretches_and_fewer_steps_never_break_the_clearance(run, shortest_mm):
    values = VALUES.with_overrides({"min_step_length_mm": shortest_mm})
    for prefer in (LOWEST, FEWEST_STEPS):
        line = solve(run, values, prefer=prefer)
        assert line.meets_rules
        if line.steps:
            assert all(part.to_mm - part.from_mm >= shortest_mm for part in line.segments)
    assert line.steps <= solve(run, values).steps


@given(
    st.lists(st.integers(0, 3), min_size=1, max_size=6),
    st.none() | st.integers(0, 3),
    st.integers(1, 4),
    st.sampled_from([LOWEST, FEWEST_STEPS]),
)
def test_steps_are_the_best_of_all_that_are_allowed(wanted, cap, shortest, prefer):
    """Against every assignment of joints to cells (at most 4 ** 6)."""
    caps = [cap] * len(wanted)
    found = stepped_line(wanted, caps, [1] * len(wanted), shortest, prefer)
    targets = [want if cap is None else min(want, cap) for want in wanted]
    allowed = [
        joints
        for joints in product(range(4), repeat=len(wanted))
        if all(joint >= want for joint, want in zip(joints, targets, strict=True))
        and (cap is None or max(joints) <= cap)
        and _long_enough(joints, shortest)
    ]
    flat = [part.joint for part in found for _ in range(part.end - part.start)]
    cost = _area_and_steps if prefer == LOWEST else _steps_and_area
    assert tuple(flat) in allowed
    assert cost(flat) == min(map(cost, allowed))


def _lengths(joints):
    lengths = [1]
    for left, right in pairwise(joints):
        if left == right:
            lengths[-1] += 1
        else:
            lengths.append(1)
    return lengths


def _long_enough(joints, shortest):
    lengths = _lengths(joints)
    return len(lengths) == 1 or min(lengths) >= shortest


def _area_and_steps(joints):
    return sum(joints), len(_lengths(joints))


def _steps_and_area(joints):
    return len(_lengths(joints)), sum(joints)


@given(st.data())
def test_a_struck_joint_is_short_just_where_the_ground_is_too_high(data):
    length_mm = data.draw(st.integers(200, 3000))
    run = replace(
        rendered_wall(length_mm=length_mm, struck_joint_mm=data.draw(st.integers(-300, 0))),
        ground_today=data.draw(grounds(length_mm)),
    )
    line = solve(run, VALUES)
    for x in range(0, length_mm, 13):
        too_high = level_on(run.ground_today, x) + CLEARANCE_MM > run.struck_joint_mm
        inside = any(part.from_mm <= x <= part.to_mm for part in line.shortfalls)
        assert inside or not too_high
    for part in line.shortfalls:
        fixed = replace(run, struck_joint_mm=run.struck_joint_mm + part.raise_line_mm)
        left = [
            s for s in solve(fixed, VALUES).shortfalls if s.from_mm <= part.worst_at_mm <= s.to_mm
        ]
        assert not left, "raising by what was said must be enough"


@given(brick_walls())
def test_lowering_the_ground_by_what_was_said_is_enough(run):
    line = solve(run, VALUES)
    worst = max((short.lower_ground_mm for short in line.shortfalls), default=0)
    lowered = tuple(replace(p, level_mm=p.level_mm - worst) for p in run.ground_today)
    assert solve(replace(run, ground_today=lowered), VALUES).shortfalls == ()


def test_the_fine_grid_itself_knows_a_wall_worked_out_by_hand():
    run = brick_wall((0, -300), (6000, -200))
    assert set(brute_line(run, VALUES)) == {Fraction(-172), Fraction(-86)}
