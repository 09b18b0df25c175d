"""Objects in front of a wall: a tap, a tape measure, timber, a pallet of bricks, chalk marks."""

from __future__ import annotations

from functools import lru_cache
from itertools import pairwise

import numpy as np
from PIL import Image, ImageDraw, ImageFont

from .canvas import Canvas, linear, resized, shaded, step

BRASS, COPPER, STEEL = linear(204, 166, 84), linear(190, 112, 74), linear(150, 152, 156)
PINE, PLY, CHALK = linear(214, 178, 126), linear(188, 142, 88), linear(60, 140, 235)


def _raise(canvas, window, mask, height):
    part = canvas.relief[window]
    part += (np.maximum(height, part) - part) * mask


def rod(canvas: Canvas, start, end, radius_mm, colour, *, out_mm=0.0, gloss=0.5):
    """A round bar between two points of the wall (mm), its axis `out_mm` in front of it."""
    (x0, y0), (x1, y1) = start, end
    window = canvas.window(
        min(x0, x1) - radius_mm - 3,
        min(y0, y1) - radius_mm - 3,
        max(x0, x1) + radius_mm + 3,
        max(y0, y1) + radius_mm + 3,
    )
    x, y = canvas.x_mm[:, window[1]] - x0, canvas.y_mm[window[0]] - y0
    dx, dy = x1 - x0, y1 - y0
    share = np.clip((x * dx + y * dy) / max(dx * dx + dy * dy, 1e-6), 0, 1)
    off = np.hypot(x - share * dx, y - share * dy)
    mask = step(radius_mm - off, 1.2)
    grain = canvas.noise("clay", 6)[window]
    canvas.blend(mask, shaded(colour, 1 + grain * 0.06), window)
    _raise(canvas, window, mask, out_mm + np.sqrt(np.clip(radius_mm**2 - off**2, 0, None)))
    if gloss:
        canvas.shine(mask * gloss, window)


def ring(canvas: Canvas, centre, radius_mm, thick_mm, colour, *, out_mm, squash=1.0, gloss=0.4):
    """A ring parallel to the wall, such as a tap's wheel or a hose; squash flattens it."""
    reach = radius_mm + thick_mm + 3
    window = canvas.window(
        centre[0] - reach, centre[1] - reach, centre[0] + reach, centre[1] + reach
    )
    x = canvas.x_mm[:, window[1]] - centre[0]
    y = (canvas.y_mm[window[0]] - centre[1]) / squash
    off = np.abs(np.hypot(x, y) - radius_mm)
    mask = step(thick_mm - off, 1.2)
    canvas.blend(mask, colour, window)
    _raise(canvas, window, mask, out_mm + np.sqrt(np.clip(thick_mm**2 - off**2, 0, None)))
    canvas.shine(mask * gloss, window)


def tap(canvas: Canvas, x_mm: float, height_mm: float):
    """A garden tap on a copper riser: brass body, spout, red wheel."""
    rod(canvas, (x_mm, -20), (x_mm, height_mm - 12), 9, COPPER, out_mm=16, gloss=0.5)
    for clip_mm in (height_mm * 0.28, height_mm * 0.72):
        rod(canvas, (x_mm - 26, clip_mm), (x_mm + 26, clip_mm), 6, STEEL, out_mm=20)
    rod(canvas, (x_mm, height_mm - 16), (x_mm, height_mm + 22), 17, BRASS, out_mm=34, gloss=0.8)
    rod(canvas, (x_mm, height_mm + 22), (x_mm, height_mm + 66), 9, BRASS, out_mm=48, gloss=0.8)
    rod(canvas, (x_mm, height_mm), (x_mm + 34, height_mm - 18), 14, BRASS, out_mm=54, gloss=0.8)
    rod(canvas, (x_mm + 36, height_mm - 18), (x_mm + 40, height_mm - 66), 14, BRASS, out_mm=66)
    rod(canvas, (x_mm + 39, height_mm - 58), (x_mm + 41, height_mm - 78), 17, BRASS, out_mm=64)
    red = linear(186, 30, 34)
    ring(canvas, (x_mm, height_mm + 70), 30, 6, red, out_mm=70, squash=0.5)
    rod(canvas, (x_mm - 28, height_mm + 70), (x_mm + 28, height_mm + 70), 5, red, out_mm=68)
    rod(canvas, (x_mm, height_mm + 70), (x_mm, height_mm + 76), 9, BRASS, out_mm=70)


def _turned(canvas, centre, length_mm, width_mm, degrees):
    """Coordinates (along, over) of a board lying at an angle, and the window it needs."""
    reach = np.hypot(length_mm, width_mm) / 2 + 4
    window = canvas.window(
        centre[0] - reach, centre[1] - reach, centre[0] + reach, centre[1] + reach
    )
    x = canvas.x_mm[:, window[1]] - centre[0]
    y = canvas.y_mm[window[0]] - centre[1]
    angle = np.deg2rad(degrees)
    along = x * np.cos(angle) + y * np.sin(angle)
    over = y * np.cos(angle) - x * np.sin(angle)
    return along, over, window


@lru_cache(maxsize=8)
def _grain_tile(seed: int):
    """Wood grain, 1024 along by 256 over."""
    rng = np.random.default_rng(seed)
    long = resized(rng.standard_normal((40, 8), np.float32), 256, 1024)
    fine = resized(rng.standard_normal((200, 24), np.float32), 256, 1024)
    over = np.arange(256, dtype=np.float32)[:, None]
    rings = np.sin((over + long * 26) * 0.16)
    return (rings * 0.5 + fine * 0.5 + long * 0.3).astype(np.float32)


def board(
    canvas: Canvas, centre, length_mm, width_mm, degrees, *, out_mm, colour=PINE, seed=0, dirty=0.4
):
    """A board, a sheet of ply or a peg standing in front of the wall."""
    along, over, window = _turned(canvas, centre, length_mm, width_mm, degrees)
    inside = np.minimum(length_mm / 2 - np.abs(along), width_mm / 2 - np.abs(over))
    mask = step(inside + canvas.noise("ragged-fine", 3)[window] * 0.4, 1.4)
    tile = _grain_tile(seed % 5)
    grain = tile[
        np.mod(over * 1.4 + seed * 53, 256).astype(np.int32),
        np.mod(along * 0.8 + seed * 131, 1024).astype(np.int32),
    ]
    stain = np.clip(canvas.noise("stain", 60, stretch=2)[window] + 0.1, 0, 1) * dirty
    tone = 1 + grain * 0.13 - stain * 0.35
    canvas.blend(mask, shaded(colour, np.clip(tone, 0.2, 1.5)), window)
    cement = (
        step(
            canvas.noise("splatter", 30)[window] + canvas.noise("clay", 6)[window] * 0.5 - 1.35,
            0.25,
        )
        * dirty
        * 0.7
    )
    canvas.blend(mask * np.clip(cement, 0, 1), linear(176, 172, 164), window)
    bevel = np.clip(3 - inside, 0, 3)
    _raise(canvas, window, mask, out_mm + grain * 0.5 - bevel * bevel * 0.5)


@lru_cache(maxsize=2)
def _tape_art(length_mm: int):
    """A steel tape's printing, 8 pixels a millimetre: zero at the left."""
    scale, width = 8, 16
    art = Image.new("RGB", (length_mm * scale, width * scale), (246, 206, 40))
    pen = ImageDraw.Draw(art)
    font = ImageFont.load_default(size=7 * scale)
    for mm in range(length_mm + 1):
        tall = 9 if mm % 10 == 0 else 6 if mm % 5 == 0 else 3.6
        x = mm * scale
        pen.line([(x, 0), (x, tall * scale)], fill=(16, 16, 16), width=3)
        if mm % 10 == 0 and mm:
            red = mm % 100 == 0
            text = str(mm)
            size = pen.textlength(text, font=font)
            pen.text(
                (x - size - 4, 8.4 * scale),
                text,
                fill=(190, 20, 20) if red else (16, 16, 16),
                font=font,
                anchor="lt",
            )
    return (np.asarray(art, np.float32) / 255) ** 2


def tape(canvas: Canvas, zero, length_mm: int, degrees: float, *, out_mm=4.0, case=True):
    """A steel tape measure, true to scale: its zero at `zero`, running at an angle."""
    angle = np.deg2rad(degrees)
    along_axis = np.array([np.cos(angle), np.sin(angle)])
    across_axis = np.array([-along_axis[1], along_axis[0]])
    middle = np.array(zero) + along_axis * length_mm / 2
    along, over, window = _turned(canvas, middle, length_mm, 16, degrees)
    along = along + length_mm / 2
    art = _tape_art(length_mm)
    rows = np.clip((8 - over) * 8, 0, art.shape[0] - 1).astype(np.int32)
    columns = np.clip(along * 8, 0, art.shape[1] - 1).astype(np.int32)
    inside = np.minimum(np.minimum(along, length_mm - along), 8 - np.abs(over))
    mask = step(inside, 0.8)
    canvas.blend(mask, art[rows, columns], window)
    _raise(canvas, window, mask, out_mm + over * over * 0.03)
    canvas.shine(mask * 0.25, window)
    hook = [np.array(zero) + across_axis * side for side in (-9, 9)]
    rod(canvas, hook[0], hook[1], 2.2, STEEL, out_mm=out_mm + 1)
    if case:
        centre = np.array(zero) + along_axis * (length_mm + 30) - across_axis * 16
        half = along_axis * 18
        dark = linear(40, 42, 46)
        rod(canvas, centre - half, centre + half, 32, dark, out_mm=6, gloss=0.3)
        rod(canvas, centre, centre + along_axis, 17, linear(222, 120, 24), out_mm=24, gloss=0.3)


def chalk(canvas: Canvas, points, *, width_mm=10.0, strength=0.95, colour=CHALK):
    """A stroke of builder's chalk through points (mm), broken by the grain of the wall."""
    xs, ys = zip(*points, strict=True)
    window = canvas.window(min(xs) - 12, min(ys) - 12, max(xs) + 12, max(ys) + 12)
    x, y = canvas.x_mm[:, window[1]], canvas.y_mm[window[0]]
    near = np.full(np.broadcast_shapes(x.shape, y.shape), 1e3, np.float32)
    for (x0, y0), (x1, y1) in pairwise(points):
        dx, dy = x1 - x0, y1 - y0
        share = np.clip(((x - x0) * dx + (y - y0) * dy) / max(dx * dx + dy * dy, 1e-6), 0, 1)
        near = np.minimum(near, np.hypot(x - x0 - share * dx, y - y0 - share * dy))
    rub = canvas.noise("grit", 1.2)[window] * 0.6 + canvas.noise("clay", 6)[window] * 0.4
    hidden = np.clip(canvas.relief[window] * 0.3 + 1, 0, 1)
    mask = step(width_mm / 2 - near, 2) * np.clip(0.9 + rub, 0, 1) * hidden * strength
    canvas.blend(mask, colour, window)


def chalk_arrow(canvas, tip, tail, **kwargs):
    """An arrow that points at something small."""
    tip, tail = np.array(tip, float), np.array(tail, float)
    back = (tail - tip) / np.linalg.norm(tail - tip)
    side = np.array([-back[1], back[0]])
    chalk(canvas, [tuple(tail), tuple(tip)], **kwargs)
    head = [tip + back * 34 + side * 22, tip, tip + back * 34 - side * 22]
    chalk(canvas, [tuple(point) for point in head], **kwargs)


def pallet_of_bricks(canvas: Canvas, left_mm, bottom_mm, columns=5, rows=7, colour=None):
    """A strapped pack of bricks on a timber pallet, standing close to the wall."""
    rng = canvas.rng("pack")
    brick_w, brick_h = 232, 80
    width = columns * brick_w
    colour = linear(170, 92, 62) if colour is None else colour
    for runner in (0.06, 0.5, 0.94):
        centre = (left_mm + width * runner, bottom_mm + 48)
        board(canvas, centre, 96, 84, 0, out_mm=170, colour=PINE * 0.7, seed=int(runner * 100))
    for level, tall in ((6, 20), (96, 20)):
        centre = (left_mm + width / 2, bottom_mm + level)
        board(canvas, centre, width + 40, tall, 0, out_mm=185, seed=level)
    for row in range(rows):
        for column in range(columns):
            x = left_mm + (column + 0.5) * brick_w + rng.uniform(-5, 5)
            y = bottom_mm + 110 + (row + 0.5) * brick_h
            tone = colour * rng.uniform(0.65, 1.25)
            _pack_brick(canvas, x, y, brick_w - 5, brick_h - 4, tone, 170 + rng.uniform(-8, 8))
    top = bottom_mm + 110 + rows * brick_h
    for share in (0.27, 0.73):
        x = left_mm + width * share
        board(
            canvas,
            (x, (bottom_mm + 110 + top) / 2),
            top - bottom_mm - 110,
            15,
            90,
            out_mm=183,
            colour=linear(40, 110, 70),
            seed=3,
            dirty=0,
        )


def _pack_brick(canvas, x, y, width, height, colour, out_mm):
    along, over, window = _turned(canvas, (x, y), width, height, 0)
    inside = np.minimum(width / 2 - np.abs(along), height / 2 - np.abs(over))
    inside = inside + canvas.noise("edge", 9)[window] * 1.0
    mask = step(inside, 1.5)
    grain = (
        canvas.noise("grit", 1.2)[window] * 0.08 + canvas.noise("drag", 3, stretch=9)[window] * 0.07
    )
    canvas.blend(mask, shaded(colour, 1 + grain), window)
    _raise(canvas, window, mask, out_mm + grain * 5 - np.clip(4 - inside, 0, 4) ** 2 * 0.3)
