"""The sheet a demo photo is painted on: colour and relief of a wall, in millimetres.

Every painter writes two fields: `albedo` (linear colour, 0 to 1, shape rows x columns x 3) and
`relief` (mm out of the wall's plane, towards the camera). Light is added once, at the end, from
the relief, so that a joint, a clod of soil and a tap are all shaded by the same sun.
"""

from __future__ import annotations

import zlib
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from PIL import Image

TILE_PX = 1024
FEWEST_LUMPS = 16
"""A tile of noise with fewer lumps than this on a side would be seen to repeat."""


def linear(red: int, green: int, blue: int) -> np.ndarray:
    """An sRGB colour (0 to 255 each) as linear light, with a gamma of 2 for speed."""
    return (np.array([red, green, blue], np.float32) / 255) ** 2


def resized(field_: np.ndarray, rows: int, columns: int, how=Image.Resampling.BICUBIC):
    """A float32 field brought to another size."""
    return np.asarray(Image.fromarray(field_).resize((columns, rows), how))


def step(value, width=1.0):
    """0 below zero, 1 above, with a soft edge of `width` (same unit as value)."""
    return np.clip(value / width + 0.5, 0, 1)


def shaded(colour, tone) -> np.ndarray:
    """A colour, lighter and darker by `tone` (rows x columns): rows x columns x 3.

    Like all coloured fields it lies in memory one primary after another, which is several times
    as fast to compute with as three numbers side by side.
    """
    return np.moveaxis(np.asarray(colour)[:, None, None] * tone, 0, 2)


def _lumps_in_tile(size_px: float) -> int:
    """How many lumps of a size fit a tile, in steps of a fifth so that few tiles are needed."""
    steps = round(4 * np.log2(max(size_px, 1.0)))
    return round(TILE_PX / 2 ** (steps / 4))


@lru_cache(maxsize=96)
def _tile(tall: int, wide: int) -> np.ndarray:
    """Noise that repeats after TILE_PX, with so many lumps down and across."""
    rng = np.random.default_rng([tall, wide])
    lumps = rng.standard_normal((tall, wide), np.float32)
    if tall == wide == TILE_PX:
        return lumps * np.float32(0.6)
    around = Image.fromarray(np.pad(lumps, 4, mode="wrap"))
    box = (4, 4, 4 + wide, 4 + tall)
    return np.asarray(around.resize((TILE_PX, TILE_PX), Image.Resampling.BICUBIC, box))


def _repeats(start: int, length: int):
    """Where the stretches of a repeating tile go: pairs of slices, of the sheet and the tile."""
    at = 0
    while at < length:
        begin = (start + at) % TILE_PX
        count = min(TILE_PX - begin, length - at)
        yield slice(at, at + count), slice(begin, begin + count)
        at += count


@dataclass
class Canvas:
    """A stretch of wall, seen square on.

    x_mm runs to the right from the middle of the picture; y_mm runs up from where the ground
    meets the wall. `camera_height_mm` and `distance_mm` give the ground its perspective. `palette`
    chooses the bricks (an index of brickwork.PALETTES; None: by the seed).
    """

    seed: int
    rows: int
    columns: int
    mm_per_px: float
    bottom_mm: float
    camera_height_mm: float = 1000.0
    distance_mm: float = 1700.0
    palette: int | None = None
    albedo: np.ndarray = field(init=False)
    relief: np.ndarray = field(init=False)
    gloss: np.ndarray | None = field(init=False, default=None)
    _noises: dict = field(init=False, default_factory=dict, repr=False)

    def __post_init__(self):
        self.albedo = np.moveaxis(np.zeros((3, self.rows, self.columns), np.float32), 0, 2)
        self.relief = np.zeros((self.rows, self.columns), np.float32)
        across = (np.arange(self.columns, dtype=np.float32) + 0.5) - self.columns / 2
        self.x_mm = (across * self.mm_per_px)[None, :]
        up = self.rows - (np.arange(self.rows, dtype=np.float32) + 0.5)
        self.y_mm = (up * self.mm_per_px + self.bottom_mm).astype(np.float32)[:, None]

    def rng(self, name: str) -> np.random.Generator:
        """Random numbers for one purpose: others don't shift when a defect is fixed."""
        return np.random.default_rng([self.seed, zlib.crc32(name.encode())])

    def noise(self, name: str, size_mm: float, stretch: float = 1.0) -> np.ndarray:
        """Smooth noise, about -1 to 1 (standard deviation near 0.6), with lumps of `size_mm`.

        `stretch` above 1 draws the lumps out sideways; below 1, upwards.
        """
        key = (name, size_mm, stretch)
        if key not in self._noises:
            self._noises[key] = self._new_noise(*key)
        return self._noises[key]

    def _new_noise(self, name, size_mm, stretch):
        rng = self.rng(name)
        size_px = size_mm / self.mm_per_px
        lumps = _lumps_in_tile(size_px), _lumps_in_tile(size_px * stretch)
        if min(lumps) < FEWEST_LUMPS:
            return self._broad_noise(rng, size_mm, stretch)
        tile = _tile(*lumps)
        top, left = rng.integers(0, TILE_PX, 2).tolist()
        field_ = np.empty((self.rows, self.columns), np.float32)
        for down, tile_down in _repeats(top, self.rows):
            for across, tile_across in _repeats(left, self.columns):
                field_[down, across] = tile[tile_down, tile_across]
        return field_

    def _broad_noise(self, rng, size_mm, stretch):
        tall = max(2, int(self.rows * self.mm_per_px / size_mm) + 2)
        wide = max(2, int(self.columns * self.mm_per_px / (size_mm * stretch)) + 2)
        tall, wide = min(tall, self.rows), min(wide, self.columns)
        return resized(rng.standard_normal((tall, wide), np.float32), self.rows, self.columns)

    def row_of(self, y_mm: float) -> float:
        return self.rows - (y_mm - self.bottom_mm) / self.mm_per_px

    def column_of(self, x_mm: float) -> float:
        return x_mm / self.mm_per_px + self.columns / 2

    def window(self, left_mm, bottom_mm, right_mm, top_mm):
        """Slices of the rows and columns that a box in mm covers (may be empty), clipped."""
        rows = slice(
            int(np.clip(self.row_of(top_mm), 0, self.rows)),
            int(np.clip(self.row_of(bottom_mm) + 1, 0, self.rows)),
        )
        columns = slice(
            int(np.clip(self.column_of(left_mm), 0, self.columns)),
            int(np.clip(self.column_of(right_mm) + 1, 0, self.columns)),
        )
        return rows, columns

    def band(self, bottom_mm, top_mm):
        """The window that reaches right across the picture between two levels."""
        return self.window(-1e5, bottom_mm, 1e5, top_mm)

    def blend(self, mask: np.ndarray, colour, window=(slice(None), slice(None))):
        """Lay a colour (one, or one for each pixel) over the wall where mask is near 1."""
        part = self.albedo[window]
        part += (colour - part) * mask[..., None]

    def shine(self, mask: np.ndarray, window=(slice(None), slice(None))):
        """Make a part of the picture reflect the light (wet, metal, paint)."""
        if self.gloss is None:
            self.gloss = np.zeros((self.rows, self.columns), np.float32)
        self.gloss[window] = np.maximum(self.gloss[window], mask)
