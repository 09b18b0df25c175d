"""Small pictures for tests, made here: a turned landmark, camera facts, all kinds of files."""

import io
import struct
import zlib

import numpy as np
import pillow_heif
from PIL import Image, ImageDraw
from PIL.TiffImagePlugin import IFDRational

pillow_heif.register_heif_opener()

RED, GREEN, BLUE, WHITE = (200, 30, 30), (30, 160, 60), (30, 60, 200), (240, 240, 240)


def landmark(width: int = 320, height: int = 200) -> Image.Image:
    """Four corners in four colours, so that any turn or mirroring shows."""
    picture = Image.new("RGB", (width, height), "grey")
    draw = ImageDraw.Draw(picture)
    w, h = width // 3, height // 3
    draw.rectangle((0, 0, w, h), RED)
    draw.rectangle((width - w, 0, width, h), GREEN)
    draw.rectangle((0, height - h, w, height), BLUE)
    draw.rectangle((width - w, height - h, width, height), WHITE)
    return picture


def corners(picture: Image.Image) -> list[str]:
    """Names of the corner colours of a landmark: top left, top right, bottom left, bottom right."""
    names = {"red": RED, "green": GREEN, "blue": BLUE, "white": WHITE}
    picture = picture.convert("RGB")
    w, h = picture.size
    spots = [(w // 8, h // 8), (w - w // 8, h // 8), (w // 8, h - h // 8), (w - w // 8, h - h // 8)]

    def nearest(pixel):
        return min(
            names, key=lambda n: sum((a - b) ** 2 for a, b in zip(names[n], pixel, strict=True))
        )

    return [nearest(picture.getpixel(spot)) for spot in spots]


def exif_with(**facts) -> Image.Exif:
    """Exif with any of: orientation, taken, offset, make, model, software, lat, lon (degrees)."""
    exif = Image.Exif()
    inner, gps = {}, {}
    for name, tag in (("orientation", 274), ("make", 271), ("model", 272), ("software", 305)):
        if name in facts:
            exif[tag] = facts[name]
    if "taken" in facts:
        inner[36867] = facts["taken"]
    if "offset" in facts:
        inner[36881] = facts["offset"]
    if "comment" in facts:
        inner[37510] = b"ASCII\0\0\0" + facts["comment"].encode()
    if "lat" in facts:
        gps = {
            1: "S" if facts["lat"] < 0 else "N",
            2: _sexagesimal(abs(facts["lat"])),
            3: "W" if facts["lon"] < 0 else "E",
            4: _sexagesimal(abs(facts["lon"])),
        }
    if inner:
        exif._ifds[34665] = inner
        exif[34665] = inner
    if gps:
        exif._ifds[34853] = gps
        exif[34853] = gps
    return exif


def _sexagesimal(value: float) -> tuple:
    whole = int(value)
    minutes = int((value - whole) * 60)
    seconds = (value - whole - minutes / 60) * 3600
    return (
        IFDRational(whole, 1),
        IFDRational(minutes, 1),
        IFDRational(round(seconds * 10000), 10000),
    )


def jpeg(picture: Image.Image | None = None, *, quality: int = 85, **facts) -> bytes:
    out = io.BytesIO()
    extra = {"exif": exif_with(**facts)} if facts else {}
    (picture or landmark()).save(out, "JPEG", quality=quality, **extra)
    return out.getvalue()


def encoded(kind: str, picture: Image.Image | None = None, **options) -> bytes:
    out = io.BytesIO()
    (picture or landmark()).save(out, kind, **options)
    return out.getvalue()


def png_header_only(width: int, height: int) -> bytes:
    """A PNG that claims a size and holds one empty data chunk."""
    header = struct.pack(">IIBBBBB", width, height, 1, 0, 0, 0, 0)
    chunks = ((b"IHDR", header), (b"IDAT", zlib.compress(b"\0" * 1000)), (b"IEND", b""))
    return b"\x89PNG\r\n\x1a\n" + b"".join(png_chunk(*chunk) for chunk in chunks)


def png_chunk(name: bytes, body: bytes) -> bytes:
    checksum = struct.pack(">I", zlib.crc32(name + body))
    return struct.pack(">I", len(body)) + name + body + checksum


def scene(seed: int, size=(1200, 900)) -> Image.Image:
    """A random but smooth picture, different for each seed, like no other."""
    noise = np.random.default_rng(seed).integers(0, 255, (9, 12, 3), dtype=np.uint8)
    return Image.fromarray(noise).resize(size, Image.Resampling.BICUBIC)
