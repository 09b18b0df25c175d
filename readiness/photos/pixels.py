"""Decoding one picture: whole, upright, in sRGB, small enough to show.

Runs in the decoder process (see ``worker``), never in the web server: the files are untrusted and
libraries there have other settings (importing WeasyPrint makes Pillow accept truncated files).
"""

import io
import re
import warnings
from functools import lru_cache

import pillow_heif
from PIL import AvifImagePlugin, ExifTags, Image, ImageCms, ImageFile, ImageFilter, ImageOps

from readiness.photos import metadata, whole
from readiness.photos.limits import LARGE_PX, SMALL_PX, Limits

LARGE_QUALITY, SMALL_QUALITY = 80, 75
# The small size is first shrunk by whole steps, down to this many times its own size: faster, and
# no difference to see at 400 px.
REDUCING_GAP = 2.0
BLUR_CELLS = 4
FINGERPRINT_SIZE = (9, 8)
# Below this mean step between neighbouring grey values a picture is too plain for a fingerprint.
PLAIN_STEP = 0.75

FORMATS = {kind: [kind] for kind in ("JPEG", "PNG", "WEBP", "HEIF", "AVIF")}
# Their decoders fill what is missing: the file is looked at first.
LENIENT = {"HEIF", "AVIF"}


class UnreadableError(Exception):
    """The picture was refused; ``problem`` is a code of ``limits.explain``."""

    def __init__(self, problem: str, **details):
        self.problem, self.details = problem, details
        super().__init__(problem)


def prepare_libraries(limits: Limits) -> None:
    """Set the strict switches of the picture libraries for this whole process."""
    pillow_heif.register_heif_opener(thumbnails=False, depth_images=False, aux_images=False)
    AvifImagePlugin.DEFAULT_MAX_THREADS = 1
    ImageFile.LOAD_TRUNCATED_IMAGES = False
    Image.MAX_IMAGE_PIXELS = limits.pixels
    warnings.simplefilter("error", Image.DecompressionBombWarning)


def fit(size: tuple[int, int], longest_px: int) -> tuple[int, int]:
    """The size with the same shape, its longer side at most ``longest_px``; never enlarged."""
    width, height = size
    longest = max(size)
    if longest <= longest_px:
        return width, height
    return (
        max(1, round(width * longest_px / longest)),
        max(1, round(height * longest_px / longest)),
    )


def read(path: str, kind: str, limits: Limits, blurs=(), *, fingerprint: bool = True) -> dict:
    """Decode the picture once and make everything that needs its pixels.

    Answers with ``width_px`` and ``height_px`` as displayed, ``orientation`` (Exif 1 to 8),
    ``frames``, ``facts`` (see ``metadata.from_exif``), ``notes``, ``fingerprint`` (unsigned 64-bit
    or None) and the JPEG bytes ``large`` and ``small``. Raises ``UnreadableError``.
    """
    try:
        if kind in LENIENT:
            whole.require_whole(path)
        with Image.open(path, formats=FORMATS[kind]) as picture:
            return _read_open(picture, kind, limits, blurs, fingerprint)
    except UnreadableError:
        raise
    except (Image.DecompressionBombError, Image.DecompressionBombWarning) as error:
        pixels = re.search(r"\((\d+) pixels\)", str(error))
        details = {"megapixels": round(int(pixels[1]) / 1e6, 1)} if pixels else {}
        raise UnreadableError("too_many_pixels", **details) from error
    except MemoryError as error:
        raise UnreadableError("too_much_memory") from error
    except Exception as error:  # decoders fail in every way a hostile file can think of
        raise UnreadableError("broken", reason=f"{type(error).__name__}: {error}"[:200]) from error


def grey(path: str):
    """A size of ours (JPEG) as grey values (rows, columns), and its width and height in pixels.

    Raises ``UnreadableError``.
    """
    import numpy as np  # only who measures pays for it

    try:
        with Image.open(path, formats=FORMATS["JPEG"]) as picture:
            values = np.asarray(picture.convert("L"), dtype=np.float32)
    except MemoryError:
        raise
    except Exception as error:
        raise UnreadableError("broken", reason=f"{type(error).__name__}: {error}"[:200]) from error
    return values, np.array([values.shape[1], values.shape[0]], float)


def _read_open(picture, kind: str, limits: Limits, blurs, fingerprint: bool) -> dict:
    width, height = picture.size
    if width * height > limits.pixels or max(width, height) > limits.side_px:
        raise UnreadableError("too_many_pixels", megapixels=round(width * height / 1e6, 1))
    exif = picture.getexif()
    orientation = _orientation(picture, exif, kind)
    frames = int(getattr(picture, "n_frames", 1) or 1)
    notes = []
    if frames > 1:
        notes.append(f"The file holds {frames} pictures; only the first is shown.")
    large = _upright(_shrunk(picture, kind), kind, orientation)
    xmp = picture.info.get("xmp") or b""  # in a PNG it may stand after the picture
    facts = metadata.from_exif(exif, xmp if isinstance(xmp, bytes) else str(xmp).encode())
    large, profile_note = _srgb(large, picture.info.get("icc_profile"), limits)
    if profile_note:
        notes.append(profile_note)
    turned = orientation >= 5 and kind != "HEIF"
    for box in blurs:
        _blur(large, box)
    small = large.resize(
        fit(large.size, SMALL_PX), Image.Resampling.BICUBIC, reducing_gap=REDUCING_GAP
    )
    return {
        "width_px": height if turned else width,
        "height_px": width if turned else height,
        "orientation": orientation,
        "frames": frames,
        "facts": facts,
        "notes": notes,
        "fingerprint": _fingerprint(small) if fingerprint else None,
        "large": _jpeg(large, LARGE_QUALITY),
        "small": _jpeg(small, SMALL_QUALITY),
    }


def _orientation(picture, exif, kind: str) -> int:
    """Exif orientation; a HEIF decoder has already turned the picture and kept the old value."""
    value = exif.get(ExifTags.Base.Orientation, 1)
    if kind == "HEIF":
        value = picture.info.get("original_orientation") or 1
    return value if isinstance(value, int) and 1 <= value <= 8 else 1


def _shrunk(picture, kind: str) -> Image.Image:
    """The whole picture decoded, at most ``LARGE_PX`` on its longer side.

    ``draft`` is asked for the exact fitted size, so that libjpeg decodes at half or a quarter of
    the scale; every byte of the scan is still read, so a truncated file still fails.
    """
    target = fit(picture.size, LARGE_PX)
    if kind == "JPEG":
        picture.draft(None, target)
    picture.load()
    shown = _eight_bit(picture)
    if shown.size == target:
        return shown.copy() if shown is picture else shown
    return shown.resize(target, Image.Resampling.BICUBIC)


def _eight_bit(picture) -> Image.Image:
    """RGB, L or CMYK with eight bits a channel; transparency laid on white."""
    if picture.mode in ("RGB", "L", "CMYK"):
        return picture
    if picture.mode.startswith("I"):
        return picture.point(lambda value: value * (1 / 256)).convert("L")
    if picture.mode in ("RGBA", "LA", "PA") or "transparency" in picture.info:
        layered = picture.convert("RGBA")
        ground = Image.new("RGB", layered.size, "white")
        ground.paste(layered, mask=layered.getchannel("A"))
        return ground
    return picture.convert("RGB")


TURNS = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}


def _upright(picture: Image.Image, kind: str, orientation: int) -> Image.Image:
    if kind == "HEIF" or orientation == 1:
        return picture
    return picture.transpose(TURNS[orientation])


@lru_cache(maxsize=8)
def _to_srgb(profile: bytes, mode: str):
    """The colour transform of a profile, or None when it already is sRGB or cannot be used."""
    source = ImageCms.ImageCmsProfile(io.BytesIO(profile))
    if "srgb" in ImageCms.getProfileDescription(source).lower():
        return None
    return ImageCms.buildTransform(source, ImageCms.createProfile("sRGB"), mode, "RGB")


def _srgb(picture: Image.Image, profile, limits: Limits) -> tuple[Image.Image, str]:
    """The picture in sRGB and a note when its colour profile could not be used."""
    note = ""
    if profile and len(profile) > limits.profile_bytes:
        note = "The file's colour profile is too large to use; colours may differ a little."
    elif profile:
        try:
            transform = _to_srgb(profile, picture.mode)
            if transform is not None:
                picture = ImageCms.applyTransform(picture, transform)
        except (ImageCms.PyCMSError, OSError, ValueError, TypeError):
            note = "The file's colour profile could not be read; colours may differ a little."
    return (picture if picture.mode in ("RGB", "L") else picture.convert("RGB")), note


def _fingerprint(picture: Image.Image) -> int | None:
    """Difference hash: is each cell of a 9 x 8 grey grid brighter than its left neighbour?

    64 bits, rows from the top, first bit highest. None for a picture too plain to tell apart.
    """
    grey = ImageOps.grayscale(picture).resize(FINGERPRINT_SIZE, Image.Resampling.LANCZOS)
    cells = grey.tobytes()
    value, steps = 0, 0
    for row in range(8):
        for column in range(8):
            left, right = cells[row * 9 + column], cells[row * 9 + column + 1]
            value = value << 1 | (right > left)
            steps += abs(right - left)
    return value if steps / 64 >= PLAIN_STEP else None


def _blur(picture: Image.Image, box) -> None:
    """Destroy what is inside the box (fractions of width and height): 4 x 4 cells, smoothed.

    Coarser than any face or number plate, and made from the shrunk cells alone, so nothing of the
    original detail is left to sharpen back.
    """
    width, height = picture.size
    left, top = max(0, int(box[0] * width)), max(0, int(box[1] * height))
    right, bottom = min(width, int(box[2] * width) + 1), min(height, int(box[3] * height) + 1)
    if right <= left or bottom <= top:
        return
    part = picture.crop((left, top, right, bottom))
    cells = (min(BLUR_CELLS, part.width), min(BLUR_CELLS, part.height))
    soft = part.resize(cells, Image.Resampling.BOX).resize(part.size, Image.Resampling.BICUBIC)
    picture.paste(soft.filter(ImageFilter.GaussianBlur(2)), (left, top))


def _jpeg(picture: Image.Image, quality: int) -> bytes:
    """JPEG bytes with no metadata at all."""
    picture.info = {}
    out = io.BytesIO()
    picture.save(out, "JPEG", quality=quality)
    return out.getvalue()
