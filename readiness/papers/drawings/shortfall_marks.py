"""Shortfalls on an elevation: hatched where height is missing, with the millimetres beside it."""

from __future__ import annotations

from collections.abc import Sequence

from readiness.papers.drawings import slopes, svg
from readiness.papers.drawings.face import Face
from readiness.papers.drawings.hatch import MISSING
from readiness.papers.drawings.placed_words import Place, PlacedWords
from readiness.rules.band.shortfalls import Cause, Shortfall
from readiness.wording import drawings as say

SIZE = 12.5


def shortfall_marks(face: Face, name: str) -> list[str]:
    """Every shortfall of a line, hatched; `name` makes ids its own."""
    drawn = []
    for number, short in enumerate(face.band.shortfalls if face.band else ()):
        drawn += _hatched(_areas(short, face), f"{name}-short-{number}")
    return drawn


def _hatched(areas: Sequence[Sequence[svg.Point]], name: str) -> list[str]:
    if not areas:
        return []
    edge = svg.element(
        "path", d=svg.areas(areas), fill="none", stroke=svg.INK, stroke_width="1"
    )  # fmt: skip
    return [*MISSING.over(areas, f"{name}-clip"), edge]


def _areas(short: Shortfall, face: Face) -> list[list[svg.Point]]:
    """Between the line and the height that it should have, over the shortfall."""
    frame = face.frame
    start, end = frame.x(short.from_mm), frame.x(short.to_mm)
    beside = [(frame.left - 1, start), (end, frame.right + 1)]
    line = slopes.outside(face.line, beside)
    if short.cause is Cause.WEEP_HOLES:
        drop = short.short_mm * frame.up
        return [slopes.between(part, part.raised(-drop)) for part in line]
    needed = [ground.raised(short.needed_mm * frame.up) for ground in face.finished]
    found = (slopes.over(*pair) for pair in slopes.together(needed, line))
    return [area for area in found if area]


def dimensions(face: Face, words: PlacedWords) -> list[str]:
    """What is missing at the worst place of each shortfall: a dimension and its millimetres."""
    drawn = []
    for short in face.band.shortfalls if face.band else ():
        drawn += _dimension(short, face, words)
    return drawn


def _dimension(short: Shortfall, face: Face, words: PlacedWords) -> list[str]:
    frame, level = face.frame, face.band.level_at(short.worst_at_mm)
    x = min(max(frame.x(short.worst_at_mm), frame.left + 8), frame.right - 8)
    over = short.cause is not Cause.WEEP_HOLES
    top = frame.y(level + short.short_mm if over else level)
    bottom = frame.y(level if over else level - short.short_mm)
    words.keep_clear(x - 4, top, x + 4, bottom)
    middle = (top + bottom) / 2 + 4 if bottom - top > 20 else top - 5
    heights = (middle, top - 5, bottom + 14, top - 18, bottom + 27)
    ways = ((x - 8, "end"), (x + 8, "start"))
    if x <= frame.width / 2:
        ways = ways[::-1]
    places = [Place(at, y, anchor) for y in heights for at, anchor in ways]
    words.put(say.short_by(short.short_mm), SIZE, places, bold=True)
    return [svg.line(x, top, x, bottom, 6, stroke=svg.PAPER), *svg.height(x, top, bottom)]
