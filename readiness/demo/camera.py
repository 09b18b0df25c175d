"""What a phone makes of a picture: a JPEG file, with what its camera knew written into it."""

from __future__ import annotations

import io
from datetime import datetime
from typing import Any

from PIL import Image
from PIL.TiffImagePlugin import IFDRational

# Exif tag numbers, from CIPA DC-008 (Exif 2.31 and later).
MAKE, MODEL, ORIENTATION, SOFTWARE, CHANGED = 0x010F, 0x0110, 0x0112, 0x0131, 0x0132
EXIF_IFD, GPS_IFD = 0x8769, 0x8825
EXPOSURE, F_NUMBER, ISO, TAKEN, DIGITISED = 0x829A, 0x829D, 0x8827, 0x9003, 0x9004
OFFSET, OFFSET_TAKEN, OFFSET_DIGITISED, FOCAL = 0x9010, 0x9011, 0x9012, 0x920A

UPRIGHT, ON_ITS_SIDE = 1, 6
QUALITY = 88


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
    camera: tuple[str, str],
    position: tuple[float, float] | None,
    software: str | None = None,
) -> Image.Exif:
    """The metadata a phone would write.

    taken_at: aware times are turned into local time at `offset`; naive ones are local already.
    position: latitude and longitude in degrees.
    """
    exif = Image.Exif()
    exif[MAKE], exif[MODEL] = camera
    if software:
        exif[SOFTWARE] = software
    inner: dict[int, Any] = {
        EXPOSURE: IFDRational(1, 640),
        F_NUMBER: IFDRational(18, 10),
        ISO: 64,
        FOCAL: IFDRational(57, 10),
    }
    if taken_at is not None:
        if taken_at.tzinfo is not None and offset:
            taken_at = taken_at.astimezone(datetime.strptime(offset, "%z").tzinfo)
        text = taken_at.strftime("%Y:%m:%d %H:%M:%S")
        exif[CHANGED] = text
        inner |= {TAKEN: text, DIGITISED: text}
        if offset:
            inner |= {OFFSET: offset, OFFSET_TAKEN: offset, OFFSET_DIGITISED: offset}
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


def jpeg(image: Image.Image, exif: Image.Exif) -> bytes:
    """The file. A phone held upright stores its picture on its side, and says so."""
    is_tall = image.height > image.width
    exif[ORIENTATION] = ON_ITS_SIDE if is_tall else UPRIGHT
    stored = image.transpose(Image.Transpose.ROTATE_90) if is_tall else image
    buffer = io.BytesIO()
    stored.save(buffer, "JPEG", quality=QUALITY, exif=exif)
    return buffer.getvalue()
