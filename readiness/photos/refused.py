"""A photo that was not taken in, and what its sender is told."""

from collections.abc import Callable, Mapping

from readiness.photos.limits import LIMITS, MEBIBYTE, Limits, megabytes
from readiness.wording.refusals import photos as refusals


class PhotoRefused(Exception):
    """A file that was not taken in; ``message`` names the file and the limit in plain words."""

    def __init__(self, filename: str, problem: str, details: dict | None = None, limits=LIMITS):
        self.filename, self.problem = filename, problem
        self.message = explain(problem, filename, details or {}, limits)
        super().__init__(self.message)


Words = Callable[[str, Mapping, Limits], str]


def _plain(words: Callable[[str], str]) -> Words:
    return lambda file, details, limits: words(file)


_WORDS: Mapping[str, Words] = {
    "empty": _plain(refusals.empty),
    "too_many_bytes": lambda file, details, limits: refusals.too_many_bytes(
        file, megabytes(limits.file_bytes)
    ),
    "unknown_kind": _plain(refusals.unknown_kind),
    "jpeg_xl": _plain(refusals.jpeg_xl),
    "too_many_pixels": lambda file, details, limits: refusals.too_many_pixels(
        file, details.get("megapixels"), limits.pixels // 1_000_000, limits.side_px
    ),
    "broken": _plain(refusals.broken),
    "too_slow": lambda file, details, limits: refusals.too_slow(file, limits.seconds),
    "too_much_memory": lambda file, details, limits: refusals.too_much_memory(
        file, limits.memory_bytes // MEBIBYTE
    ),
    "too_many_files": lambda file, details, limits: refusals.too_many_files(
        file, limits.files_at_once
    ),
    "storage": _plain(refusals.not_stored),
    "busy": _plain(refusals.busy),
    "disk_full": _plain(refusals.disk_full),
    "too_many_today": _plain(refusals.too_many_today),
    "id_taken": _plain(refusals.id_taken),
}


def explain(problem: str, filename: str, details: Mapping, limits: Limits = LIMITS) -> str:
    """The sentence for a problem code of the intake or the decoder."""
    return _WORDS[problem](filename, details, limits)
