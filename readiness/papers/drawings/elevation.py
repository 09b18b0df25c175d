"""A wall run seen from outside: brick, ground, weep holes, joints, treatment line, shortfalls.

Lengths and heights are each to scale; heights are drawn larger than lengths so that millimetres
show, and the drawing says by how much.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import replace

from readiness.papers.drawings import svg
from readiness.papers.drawings.elevation_marks import (
    ItemMark,
    item_discs,
    slab_words,
    weep_words,
)
from readiness.papers.drawings.frame import LEFT, RIGHT, Frame
from readiness.papers.drawings.shortfall_marks import shortfall_marks
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import TreatmentLine, solve
from readiness.rules.band.profile import Piece, finished_pieces, today_pieces
from readiness.rules.defects.site_checks import hole_positions_mm
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import metres
from readiness.wording import drawings as say
from readiness.wording import levels as line_words

LEAST_HEIGHT_MM = 450
BRICKS_SHOWN_MAX = 400
PERPEND = 0.8
OVER, OVER_WITH_ITEMS = 10, 34
UNDER, UNDER_ROW = 44, 18
KEY_STEP = 110


def elevation_svg(
    run: WallRun,
    values: RuleValues,
    line: TreatmentLine | None = None,
    *,
    items: Iterable[ItemMark] = (),
    width: float = 440,
    height: float = 204,
    key: bool = True,
) -> str:
    """Draw a run; `line` is worked out if it is not given. LevelsError if it can't be.

    `height` is the wall's; items over it, and distances and key under it, come on top of that.
    Without `key` the page around the drawing says what the shades mean.
    """
    line = line or solve(run, values)
    marks = [mark for mark in items if mark.from_mm is not None]
    frame = _frame(run, values, line, (width, height), OVER_WITH_ITEMS if marks else OVER)
    name = svg.safe_name("elevation", run.id)
    today, finished = today_pieces(run), finished_pieces(run)
    body = [
        *_wall(run, values, frame),
        *_treated_band(run, values, line, frame),
        *item_discs(marks, frame),
        *_slab(run, frame),
        *_weep_holes(run, values, frame),
        *_joints(run, frame),
        *_ground(today, finished, frame),
        slab_words(run, frame),
        *_line(line, frame),
        *shortfall_marks(line, finished, values, frame, name),
        *_scale(run, frame),
        *(_key(run, frame) if key else ()),
    ]
    title = say.seen_from_outside(run.label)
    return svg.drawing(body, width, frame.height, title, describe(run, line, marks), name)


def describe(run: WallRun, line: TreatmentLine | None, marks: Sequence[ItemMark] = ()) -> str:
    """The drawing in words."""
    parts = [say.length_of_wall(metres(run.length_mm))]
    parts.append(line_words.line_sentence(line) if line else say.short("no_levels"))
    parts += [line_words.shortfall(short) for short in line.shortfalls] if line else []
    parts += [say.item_at(mark.number, metres(mark.from_mm)) for mark in marks]
    return " ".join(parts)


def _frame(run, values, line, size: tuple[float, float], top: float) -> Frame:
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
    frame = Frame(
        run.length_mm, math.floor(low), math.ceil(high), size[0], size[1] + top + UNDER, top, UNDER
    )
    if _row_is_full(run, frame):
        return replace(frame, height=frame.height + UNDER_ROW, bottom=UNDER + UNDER_ROW)
    return frame


def _wall(run: WallRun, values: RuleValues, frame: Frame) -> list[str]:
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


def _courses(run: WallRun, values: RuleValues, frame: Frame) -> list[str]:
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
        drawn += [
            _perpends(n, datum, course, pitch, run, frame) for n in range(first - 1, last + 1)
        ]
    return drawn


def _perpends(n: int, datum: float, course: float, pitch: int, run: WallRun, frame: Frame) -> str:
    """The perpends of one course: dashes of a line as thick as the course is high.

    One short path however many bricks there are, which is what screens and papers draw fast.
    """
    bottom = max(datum + n * course, frame.low_mm)
    top = min(datum + (n + 1) * course, frame.high_mm)
    start = pitch if n % 2 else pitch // 2
    if top <= bottom or start >= run.length_mm:
        return ""
    apart = frame.x(pitch) - frame.x(0)
    middle, height = (frame.y(bottom) + frame.y(top)) / 2, frame.y(bottom) - frame.y(top)
    return svg.element(
        "path",
        class_="perpends",
        d=f"M{frame.x(start) - PERPEND / 2:.2f} {middle:.2f} H{frame.x(run.length_mm):.2f}",
        stroke=svg.MORTAR,
        stroke_width=f"{height:.2f}",
        stroke_dasharray=f"{PERPEND} {apart - PERPEND:.4f}",
        fill="none",
    )


def _stipple(frame: Frame) -> str:
    """A few dots that say render."""
    dots = []
    for row in range(6):
        y = frame.y(frame.high_mm) + 8 + row * 17
        for column in range(14):
            x = frame.x(0) + 9 + column * (frame.width - LEFT - RIGHT) / 14 + (row % 2) * 9
            if y < frame.y(frame.low_mm) - 3 and x < frame.x(frame.length_mm) - 3:
                dots.append(f"M{svg.num(x)} {svg.num(y)} h1.4 v1.4 h-1.4 Z")
    return "".join(dots)


def _treated_band(run, values, line, frame: Frame) -> list[str]:
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


def _weep_holes(run: WallRun, values: RuleValues, frame: Frame) -> list[str]:
    """Open perpends one brick high; a dashed line where only their level is known."""
    drawn = []
    brick = float(run.gauge_or_default(values).course_mm) - values["joint_thickness_mm"]
    for row in run.weep_holes:
        width = max(2.4, frame.x(10) - frame.x(0))
        bottom, top = frame.y(row.level_mm), frame.y(row.level_mm + brick)
        holes = "".join(
            f"M{svg.num(frame.x(at) - width / 2)} {svg.num(top)} "
            f"h{svg.num(width)} v{svg.num(bottom - top)} h{svg.num(-width)} Z "
            for at in hole_positions_mm(row, run)
        )
        if holes:
            drawn.append(svg.element("path", d=holes, fill=svg.INK))
        end = run.length_mm if row.to_mm is None else row.to_mm
        drawn.append(
            svg.line(
                frame.x(row.from_mm), frame.y(row.level_mm), frame.x(end), frame.y(row.level_mm),
                1, stroke_dasharray="2 3",
            )
        )  # fmt: skip
    return [*drawn, *weep_words(run, frame)]


def _joints(run: WallRun, frame: Frame) -> list[str]:
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


def _outline(pieces: Sequence[Piece], frame: Frame) -> list[svg.Point]:
    points = []
    for piece in pieces:
        points.append((frame.x(piece.from_mm), frame.y(piece.from_level_mm)))
        points.append((frame.x(piece.to_mm), frame.y(piece.to_level_mm)))
    return points


def _ground(today: Sequence[Piece], finished: Sequence[Piece], frame: Frame) -> list[str]:
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


def _slab(run: WallRun, frame: Frame) -> list[str]:
    y = frame.y(run.slab_level_mm)
    return [svg.line(frame.x(0), y, frame.x(run.length_mm), y, 1, stroke_dasharray="8 3 2 3")]


def _line(line: TreatmentLine | None, frame: Frame) -> list[str]:
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


def _levels(line: TreatmentLine, frame: Frame) -> list[str]:
    """The level of each stretch that is wide enough to write on."""
    drawn = []
    for part in line.segments:
        room = frame.x(part.to_mm) - frame.x(part.from_mm) - 8
        ways = (say.level_from_slab(part.rounded_mm), f"{part.rounded_mm} mm".replace("-", "−"))
        words = next((w for w in ways if svg.text_width(w, 11.5, bold=True) <= room), "")
        if words:
            middle = (frame.x(part.from_mm) + frame.x(part.to_mm)) / 2
            under = frame.y(part.level_mm) + 14
            drawn.append(svg.text(middle, under, words, 11.5, "middle", True, True))
    return drawn


def _scale(run: WallRun, frame: Frame) -> list[str]:
    """Distances under the wall, and by how much heights are drawn larger."""
    y = frame.height - frame.bottom
    step = _tick_mm(run.length_mm, (frame.width - LEFT - RIGHT) / 80)
    clear = run.length_mm - 50 * run.length_mm / (frame.width - LEFT - RIGHT)
    ticks = [at for at in range(0, run.length_mm, step) if at == 0 or at < clear]
    ticks.append(run.length_mm)
    drawn = [svg.strokes([((frame.x(at), y), (frame.x(at), y + 6)) for at in ticks], 1.2)]
    for at in ticks:
        x = frame.x(at)
        anchor = "start" if at == 0 else "end" if at == run.length_mm else "middle"
        drawn.append(svg.text(x, y + 18, metres(at), 12, anchor))
    drawn.append(svg.text(frame.width - RIGHT, frame.height - 7, _scale_words(frame), 11, "end"))
    return drawn


def _scale_words(frame: Frame) -> str:
    """By how much heights are drawn larger."""
    return say.scale(max(1, round(frame.exaggeration)))


def _row_is_full(run: WallRun, frame: Frame) -> bool:
    """Key and scale do not fit into one row under the drawing."""
    entries = len(_key_entries(run))
    return LEFT + entries * KEY_STEP + svg.text_width(_scale_words(frame), 11) > frame.width - RIGHT


def _key(run: WallRun, frame: Frame) -> list[str]:
    """What the shades mean."""
    drawn, y = [], frame.height - frame.bottom + 37
    for number, (words, fill) in enumerate(_key_entries(run)):
        x = frame.x(0) + number * KEY_STEP
        sample = (
            svg.rect(x, y - 9, 16, 10, fill=fill, stroke=svg.INK)
            if fill
            else svg.line(x, y - 4, x + 18, y - 4, 3.4)
        )
        drawn += [sample, svg.text(x + 22, y, words, 11)]
    return drawn


def _key_entries(run: WallRun) -> list[tuple[str, str]]:
    """Words and fill; the treatment line is a line, and has no fill."""
    if not run.has_ground:
        return []
    entries = [(say.short("treatment_line"), ""), (say.short("ground_today"), svg.SOIL)]
    if run.finishes_to_come or run.ground_finished:
        entries.append((say.short("when_finished"), svg.FINISH))
    return entries


def _tick_mm(length_mm: int, most: float) -> int:
    """A round step that puts no more than so many ticks on a length."""
    for step in (100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000):
        if length_mm / step <= most:
            return step
    return 100_000
