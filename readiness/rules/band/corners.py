"""Where the bands of neighbouring walls meet at a corner: they overlap, or one goes down.

Decisions that nothing else settles:

- Walls are given as they follow each other clockwise, seen from above. So the left end of each, as
  one stands outside and faces it, meets the right end of the next.
- The band with the higher bottom is the one that goes down, the earlier one where both are level,
  and the overlap needed is one of its own courses, or 75 mm if it is render.
- It goes down for one unit and its joint, which is how far apart perpends are.
- All corners are looked at before any band goes down.
- Where a wall ends with an opening without wall, or nothing is known of its band at that end,
  nothing is said of its corner. A wall that is not known as a whole may well be at its end.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from readiness.rules.band.profile import Exact
from readiness.rules.band.stretch import Stretch
from readiness.rules.band.treated import TreatedBand
from readiness.rules.band.wall import House, Wall


@dataclass(frozen=True)
class Corner:
    """How far two bands overlap, before one goes down; below 0 they are that far apart.

    The left end of wall `one` meets the right end of wall `other`, the next.
    `lowered` is the place of the wall whose band goes down, `to_level_mm` (from that wall's datum)
    the level that it reaches at least. None where nothing has to, or nothing is known.
    """

    one: int
    other: int
    overlap_mm: Exact | None = None
    needed_mm: Exact | None = None
    lowered: int | None = None
    to_level_mm: Exact | None = None


@dataclass(frozen=True)
class _End:
    """Top and bottom of a band at an end of its wall, from the datum that the walls share."""

    top_mm: Exact
    bottom_mm: Exact


def corners_of(house: House, bands: Sequence[TreatedBand | None]) -> list[Corner]:
    """Every corner where two walls meet, in their order."""
    count = len(house.walls)
    pairs = [(n, n + 1) for n in range(count - 1)]
    if house.closed:
        pairs.append((count - 1, 0))
    return [_corner(house, bands, *pair) for pair in pairs]


def _corner(house: House, bands: Sequence[TreatedBand | None], one: int, other: int) -> Corner:
    left = _end(house.walls[one], bands[one], 0)
    right = _end(house.walls[other], bands[other], house.walls[other].length_mm)
    if left is None or right is None:
        return Corner(one, other)
    overlap = min(left.top_mm, right.top_mm) - max(left.bottom_mm, right.bottom_mm)
    higher = other if right.bottom_mm > left.bottom_mm else one
    band = bands[higher]
    needed = band.overlap_mm if band else 0
    if overlap >= needed:
        return Corner(one, other, overlap, needed)
    level = min(left.top_mm, right.top_mm) - needed - house.walls[higher].datum_offset_mm
    return Corner(one, other, overlap, needed, higher, level)


def _end(wall: Wall, band: TreatedBand | None, at_mm: int) -> _End | None:
    if band is None:
        return None
    top, bottom = _level(band.tops, at_mm), _level(band.bottoms, at_mm)
    if top is None or bottom is None:
        return None
    return _End(top + wall.datum_offset_mm, bottom + wall.datum_offset_mm)


def _level(stretches: Sequence[Stretch], at_mm: int) -> Exact | None:
    for stretch in (*stretches[:1], *stretches[-1:]):
        if at_mm in (stretch.from_mm, stretch.to_mm):
            return stretch.piece.level_at(at_mm)
    return None


def lowered_at(
    house: House, bands: Sequence[TreatedBand | None], corners: Sequence[Corner]
) -> list[TreatedBand | None]:
    """The bands with those lowered that have to go down, a unit and its joint from the corner."""
    found = list(bands)
    for corner in corners:
        place, level = corner.lowered, corner.to_level_mm
        band = None if place is None else found[place]
        if place is None or level is None or band is None:
            continue
        length_mm = house.walls[place].length_mm
        at_left = place == corner.one
        start = 0 if at_left else max(0, length_mm - band.unit_mm)
        end = min(length_mm, band.unit_mm) if at_left else length_mm
        found[place] = band.lowered_to(level, start, end)
    return found
