"""The treated band on an elevation: line, bottom, the tint between, and the soil to clear."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise

from readiness.papers.drawings import hatch, slopes, svg
from readiness.papers.drawings.face import Face
from readiness.papers.drawings.placed_words import Place, PlacedWords
from readiness.rules.band.levels import SoilToClear
from readiness.wording import drawings as say

TINT = "0.14"
LINE_WIDE, BOTTOM_WIDE, BOTTOM_DASH = 3.4, 1.5, "6 3"
LEVEL_SIZE, SMALL_LEVEL_SIZE, SOIL_SIZE = 11.5, 10, 11
ROOM_IN_HATCH, FARTHEST = 13, 48


def tint(face: Face) -> list[str]:
    """From the line down to the bottom, where there is wall and brick."""
    areas = [slopes.between(*pair) for pair in slopes.together(face.line, face.bottom)]
    if not areas:
        return []
    d = svg.areas(areas)
    return [svg.element("path", d=d, fill=svg.INK, class_="treated", fill_opacity=TINT)]


def soil_to_clear(face: Face, name: str) -> list[str]:
    """Hatched, as it is not the ground that stays; `name` makes ids its own."""
    areas = [
        area
        for ground, bottom in slopes.together(face.today, face.bottom)
        if (area := slopes.over(ground, bottom))
    ]
    if not areas:
        return []
    loose = svg.element("path", d=svg.areas(areas), fill=hatch.LOOSE)
    return [loose, *hatch.TO_CLEAR.over(areas, f"{name}-clear")]


def line_and_bottom(face: Face) -> list[str]:
    """The line thick, the bottom thinner and dashed, so that neither is taken for the other."""
    drawn = []
    for points in slopes.strokes(face.bottom):
        drawn.append(svg.polyline(points, BOTTOM_WIDE + 1.2, stroke=svg.PAPER))
        drawn.append(
            svg.polyline(points, BOTTOM_WIDE, class_="band-bottom", stroke_dasharray=BOTTOM_DASH)
        )
    for points in slopes.strokes(face.line):
        drawn.append(svg.polyline(points, 6, stroke=svg.PAPER))
        drawn.append(svg.polyline(points, LINE_WIDE, class_="treatment-line"))
    return drawn


def line_boxes(face: Face) -> Iterator[tuple[float, float, float, float]]:
    """Where the line and its steps are, which no words may hide."""
    for points in slopes.strokes(face.line):
        for (x1, y1), (x2, y2) in pairwise(points):
            left, right = (x1, x2) if x1 < x2 else (x1 - 2, x1 + 2)
            yield left, min(y1, y2) - 1, right, max(y1, y2) + 2


def level_words(face: Face, words: PlacedWords) -> None:
    """The level of each stretch of the line that is wide enough to write on, from its own slab."""
    for part, segment in face.stretches:
        left, right, under = part.x1 + 3, part.x2 - 3, part.y1 + 14
        level_mm = segment.rounded_mm - face.run.slab_level_mm
        for said, size in _ways_to_say(level_mm):
            half = svg.text_width(said, size, bold=True) / 2
            if 2 * half > right - left:
                continue
            ways = [(left + right) / 2, left + half, right - half]
            if words.put(said, size, [Place(x, under, "middle") for x in ways], bold=True):
                break


def _ways_to_say(level_mm: int) -> Iterator[tuple[str, float]]:
    """A level in words with their size, shorter and shorter."""
    yield say.level_from_slab(level_mm), LEVEL_SIZE
    short = say.short_level(level_mm)
    yield short, LEVEL_SIZE
    yield short, SMALL_LEVEL_SIZE


def soil_words(face: Face, words: PlacedWords) -> None:
    """How deep soil has to go at most, in the hatching or under it."""
    for part in face.band.clear if face.band else ():
        _soil(part, face, words)


def _soil(part: SoilToClear, face: Face, words: PlacedWords) -> None:
    """As near to the deepest place as there is room, first beside the same stretch of bottom."""
    frame, said = face.frame, say.clear_depth(part.deepest_mm)
    at = frame.x(part.at_mm)
    beside = [s for s in face.bottom if s.x1 - 1 <= at <= s.x2 + 1]
    if not beside:
        return
    bottom = max(beside, key=lambda slope: max(slope.y1, slope.y2))
    half = svg.text_width(said, SOIL_SIZE) / 2 + 4
    x = _between(at, max(bottom.x1, frame.left) + half, min(bottom.x2, frame.right) - half)
    x = _between(x, frame.left + half, frame.right - half)
    under = bottom.y_at(_between(x, bottom.x1, bottom.x2))
    deep = part.deepest_mm * frame.up
    middle, below = under - deep / 2 + 4, under + 13
    has_room = deep > ROOM_IN_HATCH and frame.across * (part.to_mm - part.from_mm) > 3 * half
    heights = [middle, below] if has_room else [below]
    for y in [*heights, under - ROOM_IN_HATCH / 2 + 4]:
        near = (
            place
            for place in words.along(x, y, "middle")
            if abs(place.x - x) <= FARTHEST and _is_under_line(place, face)
        )
        if words.put(said, SOIL_SIZE, near):
            return


def _is_under_line(place: Place, face: Face) -> bool:
    return all(place.y > part.y1 for part in face.line if part.x1 <= place.x <= part.x2)


def _between(x: float, low: float, high: float) -> float:
    """The nearest to a place from one to another; halfway where those are the wrong way round."""
    return min(max(x, low), high) if low <= high else (low + high) / 2
