"""What a photo may be, and the message when it is not."""

from dataclasses import dataclass

MEBIBYTE = 1024 * 1024

LARGE_PX = 1600
SMALL_PX = 400


@dataclass(frozen=True)
class Limits:
    """Limits of the intake. Bytes, pixels and seconds are each for one photo.

    ``memory_bytes`` is the address space of the process that decodes, above which decoding fails;
    ``seconds`` is both its processor time and the time waited for it.
    """

    file_bytes: int = 40 * MEBIBYTE
    pixels: int = 80_000_000
    side_px: int = 20_000
    files_at_once: int = 60
    seconds: int = 20
    memory_bytes: int = 1024 * MEBIBYTE
    profile_bytes: int = 2 * MEBIBYTE


LIMITS = Limits()


# Problems that pass by themselves, and the one that passes when somebody makes room: the photo is
# all right, and a script may send it again by itself.
PASSING = {"busy", "storage"}
DISK_FULL = "disk_full"


class PhotoRefused(Exception):
    """A file that was not taken in; ``message`` names the file and the limit in plain words."""

    def __init__(self, filename: str, problem: str, details: dict | None = None, limits=LIMITS):
        self.filename, self.problem = filename, problem
        self.message = explain(problem, filename, details or {}, limits)
        super().__init__(self.message)


def megabytes(size_bytes: int) -> str:
    """A size for a message: ``"41.3 MB"``; 1 MB is 1024 x 1024 bytes, as phones show it."""
    return f"{size_bytes / MEBIBYTE:.1f}".removesuffix(".0") + " MB"


def explain(problem: str, filename: str, details: dict, limits: Limits = LIMITS) -> str:
    """The sentence shown to the person for a problem code of the intake or the decoder."""
    sentences = {
        "empty": "is empty. Take or choose the photo again.",
        "too_many_bytes": (
            f"is larger than {megabytes(limits.file_bytes)}, the limit for one photo. "
            "Send it at a smaller size."
        ),
        "unknown_kind": (
            "is not a photo that can be read here. Send a JPEG, PNG, WebP, HEIC or AVIF file."
        ),
        "jpeg_xl": "is JPEG XL, which can't be read yet. Send it as JPEG or HEIC.",
        "too_many_pixels": (
            f"has {details.get('megapixels', 'too many')} megapixels; the limit is "
            f"{limits.pixels // 1_000_000} megapixels and {limits.side_px} pixels a side. "
            "Send it at a smaller size."
        ),
        "broken": (
            "is damaged or incomplete, so it cannot be kept as evidence. "
            "Send it again, or take the photo again."
        ),
        "too_slow": (
            f"took longer than {limits.seconds} seconds to open, so it was stopped. "
            "Save it as an ordinary JPEG and send that."
        ),
        "too_much_memory": (
            f"needs more than {limits.memory_bytes // MEBIBYTE} MB of memory to open. "
            "Save it as an ordinary JPEG and send that."
        ),
        "too_many_files": f"was one too many: up to {limits.files_at_once} photos at once.",
        "storage": "could not be stored just now. Nothing was lost: send it again.",
        "busy": "has to wait: other photos are being read. Send it again in a minute.",
        "disk_full": (
            "could not be stored: the portal's disk is full. Keep the photo, tell the office, "
            "and send it again when there is room."
        ),
        "id_taken": "was already sent for something else. Choose the photo again.",
    }
    return f"“{filename}” {sentences[problem]}"
