"""Shortfalls on an elevation: hatched where height is missing, with the millimetres beside it."""

from __future__ import annotations

import math
from collections.abc import Sequence

from readiness.papers.drawings import svg
from readiness.papers.drawings.frame import Frame
from readiness.rules.band.levels import TreatmentLine
from readiness.rules.band.profile import Piece
from readiness.rules.band.shortfalls import Cause, Shortfall
from readiness.rules.values.rule_values import RuleValues
from readiness.wording import drawings as say


def shortfall_marks(
    line: TreatmentLine | None,
    finished: Sequence[Piece],
    values: RuleValues,
    frame: Frame,
    name: str,
) -> list[str]:
    """Every shortfall of a line, hatched and with its millimetres; `name` makes ids its own."""
    if line is None:
        return []
    drawn = []
    for number, short in enumerate(line.shortfalls):
        drawn += _shortfall(short, line, finished, values, frame, f"{name}-short-{number}")
    return drawn


def _shortfall(short: Shortfall, line, finished, values, frame: Frame, name: str) -> list[str]:
    """Hatched where the clear height is missing, with the millimetres at the worst place."""
    clearance = values["line_above_ground_mm"]
    level = line.level_at(short.worst_at_mm)
    if short.cause is Cause.WEEP_HOLES:
        left, right = frame.x(short.from_mm), frame.x(short.to_mm)
        top, bottom = level, level - short.short_mm
        corners = ((left, top), (right, top), (right, bottom), (left, bottom))
        outline = [(x, frame.y(corner)) for x, corner in corners]
    else:
        outline = _missing(short, line, finished, clearance, frame)
        top, bottom = level + short.short_mm, level
    hatch = svg.element(
        "clipPath", svg.element("path", d=svg.path_of(outline, close=True)), id=f"{name}-clip"
    ) + svg.element(
        "path", d=_diagonals(outline), stroke=svg.INK, stroke_width="1.3", fill="none",
        clip_path=f"url(#{name}-clip)",
    )  # fmt: skip
    edge = svg.element(
        "path", d=svg.path_of(outline, close=True), fill="none", stroke=svg.INK, stroke_width="1"
    )
    return [hatch, edge, *_dimension(short, frame, float(top), float(bottom))]


def _missing(short, line, finished, clearance, frame: Frame) -> list[svg.Point]:
    """The area between the line and the height it should have, over the shortfall."""
    upper, lower = [], []
    for segment in line.segments:
        for piece in finished:
            start = max(piece.from_mm, segment.from_mm, short.from_mm)
            end = min(piece.to_mm, segment.to_mm, short.to_mm)
            if end <= start:
                continue
            for at in (start, end):
                needed = max(piece.level_at(at) + clearance, segment.level_mm)
                upper.append((frame.x(at), frame.y(needed)))
                lower.append((frame.x(at), frame.y(segment.level_mm)))
    return [*upper, *reversed(lower)]


def _diagonals(outline: Sequence[svg.Point]) -> str:
    xs, ys = [x for x, _ in outline], [y for _, y in outline]
    left, right, top, bottom = min(xs), max(xs), min(ys), max(ys)
    height = bottom - top
    starts = range(math.floor(left - height), math.ceil(right) + 6, 6)
    return "".join(
        f"M{start} {svg.num(bottom)} L{svg.num(start + height)} {svg.num(top)} " for start in starts
    )


def _dimension(short: Shortfall, frame: Frame, top_mm: float, bottom_mm: float) -> list[str]:
    """An upright dimension at the worst place, with its millimetres beside it."""
    x = min(max(frame.x(short.worst_at_mm), frame.x(0) + 8), frame.x(frame.length_mm) - 8)
    top, bottom = frame.y(top_mm), frame.y(bottom_mm)
    words = say.short_by(short.short_mm)
    anchor = "end" if x > frame.width / 2 else "start"
    away = -8 if anchor == "end" else 8
    drawn = [svg.line(x, top, x, bottom, 6, stroke=svg.PAPER), *svg.height(x, top, bottom)]
    middle = min((top + bottom) / 2 + 4, bottom - 1) if bottom - top > 20 else top - 5
    return [*drawn, svg.text(x + away, middle, words, 12.5, anchor, True, True)]
