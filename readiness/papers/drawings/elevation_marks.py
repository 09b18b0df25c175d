"""Items over an elevation: numbered discs that stand side by side."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from readiness.papers.drawings import svg
from readiness.papers.drawings.frame import Frame
from readiness.papers.drawings.placed_words import PlacedWords

DISC_APART, DISC_FOOT, BAR = 19, 21, 24
STEM = 8


@dataclass(frozen=True)
class ItemMark:
    """An item to show on a drawing: its number and where it is along the run (mm)."""

    number: int
    from_mm: int | None
    to_mm: int | None = None
    run_id: str = ""


def item_discs(marks: Sequence[ItemMark], frame: Frame, words: PlacedWords) -> list[str]:
    """Numbered discs over the wall, each with a stem to its place or a bar over its stretch."""
    stretches = sorted((_stretch(mark, frame) for mark in marks), key=lambda s: s[0] + s[1])
    middles = [(start + end) / 2 for start, end, _ in stretches]
    foot = frame.ceiling + STEM
    stems, bars, discs = [], [], []
    for (start, end, number), x in zip(
        stretches, spread(middles, DISC_APART, 12, frame.width - 12), strict=True
    ):
        if end - start > 2:
            bars.append(((start, BAR), (end, BAR)))
            stems += [((start, BAR), (start, foot)), ((end, BAR), (end, foot))]
        else:
            stems.append(((x, DISC_FOOT), (start, foot)))
        discs.append((x, 12, str(number)))
    for _, (x, y) in stems:
        words.keep_clear(x - 1, frame.ceiling, x + 1, y)
    return [svg.strokes(stems, 1.4), svg.strokes(bars, 3), svg.markers(discs)]


def _stretch(mark: ItemMark, frame: Frame) -> tuple[float, float, int]:
    """Where an item starts and ends on the drawing; never past the wall's end."""
    start = frame.x(min(mark.from_mm, frame.length_mm))
    end = frame.x(min(mark.to_mm or mark.from_mm, frame.length_mm))
    return start, end, mark.number


def spread(places: Sequence[float], apart: float, low: float, high: float) -> list[float]:
    """Places in order, moved as far as it takes to stand `apart` between `low` and `high`.

    Where there is not room for that, they share what room there is.
    """
    if len(places) > 1:
        apart = min(apart, (high - low) / (len(places) - 1))
    spaced: list[float] = []
    for number, place in enumerate(places):
        room_after = high - apart * (len(places) - 1 - number)
        nearest = spaced[-1] + apart if spaced else low
        spaced.append(min(max(place, nearest), room_after))
    return spaced
