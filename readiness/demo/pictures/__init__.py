"""Demo photos, drawn by this project: lower brickwork with a defect in place, or fixed.

No camera took them and they show nobody's house. The same kind and seed always give the same
wall; `fixed` shows that wall again, another day, with the defect put right.
"""

from __future__ import annotations

import zlib
from datetime import datetime

import numpy as np
from PIL import Image

from .camera import MARGIN, View, corners_seen, encode, exif_of, homography, straight, taken
from .canvas import Canvas
from .light import Light, lit
from .scenes import SCENES

KINDS = tuple(SCENES)
WORKING_WIDTH_PX = 1440
"""Walls are painted no wider than this and then enlarged: sharp enough for a phone, and quick."""


def _take(kind, *, fixed, seed, width_px, height_px, palette=None):
    scene = SCENES[kind]
    width_mm = scene.width_mm * (0.78 if height_px > width_px else 1.0)
    widest = WORKING_WIDTH_PX if width_px >= height_px else WORKING_WIDTH_PX * 3 // 4
    working = min(width_px, max(5 * width_px // 8, 640), widest)
    inner_rows = round(working * height_px / width_px)
    columns = round(working / (1 - 2 * MARGIN))
    inset = columns * MARGIN
    rows = round(inner_rows + 2 * inset)
    mm_per_px = width_mm / working
    canvas = Canvas(
        seed=zlib.crc32(f"{kind}:{seed}".encode()),
        rows=rows,
        columns=columns,
        mm_per_px=mm_per_px,
        bottom_mm=-(scene.ground_mm + inset * mm_per_px),
        distance_mm=max(900.0, width_mm * 1.15),
        camera_height_mm=max(650.0, width_mm * 0.72),
        palette=palette,
    )
    scene.paint(canvas, fixed)
    visit = np.random.default_rng([canvas.seed, 2 if fixed else 1])
    sheet = lit(canvas, Light.of(visit))
    corners = corners_seen(columns, rows, visit)
    seen = straight(sheet, corners, working, inner_rows)
    image = taken(seen, width_px, height_px, visit)
    frame = [(0, 0), (width_px, 0), (width_px, height_px), (0, height_px)]
    to_sheet = np.array(
        [
            [1 / mm_per_px, 0, columns / 2],
            [0, -1 / mm_per_px, rows + canvas.bottom_mm / mm_per_px],
            [0, 0, 1],
        ]
    )
    view = View(homography(corners, frame) @ to_sheet, width_mm / width_px)
    return image, view


def draw(
    kind: str,
    *,
    fixed: bool = False,
    seed: int = 0,
    width_px: int = 4032,
    height_px: int = 3024,
    palette: int | None = None,
) -> Image.Image:
    """A photo of one kind of defect (see KINDS), or of the same place after the fix.

    `palette` (0 to 4) chooses the bricks, so that all photos of a house show the same ones; None
    leaves it to the seed. Raises KeyError for a kind that has no scene.
    """
    size = {"width_px": width_px, "height_px": height_px}
    return _take(kind, fixed=fixed, seed=seed, palette=palette, **size)[0]


def draw_to_scale(kind: str, **options) -> tuple[Image.Image, View]:
    """The same, with the View that says where each millimetre of the wall landed."""
    settings = {"fixed": False, "seed": 0, "width_px": 4032, "height_px": 3024} | options
    return _take(kind, **settings)


def jpeg_bytes(
    kind: str,
    *,
    fixed: bool = False,
    seed: int = 0,
    width_px: int = 4032,
    height_px: int = 3024,
    taken_at: datetime | None = None,
    offset: str | None = "+11:00",
    camera: tuple[str, str] | None = ("Fernhill Instruments", "Demo camera"),
    position: tuple[float, float] | None = None,
    orientation: int = 1,
    software: str | None = None,
    quality: int = 88,
) -> bytes:
    """The photo as a phone's JPEG file, with Exif data.

    Width and height are those of the upright picture; `orientation` (1 to 8) says how the pixels
    are stored. See camera.exif_of for the rest.
    """
    image = draw(kind, fixed=fixed, seed=seed, width_px=width_px, height_px=height_px)
    exif = exif_of(taken_at, offset, camera, position, orientation, software)
    return encode(image, exif, quality=quality)
