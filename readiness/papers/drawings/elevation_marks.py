"""What is written on an elevation, placed so that no two of the same sort lie on each other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from readiness.papers.drawings import svg
from readiness.papers.drawings.frame import RIGHT, Frame
from readiness.rules.band.geometry import WallRun
from readiness.wording import drawings as say

DISC_APART, DISC_FOOT, BAR = 19, 21, 24
WORDS_SIZE, ROW_HIGH, MOVE = 11, 13, 6


@dataclass(frozen=True)
class ItemMark:
    """An item to show on a drawing: its number and where it is along the run (mm)."""

    number: int
    from_mm: int | None
    to_mm: int | None = None
    run_id: str = ""


def item_discs(marks: Sequence[ItemMark], frame: Frame) -> list[str]:
    """Numbered discs over the wall, each with a stem to its place or a bar over its stretch."""
    stretches = sorted((_stretch(mark, frame) for mark in marks), key=lambda s: s[0] + s[1])
    middles = [(start + end) / 2 for start, end, _ in stretches]
    foot = frame.y(frame.high_mm) + 8
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


def slab_words(run: WallRun, frame: Frame) -> str:
    y = frame.y(run.slab_level_mm)
    return svg.text(frame.x(0) + 4, y - 4, say.short("top_of_slab"), WORDS_SIZE, backed=True)


def weep_words(run: WallRun, frame: Frame) -> list[str]:
    """The words over each row of weep holes, where neither other words nor the end are in the way.

    A row without room for them is left without: it looks like the one beside it.
    """
    words = say.short("weep_holes")
    wide = svg.text_width(words, WORDS_SIZE)
    slab_wide = svg.text_width(say.short("top_of_slab"), WORDS_SIZE)
    taken = [(frame.x(0) + 4, frame.x(0) + 4 + slab_wide, frame.y(run.slab_level_mm))]
    drawn = []
    for row in run.weep_holes:
        end = run.length_mm if row.to_mm is None else min(row.to_mm, run.length_mm)
        level = frame.y(row.level_mm)
        right = _free_end(frame.x(end) - 4, wide, level, taken, frame)
        if right is None:
            continue
        taken.append((right - wide, right, level))
        drawn.append(svg.text(right, level - 4, words, WORDS_SIZE, "end", backed=True))
    return drawn


def _free_end(end: float, wide: float, level: float, taken, frame: Frame) -> float | None:
    """Where words over a row may end: nearest to the row's own end."""
    first, last = frame.x(0) + 4 + wide, frame.width - RIGHT - 4
    steps = int((last - first) / MOVE) + 1 if last > first else 0
    ends = [first + MOVE * step for step in range(steps)]
    near = [min(max(end, first), last), *sorted(ends, key=lambda x: abs(x - end))]
    in_the_way = [(left, right) for left, right, at in taken if abs(at - level) < ROW_HIGH]
    return next(
        (x for x in near if all(x < left or x - wide > right for left, right in in_the_way)), None
    )
