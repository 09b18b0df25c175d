"""Where a treatment line breaks a rule, in whole mm: by how much, why, and what would mend it."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from readiness.rules.band.beside import FINISHED_GROUND, ShortCause, TooClose
from readiness.rules.band.geometry import WallRun
from readiness.rules.band.measured import finished_pieces, today_pieces
from readiness.rules.band.profile import Exact, level_at
from readiness.rules.band.stretch import Stretch, whole_extent
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.vocabulary import Trade


class Cause(StrEnum):
    """What makes a line too low or too high."""

    GROUND_TODAY = "ground_today"
    FINISH_TO_COME = "finish_to_come"
    WEEP_HOLES = "weep_holes"


_CAUSES = {ShortCause.TODAY: Cause.GROUND_TODAY, ShortCause.TO_COME: Cause.FINISH_TO_COME}


@dataclass(frozen=True)
class Shortfall:
    """One stretch where the line breaks a rule, with both remedies, in whole mm (rounded up).

    `found_mm` is the clearance at the worst place (rounded down; below 0 the ground is over the
    line). `lower_ground_mm` and `raise_line_mm` are the remedies; None where one is no remedy.
    `raise_stopped` says that the weep holes stop it from being raised. `finish_adds_mm` is how much
    of the shortfall the finish still to come makes, `surface` what that is made of. `kind` is the
    catalogue's slug for an item, `trade` who has to act where the kind's usual one does not.
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
    surface: str = ""
    trade: Trade | None = None


def shortfalls_of(
    run: WallRun, breaches: tuple[TooClose, ...], tops: tuple[Stretch, ...], values: RuleValues
) -> tuple[Shortfall, ...]:
    """Each stretch where the line of a run breaks a rule."""
    return tuple(_each(run, breaches, tops, values))


def _each(
    run: WallRun, breaches: tuple[TooClose, ...], tops: tuple[Stretch, ...], values: RuleValues
) -> Iterator[Shortfall]:
    for breach in breaches:
        if breach.cause is ShortCause.WEEP_HOLES:
            yield _over_weep_holes(run, breach, values)
        else:
            yield _too_close(run, breach, tops, values)


def _too_close(
    run: WallRun, breach: TooClose, tops: tuple[Stretch, ...], values: RuleValues
) -> Shortfall:
    clearance_mm, cause = values["line_above_ground_mm"], _CAUSES[breach.cause]
    short_mm = math.ceil(breach.by_mm)
    raise_mm = _raise_mm(run, breach, values)
    surface = "" if breach.what == FINISHED_GROUND else breach.what
    return Shortfall(
        *whole_extent(breach.from_mm, breach.to_mm),
        worst_at_mm=round(breach.at_mm),
        short_mm=short_mm,
        found_mm=math.floor(clearance_mm - breach.by_mm),
        needed_mm=clearance_mm,
        rule_key="line_above_ground_mm",
        source=values.source_words("line_above_ground_mm"),
        cause=cause,
        kind="render_line_low" if run.is_rendered else "ground_too_high",
        is_rendered=run.is_rendered,
        lower_ground_mm=short_mm,
        raise_line_mm=raise_mm,
        raise_stopped=_is_stopped(run, breach, tops, raise_mm),
        finish_adds_mm=_finish_adds_mm(run, breach, short_mm),
        surface=surface,
        trade=Trade.PAVING if cause is Cause.FINISH_TO_COME and surface == "paving" else None,
    )


def _raise_mm(run: WallRun, breach: TooClose, values: RuleValues) -> int:
    """How far the line would have to go up: on brick by whole courses."""
    if run.is_rendered:
        return math.ceil(breach.by_mm)
    course_mm = run.gauge_or_nominal(values).course_mm
    return math.ceil(math.ceil(breach.by_mm / course_mm) * course_mm)


def _is_stopped(run: WallRun, breach: TooClose, tops: tuple[Stretch, ...], raise_mm: int) -> bool:
    """True where the line would then lie above a weep hole."""
    at_mm: Exact = breach.at_mm
    weeps = [
        row.level_mm
        for row in run.weep_holes
        if row.from_mm <= at_mm <= (run.length_mm if row.to_mm is None else row.to_mm)
    ]
    lines = [top.level_mm for top in tops if top.from_mm <= at_mm <= top.to_mm]
    return bool(weeps and lines) and min(lines) + raise_mm > min(weeps)


def _finish_adds_mm(run: WallRun, breach: TooClose, short_mm: int) -> int:
    """How much of the shortfall would not be there with today's ground alone."""
    if not run.ground_today:
        return 0
    finished = level_at(finished_pieces(run), breach.at_mm)
    adds = finished - level_at(today_pieces(run), breach.at_mm)
    return min(short_mm, max(0, math.floor(adds)))


def _over_weep_holes(run: WallRun, breach: TooClose, values: RuleValues) -> Shortfall:
    """A struck joint that was cut higher than the underside of the weep holes."""
    over_mm = math.ceil(breach.by_mm)
    return Shortfall(
        *whole_extent(breach.from_mm, breach.to_mm),
        worst_at_mm=round(breach.at_mm),
        short_mm=over_mm,
        found_mm=-over_mm,
        needed_mm=0,
        rule_key="weep_courses_above_line",
        source=values.source_words("weep_courses_above_line"),
        cause=Cause.WEEP_HOLES,
        kind="weep_hole_low",
        is_rendered=run.is_rendered,
    )
