"""One scene for each kind of defect, as found and as fixed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from . import brickwork, ground, marks, things
from .brickwork import Wall
from .canvas import Canvas, linear, step

FRESH_MORTAR = linear(150, 146, 138)
SEALANT = linear(176, 168, 152)
RENDERS = (linear(222, 216, 202), linear(206, 206, 204), linear(214, 200, 176))


@dataclass(frozen=True)
class Scene:
    """How a kind is painted, and how much of the wall the photo takes in (mm)."""

    paint: Callable[[Canvas, bool], None]
    width_mm: float = 1250
    ground_mm: float = 260


def _brick_wall(canvas, **changes) -> Wall:
    wall = Wall.of(canvas, **changes)
    brickwork.lay(canvas, wall)
    return wall


def _earth(canvas, level_mm=0.0):
    surface = ("soil", "sand", "gravel", "soil")[canvas.rng("surface").integers(4)]
    ground.cover(canvas, surface, level_mm=level_mm)


def _mound(canvas, top_mm, centre_mm, half_mm, name="mound"):
    shape = np.exp(-(((canvas.x_mm - centre_mm) / half_mm) ** 4))
    lumps = 1 + canvas.noise(name, 190)[:1] * 0.10
    return (top_mm * shape * lumps).astype(np.float32)


def clean_wall(canvas, fixed):
    _brick_wall(canvas)
    _earth(canvas)


def unfilled_joint(canvas, fixed):
    wall = _brick_wall(canvas, weep_course=None)
    course = 3
    bed = wall.bed_mm(course)
    gaps = [(-190, bed - 5, 250, bed + 5)]
    for near, row in ((-150, course), (130, course - 1)):
        x, low = wall.perpend_mm(row, near), wall.bed_mm(row) + 4
        gaps.append((x - 5, low, x + 5, low + 77))
    for gap in gaps:
        if fixed:
            brickwork.fill(canvas, *gap, FRESH_MORTAR, out_mm=-3, rough=0.35)
        else:
            brickwork.slot(canvas, *gap, depth_mm=38, ragged_mm=1.6)
    _earth(canvas)
    if not fixed:
        things.chalk_arrow(canvas, (-205, bed + 34), (-330, bed + 150))


def gap_too_wide(canvas, fixed):
    wall = _brick_wall(canvas, weep_course=None)
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
    _earth(canvas)
    if not fixed:
        level = wall.bed_mm(3) + 42
        things.tape(canvas, (x - half, level - 12), 190, 0, out_mm=3)


def _articulation(canvas, fixed, rod=False):
    wall = _brick_wall(canvas, weep_course=None)
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
    _earth(canvas)
    if not fixed:
        things.chalk_arrow(canvas, (x + 26, wall.bed_mm(3)), (x + 180, wall.bed_mm(3) + 80))


def articulation_joint(canvas, fixed):
    _articulation(canvas, fixed)


def backing_rod_only(canvas, fixed):
    _articulation(canvas, fixed, rod=True)


def tight_crack(canvas, fixed):
    wall = _brick_wall(canvas, weep_course=None)
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
    _earth(canvas)
    if not fixed:
        tip = points[5]
        things.chalk_arrow(canvas, (tip[0] - 24, tip[1] + 26), (tip[0] - 130, tip[1] + 130))


def soil_against_brick(canvas, fixed):
    wall = _brick_wall(canvas)
    top = wall.bed_mm(3) + 30
    if fixed:
        stain = step(_mound(canvas, top, 40, 460) - canvas.y_mm, 30) * 0.30
        canvas.blend(stain.astype(np.float32), ground.SOIL)
        ground.cover(canvas, "soil")
    else:
        ground.cover(canvas, "soil", heap=_mound(canvas, top, 40, 460))


def ground_too_high(canvas, fixed):
    wall = _brick_wall(canvas, weep_course=2)
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
    wall = _brick_wall(canvas, weep_course=1, damp_course=1, first_bed_mm=-20)
    level = wall.bed_mm(1) + (-62 if fixed else 34)
    surface = "soil"
    if fixed:
        stain = step(wall.bed_mm(1) + 34 - canvas.y_mm, 14) * 0.28
        canvas.blend(stain.astype(np.float32), ground.SOIL)
    ground.cover(canvas, surface, level_mm=level)
    if not fixed:
        x = wall.perpend_mm(1, 0)
        things.chalk_arrow(canvas, (x + 16, level + 52), (x + 130, level + 150))


def weep_hole_blocked(canvas, fixed):
    wall = _brick_wall(canvas, weep_course=2)
    x = wall.perpend_mm(2, 0)
    low = wall.bed_mm(2) + 5
    if not fixed:
        brickwork.fill(
            canvas, x - 6, low - 3, x + 6, low + 74, marks.WET_MORTAR, out_mm=1, rough=1.0
        )
        for lift, size in ((14, 10), (38, 12), (60, 9)):
            marks.blob(canvas, x + (lift % 7) - 3, low + lift, size, tall_mm=5)
        marks.smear(canvas, (x, low + 6), (x + 6, low - 70), 22)
    _earth(canvas)
    if not fixed:
        things.chalk_arrow(canvas, (x + 24, low + 58), (x + 120, low + 150))


def _rendered(canvas, thickness_mm=0.0):
    colour = RENDERS[canvas.rng("render").integers(len(RENDERS))]
    brickwork.render(canvas, colour, thickness_mm=thickness_mm)
    return colour


def render_line_low(canvas, fixed):
    _rendered(canvas)
    low, high = 38, 92
    brickwork.struck_joint(canvas, high if fixed else low)
    if fixed:
        patch = step(9 - np.abs(canvas.y_mm - low + canvas.noise("edge", 9) * 2), 3) * 0.5
        canvas.blend(patch.astype(np.float32), linear(196, 192, 184))
    ground.cover(canvas, "sand", rough_mm=1.5)
    things.tape(canvas, (30, 0), 230, 90, out_mm=4)


def no_struck_joint(canvas, fixed):
    _rendered(canvas)
    if fixed:
        brickwork.struck_joint(canvas, 92)
    _earth(canvas)
    things.tape(canvas, (-120, 0), 230, 90, out_mm=4)


def mortar_drop(canvas, fixed):
    wall = _brick_wall(canvas)
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
    _earth(canvas)
    if not fixed:
        _fallen_mortar(canvas)


def _fallen_mortar(canvas):
    rng = canvas.rng("fallen")
    for _ in range(22):
        x, y = rng.normal(0, 260), -abs(rng.normal(0, 60)) - 4
        marks.blob(canvas, x, y, rng.uniform(7, 20), tall_mm=14, on_ground=True)


def dirty_brick(canvas, fixed):
    _brick_wall(canvas)
    if not fixed:
        marks.haze(canvas, strength=0.55)
        marks.grime(canvas, 430)
        marks.runs(canvas, (-560, 60, 560, 520), 14, marks.MUD, strength=0.4)
        rng = canvas.rng("mud")
        for index in range(4):
            centre = (rng.uniform(-480, 480), rng.uniform(80, 230))
            marks.splash(canvas, centre, 150, marks.MUD, name=f"mud{index}", count=120)
    _earth(canvas)


def wet_brick(canvas, fixed):
    _brick_wall(canvas, palette=(0, 2, 4)[canvas.rng("dry-colour").integers(3)])
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
    _brick_wall(canvas, palette=(0, 1, 4)[canvas.rng("tap-wall").integers(3)])
    slurry = linear(206, 200, 190)
    if not fixed:
        marks.splash(canvas, (60, 190), 380, slurry, amount=1.1, count=900)
        marks.runs(canvas, (-190, 30, 300, 420), 16, slurry, strength=0.7, name="slurry-runs")
        marks.splash(canvas, (110, 60), 230, marks.MUD, amount=0.8, name="mud")
    ground.cover(canvas, "soil")
    if not fixed:
        _puddle(canvas)
    things.tap(canvas, 0, 430)


def timber_against_wall(canvas, fixed):
    _brick_wall(canvas)
    _earth(canvas)
    if fixed:
        return
    things.board(canvas, (90, 330), 900, 560, 86, out_mm=40, colour=things.PLY, seed=2, dirty=0.5)
    for index, (x, lean) in enumerate(((-330, 78), (-235, 82), (-120, 97))):
        things.board(
            canvas, (x, 300), 980, 90, lean, out_mm=60 + index * 14, seed=index + 3, dirty=0.6
        )
    for index, y in enumerate((-45, -100)):
        things.board(
            canvas,
            (40 - index * 60, y),
            1050,
            62,
            2 - index * 3,
            out_mm=190 + index * 40,
            seed=index + 7,
            dirty=0.8,
        )


def attachment_close(canvas, fixed):
    wall = _brick_wall(canvas)
    level = wall.bed_mm(2) - 20
    ground.cover(canvas, "deck", level_mm=level, gap_mm=44 if fixed else 7)
    x = 150 if fixed else 120
    things.tape(canvas, (x, level), 150, -90, out_mm=60, case=False)


def access_blocked(canvas, fixed):
    _brick_wall(canvas)
    _earth(canvas)
    if fixed:
        return
    things.pallet_of_bricks(canvas, -560, -165, columns=5, rows=9)
    for index in range(3):
        things.board(
            canvas,
            (330 + index * 40, -120 - index * 45),
            1000,
            62,
            index * 3 - 4,
            out_mm=230 + index * 40,
            seed=index,
            dirty=0.8,
        )


def other(canvas, fixed):
    """A cable left hanging over the foot of the wall."""
    wall = _brick_wall(canvas)
    _earth(canvas)
    if fixed:
        return
    orange = linear(232, 108, 30)
    xs = np.linspace(-700, 700, 60)
    ys = wall.bed_mm(3) + 60 * np.sin(xs / 170) - 40 * np.cos(xs / 90)
    for a, b in pairwise(zip(xs, ys, strict=True)):
        things.rod(canvas, a, b, 7, orange, out_mm=14, gloss=0.5)
    for turn in range(5):
        things.ring(
            canvas, (180, -60 - turn * 5), 120 - turn * 4, 7, orange, out_mm=150, squash=0.35
        )


def wall_overview(canvas, fixed):
    """A long stretch of wall, for the report's general view."""
    wall = _brick_wall(canvas)
    if canvas.rng("joint").random() < 0.7:
        x = wall.perpend_mm(3, 500) + 55
        marks.bead(canvas, [(x, wall.first_bed_mm - 5), (x, 3000)], 12, SEALANT)
    _earth(canvas)


def render_wall(canvas, fixed):
    _rendered(canvas)
    brickwork.struck_joint(canvas, 95)
    _earth(canvas)


def wall_to_measure(canvas, fixed):
    """Brickwork with a tape stood against it: the level of the soil can be measured."""
    _brick_wall(canvas)
    ground.cover(canvas, "soil", level_mm=4)
    things.tape(canvas, (-60, 4), 300, 90)


SCENES: dict[str, Scene] = {
    "unfilled_joint": Scene(unfilled_joint, 1050),
    "gap_too_wide": Scene(gap_too_wide, 850, 190),
    "articulation_unsealed": Scene(articulation_joint, 900, 200),
    "articulation_rod_only": Scene(backing_rod_only, 700, 150),
    "tight_crack": Scene(tight_crack, 900, 140),
    "soil_against_brick": Scene(soil_against_brick, 1500, 330),
    "ground_too_high": Scene(ground_too_high, 1050, 300),
    "render_line_low": Scene(render_line_low, 800, 200),
    "no_struck_joint": Scene(no_struck_joint, 900, 240),
    "weep_hole_blocked": Scene(weep_hole_blocked, 760, 150),
    "weep_hole_low": Scene(weep_hole_low, 820, 220),
    "mortar_drop": Scene(mortar_drop, 1050, 220),
    "dirty_brick": Scene(dirty_brick, 1300),
    "wet_brick": Scene(wet_brick, 1350, 280),
    "tap_splashes": Scene(tap_splashes, 1150, 230),
    "timber_against_wall": Scene(timber_against_wall, 1500, 330),
    "attachment_too_close": Scene(attachment_close, 1000, 360),
    "access_blocked": Scene(access_blocked, 1900, 420),
    "other": Scene(other, 1300, 280),
    "clean_wall": Scene(clean_wall, 1400, 280),
    "wall_overview": Scene(wall_overview, 2600, 420),
    "render_wall": Scene(render_wall, 1500, 300),
    "wall_to_measure": Scene(wall_to_measure, 900, 200),
}
"""By kind. The kinds of the catalogue, then some walls with nothing wrong."""
