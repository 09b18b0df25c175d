"""A cut through the wall where the treatment line is closest to finished ground, drawn to scale."""

from __future__ import annotations

import math

from readiness.papers.drawings import svg
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import TreatmentLine, solve
from readiness.rules.band.profile import finished_pieces, level_at, today_pieces
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import metres, millimetres
from readiness.wording import drawings as say

BRICK_MM, CAVITY_MM, SLAB_MM, OUTSIDE_MM = 110, 40, 170, 330
FALL_OVER_MM = 1000


class _Frame:
    """One scale both ways; the outer face of the brick is at 0, outside to the right."""

    def __init__(self, low_mm: float, high_mm: float, width: float):
        self.low_mm, self.high_mm = low_mm, high_mm
        self.left_mm = -(BRICK_MM + CAVITY_MM + SLAB_MM)
        self.scale = (width - 16) / (OUTSIDE_MM - self.left_mm)
        self.height = (high_mm - low_mm) * self.scale + 44

    def x(self, out_mm: float) -> float:
        return 8 + (float(out_mm) - self.left_mm) * self.scale

    def y(self, level_mm: float) -> float:
        return 8 + (self.high_mm - float(level_mm)) * self.scale


def section_svg(
    run: WallRun, values: RuleValues, line: TreatmentLine | None = None, *, width: float = 440
) -> str | None:
    """Draw the section at the worst place; None if there is no line to be close to."""
    line = line or solve(run, values)
    if line is None or line.worst_at_mm is None:
        return None
    at_mm = line.worst_at_mm
    level = _line_at(line, at_mm)
    ground = level_at(finished_pieces(run), at_mm)
    today = level_at(today_pieces(run), at_mm) if run.ground_today else ground
    weeps = [row.level_mm for row in run.weep_holes]
    course = float(run.gauge_or_default(values).course_mm)
    high = max(run.slab_level_mm, float(level), float(ground), *weeps) + course + 40
    low = min(float(ground), float(today), float(level)) - 120
    frame = _Frame(low, high, width)
    body = [
        *_slab(run, frame),
        *_brick(run, values, frame, course),
        *_weep(weeps, frame, course - values["joint_thickness_mm"]),
        *_ground(run, ground, today, frame),
        *_treatment(line, level, ground, course, frame, values),
        svg.text(8, frame.height - 8, say.section_at(metres(at_mm)), 11),
    ]
    title = say.cut_at(run.label, metres(at_mm))
    return svg.drawing(
        body, width, frame.height, title, _describe(line, ground, today, values),
        svg.safe_name("section", run.id),
    )  # fmt: skip


def _line_at(line: TreatmentLine, at_mm: int):
    """The lower of the two levels where the line steps just there: that is the worst one."""
    return min(part.level_mm for part in line.segments if part.from_mm <= at_mm <= part.to_mm)


def _describe(line: TreatmentLine, ground, today, values: RuleValues) -> str:
    needed = values.words("line_above_ground_mm")
    words = say.clearance(millimetres(line.worst_clearance_mm), needed)
    if ground > today:
        words += f" {say.finish_to_come(millimetres(math.ceil(ground - today)))}"
    return words


def _slab(run: WallRun, frame: _Frame) -> list[str]:
    """The slab with its edge behind the cavity, and the frame standing on it."""
    right = frame.x(-(BRICK_MM + CAVITY_MM))
    top, bottom = frame.y(run.slab_level_mm), frame.y(frame.low_mm)
    stud = frame.x(-(BRICK_MM + CAVITY_MM + 90))
    return [
        svg.rect(8, top, right - 8, bottom - top, fill="#dcdcdc", stroke=svg.INK),
        svg.rect(stud, 8, right - stud, top - 8, fill=svg.PAPER, stroke=svg.INK),
        svg.text(12, top + 14, say.short("slab"), 11.5),
        svg.text((stud + right) / 2, 8 + (top - 8) / 2, say.short("frame"), 11, "middle"),
    ]


def _brick(run: WallRun, values: RuleValues, frame: _Frame, course: float) -> list[str]:
    """The outer leaf: bricks with their bed joints, or a rendered face."""
    left, right = frame.x(-BRICK_MM), frame.x(0)
    datum = run.first_bed_joint_mm if run.first_bed_joint_mm is not None else run.slab_level_mm
    joint = values["joint_thickness_mm"]
    drawn = []
    first = math.floor((frame.low_mm - datum) / course)
    last = math.ceil((frame.high_mm - datum) / course)
    for n in range(first, last):
        bottom = max(datum + n * course, frame.low_mm)
        top = min(datum + (n + 1) * course - joint, frame.high_mm)
        if top > bottom:
            height = frame.y(bottom) - frame.y(top)
            drawn.append(
                svg.rect(
                    left, frame.y(top), right - left, height, fill=svg.BRICK, stroke=svg.MORTAR
                )
            )
    if run.is_rendered:
        top, bottom = frame.y(frame.high_mm), frame.y(frame.low_mm)
        drawn.append(
            svg.rect(right - 5, top, 10, bottom - top, fill="#bcbcbc", stroke=svg.INK)
        )  # fmt: skip
    return drawn


def _weep(weeps: list[int], frame: _Frame, brick: float) -> list[str]:
    if not weeps:
        return []
    left, right, level = frame.x(-BRICK_MM), frame.x(0), min(weeps)
    top, bottom = frame.y(level + brick), frame.y(level)
    return [
        svg.rect(left, top, right - left, bottom - top, fill=svg.PAPER, stroke=svg.INK,
                 stroke_dasharray="4 3"),
        svg.text((left + right) / 2, (top + bottom) / 2 + 4, say.short("weep_hole"), 11, "middle"),
    ]  # fmt: skip


def _ground(run: WallRun, ground, today, frame: _Frame) -> list[str]:
    """Today's ground in grey, what is still to come on it in a lighter grey."""
    fall = (run.fall_mm or 0) * OUTSIDE_MM / FALL_OVER_MM
    wall = 5 if run.is_rendered else 0
    left, right, floor = frame.x(0) + wall, frame.x(OUTSIDE_MM), frame.y(frame.low_mm)
    finished = [(left, frame.y(ground)), (right, frame.y(ground - fall))]
    now = [(left, frame.y(today)), (right, frame.y(today - fall))]
    base = [(right, floor), (left, floor)]
    drawn = []
    if ground > today:
        drawn.append(svg.polygon([*finished, *reversed(now)], svg.FINISH))
        drawn.append(svg.polygon([*now, *base], svg.SOIL))
        drawn.append(svg.polyline(now, 1.4, stroke_dasharray="5 3"))
        middle = (frame.y(ground) + frame.y(today)) / 2 + 4
        drawn.append(svg.text(right - 6, middle, say.short("finish_to_come"), 11, "end"))
    else:
        drawn.append(svg.polygon([*finished, *base], svg.SOIL))
    return [*drawn, svg.polyline(finished, 2.4)]


def _treatment(line, level, ground, course, frame: _Frame, values: RuleValues) -> list[str]:
    """The line, the band under it, the clearance found and the clearance needed."""
    needed = values["line_above_ground_mm"]
    courses = line.segments[0].courses_treated
    face = frame.x(0)
    top, bottom = frame.y(level), frame.y(max(level - courses * course, frame.low_mm))
    drawn = [
        svg.rect(face - 7, top, 7, bottom - top, fill=svg.INK),
        svg.line(frame.x(-BRICK_MM), top, face + 34, top, 3.4),
        svg.text(face + 12, top - 7, line.ends_at, 11.5, bold=True, backed=True),
    ]
    drawn += _height(face + 24, level, ground, millimetres(line.worst_clearance_mm), frame)
    x = face + 120
    drawn.append(svg.line(face, frame.y(ground + needed), x + 12, frame.y(ground + needed), 1,
                          stroke_dasharray="3 3"))  # fmt: skip
    return drawn + _height(x, ground + needed, ground, say.needed_height(needed), frame)


def _height(x: float, upper, lower, words: str, frame: _Frame) -> list[str]:
    top, bottom = frame.y(max(upper, lower)), frame.y(min(upper, lower))
    said = svg.text(x + 7, (top + bottom) / 2 + 4, words, 12.5, bold=True, backed=True)
    return [*svg.height(x, top, bottom), said]
