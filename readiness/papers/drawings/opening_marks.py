"""Where there is no band: at doors and low windows, with wall below, without or not known, and
where nobody can reach the wall.
"""

from __future__ import annotations

from readiness.papers.drawings import svg
from readiness.papers.drawings.face import Face
from readiness.papers.drawings.placed_words import Place, PlacedWords
from readiness.rules.band.geometry import Opening
from readiness.wording import drawings as say

NOT_KNOWN = "#f6f6f6"
SIZE, MARK_SIZE = 11, 17
WIDER = 1.3
"""So much wider than an opening its words may be."""


def openings(face: Face) -> list[str]:
    """Nothing above the threshold; below it the wall, nothing, or a question mark on no brick."""
    drawn = []
    for opening in face.run.openings:
        left, right, sill, floor = _sides(face, opening)
        top, wide = face.frame.ceiling, right - left
        drawn.append(svg.rect(left, top, wide, sill - top, fill=svg.PAPER, stroke=svg.INK))
        if not opening.is_known:
            top = top if opening.threshold_mm is None else sill
            drawn.append(svg.rect(left, top, wide, floor - top, fill=NOT_KNOWN, stroke=svg.INK,
                                  stroke_dasharray="4 3"))  # fmt: skip
        elif not opening.wall_below:
            drawn.append(svg.rect(left, sill, wide, floor - sill, fill=svg.PAPER, stroke=svg.INK))
        if opening.threshold_mm is not None:
            drawn.append(svg.line(left - 2, sill, right + 2, sill, 2.4, class_="threshold"))
    return drawn


def _sides(face: Face, opening: Opening) -> tuple[float, float, float, float]:
    """Left, right, threshold and how far down it is drawn."""
    frame = face.frame
    sill = frame.floor
    if opening.threshold_mm is not None:
        sill = frame.within(frame.y(opening.threshold_mm))
    return frame.x(opening.from_mm), frame.x(opening.to_mm), sill, frame.floor


def marks(face: Face, words: PlacedWords) -> None:
    """A question mark where it is not known what is below an opening."""
    for opening in face.run.openings:
        if opening.is_known:
            continue
        left, right, sill, floor = _sides(face, opening)
        top = face.frame.ceiling if opening.threshold_mm is None else sill
        ground = _ground(face, (left + right) / 2, floor)
        middle = (left + right) / 2
        baseline = max((top + ground) / 2, top + 12) + 6
        words.put("?", MARK_SIZE, words.along(middle, baseline, "middle"), bold=True)


def _ground(face: Face, x: float, floor: float) -> float:
    grounds = face.finished or face.today
    return next((slope.y_at(x) for slope in grounds if slope.x1 <= x <= slope.x2), floor)


def opening_words(face: Face, words: PlacedWords) -> None:
    """What each opening is called, and what is below it; as much of that as there is room for."""
    for opening in face.run.openings:
        left, right, sill, floor = _sides(face, opening)
        middle = (left + right) / 2
        most = (right - left) * WIDER
        top = face.frame.ceiling + 12
        ground = _ground(face, middle, floor)
        open_to = min(sill, ground)
        in_it = [y for y in (top, top + 13, open_to - 5, open_to - 18) if top <= y <= open_to - 4]
        under = [y for y in (sill + 13, ground - 5, sill + 26) if sill + 10 <= y <= ground - 3]
        _put(opening.label, [*in_it, *under], middle, most, words)
        _put(_below(opening), [*under, *in_it[::-1]], middle, most, words)


def out_of_reach_words(face: Face, words: PlacedWords) -> None:
    """Why there is no band where nobody can reach the wall."""
    for from_mm, to_mm in face.run.out_of_reach:
        left, right = face.frame.x(from_mm), face.frame.x(to_mm)
        middle, ceiling = (left + right) / 2, face.frame.ceiling
        ground = _ground(face, middle, face.frame.floor)
        rows = [(ceiling + ground) / 2 + 4, ground - 5, ceiling + 12]
        _put(say.short("out_of_reach"), rows, middle, right - left, words)


def _put(said: str, rows: list[float], middle: float, most: float, words: PlacedWords) -> None:
    """Words in the middle of an opening, or hardly wider than it."""
    if said and svg.text_width(said, SIZE) <= most:
        words.put(said, SIZE, [Place(middle, y, "middle") for y in rows])


def _below(opening: Opening) -> str:
    if opening.wall_below is None:
        return say.short("wall_below")
    if not opening.wall_below:
        return say.short("no_wall")
    return "" if opening.is_known else say.short("threshold")
