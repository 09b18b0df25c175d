"""The perimeter from above: which wall run is which, how each stands, and where the items are."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from html import escape

from readiness.papers.drawings import svg
from readiness.papers.drawings.elevation import ItemMark
from readiness.rules.assessment import NOT_KNOWN, NOT_READY, STATUS_WORDS
from readiness.rules.geometry import WallRun
from readiness.rules.perimeter import Outline, outline
from readiness.rules.words import counted, listed, metres

SIDE, ABOVE, MOST_HEIGHT = 92, 44, 420
NUMBER_PLACES = (14, -14, 22, -22, 30, -30, 40, -40, 52, 64, 76)
LIST_ROW = 17


@dataclass(frozen=True)
class _Wall:
    """One run on the drawing: its ends, and the way out of the house."""

    run: WallRun
    number: int
    start: svg.Point
    end: svg.Point
    outwards: svg.Point

    @property
    def length(self) -> float:
        return math.dist(self.start, self.end)

    def at(self, share: float, out: float = 0) -> svg.Point:
        """A place along the wall (share 0 to 1), moved outwards by so much."""
        return (
            self.start[0] + (self.end[0] - self.start[0]) * share + self.outwards[0] * out,
            self.start[1] + (self.end[1] - self.start[1]) * share + self.outwards[1] * out,
        )


def plan_svg(
    runs: Sequence[WallRun],
    *,
    highlight: str | None = None,
    items: Iterable[ItemMark] = (),
    links: Mapping[str, str] | None = None,
    status: Mapping[str, str] | None = None,
    width: float = 440,
    name: str = "plan",
) -> str:
    """Draw the runs in order round the house, the first along the bottom.

    `highlight` is the id of the run that a page is about; `links` gives addresses by run id;
    `status` gives an assessment's status by run id. Outlines that don't close are drawn as they
    are, with the gap dashed. Walls too short for their label are named in a list underneath.
    """
    runs, status, items = list(runs), dict(status or {}), list(items)
    if not runs:
        return _empty(width, name)
    shape = outline(runs)
    walls, height = _placed(runs, shape, width)
    labels, listed_walls = _labels(walls, highlight)
    body = [_inside(walls, shape)]
    body += [_gap(walls, shape)] if not shape.closes else []
    body += [_drawn(wall, status.get(wall.run.id), wall.run.id == highlight) for wall in walls]
    body += [*labels, *_marks(walls, items)]
    body = [_linked(walls, body, links)] if links else body
    rows, height = _list_of(listed_walls, width, height)
    key, height = _key(status, width, height)
    return svg.drawing(
        [*body, *rows, *key], width, height, "Plan of the walls",
        _describe(runs, shape, status, items), name, "drawing plan",
    )  # fmt: skip


def _empty(width: float, name: str) -> str:
    words = "No walls have been entered yet."
    body = [svg.text(width / 2, 40, words, 13, "middle")]
    return svg.drawing(body, width, 70, "Plan of the walls", words, name, "drawing plan")


def _placed(runs: Sequence[WallRun], shape: Outline, width: float) -> tuple[list[_Wall], float]:
    """Scale the outline into the drawing; walls are numbered from 1."""
    xs = [corner.x_mm for corner in shape.corners]
    ys = [corner.y_mm for corner in shape.corners]
    across, down = max(max(xs) - min(xs), 1), max(max(ys) - min(ys), 1)
    scale = min((width - 2 * SIDE) / across, MOST_HEIGHT / down)
    left = (width - across * scale) / 2
    points = [
        (left + (x - min(xs)) * scale, ABOVE + (y - min(ys)) * scale)
        for x, y in zip(xs, ys, strict=True)
    ]
    walls = []
    for number, run in enumerate(runs, start=1):
        angle = math.radians(shape.headings_degrees[number - 1])
        outwards = (math.sin(angle), math.cos(angle))
        walls.append(_Wall(run, number, points[number - 1], points[number], outwards))
    return walls, down * scale + 2 * ABOVE


def _inside(walls: Sequence[_Wall], shape: Outline) -> str:
    """The house itself, lightly tinted, once the outline closes."""
    fill = "#f1f1f1" if shape.closes else "none"
    return svg.polygon([wall.start for wall in walls], fill)


def _gap(walls: Sequence[_Wall], shape: Outline) -> str:
    if len(walls) < 3:
        return ""
    return svg.line(*walls[-1].end, *walls[0].start, 1.4, stroke_dasharray="3 4")


def _drawn(wall: _Wall, status: str | None, highlighted: bool) -> str:
    """A thick line: whole when ready, double when not ready, dashed when not known."""
    ends = (*wall.start, *wall.end)
    drawn = svg.line(*ends, 15, stroke="#c4c4c4") if highlighted else ""
    thick = 8 if highlighted else 5
    if status == NOT_READY:
        return drawn + svg.line(*ends, thick + 3) + svg.line(*ends, 2.4, stroke=svg.PAPER)
    if status == NOT_KNOWN:
        return drawn + svg.line(*ends, 3, stroke_dasharray="7 4")
    return drawn + svg.line(*ends, thick)


def _label_words(wall: _Wall) -> str:
    return wall.run.label or f"Wall {wall.number}"


def _is_upright(wall: _Wall) -> bool:
    return abs(wall.outwards[0]) > 0.7


def _label_fits(wall: _Wall) -> bool:
    """Along a level wall the name needs its width; beside an upright one, the side's room."""
    room = SIDE - 12 if _is_upright(wall) else wall.length
    widest = max(svg.text_width(part, 12, True) for part in _split(wall))
    return widest <= room and (not _is_upright(wall) or wall.length >= 30)


def _split(wall: _Wall) -> list[str]:
    """Beside an upright wall a name of several words takes a line for each half."""
    words = _label_words(wall).split()
    if not _is_upright(wall) or len(words) == 1:
        return [" ".join(words)]
    middle = (len(words) + 1) // 2
    return [" ".join(words[:middle]), " ".join(words[middle:])]


Box = tuple[float, float, float, float]


def _labels(walls: Sequence[_Wall], highlight: str | None) -> tuple[list[str], list[_Wall]]:
    """The drawn labels, and the walls that got their number only.

    A name goes where it has room and crosses neither another label nor another wall; otherwise
    the wall's number does, pushed outwards until it is clear of the others.
    """
    taken: list[Box] = []
    drawn, numbered = [], []
    for wall in sorted(walls, key=lambda wall: -wall.length):
        box = _label_box(wall)
        if _label_fits(wall) and not _crosses(box, wall, walls, taken):
            taken.append(box)
            drawn.append(_label(wall, wall.run.id == highlight))
        else:
            numbered.append(wall)
    if len(numbered) > len(walls) / 2:  # few names among many numbers only confuse
        taken, drawn, numbered = [], [], list(walls)
    for wall in numbered:
        out = _clear_place(wall, walls, taken)
        taken.append(_number_box(wall, out))
        x, y = wall.at(0.5, out)
        if abs(out) > 14:
            drawn.append(
                svg.line(*wall.at(0.5, 0), *wall.at(0.5, out - math.copysign(7, out)), 0.8)
            )
        drawn.append(svg.text(x, y + 4, str(wall.number), 11.5, "middle", bold=True))
    return drawn, sorted(numbered, key=lambda wall: wall.number)


def _clear_place(wall: _Wall, walls: Sequence[_Wall], taken: Sequence[Box]) -> float:
    """How far out (or in) a number finds room; just outside where there is none."""
    for out in NUMBER_PLACES:
        if not _crosses(_number_box(wall, out), wall, walls, taken):
            return out
    return NUMBER_PLACES[0]


def _number_box(wall: _Wall, out: float) -> Box:
    x, y = wall.at(0.5, out)
    half = 4 + 3.6 * len(str(wall.number))
    return (x - half, y - 7, x + half, y + 7)


def _overlap(one: Box, other: Box) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _crosses(box: Box, wall: _Wall, walls: Sequence[_Wall], taken: Sequence[Box]) -> bool:
    for other in walls:
        xs, ys = sorted((other.start[0], other.end[0])), sorted((other.start[1], other.end[1]))
        line_box = (xs[0] - 3, ys[0] - 3, xs[1] + 3, ys[1] + 3)
        if other is not wall and _overlap(box, line_box):
            return True
    return any(_overlap(box, other) for other in taken)


def _label_rows(wall: _Wall) -> list[str]:
    return [*_split(wall), metres(wall.run.length_mm)]


def _label_place(wall: _Wall) -> tuple[float, float, str]:
    """Where the first row's baseline starts, and how the rows are aligned."""
    x, y = wall.at(0.5, 11)
    if _is_upright(wall):
        anchor = "start" if wall.outwards[0] > 0 else "end"
        return x, y + 4 - 7 * (len(_label_rows(wall)) - 1), anchor
    return x, y + (9 if wall.outwards[1] > 0 else -17), "middle"


def _label_box(wall: _Wall) -> Box:
    x, y, anchor = _label_place(wall)
    rows = _label_rows(wall)
    width = max(svg.text_width(words, 12, True) for words in rows)
    left = x - {"start": 0, "middle": width / 2, "end": width}[anchor]
    return (left, y - 11, left + width, y - 11 + 14 * len(rows))


def _label(wall: _Wall, bold: bool) -> str:
    """The name with the length under it."""
    x, y, anchor = _label_place(wall)
    rows = _label_rows(wall)
    return "".join(
        svg.text(x, y + 14 * n, words, 12, anchor, bold=bold or n < len(rows) - 1)
        for n, words in enumerate(rows)
    )


def _marks(walls: Sequence[_Wall], items: Iterable[ItemMark]) -> list[str]:
    """Numbered discs just inside the wall, at their distance; they keep out of each other's way."""
    by_id = {wall.run.id: wall for wall in walls}
    taken: list[svg.Point] = []
    drawn = []
    for mark in items:
        wall = by_id.get(mark.run_id)
        if wall is None:
            continue
        middle = ((mark.from_mm or 0) + (mark.to_mm or mark.from_mm or 0)) / 2
        share = 0.5 if mark.from_mm is None else min(max(middle / wall.run.length_mm, 0), 1)
        out = -13.0
        while any(math.dist(wall.at(share, out), other) < 17 for other in taken) and out > -80:
            out -= 6
        taken.append(wall.at(share, out))
        drawn.append(svg.line(*wall.at(share), *wall.at(share, out), 1.2))
        drawn.append(svg.marker(*wall.at(share, out), str(mark.number), 8.5))
    return drawn


def _linked(walls: Sequence[_Wall], body: Sequence[str], links: Mapping[str, str]) -> str:
    """A wide, clear area over each wall, 44 units across, that can be tapped."""
    areas = []
    for wall in walls:
        if wall.run.id not in links:
            continue
        words = f"{_label_words(wall)}, {metres(wall.run.length_mm)}"
        area = svg.line(*wall.start, *wall.end, 44, stroke="#000", stroke_opacity="0")
        areas.append(
            f'<a href="{escape(links[wall.run.id], quote=True)}" '
            f'aria-label="{escape(words, quote=True)}">{area}</a>'
        )
    return "".join([*body, *areas])


def _list_of(walls: Sequence[_Wall], width: float, top: float) -> tuple[list[str], float]:
    """Names of the walls that are shown by number only, in two columns."""
    if not walls:
        return [], top
    per_column = math.ceil(len(walls) / 2)
    drawn = []
    for n, wall in enumerate(walls):
        x = 12 + (n // per_column) * width / 2
        y = top + 6 + (n % per_column) * LIST_ROW
        drawn.append(svg.text(x, y, f"{wall.number}", 11.5, bold=True))
        words = f"{_label_words(wall)}, {metres(wall.run.length_mm)}"
        most = int((width / 2 - 44) / (0.53 * 11.5))
        drawn.append(
            svg.text(x + 22, y, words if len(words) <= most else f"{words[: most - 1]}…", 11.5)
        )
    return drawn, top + per_column * LIST_ROW + 8


def _key(status: Mapping[str, str], width: float, top: float) -> tuple[list[str], float]:
    """What the lines mean, for those that are there."""
    present = [known for known in STATUS_WORDS if known in status.values()]
    if not present:
        return [], top
    drawn, x, y = [], 12.0, top + 8
    for known in present:
        sample = _Wall(WallRun("", "", 1), 0, (x, y - 4), (x + 26, y - 4), (0, 1))
        drawn += [_drawn(sample, known, False), svg.text(x + 32, y, STATUS_WORDS[known], 11.5)]
        x += 44 + svg.text_width(STATUS_WORDS[known], 11.5) + 14
    return drawn, y + 12


def _describe(
    runs: Sequence[WallRun], shape: Outline, status: Mapping[str, str], items: Sequence[ItemMark]
) -> str:
    """The plan in words: each wall with its length, how it stands, and the items on it."""
    parts = [f"{counted(len(runs), 'wall')} round the house."]
    for number, run in enumerate(runs, start=1):
        words = f"{run.label or f'Wall {number}'}, {metres(run.length_mm)}"
        if run.id in status:
            words += f", {STATUS_WORDS[status[run.id]].lower()}"
        numbers = [str(mark.number) for mark in items if mark.run_id == run.id]
        if numbers:
            words += f", {'item' if len(numbers) == 1 else 'items'} {listed(numbers)}"
        parts.append(f"{words}.")
    return " ".join([*parts, shape.sentence]).strip()
