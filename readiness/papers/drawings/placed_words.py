"""Words on a drawing, placed so that none lie over each other or over the edge."""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from readiness.papers.drawings import svg

MOVE = 6
APART = 2


class Place(NamedTuple):
    """Where words may stand: a baseline, and what of them is at `x`."""

    x: float
    y: float
    anchor: str = "start"


class PlacedWords:
    """Words are put one after the other: what comes first has the best places.

    `drawn` is their markup, to be drawn over everything else.
    """

    def __init__(self, left: float, right: float, top: float, bottom: float) -> None:
        self.left, self.right, self.top, self.bottom = left, right, top, bottom
        self.drawn: list[str] = []
        self._taken: list[tuple[float, float, float, float]] = []

    def keep_clear(self, left: float, top: float, right: float, bottom: float) -> None:
        """Nothing is written there from now on."""
        self._taken.append((left, top, right, bottom))

    def put(
        self, words: str, size: float, places: Iterable[Place], *, bold: bool = False
    ) -> bool:  # fmt: skip
        """Write words at the first of the places where there is room; False where none has."""
        wide = svg.text_width(words, size, bold)
        for place in places:
            left = place.x - {"start": 0, "middle": wide / 2, "end": wide}[place.anchor]
            box = (left - APART, place.y - 0.84 * size, left + wide + APART, place.y + 0.26 * size)
            if self._is_free(box):
                self._taken.append(box)
                self.drawn.append(svg.text(*place[:2], words, size, place.anchor, bold, True))
                return True
        return False

    def _is_free(self, box: tuple[float, float, float, float]) -> bool:
        left, top, right, bottom = box
        if left < self.left or right > self.right or top < self.top or bottom > self.bottom:
            return False
        return not any(
            left < other[2] and right > other[0] and top < other[3] and bottom > other[1]
            for other in self._taken
        )

    def along(self, x: float, y: float, anchor: str = "start") -> Iterable[Place]:
        """A place and, from there on both ways, others at the same height."""
        yield Place(x, y, anchor)
        reach = max(x - self.left, self.right - x)
        for step in range(1, int(reach / MOVE) + 1):
            yield Place(x + step * MOVE, y, anchor)
            yield Place(x - step * MOVE, y, anchor)
