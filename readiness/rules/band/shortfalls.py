"""Where a treatment line breaks a rule: from where to where, by how much, why, and what to do."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

from readiness.rules.band.geometry import WallRun
from readiness.rules.band.line import LineSegment
from readiness.rules.band.profile import Exact, Piece, level_at
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.words import millimetres, where

GROUND_TODAY = "ground today"
FINISH_TO_COME = "finish to come"
WEEP_HOLES = "weep holes"


@dataclass(frozen=True)
class Shortfall:
    """One stretch where the line breaks a rule, with both remedies, in whole mm (rounded up).

    `found_mm` is the clearance at the worst place (rounded down; below 0 the ground is over the
    line). `lower_ground_mm` and `raise_line_mm` are the remedies; None where one is no remedy.
    `raise_stopped_by` says what stands in the way of raising. `finish_adds_mm` is how much of the
    shortfall the finish still to come makes. `kind` is the catalogue's slug for an item.
    """

    from_mm: int
    to_mm: int
    worst_at_mm: int
    short_mm: int
    found_mm: int
    needed_mm: int
    rule_key: str
    source: str
    cause: str
    kind: str
    sentence: str
    lower_ground_mm: int | None = None
    raise_line_mm: int | None = None
    raise_stopped_by: str = ""
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
    cause = GROUND_TODAY if today_short_mm > 0 else FINISH_TO_COME
    raise_mm, stopped_by = _raising(run, stretch, short_mm, values)
    found = Shortfall(
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
        sentence="",
        lower_ground_mm=short_mm,
        raise_line_mm=raise_mm,
        raise_stopped_by=stopped_by,
        finish_adds_mm=finish_adds_mm,
    )
    return _worded(found, run, raise_mm)


def _raising(run: WallRun, stretch: _Stretch, short_mm: int, values: RuleValues) -> tuple[int, str]:
    """How far the line would have to go up, and what is in the way of that."""
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
    return raise_mm, WEEP_HOLES if stopped else ""


def _worded(short: Shortfall, run: WallRun, raise_mm: int) -> Shortfall:
    place = where(short.from_mm, short.to_mm)
    name = "struck joint" if run.is_rendered else "treatment line"
    lower = f"lower the ground by {millimetres(short.short_mm)}"
    if short.raise_stopped_by:
        remedy = f"{lower}; the weep holes stop the line from going up {raise_mm} mm"
    elif run.is_rendered:
        remedy = f"raise it by {millimetres(raise_mm)}, or {lower}"
    else:
        remedy = f"{lower}, or raise the line by {millimetres(raise_mm)}"
    over = (
        f"finished ground is {millimetres(-short.found_mm)} over the {name}"
        if short.found_mm < 0
        else f"the {name} is only {millimetres(short.found_mm)} above finished ground"
    )
    text = f"{place}, {over} ({short.needed_mm} mm needed): {remedy}."
    text = text[0].upper() + text[1:]
    if short.cause == FINISH_TO_COME:
        text += " Today's ground is low enough; the finish still to come breaks it."
    elif short.finish_adds_mm:
        text += f" The finish still to come makes {millimetres(short.finish_adds_mm)} of that."
    return replace(short, sentence=text)


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
            place = where(start, end)
            yield Shortfall(
                from_mm=start,
                to_mm=end,
                worst_at_mm=start,
                short_mm=over_mm,
                found_mm=-over_mm,
                needed_mm=0,
                rule_key="weep_courses_above_line",
                source=values.rule("weep_courses_above_line").source_words,
                cause=WEEP_HOLES,
                kind="weep_hole_low",
                sentence=(
                    f"{place[0].upper()}{place[1:]}, the weep holes are {millimetres(over_mm)} "
                    "under the struck joint. The line may never be above a weep hole: cut a "
                    f"struck joint at least {millimetres(over_mm)} lower, make good the old one, "
                    "and lower the ground with it if need be. Keep the dust down and wear a mask: "
                    "it holds silica."
                ),
            )
