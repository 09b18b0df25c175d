"""A wall run seen from outside: brick, ground, weep holes, joints, treatment line, shortfalls.

Lengths and heights are each to scale; heights are drawn larger than lengths so that millimetres
show, and the drawing says by how much.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from readiness.papers.drawings import svg
from readiness.rules.geometry import WallRun
from readiness.rules.levels import TreatmentLine, line_sentence, solve
from readiness.rules.profile import Piece, finished_pieces, today_pieces
from readiness.rules.shortfalls import Shortfall
from readiness.rules.site_checks import hole_positions_mm
from readiness.rules.values import RuleValues
from readiness.rules.words import metres

LEFT, RIGHT, TOP, BOTTOM = 8, 8, 34, 62
LEAST_HEIGHT_MM = 450
BRICKS_SHOWN_MAX = 400


@dataclass(frozen=True)
class ItemMark:
    """An item to show on a drawing: its number and where it is along the run (mm)."""

    number: int
    from_mm: int | None
    to_mm: int | None = None
    run_id: str = ""


@dataclass(frozen=True)
class _Frame:
    """Turns distances and levels in mm into places on the drawing."""

    length_mm: int
    low_mm: int
    high_mm: int
    width: float
    height: float

    def x(self, distance_mm: float) -> float:
        return LEFT + float(distance_mm) * (self.width - LEFT - RIGHT) / self.length_mm

    def y(self, level_mm: float) -> float:
        inner = self.height - TOP - BOTTOM
        return TOP + (self.high_mm - float(level_mm)) * inner / (self.high_mm - self.low_mm)

    @property
    def exaggeration(self) -> float:
        """How many times larger heights are drawn than lengths."""
        across = (self.width - LEFT - RIGHT) / self.length_mm
        return (self.height - TOP - BOTTOM) / (self.high_mm - self.low_mm) / across


def elevation_svg(
    run: WallRun,
    values: RuleValues,
    line: TreatmentLine | None = None,
    *,
    items: Iterable[ItemMark] = (),
    width: float = 440,
    height: float = 300,
) -> str:
    """Draw a run; `line` is worked out if it is not given. LevelsError if it can't be."""
    line = line or solve(run, values)
    frame = _frame(run, values, line, width, height)
    name = svg.safe_name("elevation", run.id)
    today, finished = today_pieces(run), finished_pieces(run)
    marks = [mark for mark in items if mark.from_mm is not None]
    body = [
        *_wall(run, values, frame),
        *_treated_band(run, values, line, frame),
        *_weep_holes(run, values, frame),
        *_joints(run, frame),
        *_ground(today, finished, frame),
        *_slab(run, frame),
        *_line(line, frame),
        *_shortfalls(line, finished, values, frame, name),
        *_items(marks, frame),
        *_scale(run, frame),
    ]
    title = f"{run.label}, seen from outside"
    return svg.drawing(body, width, height, title, describe(run, line, marks), name)


def describe(run: WallRun, line: TreatmentLine | None, marks: Sequence[ItemMark] = ()) -> str:
    """The drawing in words."""
    parts = [f"{metres(run.length_mm)} of wall."]
    parts.append(line_sentence(line) if line else "No levels were entered.")
    parts += [short.sentence for short in line.shortfalls] if line else []
    parts += [f"Item {mark.number} is at {metres(mark.from_mm)}." for mark in marks]
    return " ".join(parts)


def _frame(run, values, line, width, height) -> _Frame:
    """Show from under the lowest ground to a course over whatever is highest."""
    course = float(run.gauge_or_default(values).course_mm)
    levels = [float(run.slab_level_mm)]
    for piece in (*today_pieces(run), *finished_pieces(run)):
        levels += [float(piece.from_level_mm), float(piece.to_level_mm)]
    levels += [float(part.level_mm) for part in line.segments] if line else []
    levels += [row.level_mm + course for row in run.weep_holes]
    if run.first_bed_joint_mm is not None and not run.has_ground:
        levels.append(run.first_bed_joint_mm)
    low, high = min(levels) - 60, max(levels) + max(course, 90)
    low = min(low, high - LEAST_HEIGHT_MM)
    return _Frame(run.length_mm, math.floor(low), math.ceil(high), width, height)


def _wall(run: WallRun, values: RuleValues, frame: _Frame) -> list[str]:
    left, right = frame.x(0), frame.x(run.length_mm)
    top, bottom = frame.y(frame.high_mm), frame.y(frame.low_mm)
    face = svg.rect(left, top, right - left, bottom - top, fill=svg.BRICK)
    outline = svg.rect(
        left, top, right - left, bottom - top, fill="none", stroke=svg.INK, stroke_width="1"
    )
    if run.is_rendered:
        return [
            svg.rect(left, top, right - left, bottom - top, fill="#f6f6f6"),
            svg.element("path", d=_stipple(frame), fill=svg.MORTAR),
            outline,
        ]
    return [face, *_courses(run, values, frame), outline]


def _courses(run: WallRun, values: RuleValues, frame: _Frame) -> list[str]:
    """Bed joints and perpends to scale, in stretcher bond."""
    course = float(run.gauge_or_default(values).course_mm)
    pitch = run.perpend_spacing_mm(values)
    datum = run.first_bed_joint_mm if run.first_bed_joint_mm is not None else 0
    first = math.ceil((frame.low_mm - datum) / course)
    last = math.floor((frame.high_mm - datum) / course)
    beds = "".join(
        f"M{svg.num(frame.x(0))} {svg.num(frame.y(datum + n * course))} "
        f"H{svg.num(frame.x(run.length_mm))} "
        for n in range(first, last + 1)
    )
    drawn = [svg.element("path", d=beds, stroke=svg.MORTAR, stroke_width="1.2", fill="none")]
    if run.length_mm / pitch <= BRICKS_SHOWN_MAX:
        perpends = "".join(
            _perpends(n, datum, course, pitch, run, frame) for n in range(first - 1, last + 1)
        )
        drawn.append(
            svg.element("path", d=perpends, stroke=svg.MORTAR, stroke_width="0.8", fill="none")
        )
    return drawn


def _perpends(n: int, datum: float, course: float, pitch: int, run: WallRun, frame: _Frame) -> str:
    bottom = max(datum + n * course, frame.low_mm)
    top = min(datum + (n + 1) * course, frame.high_mm)
    if top <= bottom:
        return ""
    start = pitch if n % 2 else pitch // 2
    return "".join(
        f"M{svg.num(frame.x(at))} {svg.num(frame.y(bottom))} V{svg.num(frame.y(top))} "
        for at in range(start, run.length_mm, pitch)
    )


def _stipple(frame: _Frame) -> str:
    """A few dots that say render."""
    dots = []
    for row in range(6):
        y = frame.y(frame.high_mm) + 8 + row * 17
        for column in range(14):
            x = frame.x(0) + 9 + column * (frame.width - LEFT - RIGHT) / 14 + (row % 2) * 9
            if y < frame.y(frame.low_mm) - 3 and x < frame.x(frame.length_mm) - 3:
                dots.append(f"M{svg.num(x)} {svg.num(y)} h1.4 v1.4 h-1.4 Z")
    return "".join(dots)


def _treated_band(run, values, line, frame: _Frame) -> list[str]:
    """The courses under the line that are treated, tinted."""
    if line is None:
        return []
    course = run.gauge_or_default(values).course_mm
    bands = []
    for part in line.segments:
        bottom = max(part.level_mm - part.courses_treated * course, frame.low_mm)
        top = frame.y(part.level_mm)
        bands.append(
            svg.rect(
                frame.x(part.from_mm), top, frame.x(part.to_mm) - frame.x(part.from_mm),
                frame.y(bottom) - top, fill=svg.INK, fill_opacity="0.13",
            )
        )  # fmt: skip
    return bands


def _weep_holes(run: WallRun, values: RuleValues, frame: _Frame) -> list[str]:
    """Open perpends one brick high; a dashed line where only their level is known."""
    drawn = []
    brick = float(run.gauge_or_default(values).course_mm) - values["joint_thickness_mm"]
    for row in run.weep_holes:
        for at in hole_positions_mm(row, run):
            width = max(2.4, frame.x(10) - frame.x(0))
            top = frame.y(row.level_mm + brick)
            drawn.append(
                svg.rect(
                    frame.x(at) - width / 2, top, width, frame.y(row.level_mm) - top, fill=svg.INK
                )
            )
        end = run.length_mm if row.to_mm is None else row.to_mm
        drawn.append(
            svg.line(
                frame.x(row.from_mm), frame.y(row.level_mm), frame.x(end), frame.y(row.level_mm),
                1, stroke_dasharray="2 3",
            )
        )  # fmt: skip
        drawn.append(
            svg.text(
                frame.x(end) - 4, frame.y(row.level_mm) - 4, "weep holes", 11, "end", backed=True
            )
        )
    return drawn


def _joints(run: WallRun, frame: _Frame) -> list[str]:
    drawn = []
    for joint in run.joints:
        x = frame.x(joint.distance_mm)
        half = max(1.6, (frame.x(joint.width_mm) - frame.x(0)) / 2)
        top, bottom = frame.y(frame.high_mm), frame.y(frame.low_mm)
        drawn.append(svg.rect(x - half, top, 2 * half, bottom - top, fill=svg.PAPER))
        dash = "4 3" if joint.kind == "crack" else None
        drawn += [
            svg.line(x + side, top, x + side, bottom, 1.1, stroke_dasharray=dash)
            for side in (-half, half)
        ]
    return drawn


def _outline(pieces: Sequence[Piece], frame: _Frame) -> list[svg.Point]:
    points = []
    for piece in pieces:
        points.append((frame.x(piece.from_mm), frame.y(piece.from_level_mm)))
        points.append((frame.x(piece.to_mm), frame.y(piece.to_level_mm)))
    return points


def _ground(today: Sequence[Piece], finished: Sequence[Piece], frame: _Frame) -> list[str]:
    """Today's ground in grey with the finish to come as a lighter band on it."""
    if not finished:
        return []
    floor = [(frame.x(frame.length_mm), frame.y(frame.low_mm)), (frame.x(0), frame.y(frame.low_mm))]
    top = _outline(finished, frame)
    drawn = [svg.polygon([*top, *floor], svg.FINISH)]
    if today:
        under = _outline(today, frame)
        drawn.append(svg.polygon([*under, *floor], svg.SOIL))
        if under != top:
            drawn.append(svg.polyline(under, 1.4, stroke_dasharray="5 3"))
    drawn.append(svg.polyline(top, 2))
    return drawn


def _slab(run: WallRun, frame: _Frame) -> list[str]:
    y = frame.y(run.slab_level_mm)
    return [
        svg.line(frame.x(0), y, frame.x(run.length_mm), y, 1, stroke_dasharray="8 3 2 3"),
        svg.text(frame.x(0) + 4, y - 4, "top of slab", 11, backed=True),
    ]


def _line(line: TreatmentLine | None, frame: _Frame) -> list[str]:
    if line is None or not line.segments:
        return []
    points = []
    for part in line.segments:
        points.append((frame.x(part.from_mm), frame.y(part.level_mm)))
        points.append((frame.x(part.to_mm), frame.y(part.level_mm)))
    return [
        svg.polyline(points, 6, stroke=svg.PAPER),
        svg.polyline(points, 3.4, class_="treatment-line"),
        *_levels(line, frame),
    ]


def _levels(line: TreatmentLine, frame: _Frame) -> list[str]:
    """The level of each stretch that is wide enough to write on."""
    drawn = []
    for part in line.segments:
        words = f"{part.rounded_mm} mm".replace("-", "−")
        room = frame.x(part.to_mm) - frame.x(part.from_mm)
        if svg.text_width(words, 11.5, bold=True) + 8 <= room:
            middle = (frame.x(part.from_mm) + frame.x(part.to_mm)) / 2
            under = frame.y(part.level_mm) + 14
            drawn.append(svg.text(middle, under, words, 11.5, "middle", True, True))
    return drawn


def _shortfalls(line, finished, values, frame: _Frame, name: str) -> list[str]:
    if line is None:
        return []
    drawn = []
    for number, short in enumerate(line.shortfalls):
        drawn += _shortfall(short, line, finished, values, frame, f"{name}-short-{number}")
    return drawn


def _shortfall(short: Shortfall, line, finished, values, frame: _Frame, name: str) -> list[str]:
    """Hatched where the clear height is missing, with the millimetres at the worst place."""
    clearance = values["line_above_ground_mm"]
    level = line.level_at(short.worst_at_mm)
    if short.cause == "weep holes":
        left, right = frame.x(short.from_mm), frame.x(short.to_mm)
        top, bottom = level, level - short.short_mm
        corners = ((left, top), (right, top), (right, bottom), (left, bottom))
        outline = [(x, frame.y(corner)) for x, corner in corners]
    else:
        outline = _missing(short, line, finished, clearance, frame)
        top, bottom = level + short.short_mm, level
    hatch = svg.element(
        "clipPath", svg.element("path", d=svg.path_of(outline, close=True)), id=f"{name}-clip"
    ) + svg.element(
        "path", d=_diagonals(outline), stroke=svg.INK, stroke_width="1.3", fill="none",
        clip_path=f"url(#{name}-clip)",
    )  # fmt: skip
    edge = svg.element(
        "path", d=svg.path_of(outline, close=True), fill="none", stroke=svg.INK, stroke_width="1"
    )
    return [hatch, edge, *_dimension(short, frame, float(top), float(bottom))]


def _missing(short, line, finished, clearance, frame: _Frame) -> list[svg.Point]:
    """The area between the line and the height it should have, over the shortfall."""
    upper, lower = [], []
    for segment in line.segments:
        for piece in finished:
            start = max(piece.from_mm, segment.from_mm, short.from_mm)
            end = min(piece.to_mm, segment.to_mm, short.to_mm)
            if end <= start:
                continue
            for at in (start, end):
                needed = max(piece.level_at(at) + clearance, segment.level_mm)
                upper.append((frame.x(at), frame.y(needed)))
                lower.append((frame.x(at), frame.y(segment.level_mm)))
    return [*upper, *reversed(lower)]


def _diagonals(outline: Sequence[svg.Point]) -> str:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    left, right, top, bottom = min(xs), max(xs), min(ys), max(ys)
    height = bottom - top
    starts = range(math.floor(left - height), math.ceil(right) + 6, 6)
    return "".join(
        f"M{start} {svg.num(bottom)} L{svg.num(start + height)} {svg.num(top)} " for start in starts
    )


def _dimension(short: Shortfall, frame: _Frame, top_mm: float, bottom_mm: float) -> list[str]:
    """An upright dimension at the worst place, with its millimetres beside it."""
    x = min(max(frame.x(short.worst_at_mm), frame.x(0) + 8), frame.x(frame.length_mm) - 8)
    top, bottom = frame.y(top_mm), frame.y(bottom_mm)
    words = f"{short.short_mm} mm short"
    anchor = "end" if x > frame.width / 2 else "start"
    away = -8 if anchor == "end" else 8
    drawn = [svg.line(x, top, x, bottom, 6, stroke=svg.PAPER), svg.line(x, top, x, bottom, 1.6)]
    if bottom - top > 14:
        drawn += [svg.arrow_head(x, top, "up"), svg.arrow_head(x, bottom, "down")]
    middle = min((top + bottom) / 2 + 4, bottom - 1) if bottom - top > 20 else top - 5
    return [*drawn, svg.text(x + away, middle, words, 12.5, anchor, True, True)]


def _items(marks: Sequence[ItemMark], frame: _Frame) -> list[str]:
    """Numbered discs over the wall, with a bar over the stretch they are about."""
    drawn, taken = [], []
    for mark in sorted(marks, key=lambda mark: mark.from_mm):
        start = frame.x(min(mark.from_mm, frame.length_mm))
        end = frame.x(min(mark.to_mm or mark.from_mm, frame.length_mm))
        x = min(max((start + end) / 2, 12), frame.width - 12)
        while any(abs(x - other) < 19 for other in taken) and x < frame.width - 12:
            x += 1
        taken.append(x)
        drawn.append(svg.line(start, 24, start, frame.y(frame.high_mm) + 8, 1.4))
        if end - start > 2:
            drawn.append(svg.line(start, 24, end, 24, 3))
            drawn.append(svg.line(end, 24, end, frame.y(frame.high_mm) + 8, 1.4))
        drawn.append(svg.marker(x, 12, str(mark.number)))
    return drawn


def _scale(run: WallRun, frame: _Frame) -> list[str]:
    """Distances under the wall, and by how much heights are drawn larger."""
    y = frame.height - BOTTOM
    drawn = []
    step = _tick_mm(run.length_mm, (frame.width - LEFT - RIGHT) / 46)
    clear = run.length_mm - 50 * run.length_mm / (frame.width - LEFT - RIGHT)
    ticks = [at for at in range(0, run.length_mm, step) if at == 0 or at < clear]
    for at in [*ticks, run.length_mm]:
        x = frame.x(at)
        drawn.append(svg.line(x, y, x, y + 6, 1.2))
        anchor = "start" if at == 0 else "end" if at == run.length_mm else "middle"
        drawn.append(svg.text(x, y + 18, metres(at), 12, anchor))
    words = f"Heights drawn {max(1, round(frame.exaggeration))} times larger than lengths."
    if round(frame.exaggeration) <= 1:
        words = "Drawn to scale."
    return [*drawn, svg.text(frame.x(0), y + 54, words, 11), *_key(run, frame, y + 37)]


def _key(run: WallRun, frame: _Frame, y: float) -> list[str]:
    """What the shades mean."""
    if not run.has_ground:
        return []
    x = frame.x(0)
    drawn = [
        svg.line(x, y - 4, x + 18, y - 4, 3.4),
        svg.text(x + 23, y, "treatment line", 11),
        svg.rect(x + 118, y - 9, 16, 10, fill=svg.SOIL, stroke=svg.INK),
        svg.text(x + 139, y, "ground today", 11),
    ]
    if run.finishes_to_come or run.ground_finished:
        drawn += [
            svg.rect(x + 228, y - 9, 16, 10, fill=svg.FINISH, stroke=svg.INK),
            svg.text(x + 249, y, "as it will be finished", 11),
        ]
    return drawn


def _tick_mm(length_mm: int, most: float) -> int:
    """A round step that puts no more than so many ticks on a length."""
    for step in (100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000):
        if length_mm / step <= most:
            return step
    return 100_000
