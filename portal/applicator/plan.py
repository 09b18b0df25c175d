"""The small plan of a house that can be tapped: one line a wall, drawn from the wall runs."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable
from dataclasses import dataclass
from math import atan2, degrees, hypot

from readiness.facts import run_facts
from readiness.models import DefectItem, WallRun
from readiness.rules.perimeter import Outline, outline
from readiness.rules.words import counted, metres

SIZE, MARGIN = 320, 30
"""Width of the drawing and the room round the house for labels, in SVG units."""

LETTER = 7.4
"""About how wide a letter of a label is, in SVG units."""


@dataclass(frozen=True)
class PlanWall:
    """One wall as the template draws it; all positions are SVG units, already rounded."""

    label: str
    x1: float
    y1: float
    x2: float
    y2: float
    label_x: float
    label_y: float
    rotate: int
    url: str
    is_checked: bool
    item_count: int
    says: str


@dataclass(frozen=True)
class Plan:
    """The whole drawing: walls, marks of items, and what is wrong with the outline."""

    width: int
    height: int
    walls: tuple[PlanWall, ...]
    marks: tuple[tuple[float, float, int], ...]
    gap: tuple[float, float, float, float] | None
    sentence: str
    says: str


def plan_of(
    runs: Iterable[WallRun],
    *,
    items: Iterable[DefectItem] = (),
    checked: Collection = (),
    url_of: Callable[[WallRun], str] | None = None,
) -> Plan | None:
    """The plan of these wall runs (in order), or None without walls.

    `checked` holds ids of runs that were checked; `url_of` gives the address behind a wall.
    """
    runs = list(runs)
    if not runs:
        return None
    shape = outline([run_facts(run) for run in runs])
    place = _Scale(shape)
    by_wall: dict = {}
    for item in items:
        by_wall.setdefault(item.wall_run_id, []).append(item)
    walls = tuple(
        _wall(n, run, shape, place, by_wall.get(run.pk, []), run.pk in checked, url_of)
        for n, run in enumerate(runs)
    )
    marks = tuple(
        mark
        for n, run in enumerate(runs)
        for mark in _marks(n, run, shape, place, by_wall.get(run.pk, []))
    )
    gap = None
    if not shape.closes and shape.gap_mm:
        gap = (*place(shape.corners[-1]), *place(shape.corners[0]))
    total = sum(run.length_mm for run in runs)
    says = f"Plan of {counted(len(runs), 'wall')}, {metres(total)} round."
    return Plan(SIZE, place.height, walls, marks, gap, shape.sentence, says)


class _Scale:
    """From mm on the site to units of the drawing."""

    def __init__(self, shape: Outline):
        xs = [corner.x_mm for corner in shape.corners]
        ys = [corner.y_mm for corner in shape.corners]
        self.left, self.top = min(xs), min(ys)
        width, height = max(max(xs) - self.left, 1), max(max(ys) - self.top, 1)
        inner = SIZE - 2 * MARGIN
        self.factor = min(inner / width, inner / height)
        self.height = round(height * self.factor + 2 * MARGIN)
        self.shift = (SIZE - width * self.factor) / 2

    def __call__(self, point) -> tuple[float, float]:
        return (
            round((point.x_mm - self.left) * self.factor + self.shift, 1),
            round((point.y_mm - self.top) * self.factor + MARGIN, 1),
        )


def _wall(n, run, shape, place, items, is_checked, url_of) -> PlanWall:
    (x1, y1), (x2, y2) = place(shape.corners[n]), place(shape.corners[n + 1])
    out_x, out_y = _outwards(x1, y1, x2, y2)
    middle_x, middle_y = (x1 + x2) / 2 + out_x * 13, (y1 + y2) / 2 + out_y * 13
    says = [f"{run.label}, {metres(run.length_mm)}"]
    if is_checked:
        says.append("checked")
    if items:
        says.append(counted(len(items), "item"))
    return PlanWall(
        label=_fitting(run.label, hypot(x2 - x1, y2 - y1)),
        x1=x1,
        y1=y1,
        x2=x2,
        y2=y2,
        label_x=round(middle_x, 1),
        label_y=round(middle_y, 1),
        rotate=_readable(degrees(atan2(y2 - y1, x2 - x1))),
        url=url_of(run) if url_of else "",
        is_checked=is_checked,
        item_count=len(items),
        says=", ".join(says),
    )


def _fitting(label: str, room: float) -> str:
    """The label if it fits along its wall, else as much as makes sense; nothing for short walls."""
    most = int(room / LETTER)
    if len(label) <= most:
        return label
    worth_it = most >= 6 and most > len(label) * 0.55
    return f"{label[: most - 1].rstrip(' ,')}…" if worth_it else ""


def _readable(angle: float) -> int:
    """The angle of a text along a wall, turned so that it never stands on its head."""
    turned = round(angle) % 360
    return turned - 180 if 90 < turned <= 270 else turned


def _outwards(x1, y1, x2, y2) -> tuple[float, float]:
    """The direction away from the house: to the right of the walk, which has it on the left."""
    length = hypot(x2 - x1, y2 - y1) or 1
    return -(y2 - y1) / length, (x2 - x1) / length


def _marks(n, run, shape, place, items):
    """A dot for each item at its middle; one without a place sits in the middle of its wall."""
    for item in items:
        start = run.length_mm / 2 if item.from_mm is None else item.from_mm
        end = start if item.to_mm is None else item.to_mm
        yield (*place(shape.at(n, (start + end) / 2, run.length_mm)), item.number)
