"""Sun, sky and shade over a canvas, from its relief."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from PIL import Image

from .canvas import Canvas, resized

SUN = np.array([1.05, 1.0, 0.91], np.float32)
SKY = np.array([0.90, 0.98, 1.12], np.float32)


@dataclass
class Light:
    """Where the sun stands: right and up in the wall's plane, and out of it towards us."""

    to_x: float = -0.55
    to_y: float = 0.75
    out_of_wall: float = 0.75
    sun: float = 0.95
    sky: float = 0.34
    shade_edge: bool = False

    @classmethod
    def of(cls, rng):
        side = -1 if rng.random() < 0.5 else 1
        return cls(
            to_x=side * rng.uniform(0.35, 0.75),
            to_y=rng.uniform(0.55, 0.85),
            out_of_wall=rng.uniform(0.62, 0.9),
            sun=rng.uniform(0.86, 1.0),
            sky=rng.uniform(0.30, 0.40),
            shade_edge=bool(rng.random() < 0.4),
        )


def _cast(relief, px_mm, light: Light):
    """How much of the sun each point loses to something that stands out nearby (0 to 1)."""
    flat = float(np.hypot(light.to_x, light.to_y))
    rise = light.out_of_wall / flat
    highest = float(relief.max() - relief.min())
    reach = min(highest / rise, 420.0)
    rows, columns = relief.shape
    shadow = np.zeros_like(relief)
    travel = px_mm
    while travel < reach:
        dx = round(light.to_x / flat * travel / px_mm)
        dy = round(-light.to_y / flat * travel / px_mm)
        if abs(dx) >= columns or abs(dy) >= rows:
            break
        here = (slice(max(0, -dy), rows - max(0, dy)), slice(max(0, -dx), columns - max(0, dx)))
        there = (slice(max(0, dy), rows - max(0, -dy)), slice(max(0, dx), columns - max(0, -dx)))
        over = relief[there] - relief[here] - np.float32(travel * rise)
        over *= np.float32(1 / (1.0 + travel * 0.10))
        np.maximum(shadow[here], over, out=shadow[here])
        travel += max(px_mm, travel * 0.16)
    return np.clip(shadow, 0, 1)


def lit(canvas: Canvas, light: Light) -> Image.Image:
    """The finished colours as an 8-bit picture."""
    relief, px = canvas.relief, canvas.mm_per_px
    length = np.sqrt(light.to_x**2 + light.to_y**2 + light.out_of_wall**2)
    lx, ly, lz = (np.float32(v / length) for v in (light.to_x, light.to_y, light.out_of_wall))
    across = np.empty_like(relief)
    across[:, 1:-1] = (relief[:, 2:] - relief[:, :-2]) * np.float32(0.5 / px)
    across[:, [0, -1]] = 0
    upward = np.empty_like(relief)
    upward[1:-1] = (relief[:-2] - relief[2:]) * np.float32(0.5 / px)
    upward[[0, -1]] = 0
    inverse = 1 / np.sqrt(1 + across * across + upward * upward)
    facing = np.clip((lz - across * lx - upward * ly) * inverse, 0, None)

    rows, columns = relief.shape
    small = resized(relief, rows // 3, columns // 3, Image.Resampling.BOX)
    shadow = resized(_cast(small, px * 3, light), rows, columns, Image.Resampling.BILINEAR)
    near = resized(resized(relief, rows // 12, columns // 12, Image.Resampling.BOX), rows, columns)
    hollow = np.clip((near - relief) * np.float32(0.035), 0, 0.75)
    facing *= 1 - 0.88 * shadow
    if light.shade_edge:
        facing *= _roof_shade(canvas, light)
    sky = (np.float32(light.sky) * (0.75 + 0.25 * inverse + 0.2 * upward * inverse)) * (1 - hollow)
    facing *= np.float32(light.sun * 1.25)
    sheen = None
    if canvas.gloss is not None:
        half = np.clip((lz + 1 - across * lx - upward * (ly + 0.12)) * inverse / 1.9, 0, 1)
        sheen = half**24 * canvas.gloss * (1 - shadow) * np.float32(0.5)
    primaries = [_exposed(canvas, facing, sky, sheen, index) for index in range(3)]
    return Image.merge("RGB", primaries).convert("RGB", _muted(0.8))


def _exposed(canvas, facing, sky, sheen, index) -> Image.Image:
    """One primary colour (0 red, 1 green, 2 blue) of the finished sheet."""
    colour = facing * SUN[index]
    colour += sky * SKY[index]
    colour *= canvas.albedo[..., index]
    if sheen is not None:
        colour += sheen
        colour += canvas.gloss * (np.float32(0.03) * SKY[index])
    colour *= _vignette(*colour.shape)
    np.clip(colour, 0, 1, out=colour)
    np.sqrt(colour, out=colour)
    colour *= 255
    return Image.fromarray(colour.astype(np.uint8))


def _roof_shade(canvas, light):
    """The soft slanting edge of a roof's or a fence's shade somewhere in the picture."""
    rng = canvas.rng("shade")
    slope = rng.uniform(0.5, 1.3) * (1 if light.to_x > 0 else -1)
    start = rng.uniform(0.62, 0.95) * canvas.rows * canvas.mm_per_px + canvas.bottom_mm
    edge = canvas.y_mm - start + canvas.x_mm * slope * 0.5
    return (1 - 0.72 * np.clip(edge / 50 + 0.5, 0, 1)).astype(np.float32)


def _muted(amount):
    """The colour matrix that keeps this share of the saturation."""
    grey = np.outer(np.ones(3), (0.3, 0.59, 0.11)) * (1 - amount)
    matrix = np.zeros((3, 4))
    matrix[:, :3] = grey + np.eye(3) * amount
    return tuple(matrix.reshape(-1))


@lru_cache(maxsize=4)
def _vignette(rows, columns):
    y = np.linspace(-1, 1, rows, dtype=np.float32)[:, None]
    x = np.linspace(-1, 1, columns, dtype=np.float32)[None, :]
    return 1 - 0.16 * (x * x + y * y) ** 1.2 / 2
