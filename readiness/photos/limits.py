"""What a photo may be."""

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


def megabytes(size_bytes: int) -> str:
    """A size for a message: ``"41.3 MB"``; 1 MB is 1024 x 1024 bytes, as phones show it."""
    return f"{size_bytes / MEBIBYTE:.1f}".removesuffix(".0") + " MB"
