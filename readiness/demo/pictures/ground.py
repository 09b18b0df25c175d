"""What lies at the foot of the wall: soil, sand, gravel, paving or a deck, in perspective.

With the camera square to the wall, a point of the ground `s` mm in front of it is drawn lower
and larger by k = distance / (distance - s): that is all the perspective there is.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from .canvas import Canvas, linear, step

TILE_MM = 1024
SOIL, SAND, GRAVEL = linear(122, 98, 76), linear(196, 180, 152), linear(150, 147, 142)
PAVER, TIMBER = linear(190, 180, 164), linear(164, 118, 76)


@lru_cache(maxsize=8)
def _fractal(seed: int, power: float, side=TILE_MM):
    """Noise that repeats after one tile (1 mm a pixel), standard deviation 1."""
    rng = np.random.default_rng(seed)
    wave = np.fft.fftfreq(side).astype(np.float32)
    rate = np.hypot(wave[:, None], wave[None, : side // 2 + 1])
    rate[0, 0] = 1
    spectrum = np.fft.rfft2(rng.standard_normal((side, side), np.float32)) * rate**-power
    spectrum[0, 0] = 0
    tile = np.fft.irfft2(spectrum).astype(np.float32)
    return tile / tile.std()


@lru_cache(maxsize=4)
def _stones(seed: int, smallest_mm: float, largest_mm: float, count: int):
    """Stones strewn over a tile: their height (mm) and a tone for each."""
    rng = np.random.default_rng(seed)
    height = np.zeros((TILE_MM, TILE_MM), np.float32)
    tone = np.zeros((TILE_MM, TILE_MM), np.float32)
    sizes = np.sort(smallest_mm * (largest_mm / smallest_mm) ** rng.random(count) ** 2.2)
    for radius in sizes[::-1] if count < 2000 else rng.permutation(sizes):
        reach = int(radius * 1.4) + 2
        grid = np.arange(-reach, reach + 1, dtype=np.float32)
        angle, squash = rng.uniform(0, np.pi), rng.uniform(0.6, 1.0)
        cx, cy = rng.integers(0, TILE_MM, 2)
        u = grid[None, :] * np.cos(angle) + grid[:, None] * np.sin(angle)
        v = (grid[:, None] * np.cos(angle) - grid[None, :] * np.sin(angle)) / squash
        corner = np.abs(u) ** 2.6 + np.abs(v) ** 2.6
        dome = 1 - corner / radius**2.6
        dome = np.sqrt(np.clip(dome, 0, 1)) * radius * 0.75
        index = np.ix_((cy + grid.astype(int)) % TILE_MM, (cx + grid.astype(int)) % TILE_MM)
        lift = rng.uniform(0, radius * 0.5)
        old = height[index]
        above = (dome > 0) & (dome + lift > old)
        height[index] = np.where(above, dome + lift, old)
        tone[index] = np.where(above, rng.uniform(-1, 1), tone[index])
    return height, tone


def _sample(tile, across, out):
    return tile[out.astype(np.int32) % TILE_MM, across.astype(np.int32) % TILE_MM]


def cover(
    canvas: Canvas,
    surface: str,
    *,
    level_mm: float = 0.0,
    heap=None,
    gap_mm: float = 0.0,
    rough_mm: float | None = None,
):
    """Lay ground over the foot of the wall.

    surface: soil, sand, gravel, paving or deck. level_mm: where it meets the wall.
    heap: extra height in mm for each column (a 1-row array), for soil thrown against the wall.
    gap_mm: a clear gap between the wall and the edge of paving or a deck.
    """
    loose = surface in ("soil", "sand", "gravel")
    edge = np.full((1, canvas.columns), level_mm, np.float32)
    if loose:
        rough = {"soil": 5.0, "sand": 2.0, "gravel": 5.0}[surface]
        rough = rough if rough_mm is None else rough_mm
        edge = (
            edge + (canvas.noise("foot", 45)[:1] + canvas.noise("foot-fine", 9)[:1] * 0.4) * rough
        )
    smooth = np.float32(level_mm)
    if heap is not None:
        edge, smooth = edge + heap, smooth + heap
    top_row = int(np.clip(canvas.row_of(float(edge.max()) + 12), 0, canvas.rows - 1))
    window = (slice(top_row, canvas.rows), slice(None))
    y, x = canvas.y_mm[window[0]], canvas.x_mm
    drop_mm = canvas.camera_height_mm - y
    k = np.clip(drop_mm / np.float32(canvas.camera_height_mm - level_mm), 0.3, 4)
    away = canvas.distance_mm * (1 - 1 / k)
    across = x / k
    painted = _PAINT[surface](canvas, across, away)
    colour, bumps = painted[0], painted[1]
    below = edge - y
    if loose:
        below = below + np.clip(bumps, -8, 10) * 0.55
    mask = step(below - gap_mm * canvas.camera_height_mm / canvas.distance_mm, 1.6)
    if gap_mm:
        hole = step(below, 1.6)
        canvas.blend(hole, linear(24, 20, 18), window)
        canvas.relief[window] += (-40 - canvas.relief[window]) * hole
    heaped = 0 if heap is None else np.clip(np.minimum(smooth - y, heap), 0, None) * 0.7
    relief = np.maximum(away, 0) + heaped + bumps
    canvas.blend(mask, colour, window)
    canvas.relief[window] += (relief - canvas.relief[window]) * mask
    if canvas.gloss is not None:
        canvas.gloss[window] *= 1 - mask
    _contact(canvas, window, below)
    return edge


def _contact(canvas, window, below):
    """The dark, damp line where ground and wall meet."""
    near = np.exp(-np.abs(below) / 14) * 0.40
    canvas.albedo[window] *= (1 - near)[..., None]


def _soil(canvas, across, away):
    fine, broad = _fractal(11, 0.9), _fractal(12, 1.5)
    height, tone = _stones(13, 1.6, 15.0, 2200)
    offset = canvas.rng("ground").integers(0, TILE_MM)
    a, b = across + offset, away * 1.3 + offset
    grain, clods = _sample(fine, a, b), _sample(broad, a, b)
    stone, shade = _sample(height, a, b), _sample(tone, a, b)
    bumps = grain * 1.1 + clods * 2.6 + stone * 0.55
    light = 1 + grain * 0.13 + clods * 0.10 + shade * 0.10
    return SOIL * np.clip(light, 0.3, 2)[..., None], bumps


def _sand(canvas, across, away):
    fine, broad = _fractal(21, 0.6), _fractal(22, 1.8)
    offset = canvas.rng("ground").integers(0, TILE_MM)
    a, b = across + offset, away + offset
    grain, dunes = _sample(fine, a, b), _sample(broad, a, b)
    return SAND * (1 + grain * 0.10 + dunes * 0.05)[..., None], grain * 0.6 + dunes * 3.0


def _gravel(canvas, across, away):
    height, tone = _stones(31, 4.0, 11.0, 9000)
    fine = _fractal(32, 0.5)
    offset = canvas.rng("ground").integers(0, TILE_MM)
    a, b = across + offset, away + offset
    stone, shade = _sample(height, a, b), _sample(tone, a, b)
    light = 0.75 + shade * 0.30 + stone * 0.022 + _sample(fine, a, b) * 0.05
    warm = np.array([1.06, 1.0, 0.92], np.float32)
    mixed = GRAVEL * np.where((shade > 0.3)[..., None], warm, np.float32(1.0))
    return mixed * np.clip(light, 0.25, 1.6)[..., None], stone * 1.0


def _paving(canvas, across, away):
    side, joint = 400.0, 6.0
    grain = _sample(_fractal(41, 0.6), across + 37, away + 11)
    blotch = _sample(_fractal(42, 1.4), across, away)
    u = np.mod(across + 130, side)
    v = np.mod(away + 0.0, side)
    inside = np.minimum(np.minimum(u, side - u), np.minimum(v + 8, side - v))
    face = step(inside - joint / 2 + grain * 0.4, 2)
    piece = (np.floor((across + 130) / side) * 7 + np.floor(away / side) * 13) % 5
    tone = 1 + grain * 0.07 + blotch * 0.06 + (piece - 2) * 0.035
    colour = PAVER * tone[..., None]
    sand = SAND * (0.55 + 0.1 * grain)[..., None]
    bumps = grain * 0.35 + np.clip(inside, 0, 4) * face - 5 * (1 - face)
    return sand + (colour - sand) * face[..., None], bumps


def _deck(canvas, across, away):
    board, open_mm = 96.0, 6.0
    row = np.floor(away / board)
    v = away - row * board
    grain = _sample(_fractal(51, 1.1), across * 0.12 + row * 97, away * 2.4)
    streak = _sample(_fractal(52, 1.0), across * 0.05 + row * 31, away * 4.0)
    inside = np.minimum(v, board - open_mm - v)
    face = step(inside, 2)
    tone = 1 + grain * 0.08 + streak * 0.10 + (np.mod(row * 37, 5) - 2) * 0.05
    groove = np.abs(np.sin(v * (np.pi / 12))) * 0.8
    colour = TIMBER * np.clip(tone, 0.4, 1.6)[..., None] * (0.9 + 0.1 * groove[..., None])
    dark = linear(26, 20, 16)
    bumps = np.clip(inside, 0, 4) + groove * 1.2 + grain * 0.3 - 22 * (1 - face)
    return dark + (colour - dark) * face[..., None], bumps


_PAINT = {"soil": _soil, "sand": _sand, "gravel": _gravel, "paving": _paving, "deck": _deck}
