"""What lies at the foot of the wall: soil, sand, gravel, paving or a deck, in perspective.

With the camera square to the wall, a point of the ground `s` mm in front of it is drawn lower
and larger by k = distance / (distance - s): that is all the perspective there is.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from .canvas import Canvas, linear, shaded, step

TILE_MM, EDGE_MM, SHAPES = 1024, 24, 128
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


def _stone(rng, radius: float):
    """One stone from above: its height (mm) on a square of millimetres, 0 outside it."""
    reach = int(radius * 1.4) + 2
    grid = np.arange(-reach, reach + 1, dtype=np.float32)
    angle, squash = rng.uniform(0, np.pi), rng.uniform(0.6, 1.0)
    u = grid[None, :] * np.cos(angle) + grid[:, None] * np.sin(angle)
    v = (grid[:, None] * np.cos(angle) - grid[None, :] * np.sin(angle)) / squash
    corner = np.abs(u) ** 2.6 + np.abs(v) ** 2.6
    return np.sqrt(np.clip(1 - corner / radius**2.6, 0, 1)) * np.float32(radius * 0.75)


@lru_cache(maxsize=4)
def _stones(seed: int, smallest_mm: float, largest_mm: float, count: int):
    """Stones strewn over a tile: their height (mm) and a tone for each."""
    rng = np.random.default_rng(seed)
    radii = smallest_mm * (largest_mm / smallest_mm) ** np.linspace(0, 1, SHAPES) ** 2.2
    shapes = [_stone(rng, radius) for radius in radii]
    side = TILE_MM + 2 * EDGE_MM
    height, tone = np.zeros((2, side, side), np.float32)
    places = rng.integers(EDGE_MM, EDGE_MM + TILE_MM, (count, 2)).tolist()
    which = rng.integers(0, SHAPES, count).tolist()
    lifts, shades = rng.uniform(0, 0.5, count), rng.uniform(-1, 1, count).astype(np.float32)
    for (row, column), shape, lift, shade in zip(places, which, lifts, shades, strict=True):
        dome, reach = shapes[shape], len(shapes[shape]) // 2
        index = (slice(row - reach, row + reach + 1), slice(column - reach, column + reach + 1))
        top = dome + np.float32(lift * radii[shape])
        above = (dome > 0) & (top > height[index])
        np.copyto(height[index], top, where=above)
        np.copyto(tone[index], shade, where=above)
    _join_edges(height, tone)
    inner = (slice(EDGE_MM, -EDGE_MM), slice(EDGE_MM, -EDGE_MM))
    return height[inner], tone[inner]


def _join_edges(height, tone):
    """Let what lies over an edge of the tile lie inside the opposite edge."""
    for _ in range(2):
        for over, inside in (
            (slice(None, EDGE_MM), slice(-2 * EDGE_MM, -EDGE_MM)),
            (slice(-EDGE_MM, None), slice(EDGE_MM, 2 * EDGE_MM)),
        ):
            above = height[over] > height[inside]
            np.copyto(height[inside], height[over], where=above)
            np.copyto(tone[inside], tone[over], where=above)
        height, tone = height.T, tone.T


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
    edge: np.ndarray = np.full((1, canvas.columns), level_mm, np.float32)
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
    return shaded(SOIL, np.clip(light, 0.3, 2)), bumps


def _sand(canvas, across, away):
    fine, broad = _fractal(21, 0.6), _fractal(22, 1.8)
    offset = canvas.rng("ground").integers(0, TILE_MM)
    a, b = across + offset, away + offset
    grain, dunes = _sample(fine, a, b), _sample(broad, a, b)
    return shaded(SAND, 1 + grain * 0.10 + dunes * 0.05), grain * 0.6 + dunes * 3.0


def _gravel(canvas, across, away):
    height, tone = _stones(31, 4.0, 11.0, 9000)
    fine = _fractal(32, 0.5)
    offset = canvas.rng("ground").integers(0, TILE_MM)
    a, b = across + offset, away + offset
    stone, shade = _sample(height, a, b), _sample(tone, a, b)
    light = 0.75 + shade * 0.30 + stone * 0.022 + _sample(fine, a, b) * 0.05
    colour = shaded(GRAVEL, np.clip(light, 0.25, 1.6))
    colour[shade > 0.3] *= np.array([1.06, 1.0, 0.92], np.float32)
    return colour, stone


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
    colour = shaded(PAVER, tone)
    sand = shaded(SAND, 0.55 + 0.1 * grain)
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
    colour = shaded(TIMBER, np.clip(tone, 0.4, 1.6) * (0.9 + 0.1 * groove))
    dark = linear(26, 20, 16)
    bumps = np.clip(inside, 0, 4) + groove * 1.2 + grain * 0.3 - 22 * (1 - face)
    return dark + (colour - dark) * face[..., None], bumps


_PAINT = {"soil": _soil, "sand": _sand, "gravel": _gravel, "paving": _paving, "deck": _deck}
