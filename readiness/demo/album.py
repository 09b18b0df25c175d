"""The demo's photos, drawn ahead of time on other processors while the scenario is told."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from multiprocessing import get_context
from os import cpu_count

from readiness.demo import pictures
from readiness.demo.pictures import camera

MAKE = "Fernhill Instruments"
SIZES = {"small": (1280, 960), "usual": (1600, 1200), "tall": (960, 1280), "full": (4032, 3024)}
"""Width and height in pixels; "full" is a 12-megapixel photo."""


@dataclass(frozen=True)
class Shot:
    """One photo to draw: of a kind of defect (or "clean_wall" and the like), found or fixed."""

    kind: str
    seed: int
    fixed: bool = False
    size: str = "small"
    palette: int | None = None

    @property
    def orientation(self) -> int:
        """A phone held upright stores its picture on its side."""
        return 6 if self.size == "tall" else 1


def _drawn(shot: Shot) -> bytes:
    width, height = SIZES[shot.size]
    image = pictures.draw(
        shot.kind,
        fixed=shot.fixed,
        seed=shot.seed,
        width_px=width,
        height_px=height,
        palette=shot.palette,
    )
    return camera.encode(image, camera.exif_of(None, None, None, None, shot.orientation))


class Album:
    """Hands out photo files. Shots that were announced are being drawn already."""

    def __init__(self, pool: ProcessPoolExecutor | None = None):
        self._pool = pool
        self._drawing: dict[Shot, Future[bytes]] = {}

    def announce(self, shots: Iterable[Shot]) -> None:
        """Start drawing, in this order."""
        for shot in shots:
            if self._pool is not None and shot not in self._drawing:
                self._drawing[shot] = self._pool.submit(_drawn, shot)

    def file(
        self,
        shot: Shot,
        *,
        taken_at: datetime | None,
        offset: str | None,
        position: tuple[float, float] | None,
        software: str | None = None,
    ) -> bytes:
        """The photo as a phone's JPEG. With no `taken_at`, the camera tells nothing about time."""
        drawing = self._drawing.pop(shot, None)
        jpeg = drawing.result() if drawing else _drawn(shot)
        model = "Demo camera 12" if shot.size == "full" else "Demo camera"
        exif = camera.exif_of(taken_at, offset, (MAKE, model), position, shot.orientation, software)
        return camera.with_exif(_bare(jpeg), exif)


def _bare(jpeg: bytes) -> bytes:
    """The file without its Exif segment, if it has one."""
    at = 2
    while jpeg[at] == 0xFF and 0xE0 <= jpeg[at + 1] <= 0xEF:
        length = int.from_bytes(jpeg[at + 2 : at + 4], "big")
        if jpeg[at + 1] == 0xE1:
            return jpeg[:at] + jpeg[at + 2 + length :]
        at += 2 + length
    return jpeg


@contextmanager
def open_album() -> Iterator[Album]:
    """An album with a drawing process for each processor but one, which tells the scenario."""
    # Spawned, not forked: the parent has threads and a database open.
    drawers = max(1, (cpu_count() or 1) - 1)
    pool = ProcessPoolExecutor(max_workers=drawers, mp_context=get_context("spawn"))
    try:
        yield Album(pool)
    finally:
        pool.shutdown(cancel_futures=True)
