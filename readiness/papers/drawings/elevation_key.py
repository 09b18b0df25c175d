"""Under an elevation: distances along the wall, what its shades mean, and its scale."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace

from readiness.papers.drawings import svg
from readiness.papers.drawings.band_marks import (
    BOTTOM_DASH,
    BOTTOM_WIDE,
    LINE_WIDE,
    TINT,
)
from readiness.papers.drawings.corner_marks import Neighbours
from readiness.papers.drawings.face import Face
from readiness.papers.drawings.frame import Frame
from readiness.papers.drawings.hatch import LOOSE, MISSING, TO_CLEAR, Hatch
from readiness.rules.band.geometry import WallRun
from readiness.rules.words import metres
from readiness.wording import drawings as say

SCALE_HIGH, ROW_HIGH = 24, 18
SIZE, SCALE_SIZE = 11, 12
SAMPLE_WIDE, SAMPLE_HIGH, SAMPLE_APART, TO_WORDS, APART = 18, 11, 5, 23, 10
STEPS = (100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000)
TICK_APART = 80

Sample = Callable[[float, float], list[str]]
"""Draws a shade as it is on the wall: its left and its top."""


def distances(run: WallRun, frame: Frame) -> list[str]:
    """Distances from the wall's left end, at both ends and at round steps between."""
    wide = frame.right - frame.left
    step = next((s for s in STEPS if run.length_mm / s <= wide / TICK_APART), STEPS[-1])
    y, end = frame.floor, frame.right - svg.text_width(metres(run.length_mm), SCALE_SIZE) - 4
    rounds = [
        at
        for at in range(step, run.length_mm, step)
        if frame.x(at) + svg.text_width(metres(at), SCALE_SIZE) / 2 < end
    ]
    ticks = [0, *rounds, run.length_mm]
    drawn = [svg.strokes([((frame.x(at), y), (frame.x(at), y + 6)) for at in ticks], 1.2)]
    for at in ticks:
        anchor = "start" if at == 0 else "end" if at == run.length_mm else "middle"
        drawn.append(svg.text(frame.x(at), y + 18, metres(at), SCALE_SIZE, anchor))
    return drawn


def key_and_scale(
    face: Face, neighbours: Neighbours, width: float, top: float, *, key: bool
) -> tuple[list[str], float]:
    """The key in as many rows as it takes, the scale at the end of the last, and their height."""
    left, right = face.frame.left, width - face.frame.side
    x, row, drawn = left, 0, []
    for words, sample in _entries(face, neighbours) if key else ():
        wide = TO_WORDS + svg.text_width(words, SIZE)
        if x > left and x + wide > right:
            x, row = left, row + 1
        y = top + row * ROW_HIGH
        drawn += [*sample(x, y + 3), svg.text(x + TO_WORDS, y + 12, words, SIZE)]
        x += wide + APART
    times = max(1, round(face.frame.exaggeration))
    room = right - x
    said = (say.scale(times), say.short_scale(times))
    scale = next((words for words in said if svg.text_width(words, SIZE) <= room), "")
    if not scale:
        row, scale = row + 1, said[0]
    drawn.append(svg.text(right, top + row * ROW_HIGH + 12, scale, SIZE, "end"))
    return drawn, (row + 1) * ROW_HIGH + 2


def _entries(face: Face, neighbours: Neighbours) -> Iterator[tuple[str, Sample]]:
    """What is drawn, and nothing else."""
    run, band = face.run, face.band
    if face.bottom:
        yield say.short("treated_band"), _band
    if face.today:
        yield say.short("ground_today"), _shade(svg.SOIL)
    if band and band.clear and face.bottom:
        yield say.short("soil_to_clear"), _soil
    if run.finishes_to_come or run.ground_finished:
        yield say.short("when_finished"), _shade(svg.FINISH)
    if band and band.shortfalls:
        yield say.short("height_missing"), _missing
    if not all(opening.is_known for opening in run.openings):
        yield say.short("not_known"), _not_known
    if face.brick_foot is not None:
        yield say.short("slab_or_footing"), _shade(svg.CONCRETE)
    if neighbours.known:
        yield say.short("next_wall"), _next_wall


def _shade(fill: str) -> Sample:
    def drawn(x: float, y: float) -> list[str]:
        return [svg.rect(x, y, SAMPLE_WIDE, SAMPLE_HIGH, fill=fill, stroke=svg.INK)]

    return drawn


def _band(x: float, y: float) -> list[str]:
    """From the line, which is its top, down to the dashed line."""
    top, foot = y + 1, y + SAMPLE_HIGH
    return [
        svg.rect(x, top, SAMPLE_WIDE, foot - top, fill=svg.BRICK),
        svg.rect(x, top, SAMPLE_WIDE, foot - top, fill=svg.INK, fill_opacity=TINT),
        svg.line(x, top, x + SAMPLE_WIDE, top, LINE_WIDE),
        svg.line(x, foot, x + SAMPLE_WIDE, foot, BOTTOM_WIDE, stroke_dasharray=BOTTOM_DASH),
    ]


def _next_wall(x: float, y: float) -> list[str]:
    """A piece of band past the end of a wall."""
    near, far, foot = x + 5, x + 16, y + SAMPLE_HIGH - 1
    return [
        svg.line(x + 1, y - 1, x + 1, foot + 2, 1),
        svg.rect(near, y + 1, far - near, foot - y - 1, fill=svg.INK, fill_opacity=TINT),
        svg.line(near, y + 1, far, y + 1, LINE_WIDE - 1),
        svg.line(near, foot, far, foot, BOTTOM_WIDE, stroke_dasharray="4 2"),
    ]


def _soil(x: float, y: float) -> list[str]:
    return _hatched(x, y, LOOSE, TO_CLEAR)


def _missing(x: float, y: float) -> list[str]:
    return _hatched(x, y, svg.PAPER, MISSING)


def _hatched(x: float, y: float, fill: str, hatch: Hatch) -> list[str]:
    """A sample with strokes from edge to edge."""
    box = svg.rect(x, y, SAMPLE_WIDE, SAMPLE_HIGH, fill=fill, stroke=svg.INK)
    close = replace(hatch, apart=SAMPLE_APART)
    ends = close.in_box(x, y, SAMPLE_WIDE, SAMPLE_HIGH, first=4 - SAMPLE_HIGH)
    return [box, svg.strokes(ends, hatch.wide)]


def _not_known(x: float, y: float) -> list[str]:
    box = svg.rect(x, y, SAMPLE_WIDE, SAMPLE_HIGH, fill=svg.PAPER, stroke=svg.INK,
                   stroke_dasharray="4 3")  # fmt: skip
    return [box, svg.text(x + SAMPLE_WIDE / 2, y + 9.5, "?", SIZE, "middle", bold=True)]
