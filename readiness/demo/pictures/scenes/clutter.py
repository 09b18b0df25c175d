"""What stands in the way."""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from .. import things
from ..canvas import linear
from .setting import brick_wall, earth


def timber_against_wall(canvas, fixed):
    brick_wall(canvas)
    earth(canvas)
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


def access_blocked(canvas, fixed):
    brick_wall(canvas)
    earth(canvas)
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
    wall = brick_wall(canvas)
    earth(canvas)
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
