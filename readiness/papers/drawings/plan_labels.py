"""Naming the walls of a plan so that no name runs over another one or over a line.

A name stands outside its wall where it has room. Where it has none, the wall's key (a letter)
stands there instead, with a thin leader if it had to be moved away, and the name is listed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace

from readiness.papers.drawings import svg
from readiness.papers.drawings.plan_walls import Box, Wall, is_free
from readiness.rules.words import metres

SIZE, ROW = 12, 14.5
GAP = 8
"""From the middle of a wall's line to its label."""
THICK = 5
"""Half the thickest wall line, with some air."""
OVERHANG = 6
PUSHES = tuple(range(0, 96, 6))
BEYOND = (8, 16, 24, 34)
"""How far past the end of its wall a key may stand, and how far back behind the wall's line."""
BACK = (-14, -22, -30)
LEADER_FROM = 12
"""A key further away than this is tied to its wall by a leader."""
UPRIGHT = 0.7


@dataclass(frozen=True)
class Label:
    """Words at a wall: a name with its length, or a key alone."""

    wall: Wall
    rows: tuple[str, ...]
    centre: svg.Point
    box: Box
    turned: bool = False
    leader: tuple[svg.Point, svg.Point] | None = None


@dataclass
class _Room:
    """What is free on the drawing."""

    frame: Box
    lines: list[tuple[svg.Point, svg.Point]]
    taken: list[Box] = field(default_factory=list)

    def has(self, box: Box) -> bool:
        left, top, right, bottom = self.frame
        within = left <= box[0] and top <= box[1] and box[2] <= right and box[3] <= bottom
        return within and is_free(box, self.taken, self.lines, THICK)

    def without(self, labels: Sequence[Label]) -> _Room:
        return _Room(self.frame, [*self.lines], [*self.taken, *(label.box for label in labels)])


def label_walls(
    walls: Sequence[Wall],
    frame: Box,
    lines: Sequence[tuple[svg.Point, svg.Point]],
    taken: Sequence[Box],
) -> tuple[list[Label], list[Wall]]:
    """The labels, and the walls that got no name on the drawing, in order round the house.

    `lines` and `taken` are what a label must keep clear of, besides other labels. A wall whose key
    finds no room outside makes the nearest name give way to a key; a few names among many keys
    only confuse, so then all of them do. Only then may keys stand inside the house.
    """
    room = _Room(frame, list(lines), list(taken))
    names = _names(walls, room)
    while len(names) * 3 >= len(walls):
        named = {label.wall for label in names}
        unnamed = [wall for wall in walls if wall not in named]
        keys, missing = _keys(unnamed, room.without(names))
        if not missing:
            return [*names, *keys], unnamed
        names.remove(min(names, key=lambda label: math.dist(label.centre, missing[0].at(0.5))))
    return _keys(walls, room, inside=True)[0], list(walls)


def _names(walls: Sequence[Wall], room: _Room) -> list[Label]:
    """Names of the walls that have room for one; long walls choose first."""
    labels: list[Label] = []
    for wall in sorted(walls, key=lambda wall: -wall.length):
        left = room.without(labels)
        label = next((label for label in _ways_to_name(wall) if left.has(label.box)), None)
        if label:
            labels.append(label)
    return labels


def _ways_to_name(wall: Wall) -> Iterator[Label]:
    """The best first: level words, then words along an upright wall, in fewer rows or more.

    The key is on every one of them: other lists call the wall by it.
    """
    length = f"{wall.key} · {metres(wall.run.length_mm)}"
    in_one_row = f"{wall.key} · {wall.words}"
    shapes = [
        ((wall.name, length), False),
        ((*_halves(wall.name), length), False),
        ((in_one_row,), False),
    ]
    if abs(wall.outwards[0]) > UPRIGHT:
        shapes += [((wall.name, length), True), ((in_one_row,), True)]
    for rows, turned in shapes:
        box = _size(rows, turned)
        along = abs(wall.outwards[1]) * box[0] + abs(wall.outwards[0]) * box[1]
        spare = wall.length - along
        if spare < -OVERHANG:
            continue
        slack = max(spare, 0) / wall.length
        for share in (0, 0.25, -0.25, 0.5, -0.5):
            yield _label(wall, rows, 0.5 + share * slack, 0, turned)


def _halves(name: str) -> list[str]:
    words = name.split()
    middle = (len(words) + 1) // 2
    return [" ".join(part) for part in (words[:middle], words[middle:]) if part]


def _size(rows: Sequence[str], turned: bool) -> tuple[float, float]:
    wide = max(svg.text_width(words, SIZE, bold=True) for words in rows) + 2
    high = ROW * len(rows)
    return (high, wide) if turned else (wide, high)


def _label(wall: Wall, rows: Sequence[str], share: float, push: float, turned: bool) -> Label:
    """A label whose nearest corner or side lies a gap away from the wall, whatever its angle."""
    wide, high = _size(rows, turned)
    reach = abs(wall.outwards[0]) * wide / 2 + abs(wall.outwards[1]) * high / 2
    x, y = wall.at(share, GAP + push + reach)
    box = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
    return Label(wall, tuple(rows), (x, y), box, turned)


def _keys(
    walls: Sequence[Wall], room: _Room, inside: bool = False
) -> tuple[list[Label], list[Wall]]:
    """A key for each wall, and the walls that have no room even for that.

    Short walls, which have the least room, choose first.
    """
    labels: list[Label] = []
    missing: list[Wall] = []
    left = room
    for wall in sorted(walls, key=lambda wall: wall.length):
        label = next(
            (label for label in _ways_to_key(wall, inside) if _can_stand(label, left)), None
        )
        if label is None:
            missing.append(wall)
            continue
        labels.append(label)
        left = left.without([label])
        left.lines += [label.leader] if label.leader else []
    return labels, missing


def _ways_to_key(wall: Wall, inside: bool) -> Iterator[Label]:
    """The nearest first: straight out, and past the ends of a short wall; inside at last.

    Past an inside corner lies the house; only past an outside one is there room further back too.
    """
    half = wall.length / 2
    within = [0.0, half * 0.4, -half * 0.4, half * 0.8, -half * 0.8]
    ends = list(zip((-1, 1), wall.turns, strict=True))
    beyond = [end * (half + more) for more in BEYOND for end, turn in ends if turn >= 0]
    round_it = [end * (half + more) for more in BEYOND for end, turn in ends if turn >= 90]
    places: list[tuple[float, float]]
    places = [(push, along) for push in PUSHES for along in [*within, *beyond]]
    places += [(push, along) for push in BACK for along in round_it]
    places.sort(key=lambda place: abs(place[0]) + max(abs(place[1]) - half, 0))
    if inside:
        places += [(-2 * GAP - ROW - push, along) for push in PUSHES[:6] for along in within]
    for push, along in places:
        label = _label(wall, (wall.key,), 0.5 + along / wall.length, push, False)
        yield replace(label, leader=_leader(wall, label, along))


def _leader(wall: Wall, label: Label, along: float) -> tuple[svg.Point, svg.Point] | None:
    """From the nearest place on the wall to the key, if the key had to be moved away."""
    half = wall.length / 2
    start = wall.at(0.5 + min(max(along, -half), half) / wall.length)
    far = math.dist(start, label.centre)
    if far <= GAP + ROW / 2 + LEADER_FROM:
        return None
    share = (far - ROW / 2 - 1) / far
    x, y = (start[n] + (label.centre[n] - start[n]) * share for n in (0, 1))
    return start, (x, y)


def _can_stand(label: Label, room: _Room) -> bool:
    """Room for the key, and neither another label nor another wall under its leader."""
    if not room.has(label.box):
        return False
    if label.leader is None:
        return True
    own = (label.wall.start, label.wall.end)
    others = [line for line in room.lines if line != own]
    start, end = label.leader
    steps = max(int(math.dist(start, end) / 3), 1)
    points = [
        tuple(start[axis] + (end[axis] - start[axis]) * step / steps for axis in (0, 1))
        for step in range(2, steps + 1)
    ]
    return all(is_free((x - 1, y - 1, x + 1, y + 1), room.taken, others, THICK) for x, y in points)


def drawn(label: Label) -> str:
    """The label as SVG; the length under a name is not bold."""
    x, y = label.centre
    top = y - ROW * len(label.rows) / 2
    rows = "".join(
        svg.text(
            x, top + ROW * (n + 0.78), words, SIZE, "middle",
            bold=n == 0 or n < len(label.rows) - 1,
        )
        for n, words in enumerate(label.rows)
    )  # fmt: skip
    if label.turned:
        rows = svg.element("g", rows, transform=f"rotate(-90 {svg.num(x)} {svg.num(y)})")
    leader = svg.line(*label.leader[0], *label.leader[1], 0.8) if label.leader else ""
    box = label.box
    marked = svg.element(
        "g", leader + rows, class_="plan-label",
        data_box=" ".join(svg.num(value) for value in box),
    )  # fmt: skip
    return marked


def listed(walls: Sequence[Wall], width: float, top: float) -> tuple[list[str], float]:
    """The walls' keys and names under the plan, in as many columns as their names allow."""
    if not walls:
        return [], top
    indent = max(svg.text_width(wall.key, SIZE, bold=True) for wall in walls) + 8
    widest = max(svg.text_width(wall.words, SIZE) for wall in walls) + indent + 14
    columns = max(1, min(int((width - 16) // widest), math.ceil(len(walls) / 2), 3))
    column_width = (width - 16) / columns
    per_column = math.ceil(len(walls) / columns)
    parts, lowest = [], top
    for column in range(columns):
        x, y = 10 + column * column_width, top + ROW
        for wall in walls[column * per_column : (column + 1) * per_column]:
            parts.append(svg.text(x, y, wall.key, SIZE, bold=True))
            for words in svg.wrapped(wall.words, SIZE, column_width - indent - 6):
                parts.append(svg.text(x + indent, y, words, SIZE))
                y += ROW
            y += 3
        lowest = max(lowest, y)
    return parts, lowest
