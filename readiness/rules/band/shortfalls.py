"""Where a treatment line breaks a rule: from where to where, by how much, why, and what to do."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from enum import StrEnum

from readiness.rules.band.geometry import WallRun
from readiness.rules.band.line import LineSegment
from readiness.rules.band.profile import Exact, Piece, level_at
from readiness.rules.values.rule_values import RuleValues


class Cause(StrEnum):
    """What makes a line too low or too high."""

    GROUND_TODAY = "ground_today"
    FINISH_TO_COME = "finish_to_come"
    WEEP_HOLES = "weep_holes"


@dataclass(frozen=True)
class Shortfall:
    """One stretch where the line breaks a rule, with both remedies, in whole mm (rounded up).

    `found_mm` is the clearance at the worst place (rounded down; below 0 the ground is over the
    line). `lower_ground_mm` and `raise_line_mm` are the remedies; None where one is no remedy.
    `raise_stopped` says that the weep holes stop it from being raised. `finish_adds_mm` is how much
    of the shortfall the finish still to come makes. `kind` is the catalogue's slug for an item.
    """

    from_mm: int
    to_mm: int
    worst_at_mm: int
    short_mm: int
    found_mm: int
    needed_mm: int
    rule_key: str
    source: str
    cause: Cause
    kind: str
    is_rendered: bool
    lower_ground_mm: int | None = None
    raise_line_mm: int | None = None
    raise_stopped: bool = False
    finish_adds_mm: int = 0


@dataclass
class _Stretch:
    """Distances where ground plus clearance is over the line, and the worst place in it."""

    from_mm: Exact
    to_mm: Exact
    over_mm: Exact
    at_mm: Exact
    line_mm: Exact


def ground_shortfalls(
    run: WallRun,
    segments: Sequence[LineSegment],
    ground: Sequence[Piece],
    today: Sequence[Piece],
    values: RuleValues,
) -> Iterator[Shortfall]:
    """Stretches where the line is too close to finished ground."""
    clearance_mm = values["line_above_ground_mm"]
    for stretch in _merged(_too_close(segments, ground, clearance_mm)):
        yield _ground_shortfall(run, stretch, today, clearance_mm, values)


def _too_close(
    segments: Sequence[LineSegment], ground: Sequence[Piece], clearance_mm: int
) -> Iterator[_Stretch]:
    for segment in segments:
        limit = segment.level_mm - clearance_mm
        for piece in ground:
            if piece.to_mm <= segment.from_mm or piece.from_mm >= segment.to_mm:
                continue
            part = piece.above(limit, segment.from_mm, segment.to_mm)
            if part is not None:
                top, at = piece.highest(*part)
                yield _Stretch(part[0], part[1], top - limit, at, segment.level_mm)


def _merged(stretches: Iterator[_Stretch]) -> list[_Stretch]:
    """Stretches that touch are one; it keeps its worst place."""
    merged: list[_Stretch] = []
    for part in stretches:
        if merged and part.from_mm <= merged[-1].to_mm:
            last = merged[-1]
            last.to_mm = part.to_mm
            if part.over_mm > last.over_mm:
                last.over_mm, last.at_mm, last.line_mm = part.over_mm, part.at_mm, part.line_mm
        else:
            merged.append(part)
    return merged


def _ground_shortfall(
    run: WallRun,
    stretch: _Stretch,
    today: Sequence[Piece],
    clearance_mm: int,
    values: RuleValues,
) -> Shortfall:
    short_mm = math.ceil(stretch.over_mm)
    today_short_mm = short_mm
    if today:
        today_over = level_at(today, stretch.at_mm) + clearance_mm - stretch.line_mm
        today_short_mm = max(0, math.ceil(today_over))
    finish_adds_mm = max(0, short_mm - today_short_mm)
    cause = Cause.GROUND_TODAY if today_short_mm > 0 else Cause.FINISH_TO_COME
    raise_mm, stopped = _raising(run, stretch, short_mm, values)
    return Shortfall(
        from_mm=math.floor(stretch.from_mm),
        to_mm=math.ceil(stretch.to_mm),
        worst_at_mm=round(stretch.at_mm),
        short_mm=short_mm,
        found_mm=math.floor(clearance_mm - stretch.over_mm),
        needed_mm=clearance_mm,
        rule_key="line_above_ground_mm",
        source=values.rule("line_above_ground_mm").source_words,
        cause=cause,
        kind="render_line_low" if run.is_rendered else "ground_too_high",
        is_rendered=run.is_rendered,
        lower_ground_mm=short_mm,
        raise_line_mm=raise_mm,
        raise_stopped=stopped,
        finish_adds_mm=finish_adds_mm,
    )


def _raising(
    run: WallRun, stretch: _Stretch, short_mm: int, values: RuleValues
) -> tuple[int, bool]:
    """How far the line would have to go up, and whether weep holes stop it."""
    raise_mm = short_mm
    if not run.is_rendered:
        course_mm = run.gauge_or_default(values).course_mm
        raise_mm = math.ceil(math.ceil(stretch.over_mm / course_mm) * course_mm)
    caps = [
        row.level_mm
        for row in run.weep_holes
        if row.from_mm <= stretch.at_mm
        and stretch.at_mm <= (run.length_mm if row.to_mm is None else row.to_mm)
    ]
    stopped = bool(caps) and stretch.line_mm + raise_mm > min(caps)
    return raise_mm, stopped


def weep_shortfalls(
    run: WallRun, segments: Sequence[LineSegment], values: RuleValues
) -> Iterator[Shortfall]:
    """Stretches where a struck joint was cut higher than the underside of the weep holes."""
    for segment in segments:
        for row in run.weep_holes:
            row_end = run.length_mm if row.to_mm is None else row.to_mm
            start, end = max(segment.from_mm, row.from_mm), min(segment.to_mm, row_end)
            over_mm = math.ceil(segment.level_mm - row.level_mm)
            if end <= start or over_mm <= 0:
                continue
            yield Shortfall(
                from_mm=start,
                to_mm=end,
                worst_at_mm=start,
                short_mm=over_mm,
                found_mm=-over_mm,
                needed_mm=0,
                rule_key="weep_courses_above_line",
                source=values.rule("weep_courses_above_line").source_words,
                cause=Cause.WEEP_HOLES,
                kind="weep_hole_low",
                is_rendered=run.is_rendered,
            )
