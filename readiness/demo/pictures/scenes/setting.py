"""What the scenes share: a wall, the ground before it, and the colours of what is put right."""

from __future__ import annotations

import numpy as np

from .. import brickwork, ground
from ..brickwork import Wall
from ..canvas import linear

FRESH_MORTAR = linear(150, 146, 138)
SEALANT = linear(176, 168, 152)
RENDERS = (linear(222, 216, 202), linear(206, 206, 204), linear(214, 200, 176))


def brick_wall(canvas, **changes) -> Wall:
    wall = Wall.of(canvas, **changes)
    brickwork.lay(canvas, wall)
    return wall


def earth(canvas, level_mm=0.0):
    surface = ("soil", "sand", "gravel", "soil")[canvas.rng("surface").integers(4)]
    ground.cover(canvas, surface, level_mm=level_mm)


def mound(canvas, top_mm, centre_mm, half_mm, name="mound"):
    shape = np.exp(-(((canvas.x_mm - centre_mm) / half_mm) ** 4))
    lumps = 1 + canvas.noise(name, 190)[:1] * 0.10
    return (top_mm * shape * lumps).astype(np.float32)


def rendered(canvas, thickness_mm=0.0):
    colour = RENDERS[canvas.rng("render").integers(len(RENDERS))]
    brickwork.render(canvas, colour, thickness_mm=thickness_mm)
    return colour
