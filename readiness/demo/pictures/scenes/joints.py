"""Joints and gaps: not filled, too wide, not sealed, cracked."""

from __future__ import annotations

from .. import brickwork, marks, things
from ..canvas import linear
from .setting import FRESH_MORTAR, SEALANT, brick_wall, earth


def unfilled_joint(canvas, fixed):
    wall = brick_wall(canvas, weep_course=None)
    course = 3
    bed = wall.bed_mm(course)
    gaps: list[tuple[float, float, float, float]] = [(-190, bed - 5, 250, bed + 5)]
    for near, row in ((-150, course), (130, course - 1)):
        x, low = wall.perpend_mm(row, near), wall.bed_mm(row) + 4
        gaps.append((x - 5, low, x + 5, low + 77))
    for gap in gaps:
        if fixed:
            brickwork.fill(canvas, *gap, FRESH_MORTAR, out_mm=-3, rough=0.35)
        else:
            brickwork.slot(canvas, *gap, depth_mm=38, ragged_mm=1.6)
    earth(canvas)
    if not fixed:
        things.chalk_arrow(canvas, (-205, bed + 34), (-330, bed + 150))


def gap_too_wide(canvas, fixed):
    wall = brick_wall(canvas, weep_course=None)
    x = wall.perpend_mm(3, 0) + 40
    half = 19
    if fixed:
        for course in range(12):
            low = wall.bed_mm(course) - 5
            brickwork.fill(
                canvas, x - half, low, x + half, low + 88, FRESH_MORTAR, out_mm=-3, rough=0.4
            )
    else:
        brickwork.slot(
            canvas, x - half, wall.first_bed_mm, x + half, 2000, depth_mm=60, ragged_mm=1.2
        )
        marks.drops(canvas, 14, (x - 17, 80, x + 17, 480), (4, 8), FRESH_MORTAR, "gap-crumbs")
    earth(canvas)
    if not fixed:
        level = wall.bed_mm(3) + 42
        things.tape(canvas, (x - half, level - 12), 190, 0, out_mm=3)


def _articulation(canvas, fixed, rod=False):
    wall = brick_wall(canvas, weep_course=None)
    x = wall.perpend_mm(3, 0) + 55
    half = 6
    top = 2000
    if fixed:
        marks.bead(canvas, [(x, wall.first_bed_mm - 5), (x, top)], half * 2, SEALANT)
    else:
        brickwork.slot(
            canvas, x - half, wall.first_bed_mm, x + half, top, depth_mm=50, ragged_mm=0.6
        )
        if rod:
            grey = linear(150, 152, 156)
            things.rod(
                canvas, (x, wall.first_bed_mm), (x, top), half - 0.4, grey, out_mm=-16, gloss=0.15
            )
    earth(canvas)
    if not fixed:
        things.chalk_arrow(canvas, (x + 26, wall.bed_mm(3)), (x + 180, wall.bed_mm(3) + 80))


def articulation_joint(canvas, fixed):
    _articulation(canvas, fixed)


def backing_rod_only(canvas, fixed):
    _articulation(canvas, fixed, rod=True)


def tight_crack(canvas, fixed):
    wall = brick_wall(canvas, weep_course=None)
    points = []
    near = -130.0
    for course in range(1, 6):
        x = wall.perpend_mm(course, near)
        points += [(x, wall.bed_mm(course)), (x, wall.bed_mm(course + 1))]
        near = x + 120
    if fixed:
        marks.bead(canvas, points, 7, linear(158, 152, 142), sunk_mm=1.0)
    else:
        marks.crack(canvas, points, 2.2)
    earth(canvas)
    if not fixed:
        tip = points[5]
        things.chalk_arrow(canvas, (tip[0] - 24, tip[1] + 26), (tip[0] - 130, tip[1] + 130))
