"""A wall run seen from outside: bond, openings, ground, the treated band, and what is wrong.

Lengths and heights are each to scale; heights are drawn larger than lengths so that millimetres
show, and the drawing says by how much.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence

from readiness.papers.drawings import (
    band_marks,
    brickwork,
    elevation_key,
    opening_marks,
    shortfall_marks,
    slopes,
    svg,
)
from readiness.papers.drawings.corner_marks import SIDE, BandEnd, Neighbours, corner_marks, end_of
from readiness.papers.drawings.elevation_marks import ItemMark, item_discs
from readiness.papers.drawings.face import Face
from readiness.papers.drawings.frame import SIDE as PLAIN_SIDE
from readiness.papers.drawings.frame import Frame
from readiness.papers.drawings.placed_words import PlacedWords
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import WallBand, band_of
from readiness.rules.band.measured import finished_pieces, today_pieces
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import metres
from readiness.wording import band as band_words
from readiness.wording import drawings as say
from readiness.wording import levels as line_words

LEAST_HEIGHT_MM = 450
OVER, OVER_WITH_ITEMS = 10, 34
UNDER_LOWEST_MM, OVER_HIGHEST_MM = 60, 90
ROOM_FOR_WORDS = 15
"""Over whatever is highest, as that is often the slab, which is named there."""
NEXT_COURSES = 2
"""So far past what its own wall needs is a neighbour's band followed up or down."""


def elevation_svg(
    run: WallRun,
    values: RuleValues,
    line: WallBand | None = None,
    *,
    items: Iterable[ItemMark] = (),
    neighbours: Neighbours | None = None,
    width: float = 380,
    height: float = 190,
    key: bool = True,
) -> str:
    """Draw a run; its band, `line`, is worked out if it is not given. LevelsError if it can't be.

    `height` is the wall's; items over it, and distances and key under it, come on top of that.
    `neighbours` are the bands round its corners, as `neighbours_of` finds them. Without `key` the
    page around the drawing says what the shades mean.
    """
    line = line or band_of(run, values)
    around = neighbours or Neighbours()
    marks = [mark for mark in items if mark.from_mm is not None]
    face = _face(run, values, line, around, (width, height, OVER_WITH_ITEMS if marks else OVER))
    name = svg.safe_name("elevation", run.id)
    under, under_high = elevation_key.key_and_scale(
        face, around, width, face.frame.height, key=key
    )  # fmt: skip
    body = [*_wall(face, name), *_over_the_wall(face, around, marks, name), *under]
    return svg.drawing(
        body, width, face.frame.height + under_high, say.seen_from_outside(run.label),
        describe(run, line, marks, around), name,
    )  # fmt: skip


def _wall(face: Face, name: str) -> list[str]:
    """The wall and the ground before it."""
    return [
        *brickwork.wall(face),
        *brickwork.weep_holes(face),
        *brickwork.joints(face),
        *opening_marks.openings(face),
        *_ground(face),
        *band_marks.soil_to_clear(face, name),
        *band_marks.tint(face),
        *brickwork.foot(face),
        brickwork.outline(face),
        *brickwork.slab(face),
        *band_marks.line_and_bottom(face),
        *shortfall_marks.shortfall_marks(face, name),
    ]


def _over_the_wall(
    face: Face, around: Neighbours, marks: Sequence[ItemMark], name: str
) -> list[str]:
    """What is written on the wall, the most needed first, and what stands beside it."""
    frame = face.frame
    words = PlacedWords(frame.left + 1, frame.right - 1, frame.ceiling, frame.floor)
    for box in band_marks.line_boxes(face):
        words.keep_clear(*box)
    discs = item_discs(marks, frame, words)
    dimensions = shortfall_marks.dimensions(face, words)
    opening_marks.marks(face, words)
    opening_marks.out_of_reach_words(face, words)
    band_marks.level_words(face, words)
    band_marks.soil_words(face, words)
    brickwork.slab_words(face, words)
    opening_marks.opening_words(face, words)
    brickwork.foot_words(face, words)
    brickwork.weep_words(face, words)
    beside = [*corner_marks(around, frame), *elevation_key.distances(face.run, frame)]
    return [*dimensions, *discs, *beside, *words.drawn]


def _ground(face: Face) -> list[str]:
    """Today's ground in grey with the finish to come as a lighter band on it."""
    if not face.finished:
        return []
    floor = [(face.frame.right, face.frame.floor), (face.frame.left, face.frame.floor)]
    (top,) = slopes.strokes(face.finished)
    drawn = [svg.polygon([*top, *floor], svg.FINISH)]
    if face.today:
        (under,) = slopes.strokes(face.today)
        drawn.append(svg.polygon([*under, *floor], svg.SOIL))
        if under != top:
            drawn.append(svg.polyline(under, 1.4, stroke_dasharray="5 3"))
    drawn.append(svg.polyline(top, 2))
    return drawn


def _face(
    run: WallRun,
    values: RuleValues,
    band: WallBand | None,
    around: Neighbours,
    size: tuple[float, float, float],
) -> Face:
    """Show from under the lowest ground to a course over whatever is highest."""
    today, finished = today_pieces(run), finished_pieces(run)
    course_mm = float(run.gauge_or_nominal(values).course_mm)
    levels = [float(run.slab_level_mm)]
    for piece in (*today, *finished):
        levels += [float(piece.from_level_mm), float(piece.to_level_mm)]
    levels += _levels_of_wall(run, band, course_mm)
    low, high = min(levels), max(levels)
    # What a neighbour needs more than this wall itself would make all of it small.
    most = NEXT_COURSES * course_mm
    for end in around.known:
        low = min(low, max(float(end.bottom_mm), min(levels) - most))
        high = max(high, min(float(end.top_mm), max(levels) + most))
    width, height, over = size
    low -= UNDER_LOWEST_MM
    room_mm = ROOM_FOR_WORDS * (high - low) / (height - ROOM_FOR_WORDS)
    high += max(course_mm, OVER_HIGHEST_MM, room_mm)
    low = min(low, high - LEAST_HEIGHT_MM)
    frame = Frame(
        run.length_mm, math.floor(low), math.ceil(high), width,
        height + over + elevation_key.SCALE_HIGH, over, elevation_key.SCALE_HIGH,
        SIDE if around.known else PLAIN_SIDE,
    )  # fmt: skip
    return Face(run, values, band, frame, today, finished)


def _levels_of_wall(run: WallRun, band: WallBand | None, course_mm: float) -> Iterator[float]:
    """What has to be on the drawing of the wall itself."""
    for part in (*band.segments, *band.bottoms) if band else ():
        yield from (float(part.level_mm), float(part.to_level_mm))
    yield from (row.level_mm + course_mm for row in run.weep_holes)
    yield from (part.threshold_mm for part in run.openings if part.threshold_mm is not None)
    if run.bed_joint_mm is not None and not run.has_ground:
        yield run.bed_joint_mm


# In words


def describe(
    run: WallRun,
    line: WallBand | None,
    marks: Sequence[ItemMark] = (),
    neighbours: Neighbours | None = None,
) -> str:
    """The drawing in words."""
    parts = [say.length_of_wall(metres(run.length_mm))]
    if run.slab_level_mm:
        parts.append(say.slab_steps(-run.slab_level_mm))
    parts.append(line_words.line_sentence(line) if line else say.short("no_levels"))
    if line:
        parts += [line_words.shortfall(short) for short in line.shortfalls]
        parts += [band_words.soil(part) for part in line.clear]
    parts += [say.opening(part, run.slab_level_mm) for part in run.openings]
    parts += [say.out_of_reach(*stretch) for stretch in run.out_of_reach]
    if run.brick_bottom_mm is not None:
        parts.append(say.brick_starts(run.brick_bottom_mm - run.slab_level_mm))
    parts += _corners_in_words(line, neighbours or Neighbours())
    parts += [say.item_at(mark.number, metres(mark.from_mm)) for mark in marks]
    return " ".join(parts)


def _corners_in_words(line: WallBand | None, around: Neighbours) -> Iterator[str]:
    """How far the bands overlap at each corner."""
    for beside, at_right in ((around.left, False), (around.right, True)):
        own: BandEnd | None = end_of(line, at_right=at_right)
        if beside and own:
            yield say.corner(beside.wall, math.floor(own.overlap_mm(beside)), at_right=at_right)
