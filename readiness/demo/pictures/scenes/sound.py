"""Walls with nothing wrong."""

from __future__ import annotations

from .. import brickwork, ground, marks, things
from .setting import SEALANT, brick_wall, earth, rendered


def clean_wall(canvas, fixed):
    brick_wall(canvas)
    earth(canvas)


def wall_overview(canvas, fixed):
    """A long stretch of wall, for the report's general view."""
    wall = brick_wall(canvas)
    if canvas.rng("joint").random() < 0.7:
        x = wall.perpend_mm(3, 500) + 55
        marks.bead(canvas, [(x, wall.first_bed_mm - 5), (x, 3000)], 12, SEALANT)
    earth(canvas)


def render_wall(canvas, fixed):
    rendered(canvas)
    brickwork.struck_joint(canvas, 95)
    earth(canvas)


def wall_to_measure(canvas, fixed):
    """Brickwork with a tape stood against it: the level of the soil can be measured."""
    brick_wall(canvas)
    ground.cover(canvas, "soil", level_mm=4)
    things.tape(canvas, (-60, 4), 300, 90)
