"""A second, slow computation of the treated band, for tests: nothing here is shared with the rules.

Read from the trade's own description alone. Where that leaves a choice open, a comment that begins
with "Reading" says how it is read here. Each course is a row of bricks; for each brick the question
is only "must it be under the line?" and "must it be above the bottom?", asked of every piece of
ground beside it. Where a choice is left (shortest stretch, fewest steps) every way to cut the wall
into stretches is tried. Lengths are mm from the left end seen from outside, levels mm from the
datum, up positive; all numbers are exact.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise
from math import ceil, floor, inf
from operator import add

# Reading: the ground's higher side and the line's lower side count together where both step at one
# distance. False: each side of that distance is looked at by itself.
WORSE_SIDE_AT_STEPS = True
# Reading: seen from outside, with runs following each other clockwise (seen from above), the LEFT
# end of a wall meets the RIGHT end of the next. False: the right end meets the next one's left end.
LEFT_END_MEETS_NEXT = True
# Reading: the line never goes above weep holes and stays as near to its clearance as it can. False:
# the line keeps its clearance, and each hole under it is a shortfall.
WEEP_HOLES_STOP_THE_LINE = True
# Reading: where no perpend was measured steps are where they would be with one at the left end.
PERPEND_IF_NONE = {"above_bed_joint": 0, "at_mm": 0}

STANDARD_COURSE_MM = 86
RENDER_OVERLAP_MM = 75
TRENCH_MM = 150


@dataclass(frozen=True)
class Ground:
    """A piece of wall over which the ground is one straight slope and nothing begins or ends.

    `a` to `b` in mm; `ta`, `tb` ground today at its ends (None: not read), `fa`, `fb` finished
    ground; `what` is the finish to come; `top` is how high the wall goes here: inf, the threshold,
    or -inf. `edges` are those of the opening that it lies in.
    """

    a: int
    b: int
    ta: Fraction | None
    tb: Fraction | None
    fa: Fraction
    fb: Fraction
    what: str | None
    top: Fraction | float
    edges: tuple = ()

    def today(self, x):
        return self._at(x, self.ta, self.tb)

    def finished(self, x):
        return self._at(x, self.fa, self.fb)

    def _at(self, x, left, right):
        if self.b == self.a or left is None:
            return left
        return left + (right - left) * Fraction(x - self.a) / (self.b - self.a)

    def reach(self, x):
        """How high the wall goes that meets this ground at x: at an opening's edge, beside it."""
        return inf if x in self.edges else self.top


@dataclass(frozen=True)
class Strip:
    """A piece of band between `a` and `b`: ground, line level, bottom level at its two ends.

    `joints` are those of line and bottom as they are shown, None where the band ends on none.
    """

    a: Fraction
    b: Fraction
    ground: Ground
    line: Fraction
    ba: Fraction
    bb: Fraction
    courses: int | None
    joints: tuple = (None, None)

    @property
    def top(self):
        return min(self.line, self.ground.top)

    def bottom(self, x):
        if self.b == self.a:
            return self.ba
        return self.ba + (self.bb - self.ba) * Fraction(x - self.a) / (self.b - self.a)

    def over_bottom(self):
        """(from, to, area) where there is a band: of brick at least a course."""
        if self.courses == 0:
            return None
        return _positive(self.a, self.b, self.top - self.ba, self.top - self.bb)


# ---------------------------------------------------------------- ground, finishes, openings


def ground_pieces(wall: dict, shift=0) -> list[Ground]:
    """The wall cut wherever ground, a finish or an opening begins or ends; `shift` mm added.

    Where the ground steps at an end of the wall there is a piece of no length as well.
    """
    length = wall["length_mm"]
    points = wall["ground_today"] + (wall.get("ground_finished") or [])
    cuts = {0, length} | {x for x, _ in points}
    for thing in wall["to_come"] + wall["openings"]:
        cuts |= {thing["from_mm"], thing["to_mm"]}
    cuts = sorted(x for x in cuts if 0 <= x <= length)
    pieces = [_piece(wall, a, b, shift) for a, b in pairwise(cuts)]
    steps = {end: _steps_at(wall, end) for end in (0, length)}
    before = [_piece(wall, 0, 0, shift)] if steps[0] else []
    after = [_piece(wall, length, length, shift)] if steps[length] else []
    return [*before, *pieces, *after]


def _steps_at(wall, end):
    profiles = wall["ground_today"], wall.get("ground_finished") or []
    return any(sum(x == end for x, _ in points) > 1 for points in profiles)


def _piece(wall, a, b, shift):
    up, what = 0, None
    for finish in wall["to_come"]:  # the highest counts, not the sum; of equal ones the first
        if finish["from_mm"] <= a and b <= finish["to_mm"] and finish["thickness_mm"] > up:
            up, what = finish["thickness_mm"], finish["what"]
    top, edges = inf, ()
    for opening in wall["openings"]:
        if opening["from_mm"] <= a and b <= opening["to_mm"] and a < b:
            top, edges = _wall_top(opening), (opening["from_mm"], opening["to_mm"])
    profiles = wall["ground_today"], wall.get("ground_finished") or []
    (ta, tb), (fa, fb) = (_levels(points, a, b, wall["length_mm"], shift) for points in profiles)
    if not profiles[1]:  # where finished ground is given a finish to come is but a name
        fa, fb = ta + up, tb + up
    return Ground(a, b, ta, tb, fa, fb, what, top, edges)


def _levels(points, a, b, length, shift):
    """The levels of a profile at a and b; it is level beyond its first and its last point.

    Of a step at the wall's end a piece of no length has the outer side. None if nothing was read.
    """
    if not points:
        return None, None
    points = [[x, Fraction(y + shift)] for x, y in points]
    if a == b:
        return (points[0 if a == 0 else -1][1],) * 2
    points = [[-1, points[0][1]], *points, [length + 1, points[-1][1]]]
    for (x0, y0), (x1, y1) in pairwise(points):
        if x0 <= a and b <= x1:
            slope = Fraction(y1 - y0, x1 - x0)
            return y0 + slope * (a - x0), y0 + slope * (b - x0)
    raise ValueError(f"no ground from {a} to {b}")


def doors_of(wall):
    """(from, to) of each opening without wall; those that touch are one."""
    found = []
    for opening in sorted(wall["openings"], key=lambda opening: opening["from_mm"]):
        if _wall_top(opening) == -inf:
            a, b = opening["from_mm"], opening["to_mm"]
            if found and found[-1][1] == a:
                a = found.pop()[0]
            found.append((a, b))
    return found


def _wall_top(opening):
    """Reading: an opening nobody decided about is computed as wall, and asked about."""
    if opening["wall_below"] is False:
        return -inf
    return inf if opening["threshold_mm"] is None else opening["threshold_mm"]


def _touching(pieces, p, q, closed):
    """(piece, x) wherever ground beside the wall from p to q has a slope's end: extremes are there.

    With `closed` the other side's ground at p and at q counts too, also that of an opening.
    """
    inside = [g for g in pieces if g.top > -inf and max(p, g.a) < min(q, g.b)]
    ends = [(g, x) for g in inside for x in (max(p, g.a), min(q, g.b))]
    if closed:
        ends += [(g, p) for g in pieces if g.b == p]
        ends += [(g, q) for g in pieces if g.a == q]
    return ends


# ---------------------------------------------------------------- the bond


class Bond:
    """The joints of one brick wall, and where its line and its bottom may step.

    `cuts` are all distances at which anything may step; cell i lies between cuts i and i + 1.
    An opening without wall is one cell, and no brick goes on from one side of it to the other.
    """

    def __init__(self, wall: dict, data: dict):
        unit, gauge = wall["unit"], wall["gauge"]
        self.wall, self.data, self.length = wall, data, wall["length_mm"]
        self._levels: dict[int, Fraction] = {}
        self.nominal = unit["height_mm"] + unit["joint_mm"]
        self.gauge = Fraction(gauge["height_mm"], gauge["courses"]) if gauge else self.nominal
        self.zero = wall["bed_joint"]["level_mm"]
        self.brick_mm = unit["length_mm"]
        self.pitch = unit["length_mm"] + unit["joint_mm"]
        self.courses = max(1, ceil(Fraction(data["courses"] * STANDARD_COURSE_MM, self.nominal)))
        self.end = wall["brick_bottom_mm"]
        self.lowest = -inf if self.end is None else self.joint_above(self.end)
        self.doors = doors_of(wall)
        edges = {x for door in self.doors for x in door}
        self._perpends = [self._in_course(course) for course in (0, 1)]
        cuts = {0, self.length, *edges, *self._perpends[0], *self._perpends[1]}
        self.cuts = sorted(int(x) if x == int(x) else x for x in cuts)
        self.cells = list(pairwise(self.cuts))
        self.open = {i for i, (p, q) in enumerate(self.cells) if self._inside_door(p, q)}
        self._bricks = [self._laid(course) for course in (0, 1)]

    def _inside_door(self, p, q):
        return any(a <= p and q <= b for a, b in self.doors)

    def level(self, joint):
        if joint not in self._levels:
            self._levels[joint] = Fraction(self.zero + joint * self.gauge)
        return self._levels[joint]

    def joint_above(self, level):
        return ceil((level - self.zero) / Fraction(self.gauge))

    def joint_below(self, level):
        return floor((level - self.zero) / Fraction(self.gauge))

    def perpends(self, course):
        """Where the course above joint `course` has its perpends: not at ends, not in doors."""
        return self._perpends[course % 2]

    def _in_course(self, course):
        known = self.wall["perpend"] or PERPEND_IF_NONE
        odd = (course - known["above_bed_joint"]) % 2
        first = known["at_mm"] + odd * Fraction(self.pitch, 2)
        x = first % self.pitch
        found = []
        while x < self.length:
            if x > 0 and not self._inside_door(x, x):
                found.append(x)
            x += self.pitch
        return found

    def bricks(self, course):
        """The bricks of a course as lists of cell numbers, cut off where the wall ends."""
        return self._bricks[course % 2]

    def _laid(self, course):
        ends, bricks = set(self.perpends(course)), [[]]
        for i, (a, _) in enumerate(self.cells):
            if a in ends or i in self.open:
                bricks.append([])
            if i not in self.open:
                bricks[-1].append(i)
        return [brick for brick in bricks if brick]

    def exists(self, course, top):
        """Whether a wall that ends at `top` has this course, also in part."""
        return self.level(course) < top

    def under(self, top):
        """The joint that courses are counted from under a wall that ends at `top`.

        Reading: the band ends at the threshold, and the course that it cuts counts as a whole one.
        """
        return self.joint_above(top)

    def across(self, joints, chosen):
        """The same joints, those of each door as the `chosen` of its two sides: max or min."""
        found = list(joints)
        for i in self.open:
            beside = [joints[k] for k in (i - 1, i + 1) if 0 <= k < len(joints)]
            found[i] = chosen(beside) if beside else None
        return found


# ---------------------------------------------------------------- line


def needs(bond: Bond, pieces: list[Ground]) -> list[int]:
    """For each cell the lowest joint that serves the ground beside it; a door needs none."""
    clearance, found = bond.data["clearance_mm"], []
    low = _lowest_asked(bond, pieces)
    high = max(f for g in pieces for f in (g.finished(g.a), g.finished(g.b)))
    for i in range(len(bond.cells)):
        course = bond.joint_above(high + clearance)
        while course >= low and not _asks_line(bond, pieces, course, [i], clearance):
            course -= 1
        found.append(max(course + 1, bond.lowest))
    return [low if i in bond.open else joint for i, joint in enumerate(found)]


def _lowest_asked(bond, pieces):
    """No cell of wall needs a joint as low as this."""
    levels = [f for g in pieces for f in (g.finished(g.a), g.finished(g.b))]
    levels += [g.top for g in pieces if -inf < g.top < inf]
    return max(bond.joint_below(min(levels)) - 2, bond.lowest - 1)


def least_line(bond: Bond, pieces: list[Ground]) -> list[int]:
    """The lowest joint of each cell: course by course from above, whole bricks, on the safe side.

    A brick is under the line if ground beside it asks for that, or a brick on top of it is.
    """
    clearance = bond.data["clearance_mm"]
    high = max(f for g in pieces for f in (g.finished(g.a), g.finished(g.b)))
    low = _lowest_asked(bond, pieces)
    line = [low] * len(bond.cells)
    above: set[int] = set()
    for course in range(bond.joint_above(high + clearance), low - 1, -1):
        taken: set[int] = set()
        for brick in bond.bricks(course):
            if above & set(brick) or _asks_line(bond, pieces, course, brick, clearance):
                taken |= set(brick)
        for i in taken - above:
            line[i] = course + 1
        above |= taken
    return bond.across([max(joint, bond.lowest) for joint in line], max)


def _asks_line(bond, pieces, course, brick, clearance):
    p, q = bond.cuts[brick[0]], bond.cuts[brick[-1] + 1]
    return any(
        bond.exists(course, g.reach(x)) and g.finished(x) + clearance > bond.level(course)
        for g, x in _touching(pieces, p, q, WORSE_SIDE_AT_STEPS)
    )


def choose_line(bond: Bond, pieces: list[Ground]) -> list[int]:
    """The line as preferred: no stretch too short, then lowest or fewest steps."""
    if all(g.top == -inf for g in pieces):
        return []
    least = least_line(bond, pieces)
    lowest = bond.data["prefer"] == "lowest" and not _short_stretches(bond, least)
    if lowest and _under_weep_holes(bond, least):
        return least  # nothing can be lower anywhere, and nothing asks for more
    return Search(bond, pieces).best()


def stretches(values):
    """(first, past the last, value) of each run of equal values."""
    runs = []
    for i, value in enumerate(values):
        if runs and runs[-1][2] == value:
            runs[-1][1] = i + 1
        else:
            runs.append([i, i + 1, value])
    return [tuple(run) for run in runs]


def _short_stretches(bond, line):
    runs = stretches(line)
    count = 0
    for k, (i, j, joint) in enumerate(runs):
        before = _sign(joint - runs[k - 1][2]) if k else 0
        after = _sign(runs[k + 1][2] - joint) if k + 1 < len(runs) else 0
        count += _too_short(bond, i, j, before, after)
    return count


def _too_short(bond, i, j, before, after):
    """Reading: a stair of half a unit between a lower and a higher stretch is allowed, and so is a
    whole wall; the length of a door counts for the higher of its sides."""
    width = bond.cuts[j] - bond.cuts[i]
    stair = before == after != 0 and 2 * width == bond.pitch and not bond.open & {i - 1, i, j}
    whole = not before and not after
    return int(width < bond.data["shortest_stretch_mm"] and not stair and not whole)


def _sign(number):
    return (number > 0) - (number < 0)


def _under_weep_holes(bond, line):
    caps = [_cap(bond, i) for i in range(len(line))]
    return all(joint <= cap for joint, cap in zip(line, caps, strict=True))


def _cap(bond, i):
    """The highest joint of a cell that is not above weep holes at it; those in doors do not count.

    No joint exists under the brickwork: the lowest that does is never too high.
    """
    p, q = bond.cells[i]
    rows = bond.wall["weep_holes"]
    holes = [row["level_mm"] for row in rows if row["from_mm"] <= q and row["to_mm"] >= p]
    if i in bond.open or not holes:
        return inf
    return max(bond.joint_below(min(holes)), bond.lowest)


class Search:
    """Every way to cut the wall into stretches of one joint each is tried, and the best is kept.

    Best, in this order: least height above weep holes; fewest stretches that are too short; least
    wall between the line and where it should be at least; then lowest (least area of wall under the
    line, then fewest steps) or the other way round. Reading: what is then still equal goes to the
    line that is high early (to the left).

    A state is a stretch: the cut where it begins, its joint, and whether it comes from below (1),
    from above (-1) or is the first (0). The best of all that reach the same state is enough to go
    on from: what comes after is the same.
    """

    def __init__(self, bond, pieces):
        self.bond, self.last = bond, len(bond.cells)
        self.need = needs(bond, pieces)
        self.caps = [_cap(bond, i) for i in range(self.last)]
        solid = [i for i in range(self.last) if i not in bond.open]
        least = [self.need[i] for i in solid]
        if WEEP_HOLES_STOP_THE_LINE:
            least += [self.caps[i] for i in solid if self.caps[i] < self.need[i]]
        self.joints = range(min(least), max(self.need[i] for i in solid) + 1)
        self.costs = {
            (i, joint): self._cell(i, joint) for i in range(self.last) for joint in self.joints
        }

    def _cell(self, i, joint):
        """What one cell costs at a joint, in half mm so that the numbers are whole; None: never."""
        bond, (p, q), up = self.bond, self.bond.cells[i], joint - self.joints[0]
        late = int(4 * (q * q - p * p) * up)
        if i in bond.open:
            return _order(bond, late=late)
        if joint > self.caps[i] if WEEP_HOLES_STOP_THE_LINE else joint < self.need[i]:
            return None
        width = int(2 * (q - p))
        missing = width * max(0, self.need[i] - joint)
        weep = max(0, joint - self.caps[i])
        return _order(bond, weep=weep, missing=missing, area=width * up, late=late)

    def best(self):
        ways = {(0, joint, 0): (_order(self.bond), None) for joint in self.joints}
        finished = []
        for i in range(self.last):
            for state in [(i, joint, before) for joint in self.joints for before in (0, 1, -1)]:
                for end, cost in self._ends(state, ways[state][0]) if state in ways else ():
                    if end == self.last:
                        short = _too_short(self.bond, i, end, state[2], 0)
                        finished.append((_plus(cost, _order(self.bond, short=short)), state))
                        continue
                    for key, total in self._steps(state, end, cost):
                        if key not in ways or total < ways[key][0]:
                            ways[key] = (total, state)
        return self._line(min(finished)[1], ways)

    def _ends(self, state, cost):
        """Every cut at which the stretch may end, with what it costs up to there."""
        start, joint, _ = state
        for cell in range(start, self.last):
            if self.costs[cell, joint] is None:
                return
            cost = _plus(cost, self.costs[cell, joint])
            yield cell + 1, cost

    def _steps(self, state, end, cost):
        """Every stretch that may follow at this cut."""
        start, joint, before = state
        for other in self.joints:
            if other != joint and self._may_step(end, joint, other):
                after = _sign(other - joint)
                short = _too_short(self.bond, start, end, before, after)
                yield (end, other, after), _plus(cost, _order(self.bond, short=short, steps=1))

    def _may_step(self, end, joint, other):
        """All crossed courses have a perpend there; a door is at the level of its higher side."""
        if end - 1 in self.bond.open:
            return other < joint
        if end in self.bond.open:
            return other > joint
        crossed = range(min(joint, other), max(joint, other))
        return all(self.bond.cuts[end] in self.bond.perpends(course) for course in crossed)

    def _line(self, state, ways):
        line, end = [0] * self.last, self.last
        while state is not None:
            line[state[0] : end] = [state[1]] * (end - state[0])
            end, state = state[0], ways[state][1]
        return self.bond.across(line, max)


def as_good(run, line):
    """Whether a line is as good as the one that was found, but for the reading of what is equal."""
    shift = run.data["tape_mm"] if run.line is not run.lines[0] else 0
    one, other = (cost_of(run.bond, run.pieces[shift], each) for each in (run.line, line))
    return one is not None and one == other


def cost_of(bond: Bond, pieces: list[Ground], line: list[int]):
    """What a line costs, as the search counts it, without the last word; None: it may not be."""
    search = Search(bond, pieces)
    total = _order(bond, short=_short_stretches(bond, line), steps=len(stretches(line)) - 1)
    for i, joint in enumerate(line):
        cost = search.costs.get((i, joint))
        step = i and joint != line[i - 1]
        if cost is None or (step and not search._may_step(i, line[i - 1], joint)):
            return None
        total = _plus(total, cost)
    return total[:-1]


def _plus(one, two):
    return tuple(map(add, one, two))


def _order(bond, weep=0, short=0, missing=0, area=0, steps=0, late=0):
    if bond.data["prefer"] == "lowest":
        return (weep, short, missing, area, steps, late)
    return (weep, short, missing, steps, area, late)


# ---------------------------------------------------------------- bottom


def least_bottom(bond: Bond, pieces: list[Ground], line: list[int], lowered=()) -> list[int]:
    """The highest bottom of each cell: course by course from below, whole bricks, the safe side.

    A brick is in the band if the courses asked for under the line reach it, if finished ground
    stands lower than the joint on top of it, if a brick under it is in the band, or if `lowered`
    (from, to, joint) says so. Joints under the brickwork are not left out yet.
    """
    below = bond.data["below_ground_mm"]
    ground = [f for g in pieces for f in (g.finished(g.a), g.finished(g.b))]
    course = min(
        bond.joint_below(min(ground) - below), min(line) - bond.courses, *(j for *_, j in lowered)
    )
    bottom: list[int | None] = [None] * len(line)
    under: set[int] = set()
    while len(under) + len(bond.open) < len(line):
        taken: set[int] = set()
        for brick in bond.bricks(course):
            if (
                under & set(brick)
                or any(line[i] - bond.courses <= course for i in brick)
                or _asks_depth(bond, pieces, course, brick, below)
                or _asks_lowered(bond, course, brick, lowered)
            ):
                taken |= set(brick)
        for i in taken - under:
            bottom[i] = course
        under |= taken
        course += 1
    return bond.across(bottom, min)


def _asks_depth(bond, pieces, course, brick, below):
    p, q = bond.cuts[brick[0]], bond.cuts[brick[-1] + 1]
    return any(
        g.finished(x) - below < bond.level(course + 1)
        for g, x in _touching(pieces, p, q, WORSE_SIDE_AT_STEPS)
    )


def _asks_lowered(bond, course, brick, lowered):
    p, q = bond.cuts[brick[0]], bond.cuts[brick[-1] + 1]
    return any(joint <= course and max(p, a) < min(q, b) for a, b, joint in lowered)


def joined_bottom(bond, pieces, line, lowered=()):
    """The bottom with courses added wherever the bands at a step overlap by less than a course."""
    lowered = [*lowered, *_under_thresholds(bond, pieces)]
    while True:
        bottom = least_bottom(bond, pieces, line, lowered)
        gap = _gap(bond, pieces, line, bottom)
        if gap is None:
            return bottom
        lowered.append(gap)


def _under_thresholds(bond, pieces):
    """Reading: the courses asked for are counted down from the joint at or under a threshold."""
    sills = [g for g in pieces if -inf < g.top < inf]
    return [(g.a, g.b, bond.joint_below(g.top) - bond.courses) for g in sills]


def _tops(bond, pieces, line):
    """(from, to, level, cell) of the top of the band, from left to right."""
    for g in pieces:
        for i, (p, q) in enumerate(bond.cells):
            if g.top > -inf and max(p, g.a) < min(q, g.b):
                yield max(p, g.a), min(q, g.b), min(bond.level(line[i]), g.top), i


def _gap(bond, pieces, line, bottom):
    for one, two in pairwise(_tops(bond, pieces, line)):
        x, whole = one[1], bond.joint_below(min(one[2], two[2]))
        steps = x == two[0] and one[2] != two[2]
        if steps and whole - max(bottom[one[3]], bottom[two[3]]) < 1:
            if bottom[two[3]] > bottom[one[3]]:
                ends = [a for a, b in bond.doors if a >= x]
                return (x, min(x + bond.pitch, *ends, bond.length), whole - 1)
            starts = [b for a, b in bond.doors if b <= x]
            return (max(x - bond.pitch, *starts, 0), x, whole - 1)
    return None


# ---------------------------------------------------------------- one wall


class Brick:
    """A wall whose band ends on joints: its line and bottom for each way the tape may err."""

    def __init__(self, wall, data):
        self.wall, self.data = wall, data
        self.bond = Bond(wall, data)
        self.pieces = {s: ground_pieces(wall, s) for s in {0, data["tape_mm"], -data["tape_mm"]}}
        self.lines = {s: choose_line(self.bond, p) for s, p in self.pieces.items()}
        self.line, self.lowered = self.lines[0], []
        self._bands = {}

    def band(self, shift=0, line=None):
        """Strips of the band, and (from, to) where its bottom would lie under the brickwork."""
        line = self.line if line is None else line
        key = (shift, tuple(line), tuple(self.lowered))
        if key not in self._bands:
            self._bands[key] = self._band(shift, line)
        return self._bands[key]

    def _band(self, shift, line):
        bond, strips, missing = self.bond, [], []
        if not line:
            return [], []
        bottom = joined_bottom(bond, self.pieces[shift], line, self.lowered)
        for g in self.pieces[shift]:
            for i, (p, q) in enumerate(bond.cells):
                if max(p, g.a) < min(q, g.b) and g.top > -inf:
                    strips.append(self._strip(g, i, line[i], bottom[i]))
                    if bottom[i] < bond.lowest:
                        missing.append((strips[-1].a, strips[-1].b))
        return strips, missing

    def _strip(self, g, i, joint, bottom):
        """Where the brickwork ends the band ends, there and not at the joint above it."""
        bond, (p, q) = self.bond, self.bond.cells[i]
        level, ends = bond.level(joint), bottom < bond.lowest
        top = bond.under(g.top) if g.top < level else joint
        low = Fraction(bond.end) if ends else bond.level(bottom)
        bottom = max(bottom, bond.lowest)
        joints = tuple(
            at if bond.level(at) == height else None
            for at, height in ((top, min(level, g.top)), (bottom, low))
        )
        count = max(0, top - bottom)
        return Strip(max(p, g.a), min(q, g.b), g, level, low, low, count, joints)

    def moved(self, shift):
        """(from, to) where the tape's error moves the line over more than a unit's length.

        Reading: where another joint is needed right there, not only in the same brick, and another
        one is chosen.
        """
        found = []
        for here, there in zip(self.pieces[0], self.pieces[shift], strict=True):
            for a, b in self._other_need(here, there) if here.top > -inf else ():
                for i, (p, q) in enumerate(self.bond.cells):
                    start, end = max(a, p), min(b, q)
                    if start < end and self.lines[0][i] != self.lines[shift][i]:
                        if found and found[-1][1] == start:
                            start = found.pop()[0]
                        found.append((start, end))
        return [(a, b) for a, b in found if b - a > self.bond.brick_mm]

    def _other_need(self, here, there):
        cuts = {here.a, here.b, *self._crossings(here), *self._crossings(there)}
        for a, b in pairwise(sorted(cuts)):
            if self._need(here, Fraction(a + b) / 2) != self._need(there, Fraction(a + b) / 2):
                yield a, b

    def _need(self, g, x):
        joint = self.bond.joint_above(g.finished(x) + self.data["clearance_mm"])
        return joint if g.top == inf else min(joint, self.bond.under(g.top))

    def _crossings(self, g):
        """Where finished ground and clearance come to a joint."""
        bond, (one, two) = (
            self.bond,
            (g.finished(x) + self.data["clearance_mm"] for x in (g.a, g.b)),
        )
        for joint in range(bond.joint_above(min(one, two)), bond.joint_below(max(one, two)) + 1):
            if one != two:
                yield g.a + (g.b - g.a) * (bond.level(joint) - one) / (two - one)

    def keep_higher(self):
        """Reading: where the line would move that far up, all of it is the higher ground's."""
        if self.moved(self.data["tape_mm"]):
            self.line = self.lines[self.data["tape_mm"]]

    def end_lowered(self, left, level):
        """Go down to the joint at or under `level` for one unit from this end."""
        unit, joint = self.bond.pitch, self.bond.joint_below(level)
        span = (0, unit) if left else (self.bond.length - unit, self.bond.length)
        self.lowered.append((*span, joint))

    def drawn(self):
        """The answer's line and bottom, steps in whole mm on the safe side."""
        strips, length = self.band()[0], self.wall["length_mm"]
        line = [(s.a, s.b, s.top, s.joints[0]) for s in strips]
        bottom = [(s.a, s.b, s.ba, s.joints[1]) for s in strips]
        return _drawn(line, length, max, up=True), _drawn(bottom, length, min, up=False)

    def litres(self, strips):
        rate = Fraction(self.data["litres_per_10_m"])
        return sum(rate * (s.b - s.a) * s.courses / 20_000 for s in strips)

    overlap = property(lambda self: self.bond.gauge)


def _drawn(pieces, length, chosen, up):
    """From end to end of the wall; a door is as the `chosen` of its sides."""
    whole = []
    for piece in pieces:
        before = whole[-1] if whole else [0, 0, *piece[2:]]
        if before[1] < piece[0]:
            side = chosen(before, piece, key=lambda part: part[2])
            pieces_here = [[before[1], piece[0], *side[2:]], list(piece)]
        else:
            pieces_here = [list(piece)]
        for part in pieces_here:
            if whole and whole[-1][2:] == part[2:]:
                whole[-1][1] = part[1]
            else:
                whole.append(part)
    if whole:
        whole[-1][1] = length
    found, start = [], 0
    for one, two in pairwise([*whole, None]):
        end = length
        if two:  # the line is high early and long, the bottom low early and long
            end = floor(one[1]) if (two[2] > one[2]) == up else ceil(one[1])
        joint = {"level_mm": str(one[2]), "joint": one[3]}
        found.append({"from_mm": start, "to_mm": int(end), **joint})
        start = int(end)
    return found


class Render:
    """A wall whose band ends on joints struck in the render, at the levels that were measured."""

    overlap = RENDER_OVERLAP_MM

    def __init__(self, wall, data):
        self.wall, self.data = wall, data
        self.pieces = {s: ground_pieces(wall, s) for s in {0, data["tape_mm"], -data["tape_mm"]}}
        unit = wall["unit"] or {"length_mm": 230, "joint_mm": 10}
        self.unit = unit["length_mm"] + unit["joint_mm"]
        self.struck = sorted(wall["struck_joint"], key=lambda piece: piece["from_mm"])
        self.line, self.lowered = None, []

    def band(self, shift=0, line=None):
        below, strips = self.data["below_ground_mm"], []
        for g in self.pieces[shift]:
            for p, q, level in self._lines():
                a, b = max(g.a, p), min(g.b, q)
                if a < b and g.top > -inf:
                    ba, bb = g.finished(a) - below, g.finished(b) - below
                    strips.append(Strip(a, b, g, level, ba, bb, None))
        for a, b, level in self.lowered:
            strips = [part for strip in strips for part in _lowered(strip, a, b, level)]
        return self._where_brick_is(strips)

    def _lines(self):
        """(from, to, level) of the struck joint, -inf where there is none."""
        at = 0
        for piece in self.struck:
            yield at, piece["from_mm"], -inf
            at = piece["to_mm"]
            yield piece["from_mm"], at, Fraction(piece["level_mm"])
        yield at, self.wall["length_mm"], -inf

    def _where_brick_is(self, strips):
        """The band ends where the brickwork does: strips, and (from, to) where it should not."""
        end, found, missing = self.wall["brick_bottom_mm"], [], []
        for strip in strips if end is not None else ():
            for part in _cut_at(strip, (), end):
                if min(part.ba, part.bb) < end:
                    missing.append((part.a, part.b))
                    part = replace(part, ba=max(part.ba, end), bb=max(part.bb, end))
                found.append(part)
        return (strips if end is None else found), missing

    def moved(self, shift):
        return []

    def keep_higher(self):
        """The line is cut in the render: it stays where it is."""

    def end_lowered(self, left, level):
        length = self.wall["length_mm"]
        span = (0, self.unit) if left else (length - self.unit, length)
        self.lowered.append((*span, level))

    def drawn(self):
        """Reading: the bottom of render slopes with the ground: levels at both of its ends."""
        strips = self.band()[0]
        line = [(s.a, s.b, s.top) for s in strips if s.line > -inf]
        return (
            _straight([(a, b, top, top) for a, b, top in line]),
            _straight([(s.a, s.b, s.ba, s.bb) for s in strips]),
        )

    def litres(self, strips):
        """Reading: by area, at the rate of two standard courses (172 mm high)."""
        rate = Fraction(self.data["litres_per_10_m"])
        area = sum(part[2] for part in (s.over_bottom() for s in strips) if part)
        if self.data.get("render_litres_per_m2") is not None:
            return Fraction(self.data["render_litres_per_m2"]) * area / 1_000_000
        return rate * area / (10_000 * 2 * STANDARD_COURSE_MM)


def _straight(pieces):
    """Pieces (from, to, level, level) that go straight on are one."""
    found = []
    for a, b, left, right in pieces:
        last = found[-1] if found else None
        slope = Fraction(right - left) / (b - a)
        if last and [last[1], *last[3:]] == [a, left, slope]:
            last[1], last[3] = b, right
        else:
            found.append([a, b, left, right, slope])
    return [
        {
            "from_mm": floor(a),
            "to_mm": ceil(b),
            "level_mm": str(left),
            "to_level_mm": str(right),
            "joint": None,
        }
        for a, b, left, right, _ in found
    ]


def _lowered(strip, a, b, level):
    """The strip cut at a, at b and where its bottom crosses the level, and lowered between."""
    for part in _cut_at(strip, (a, b), level):
        ends = part.ba, part.bb
        if a <= part.a and part.b <= b:
            ends = tuple(min(level, end) for end in ends)
        yield replace(part, ba=ends[0], bb=ends[1])


def _cut_at(strip, distances, level):
    """The strip cut at distances and where its bottom crosses a level."""
    cuts = {strip.a, strip.b} | {x for x in distances if strip.a < x < strip.b}
    if (strip.ba - level) * (strip.bb - level) < 0:
        part = Fraction(level - strip.ba) / (strip.bb - strip.ba)
        cuts.add(strip.a + part * (strip.b - strip.a))
    for p, q in pairwise(sorted(cuts)):
        yield replace(strip, a=p, b=q, ba=strip.bottom(p), bb=strip.bottom(q))


# ---------------------------------------------------------------- what the band means


def _positive(a, b, fa, fb):
    """(from, to, area) where a straight slope from fa to fb is over 0, or None."""
    if max(fa, fb) <= 0:
        return None
    if min(fa, fb) < 0:
        zero = a + (b - a) * Fraction(fa) / (fa - fb)
        a, b = (a, zero) if fa > 0 else (zero, b)
    fa, fb = max(fa, 0), max(fb, 0)
    return a, b, (fa + fb) * (b - a) / 2


def _merged(parts):
    """Parts (key, from, to, most, at, area) that meet and have the same key become one."""
    found = []
    for key, a, b, most, at, area in sorted(parts, key=lambda part: part[1:3]):
        last = next((part for part in reversed(found) if part[0] == key), None)
        if last and a <= last[2]:
            if most > last[3]:
                last[3:5] = [most, at]
            last[2], last[5] = max(last[2], b), last[5] + area
        else:
            found.append([key, a, b, most, at, area])
    return found


def _over_zero(strip, key, fa, fb):
    part = _positive(strip.a, strip.b, fa, fb)
    if part is None:
        return []
    at = strip.a if fa >= fb else strip.b
    return [(key, part[0], part[1], max(fa, fb), at, part[2])]


def soil(strips):
    parts = []
    for s in strips:
        fa, fb = s.ground.today(s.a) - s.ba, s.ground.today(s.b) - s.bb
        parts += _over_zero(s, "soil", fa, fb)
    return [
        {
            "from_mm": floor(a),
            "to_mm": ceil(b),
            "deepest_mm": ceil(most),
            "at_mm": round(at),
            "litres_of_soil": ceil(area * TRENCH_MM / 1_000_000),
        }
        for _, a, b, most, at, area in _merged(parts)
    ]


def bare(wall, strips):
    """What lies open under the bottom of the brickwork is no brick."""
    parts, end = [], wall["brick_bottom_mm"]
    for strip in strips:
        for s in [strip] if end is None else _cut_at_today(strip, end):
            fa, fb = s.ba - s.ground.today(s.a), s.bb - s.ground.today(s.b)
            if end is not None and min(s.ground.today(s.a), s.ground.today(s.b)) < end:
                fa, fb = s.ba - end, s.bb - end
            parts += _over_zero(s, s.ground.what, fa, fb)
    return [
        {"from_mm": floor(a), "to_mm": ceil(b), "highest_mm": ceil(most), "until": what}
        for what, a, b, most, _, _ in _merged(parts)
    ]


def _cut_at_today(strip, level):
    """The strip cut where today's ground crosses a level."""
    left, right, cuts = strip.ground.today(strip.a), strip.ground.today(strip.b), []
    if (left - level) * (right - level) < 0:
        cuts.append(strip.a + (strip.b - strip.a) * Fraction(level - left) / (right - left))
    for p, q in pairwise([strip.a, *cuts, strip.b]):
        yield replace(strip, a=p, b=q, ba=strip.bottom(p), bb=strip.bottom(q))


def short(wall, data, strips, pieces):
    """Where less than the clearance is left, and weep holes that the line lies above."""
    clearance, parts = data["clearance_mm"], []
    # Under a threshold the line goes as far as it can.
    ruled = [s for s in strips if s.ground.top >= s.line > -inf]
    for s in ruled:
        parts += _short_of(s, clearance)
        if WORSE_SIDE_AT_STEPS:
            parts += _short_at(s, pieces, clearance)
    found = [
        {
            "from_mm": floor(a),
            "to_mm": ceil(b),
            "by_mm": ceil(most),
            "at_mm": round(at),
            "cause": cause,
        }
        for (cause, _), a, b, most, at, _ in _merged(parts)
    ]
    return sorted(found + _weep_holes(wall, strips), key=lambda part: part["from_mm"])


def _short_of(s, clearance):
    """Reading: "today" where today's ground alone breaks the rule, else "to come"."""
    cuts = [s.a, s.b]
    if s.ground.ta is not None:
        over = [s.ground.today(x) + clearance - s.line for x in (s.a, s.b)]
        if min(over) < 0 < max(over):
            cuts.insert(1, s.a + (s.b - s.a) * over[0] / (over[0] - over[1]))
    parts = []
    for p, q in pairwise(cuts):
        now = _breaks_today(s.ground, Fraction(p + q) / 2, s.line - clearance)
        fa, fb = (s.ground.finished(x) + clearance - s.line for x in (p, q))
        parts += _over_zero(replace(s, a=p, b=q), _cause(s.ground, now), fa, fb)
    return parts


def _cause(ground, now):
    """Each finish to come is another trade's, and counts by itself."""
    return ("today", None) if now else ("to come", ground.what)


def _short_at(s, pieces, clearance):
    """The other side's ground where the strip ends, also that of an opening."""
    for x, beside in (
        (s.a, [g for g in pieces if g.b == s.a]),
        (s.b, [g for g in pieces if g.a == s.b]),
    ):
        for g in beside:
            by = g.finished(x) + clearance - s.line
            if by > 0:
                now = _breaks_today(g, x, s.line - clearance)
                yield (_cause(g, now), x, x, by, x, 0)


def _breaks_today(ground, x, limit):
    return ground.ta is not None and ground.today(x) > limit


def _weep_holes(wall, strips):
    """Each level of the line that lies above a row is a shortfall."""
    found = []
    for row in wall["weep_holes"]:
        parts = []
        for s in strips:
            a, b, over = max(s.a, row["from_mm"]), min(s.b, row["to_mm"]), s.top - row["level_mm"]
            if a <= b and over > 0:
                parts.append((over, a, b, over, a, 0))
        found += [
            {
                "from_mm": floor(a),
                "to_mm": ceil(b),
                "by_mm": ceil(over),
                "at_mm": round(a),
                "cause": "weep holes",
            }
            for over, a, b, *_ in _merged(parts)
        ]
    return found


# ---------------------------------------------------------------- verdicts


def unknown(wall) -> list[dict]:
    """What is missing before anything can be said."""
    why = []
    if not wall["ground_today"]:
        why = [{"code": "no_ground_today" if wall.get("ground_finished") else "no_ground"}]
    if wall["finish"] != "render":
        return why + ([] if wall["bed_joint"] else [{"code": "no_bed_joint"}])
    struck = [(p["from_mm"], p["to_mm"]) for p in wall["struck_joint"]]
    for a, b in _solid(wall):
        if sum(max(0, min(b, q) - max(a, p)) for p, q in struck) < b - a:
            why.append({"code": "no_struck_joint", "from_mm": a, "to_mm": b})
    return why


def _solid(wall):
    """(from, to) of each stretch of wall between doors."""
    edges = [0, *(x for door in doors_of(wall) for x in door), wall["length_mm"]]
    return [(a, b) for a, b in zip(edges[::2], edges[1::2], strict=True) if a < b]


def judged(run, shift=0, line=None):
    """(verdict, why) without a word about the tape."""
    strips, missing = run.band(shift, line)
    why = [
        {"code": "opening_unknown", "from_mm": o["from_mm"], "to_mm": o["to_mm"]}
        for o in run.wall["openings"]
        if o["wall_below"] is None or (o["wall_below"] and o["threshold_mm"] is None)
    ]
    ends = [("brick", a, b, 0, a, 0) for a, b in missing]
    why += [
        {"code": "brick_ends", "from_mm": floor(a), "to_mm": ceil(b)}
        for _, a, b, *_ in _merged(ends)
    ]
    if why:
        return "decide", why
    why = [
        {"code": "short", "cause": s["cause"]}
        for s in short(run.wall, run.data, strips, run.pieces[shift])
    ]
    return ("short" if why else "right"), why


def tape(run):
    """What the tape's error changes: codes, empty if nothing worth a word."""
    error, why = run.data["tape_mm"], []
    verdict = judged(run)[0]
    for shift in (error, -error) if error else ():
        other = judged(run, shift, run.lines[shift] if isinstance(run, Brick) else None)[0]
        if other != verdict:
            why.append({"code": "within_tape", "shift_mm": shift, "verdict": other})
        for a, b in run.moved(shift):
            span = {"from_mm": floor(a), "to_mm": ceil(b)}
            why.append({"code": "within_tape", "shift_mm": shift, **span})
    return why


# ---------------------------------------------------------------- corners


def corners(data, runs):
    """Let the higher band of each corner go down until both overlap; what was found and done."""
    pairs = list(pairwise(range(len(runs))))
    if data["closed"] and len(runs) > 1:
        pairs.append((len(runs) - 1, 0))
    found = []
    for i, j in pairs:
        if runs[i] is not None and runs[j] is not None:
            found += _corner(runs[i], runs[j])
    for _, lower in found:
        if lower:
            run, left, level = lower
            run.end_lowered(left, level)
    return [corner for corner, _ in found]


def _corner(one, two):
    ends = [_end(one, LEFT_END_MEETS_NEXT), _end(two, not LEFT_END_MEETS_NEXT)]
    if None in ends:
        return []
    (top1, bottom1), (top2, bottom2) = ends
    overlap = min(top1, top2) - max(bottom1, bottom2)
    # Reading: where both bottoms are level the earlier wall's band goes down; and what is needed is
    # a course of the band that goes down, or 75 mm where that is render.
    first = bottom1 >= bottom2
    run = one if first else two
    level, lower = min(top1, top2) - run.overlap - run.wall.get("datum_offset_mm", 0), None
    if overlap < run.overlap:
        lower = (run, LEFT_END_MEETS_NEXT if first else not LEFT_END_MEETS_NEXT, level)
    corner = {
        "walls": [one.wall["label"], two.wall["label"]],
        "overlap_mm": floor(overlap),
        "needed_mm": ceil(run.overlap),
        "lowered": run.wall["label"] if lower else None,
        "to_level_mm": str(level) if lower else None,
    }
    return [(corner, lower)]


def _end(run, left):
    """(top, bottom) of the band at this end from the datum of all walls, None if there is none."""
    x, datum = 0 if left else run.wall["length_mm"], run.wall.get("datum_offset_mm", 0)
    for s in run.band()[0]:
        if x == (s.a if left else s.b) and s.line > -inf:
            return s.top + datum, (s.ba if left else s.bb) + datum
    return None


# ---------------------------------------------------------------- the answer


def solve(data: dict, lines=()) -> dict:
    """The answer to a file of walls, as the trade's description words it.

    `lines` has for some walls, by their labels, another line to go on from: a joint for each cell.
    """
    missing = [unknown(wall) for wall in data["walls"]]
    runs = [_run(wall, data) for wall in data["walls"]]
    doubts = [[] if why else tape(run) for run, why in zip(runs, missing, strict=True)]
    for run, doubt in zip(runs, doubts, strict=True):
        if doubt:
            run.keep_higher()
        if run and run.wall["label"] in lines:
            run.line = lines[run.wall["label"]]
    met = corners(data, runs)
    answers = [_answer(*each) for each in zip(data["walls"], runs, missing, doubts, strict=True)]
    return {"version": 1, "walls": answers, "corners": met}


def _run(wall, data):
    """None where there is no ground or no joint to go by; what can be told is told."""
    if not wall["ground_today"] and not wall.get("ground_finished"):
        return None
    if wall["finish"] == "render":
        return Render(wall, data)
    return Brick(wall, data) if wall["bed_joint"] else None


def _answer(wall, run, missing, doubts):
    if run is None:
        empty = {"line": [], "bottom": [], "short": None, "clear": None, "bare": None}
        empty |= {"treated_length_mm": None, "litres": None}
        return {"label": wall["label"], "verdict": "not known", "why": missing, **empty}
    verdict, why = judged(run)
    if missing:
        verdict, why = "not known", missing + why
    if doubts:
        why = (why if verdict == "decide" else []) + doubts
        verdict = "decide"
    strips = run.band()[0]
    line, bottom = run.drawn()
    thousandths = ceil(run.litres(strips) * 1000)
    seen = bool(wall["ground_today"])
    return {
        "label": wall["label"],
        "verdict": verdict,
        "why": why,
        "line": line,
        "bottom": bottom,
        "short": short(wall, run.data, strips, run.pieces[0]),
        "clear": soil(strips) if seen else None,
        "bare": bare(wall, strips) if seen else None,
        "treated_length_mm": None if missing else floor(_treated_mm(strips)),
        "litres": None if missing else f"{thousandths // 1000}.{thousandths % 1000:03d}",
    }


def _treated_mm(strips):
    return sum(part[1] - part[0] for part in (s.over_bottom() for s in strips) if part)


def on_wall(wall: dict, found: list[dict]) -> list[dict]:
    """A line or bottom without what is drawn through openings, where no rule says how it steps.

    For comparing answers: pieces as (from, to, level, joint), cut at openings with no wall.
    """
    kept = []
    for p, q in _solid(wall):
        for piece in found:
            a, b = max(p, piece["from_mm"]), min(q, piece["to_mm"])
            same = (piece["level_mm"], piece["joint"])
            if a < b and kept and kept[-1][1] == a and kept[-1][2:] == same:
                kept[-1] = (kept[-1][0], b, *same)
            elif a < b:
                kept.append((a, b, *same))
    return kept
