"""Levels: soil, paving and decks against the wall, and render lines."""

from __future__ import annotations

import numpy as np

from .. import brickwork, ground, things
from ..canvas import linear, step
from .setting import brick_wall, earth, mound, rendered


def soil_against_brick(canvas, fixed):
    wall = brick_wall(canvas)
    top = wall.bed_mm(3) + 30
    if fixed:
        stain = step(mound(canvas, top, 40, 460) - canvas.y_mm, 30) * 0.30
        canvas.blend(stain.astype(np.float32), ground.SOIL)
        ground.cover(canvas, "soil")
    else:
        ground.cover(canvas, "soil", heap=mound(canvas, top, 40, 460))


def ground_too_high(canvas, fixed):
    wall = brick_wall(canvas, weep_course=2)
    level = wall.bed_mm(2) - 18
    if fixed:
        stain = step(level - canvas.y_mm, 6) * 0.32
        canvas.blend(stain.astype(np.float32), linear(150, 140, 124))
        ground.cover(canvas, "paving", level_mm=-12)
    else:
        ground.cover(canvas, "paving", level_mm=level)
    x = wall.perpend_mm(2, 0) + 34
    things.tape(canvas, (x, -12 if fixed else level), 260, 90, out_mm=5)


def weep_hole_low(canvas, fixed):
    wall = brick_wall(canvas, weep_course=1, damp_course=1, first_bed_mm=-20)
    level = wall.bed_mm(1) + (-62 if fixed else 34)
    surface = "soil"
    if fixed:
        stain = step(wall.bed_mm(1) + 34 - canvas.y_mm, 14) * 0.28
        canvas.blend(stain.astype(np.float32), ground.SOIL)
    ground.cover(canvas, surface, level_mm=level)
    if not fixed:
        x = wall.perpend_mm(1, 0)
        things.chalk_arrow(canvas, (x + 16, level + 52), (x + 130, level + 150))


def render_line_low(canvas, fixed):
    rendered(canvas)
    low, high = 38, 92
    brickwork.struck_joint(canvas, high if fixed else low)
    if fixed:
        patch = step(9 - np.abs(canvas.y_mm - low + canvas.noise("edge", 9) * 2), 3) * 0.5
        canvas.blend(patch.astype(np.float32), linear(196, 192, 184))
    ground.cover(canvas, "sand", rough_mm=1.5)
    things.tape(canvas, (30, 0), 230, 90, out_mm=4)


def no_struck_joint(canvas, fixed):
    rendered(canvas)
    if fixed:
        brickwork.struck_joint(canvas, 92)
    earth(canvas)
    things.tape(canvas, (-120, 0), 230, 90, out_mm=4)


def attachment_close(canvas, fixed):
    wall = brick_wall(canvas)
    level = wall.bed_mm(2) - 20
    ground.cover(canvas, "deck", level_mm=level, gap_mm=44 if fixed else 7)
    x = 150 if fixed else 120
    things.tape(canvas, (x, level), 150, -90, out_mm=60, case=False)
