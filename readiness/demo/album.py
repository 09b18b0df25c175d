"""The demo's photos: the pictures of `pictures/`, handed out as the files of a phone.

No camera took them and they show nobody's house: they were drawn for this project. A file is named
after the site's job number and the kind of defect; `-fixed` shows the same wall put right, `-tape`
the tape on it from closer, where the picture of the whole is too small for its numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from PIL import Image

from readiness.demo import camera

FOLDER = Path(__file__).parent / "pictures"
MAKE = "Fernhill Instruments"
SIZES = {"small": (1280, 960), "usual": (1600, 1200), "tall": (960, 1280), "full": (4032, 3024)}
"""Width and height in pixels; "full" is a 12-megapixel photo."""


@dataclass(frozen=True)
class Shot:
    """A picture by its name in the folder, and which of SIZES its photo has."""

    name: str
    size: str = "small"


def photo_file(
    shot: Shot,
    *,
    taken_at: datetime | None = None,
    offset: str | None = None,
    position: tuple[float, float] | None = None,
    software: str | None = None,
) -> bytes:
    """The photo as a phone's JPEG. With no `taken_at`, the camera tells nothing about time."""
    model = "Demo camera 12" if shot.size == "full" else "Demo camera"
    exif = camera.exif_of(taken_at, offset, (MAKE, model), position, software)
    return camera.jpeg(_picture(shot), exif)


def _picture(shot: Shot) -> Image.Image:
    with Image.open(FOLDER / f"{shot.name}.webp") as image:
        return image.convert("RGB").resize(SIZES[shot.size], Image.Resampling.BICUBIC)
