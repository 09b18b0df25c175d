"""A cut through the wall where the treatment line is closest to finished ground.

Heights are to scale, and along with them what was measured. How thick the brick is, the cavity and
the slab's edge behind it are drawn as they usually are, as nobody measures them.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property

from readiness.papers.drawings import svg
from readiness.papers.drawings.band_marks import BOTTOM_WIDE
from readiness.papers.drawings.hatch import LOOSE, TO_CLEAR
from readiness.papers.drawings.placed_words import Place, PlacedWords
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import WallBand, band_of
from readiness.rules.band.measured import finished_pieces, today_pieces
from readiness.rules.band.profile import level_at
from readiness.rules.band.wall import TRENCH_MM
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import metres, millimetres
from readiness.wording import drawings as say

BRICK_MM, CAVITY_MM, SLAB_MM, OUTSIDE_MM = 110, 40, 100, 340
RENDER_MM = 12
FALL_OVER_MM = 1000
UNDER_LOWEST_MM, OVER_LINE_MM, UNDER, EDGE = 90, 430, 30, 8
SIZE, LINE_SIZE, HEIGHT_SIZE = 11.5, 11, 12


@dataclass(frozen=True)
class _Cut:
    """What is cut through: levels in mm at one distance along the wall, all of them exact."""

    run: WallRun
    values: RuleValues
    band: WallBand
    at_mm: int

    @cached_property
    def top(self) -> float:
        """The lower of the two levels where the line steps just there: that is the worst one."""
        return min(float(part.level_mm) for part in self._beside(self.band.segments))

    @cached_property
    def bottom(self) -> float | None:
        """The bottom of the band; the lower one at a step, None where there is none."""
        found = [float(part.level_at(self.at_mm)) for part in self._beside(self.band.bottoms)]
        return min(found, default=None)

    def _beside(self, segments):
        return [part for part in segments if part.from_mm <= self.at_mm <= part.to_mm]

    @cached_property
    def ground(self) -> float:
        """Finished ground."""
        return float(level_at(finished_pieces(self.run), self.at_mm))

    @cached_property
    def today(self) -> float:
        """Today's ground, or the finished one where that alone was measured."""
        pieces = today_pieces(self.run)
        return float(level_at(pieces, self.at_mm)) if pieces else self.ground

    @cached_property
    def to_clear(self) -> float:
        """How much soil lies over the bottom today; 0 where that is not known."""
        if self.bottom is None or not self.run.ground_today:
            return 0
        return max(self.today - self.bottom, 0)

    @cached_property
    def weep(self) -> int | None:
        """The underside of the lowest weep holes at this place."""
        length_mm = self.run.length_mm
        rows = [
            row.level_mm
            for row in self.run.weep_holes
            if row.from_mm <= self.at_mm <= (length_mm if row.to_mm is None else row.to_mm)
        ]
        return min(rows, default=None)

    @cached_property
    def course(self) -> float:
        return float(self.run.gauge_or_nominal(self.values).course_mm)

    @cached_property
    def joint(self) -> int:
        return self.run.unit_or_usual(self.values).joint_mm

    @cached_property
    def face_mm(self) -> int:
        """How far out the wall's face is from its brick's."""
        return RENDER_MM if self.run.is_rendered else 0


class _Frame:
    """One scale both ways; the outer face of the brick is at 0, outside to the right."""

    def __init__(self, cut: _Cut, width: float):
        weep = cut.top if cut.weep is None else cut.weep
        needed = cut.ground + cut.band.clearance_rule_mm
        high = max(cut.run.slab_level_mm, needed, weep, cut.top) + cut.course + 40
        self.high = min(high, max(cut.top, needed, weep + cut.course) + OVER_LINE_MM)
        lowest = [cut.ground, cut.today, cut.top, *([] if cut.bottom is None else [cut.bottom])]
        self.low = min(lowest) - UNDER_LOWEST_MM
        self.left_mm = -(BRICK_MM + CAVITY_MM + SLAB_MM)
        self.scale = (width - 2 * EDGE) / (OUTSIDE_MM - self.left_mm)
        self.floor = EDGE + (self.high - self.low) * self.scale
        self.height = self.floor + UNDER

    def x(self, out_mm: float) -> float:
        return EDGE + (out_mm - self.left_mm) * self.scale

    def y(self, level_mm: float) -> float:
        return EDGE + (self.high - min(max(level_mm, self.low), self.high)) * self.scale


def section_svg(
    run: WallRun, values: RuleValues, line: WallBand | None = None, *, width: float = 380
) -> str | None:
    """Draw the section at the worst place; None if there is no line to be close to."""
    line = line or band_of(run, values)
    if line is None or line.worst_at_mm is None:
        return None
    cut = _Cut(run, values, line, line.worst_at_mm)
    frame = _Frame(cut, width)
    words = PlacedWords(2, width - 2, 2, frame.floor)
    body = [
        *_slab(cut, frame, words),
        *_leaf(cut, frame),
        *_weep(cut, frame, words),
        *_ground(cut, frame),
        *_treatment(cut, frame),
        *_heights(cut, frame, words),
    ]
    for put in (_line_words, _ground_words, _foot_words):
        put(cut, frame, words)
    place = metres(cut.at_mm)
    return svg.drawing(
        [*body, *words.drawn, svg.text(EDGE, frame.height - 9, say.section_at(place), 11)],
        width, frame.height, say.cut_at(run.label, place), _describe(cut),
        svg.safe_name("section", run.id),
    )  # fmt: skip


def _describe(cut: _Cut) -> str:
    found = millimetres(cut.band.worst_clearance_mm)
    words = [say.clearance(found, cut.values.words("line_above_ground_mm"))]
    if cut.ground > cut.today:
        words.append(say.finish_to_come(millimetres(math.ceil(cut.ground - cut.today))))
    if cut.bottom is not None:
        words.append(say.band_height(millimetres(math.floor(cut.top - cut.bottom))))
    if cut.to_clear:
        words.append(say.soil_here(millimetres(math.ceil(cut.to_clear))))
    return " ".join(words)


def _slab(cut: _Cut, frame: _Frame, words: PlacedWords) -> list[str]:
    """The slab with its edge behind the cavity, and the frame standing on it."""
    right = frame.x(-(BRICK_MM + CAVITY_MM))
    top, stud = frame.y(cut.run.slab_level_mm), frame.x(-(BRICK_MM + CAVITY_MM + 90))
    words.put(say.short("slab"), SIZE, [Place(EDGE + 5, top + 15)])
    above = Place((stud + right) / 2, EDGE + (top - EDGE) / 2, "middle")
    words.put(say.short("frame"), SIZE, [above])
    return [
        svg.rect(EDGE, top, right - EDGE, frame.floor - top, fill=svg.CONCRETE, stroke=svg.INK),
        svg.rect(stud, EDGE, right - stud, top - EDGE, fill=svg.PAPER, stroke=svg.INK),
    ]


def _leaf(cut: _Cut, frame: _Frame) -> list[str]:
    """The outer leaf down to where its brickwork starts, and what that stands on."""
    left, right, top = frame.x(-BRICK_MM), frame.x(0), EDGE
    starts = cut.run.brick_bottom_mm
    foot = frame.floor if starts is None else frame.y(starts)
    drawn = [svg.rect(left, top, right - left, foot - top, fill=svg.BRICK, stroke=svg.MORTAR)]
    if not cut.run.is_rendered:
        drawn.append(_beds(cut, frame, foot))
    if foot < frame.floor:
        # The brick stands on it, so that it reaches across the cavity to the slab.
        under = frame.x(-(BRICK_MM + CAVITY_MM))
        drawn.append(
            svg.rect(under, foot, right - under, frame.floor - foot, fill=svg.CONCRETE,
                     stroke=svg.INK)
        )  # fmt: skip
    if cut.run.is_rendered:
        render = frame.x(RENDER_MM) - right
        drawn.append(
            svg.rect(right, top, render, frame.floor - top, fill="#bcbcbc", stroke=svg.INK)
        )  # fmt: skip
    return drawn


def _beds(cut: _Cut, frame: _Frame, foot: float) -> str:
    """The bed joints, as thick as they are."""
    left, right, datum = frame.x(-BRICK_MM), frame.x(0), cut.run.bed_joint_mm or 0
    first = math.ceil((frame.low - datum) / cut.course)
    last = math.floor((frame.high - datum) / cut.course)
    levels = [frame.y(datum + n * cut.course) for n in range(first, last + 1)]
    ends = [((left, y), (right, y)) for y in levels if y <= foot + 0.1]
    return svg.strokes(ends, cut.joint * frame.scale, stroke=svg.MORTAR)


def _weep(cut: _Cut, frame: _Frame, words: PlacedWords) -> list[str]:
    if cut.weep is None:
        return []
    left, right = frame.x(-BRICK_MM), frame.x(0)
    top, bottom = frame.y(cut.weep + cut.course - cut.joint), frame.y(cut.weep)
    middle = Place((left + right) / 2, (top + bottom) / 2 + 4, "middle")
    words.put(say.short("weep_hole"), 10.5, [middle])
    return [
        svg.rect(left, top, right - left, bottom - top, fill=svg.PAPER, stroke=svg.INK,
                 stroke_dasharray="4 3"),
    ]  # fmt: skip


def _ground(cut: _Cut, frame: _Frame) -> list[str]:
    """Today's ground in grey, what is still to come on it in a lighter grey."""
    fall = (cut.run.fall_mm or 0) / FALL_OVER_MM * OUTSIDE_MM
    left, right, floor = frame.x(cut.face_mm), frame.x(OUTSIDE_MM), frame.floor
    base = [(right, floor), (left, floor)]
    finished = [(left, frame.y(cut.ground)), (right, frame.y(cut.ground - fall))]
    now = [(left, frame.y(cut.today)), (right, frame.y(cut.today - fall))]
    return [
        svg.polygon([*finished, *base], svg.FINISH),
        svg.polygon([*now, *base], svg.SOIL),
        *_soil_to_clear(cut, frame),
        *([svg.polyline(now, 1.4, stroke_dasharray="5 3")] if cut.today != cut.ground else ()),
        svg.polyline(finished, 2.4),
    ]


def _soil_to_clear(cut: _Cut, frame: _Frame) -> list[str]:
    """The trench beside the wall that its litres are worked out for, hatched."""
    if not cut.to_clear:
        return []
    left, right = frame.x(cut.face_mm), frame.x(cut.face_mm + TRENCH_MM)
    top, foot = frame.y(cut.today), frame.y(cut.bottom)
    wide, high = right - left, foot - top
    ends = TO_CLEAR.in_box(left, top, wide, high)
    return [
        svg.rect(left, top, wide, high, fill=LOOSE),
        svg.strokes(ends, TO_CLEAR.wide, class_=TO_CLEAR.class_),
        svg.polyline([(left, foot), (right, foot), (right, top)], BOTTOM_WIDE,
                     stroke_dasharray="6 3"),
    ]  # fmt: skip


def _treatment(cut: _Cut, frame: _Frame) -> list[str]:
    """The band on the wall's face, and the line that it ends at."""
    face, top = frame.x(cut.face_mm), frame.y(cut.top)
    foot = top if cut.bottom is None else max(frame.y(cut.bottom), top)
    return [
        svg.rect(face - 7, top, 7, foot - top, fill=svg.INK, class_="treated"),
        svg.line(frame.x(-BRICK_MM), top, face + 34, top, 3.4),
    ]


def _heights(cut: _Cut, frame: _Frame, words: PlacedWords) -> list[str]:
    """The clearance found and the clearance needed, each with its millimetres."""
    face, needed_mm = frame.x(cut.face_mm), cut.band.clearance_rule_mm
    needed = frame.y(cut.ground + needed_mm)
    found_at, needed_at = face + 18, frame.x(0) + 97
    found = millimetres(cut.band.worst_clearance_mm).replace("-", "−")
    words.keep_clear(face, frame.y(cut.top) - 1, face + 34, frame.y(cut.top) + 2)
    drawn = [
        svg.line(face, needed, needed_at + 12, needed, 1, stroke_dasharray="3 3"),
        *_height(needed_at, needed, frame.y(cut.ground), say.needed_height(needed_mm), words),
        *_height(found_at, frame.y(cut.top), frame.y(cut.ground), found, words),
    ]
    return drawn


def _height(x: float, one: float, other: float, said: str, words: PlacedWords) -> list[str]:
    top, bottom = min(one, other), max(one, other)
    words.keep_clear(x - 3, top, x + 3, bottom)
    middle = (top + bottom) / 2 + 4
    near = [middle, *(middle + way * step for step in range(6, 60, 6) for way in (1, -1))]
    words.put(said, HEIGHT_SIZE, [Place(x + 7, y) for y in near], bold=True)
    return svg.height(x, top, bottom)


def _line_words(cut: _Cut, frame: _Frame, words: PlacedWords) -> None:
    """What the line lies on."""
    x, top = frame.x(cut.face_mm) + 5, frame.y(cut.top)
    over = [Place(x, top - rise) for rise in (7, 13, 20, 27, 34)]
    words.put(cut.band.ends_at, LINE_SIZE, over, bold=True)


def _ground_words(cut: _Cut, frame: _Frame, words: PlacedWords) -> None:
    """The finish to come, and how much soil has to go, beside its trench."""
    ground, today = frame.y(cut.ground), frame.y(cut.today)
    if cut.ground > cut.today:
        at = [Place(frame.x(OUTSIDE_MM) - 5, y, "end") for y in _in_or_under(ground, today)]
        words.put(say.short("finish_to_come"), SIZE, at)
    if cut.to_clear and cut.bottom is not None:
        beside = frame.x(cut.face_mm + TRENCH_MM) + 10
        at = [Place(beside, y) for y in _in_or_under(today, frame.y(cut.bottom))]
        words.put(say.clear_depth(math.ceil(cut.to_clear)), SIZE, at)


def _in_or_under(top: float, bottom: float) -> tuple[float, ...]:
    """Baselines for words that belong between two heights."""
    return (top + bottom) / 2 + 4, bottom + 4, bottom + 14, top + 14


def _foot_words(cut: _Cut, frame: _Frame, words: PlacedWords) -> None:
    """Where the brickwork starts."""
    starts = cut.run.brick_bottom_mm
    if starts is not None and starts > frame.low:
        x, foot = frame.x(cut.face_mm) + 8, frame.y(starts)
        near = [Place(x, y) for y in (foot + 13, foot - 4, foot + 26)]
        words.put(say.short("brick_starts"), SIZE, near)
