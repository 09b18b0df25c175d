"""What sits on the brick: mortar, mud, water, splashes."""

from __future__ import annotations

import numpy as np

from .. import brickwork, ground, marks, things
from ..canvas import linear, step
from .setting import brick_wall, earth


def weep_hole_blocked(canvas, fixed):
    wall = brick_wall(canvas, weep_course=2)
    x = wall.perpend_mm(2, 0)
    low = wall.bed_mm(2) + 5
    if not fixed:
        brickwork.fill(
            canvas, x - 6, low - 3, x + 6, low + 74, marks.WET_MORTAR, out_mm=1, rough=1.0
        )
        for lift, size in ((14, 10), (38, 12), (60, 9)):
            marks.blob(canvas, x + (lift % 7) - 3, low + lift, size, tall_mm=5)
        marks.smear(canvas, (x, low + 6), (x + 6, low - 70), 22)
    earth(canvas)
    if not fixed:
        things.chalk_arrow(canvas, (x + 24, low + 58), (x + 120, low + 150))


def mortar_drop(canvas, fixed):
    wall = brick_wall(canvas)
    if fixed:
        marks.haze(canvas, strength=0.16)
    else:
        marks.drops(canvas, 26, (-430, 40, 430, 480), (8, 26))
        rng = canvas.rng("slop")
        for _ in range(6):
            x, y = rng.uniform(-380, 380), rng.uniform(150, 480)
            marks.smear(canvas, (x, y), (x + rng.uniform(-30, 60), y - 60), rng.uniform(20, 44))
        for course in (2, 3, 4):
            x = rng.uniform(-300, 250)
            level = wall.bed_mm(course)
            brickwork.fill(
                canvas, x, level - 7, x + 130, level + 4, marks.WET_MORTAR, out_mm=4, rough=1.4
            )
    earth(canvas)
    if not fixed:
        _fallen_mortar(canvas)


def _fallen_mortar(canvas):
    rng = canvas.rng("fallen")
    for _ in range(22):
        x, y = rng.normal(0, 260), -abs(rng.normal(0, 60)) - 4
        marks.blob(canvas, x, y, rng.uniform(7, 20), tall_mm=14, on_ground=True)


def dirty_brick(canvas, fixed):
    brick_wall(canvas)
    if not fixed:
        marks.haze(canvas, strength=0.55)
        marks.grime(canvas, 430)
        marks.runs(canvas, (-560, 60, 560, 520), 14, marks.MUD, strength=0.4)
        rng = canvas.rng("mud")
        for index in range(4):
            centre = (rng.uniform(-480, 480), rng.uniform(80, 230))
            marks.splash(canvas, centre, 150, marks.MUD, name=f"mud{index}", count=120)
    earth(canvas)


def wet_brick(canvas, fixed):
    brick_wall(canvas, palette=(0, 2, 4)[canvas.rng("dry-colour").integers(3)])
    if not fixed:
        marks.soak(canvas, 400)
    ground.cover(canvas, "soil")
    if not fixed:
        _puddle(canvas)


def _puddle(canvas):
    """Dark, wet soil with water standing in it."""
    below = np.clip(-canvas.y_mm / 30, 0, 1)
    pool = canvas.noise("pool", 120, stretch=3.5) - 0.8 + np.clip(-canvas.y_mm / 400, 0, 0.3)
    canvas.albedo *= (1 - 0.5 * below)[..., None]
    water = (step(pool, 0.12) * step(-canvas.y_mm - 26, 20)).astype(np.float32)
    canvas.blend(water * 0.85, linear(112, 106, 98))
    flat = np.float32(-2) - canvas.y_mm * 1.7
    canvas.relief += (flat - canvas.relief) * water
    canvas.shine(water)


def tap_splashes(canvas, fixed):
    brick_wall(canvas, palette=(0, 1, 4)[canvas.rng("tap-wall").integers(3)])
    slurry = linear(206, 200, 190)
    if not fixed:
        marks.splash(canvas, (60, 190), 380, slurry, amount=1.1, count=900)
        marks.runs(canvas, (-190, 30, 300, 420), 16, slurry, strength=0.7, name="slurry-runs")
        marks.splash(canvas, (110, 60), 230, marks.MUD, amount=0.8, name="mud")
    ground.cover(canvas, "soil")
    if not fixed:
        _puddle(canvas)
    things.tap(canvas, 0, 430)
