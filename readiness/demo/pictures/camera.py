"""The phone: where it stood, what its lens and sensor do, and what it writes into the file."""

from __future__ import annotations

import io
from dataclasses import dataclass
from datetime import datetime, timedelta, timezone
from functools import lru_cache
from typing import Any

import numpy as np
from PIL import Image, ImageChops
from PIL.TiffImagePlugin import IFDRational

GRAIN_PX = 512
MARGIN = 0.06
"""How much more wall is painted than is seen, on each side, as a share of the width."""


@dataclass(frozen=True)
class View:
    """Where each millimetre of the wall's face landed in the picture."""

    wall_to_pixel: np.ndarray
    mm_per_px: float

    def pixel_of(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Pixel (from the left, from the top) of a point on the wall's face."""
        u, v, w = self.wall_to_pixel @ (x_mm, y_mm, 1.0)
        return u / w, v / w


def homography(source, target) -> np.ndarray:
    """The 3 x 3 matrix that takes four points onto four others."""
    rows = []
    for (x, y), (u, v) in zip(source, target, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y])
    answer = np.linalg.solve(np.array(rows, float), np.array(target, float).reshape(-1))
    return np.append(answer, 1).reshape(3, 3)


def corners_seen(columns, rows, rng) -> list[tuple[float, float]]:
    """The four corners of the frame on the painted sheet: never quite square."""
    inset = columns * MARGIN
    wobble = inset * 0.55
    square = [(inset, inset), (columns - inset, inset)]
    square += [(columns - inset, rows - inset), (inset, rows - inset)]
    tilt = rng.uniform(-0.012, 0.012)
    middle = (columns / 2, rows / 2)
    return [
        (
            x + rng.uniform(-wobble, wobble) * 0.6 - (y - middle[1]) * tilt,
            y + rng.uniform(-wobble, wobble) * 0.6 + (x - middle[0]) * tilt,
        )
        for x, y in square
    ]


def straight(sheet: Image.Image, corners, width_px, height_px) -> Image.Image:
    """What the camera sees of the sheet: the four corners brought to those of the frame."""
    frame = [(0, 0), (width_px, 0), (width_px, height_px), (0, height_px)]
    back = homography(frame, corners)
    return sheet.transform(
        (width_px, height_px),
        Image.Transform.PERSPECTIVE,
        tuple((back / back[2, 2]).reshape(-1)[:8]),
        Image.Resampling.BICUBIC,
    )


def taken(seen: Image.Image, width_px, height_px, rng) -> Image.Image:
    """What was seen, with the tone curve and the grain of a small sensor, at the photo's size."""
    level = np.linspace(0, 1, 256)
    curve = level + 0.10 * np.sin((level - 0.5) * 2 * np.pi) * 0.55
    table = (np.clip(curve, 0, 1) * 255).astype(int).tolist()
    tints = rng.uniform(0.97, 1.03, 3)
    tables = [min(255, int(value * tint)) for tint in tints for value in table]
    toned = seen.point(tables)
    return _grainy(toned.resize((width_px, height_px), Image.Resampling.BICUBIC), rng)


@lru_cache(maxsize=1)
def _grain() -> Image.Image:
    rng = np.random.default_rng(GRAIN_PX)
    luminance = rng.normal(0, 3.2, (GRAIN_PX, GRAIN_PX, 1))
    noise = np.clip(luminance + rng.normal(0, 1.8, (GRAIN_PX, GRAIN_PX, 3)) + 128, 0, 255)
    return Image.fromarray(noise.astype(np.uint8))


def _grainy(image, rng):
    sheet = Image.new("RGB", image.size)
    first_left, first_top = (-rng.integers(0, GRAIN_PX, 2)).tolist()
    for left in range(first_left, image.width, GRAIN_PX):
        for top in range(first_top, image.height, GRAIN_PX):
            sheet.paste(_grain(), (left, top))
    return ImageChops.add(image, sheet, 1, -128)


# Exif tag numbers, from CIPA DC-008 (Exif 2.31 and later).
MAKE, MODEL, ORIENTATION, SOFTWARE, CHANGED = 0x010F, 0x0110, 0x0112, 0x0131, 0x0132
EXIF_IFD, GPS_IFD = 0x8769, 0x8825
EXPOSURE, F_NUMBER, ISO, TAKEN, DIGITISED = 0x829A, 0x829D, 0x8827, 0x9003, 0x9004
OFFSET, OFFSET_TAKEN, OFFSET_DIGITISED, FOCAL = 0x9010, 0x9011, 0x9012, 0x920A

# How the stored pixels must lie for a viewer that obeys the tag to show them upright.
_STORED = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_90,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_270,
}


def _zone(offset: str) -> timezone:
    sign = -1 if offset.startswith("-") else 1
    hours, minutes = offset.lstrip("+-").split(":")
    return timezone(sign * timedelta(hours=int(hours), minutes=int(minutes)))


def _sexagesimal(degrees: float):
    degrees = abs(degrees)
    minutes = (degrees % 1) * 60
    return (
        IFDRational(int(degrees), 1),
        IFDRational(int(minutes), 1),
        IFDRational(round((minutes % 1) * 60 * 100), 100),
    )


def exif_of(
    taken_at: datetime | None,
    offset: str | None,
    camera: tuple[str, str] | None,
    position: tuple[float, float] | None,
    orientation: int,
    software: str | None = None,
) -> Image.Exif:
    """The metadata a phone would write.

    taken_at: aware times are turned into local time at `offset`; naive ones are local already.
    position: latitude and longitude in degrees.
    """
    exif = Image.Exif()
    exif[ORIENTATION] = orientation
    if camera:
        exif[MAKE], exif[MODEL] = camera
    if software:
        exif[SOFTWARE] = software
    inner: dict[int, Any] = {}
    if taken_at is not None:
        if taken_at.tzinfo is not None and offset:
            taken_at = taken_at.astimezone(_zone(offset))
        text = taken_at.strftime("%Y:%m:%d %H:%M:%S")
        exif[CHANGED] = text
        inner = {TAKEN: text, DIGITISED: text}
        if offset:
            inner |= {OFFSET: offset, OFFSET_TAKEN: offset, OFFSET_DIGITISED: offset}
    if camera:
        inner |= {
            EXPOSURE: IFDRational(1, 640),
            F_NUMBER: IFDRational(18, 10),
            ISO: 64,
            FOCAL: IFDRational(57, 10),
        }
    if inner:
        exif.get_ifd(EXIF_IFD).update(inner)
    if position is not None:
        latitude, longitude = position
        exif.get_ifd(GPS_IFD).update(
            {
                1: "N" if latitude >= 0 else "S",
                2: _sexagesimal(latitude),
                3: "E" if longitude >= 0 else "W",
                4: _sexagesimal(longitude),
            }
        )
    return exif


def encode(image: Image.Image, exif: Image.Exif, *, quality=88) -> bytes:
    """JPEG bytes, with the pixels turned as the Exif orientation says they lie."""
    turn = _STORED.get(exif.get(ORIENTATION, 1))
    if turn is not None:
        image = image.transpose(turn)
    buffer = io.BytesIO()
    image.save(buffer, "JPEG", quality=quality, exif=exif)
    return buffer.getvalue()


def with_exif(jpeg: bytes, exif: Image.Exif) -> bytes:
    """A JPEG file without metadata, with an Exif segment put in right after its start."""
    segment = exif.tobytes()
    if not segment.startswith(b"Exif"):
        segment = b"Exif\x00\x00" + segment
    return jpeg[:2] + b"\xff\xe1" + (len(segment) + 2).to_bytes(2, "big") + segment + jpeg[2:]
