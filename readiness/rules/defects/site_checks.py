"""Checks of a wall run beside its treatment line: slab, fall, attachments, weep holes, joints.

Each check gives a `Finding`: what was found, what is needed, by which rule. Where a finding is a
note it asks a person to look; it is never a verdict.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from itertools import pairwise
from typing import Any

from readiness.rules.band.geometry import Joint, WallRun, WeepHoles
from readiness.rules.band.levels import TreatmentLine
from readiness.rules.band.profile import Exact, Piece, finished_pieces, level_at, today_pieces
from readiness.rules.values.rule_values import RuleValues

SLAB_RULES = {
    "soil": "slab_above_soil_mm",
    "lawn": "slab_above_soil_mm",
    "gravel": "slab_above_soil_mm",
    "sandy": "slab_above_sandy_mm",
    "paving": "slab_above_paving_mm",
}


class Check(StrEnum):
    """What a finding checked."""

    SLAB_HEIGHT = "slab_height"
    FALL = "fall"
    SOIL_ON_BRICK = "soil_on_brick"
    ATTACHMENT = "attachment"
    WEEP_SPACING = "weep_spacing"
    WEEP_HEIGHT = "weep_height"
    WEEPS_OVER_LINE = "weeps_over_line"
    JOINT_WIDTH = "joint_width"
    ARTICULATION_SPACING = "articulation_spacing"
    JOINT_THICKNESS = "joint_thickness"


@dataclass(frozen=True)
class Finding:
    """One check that was made. `kind` is the catalogue's slug if it could become an item.

    What follows `is_note` is what the sentence of its code needs: the surface, what is attached,
    the worst place, the fall that does where it rains little, the courses that usually lie between,
    and the usual brick and joints. `readiness.wording.checks` has the sentences.
    """

    code: Check
    ok: bool
    rule_key: str
    source: str
    found_mm: int | None = None
    needed_mm: int | None = None
    from_mm: int | None = None
    to_mm: int | None = None
    kind: str | None = None
    measured_mm: int | None = None
    is_note: bool = False
    surface: str = ""
    label: str = ""
    worst_at_mm: int | None = None
    light_rain_mm: int = 0
    courses: int = 0
    tolerance_mm: int = 0
    brick_mm: int = 0
    bottom_joint_mm: int = 0


def site_checks(run: WallRun, values: RuleValues) -> list[Finding]:
    """All checks that the run's measurements allow, in a fixed order."""
    return [
        *_slab_height(run, values),
        *_fall(run, values),
        *_soil_on_brick(run, values),
        *_attachments(run, values),
        *_weep_spacing(run, values),
        *_weep_height(run, values),
        *_joint_widths(run, values),
        *_articulation_spacing(run, values),
        *_bed_joint_thickness(run, values),
    ]


def _finding(values: RuleValues, rule_key: str, **parts: Any) -> Finding:
    return Finding(rule_key=rule_key, source=values.rule(rule_key).source_words, **parts)


def _slab_height(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    """The top of the slab above the finished surface, at the worst place of each surface."""
    worst: dict[str, tuple[Exact, Piece]] = {}
    for piece in finished_pieces(run):
        surface = piece.surface or "soil"
        top = max(piece.from_level_mm, piece.to_level_mm)
        if surface not in worst or top > worst[surface][0]:
            worst[surface] = (top, piece)
    for surface, (top, piece) in worst.items():
        found_mm = math.floor(run.slab_level_mm - top)
        rule_key = SLAB_RULES.get(surface, "slab_above_soil_mm")
        needed_mm = values[rule_key]
        at = piece.highest(piece.from_mm, piece.to_mm)[1]
        ok = found_mm >= needed_mm
        yield _finding(
            values, rule_key, code=Check.SLAB_HEIGHT, ok=ok, found_mm=found_mm, needed_mm=needed_mm,
            from_mm=round(at), is_note=True, surface=surface,
        )  # fmt: skip


def _fall(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    """The fall of the finished ground over the first metre away from the wall."""
    if run.fall_mm is None:
        return
    needed_mm, lower_mm = values["ground_fall_mm"], values["ground_fall_low_rain_mm"]
    ok = run.fall_mm >= needed_mm
    yield _finding(
        values, "ground_fall_mm", code=Check.FALL, ok=ok, found_mm=run.fall_mm, needed_mm=needed_mm,
        is_note=True, light_rain_mm=lower_mm,
    )  # fmt: skip


def _soil_on_brick(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    """Ground that is higher today than it will be finished: it must go before the treatment."""
    if not run.ground_finished or not run.ground_today:
        return
    allowed_mm = values["soil_on_brick_max_mm"]
    today, finished = today_pieces(run), finished_pieces(run)
    edges = sorted({piece.from_mm for piece in (*today, *finished)} | {run.length_mm})
    heights = [(at, level_at(today, at) - level_at(finished, at)) for at in edges]
    worst_at, worst = max(heights, key=lambda pair: pair[1])
    found_mm = math.ceil(worst)
    if found_mm <= allowed_mm:
        return
    start, end = _span_over(heights, allowed_mm)
    yield _finding(
        values, "soil_on_brick_max_mm", code=Check.SOIL_ON_BRICK, ok=False, found_mm=found_mm,
        needed_mm=allowed_mm, from_mm=start, to_mm=end, kind="soil_against_brick",
        measured_mm=found_mm, worst_at_mm=worst_at,
    )  # fmt: skip


def _span_over(heights: list[tuple[int, Exact]], allowed_mm: int) -> tuple[int, int]:
    """The first and last distance where today's ground is over the allowed height."""
    start = end = None
    for (left_at, left), (right_at, right) in pairwise(heights):
        if max(left, right) <= allowed_mm:
            continue
        crossing: Exact = left_at
        if min(left, right) <= allowed_mm:
            crossing += Fraction((right_at - left_at) * (allowed_mm - left), right - left)
        begin = left_at if left > allowed_mm else math.floor(crossing)
        finish = right_at if right > allowed_mm else math.ceil(crossing)
        start = begin if start is None else start
        end = finish
    return start or 0, end or 0


def _attachments(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    needed_mm = values["attachment_gap_mm"]
    for item in run.attachments:
        ok = item.gap_mm >= needed_mm
        yield _finding(
            values, "attachment_gap_mm", code=Check.ATTACHMENT, ok=ok, found_mm=item.gap_mm,
            needed_mm=needed_mm, from_mm=item.distance_mm, kind="attachment_too_close",
            measured_mm=item.gap_mm, label=item.label,
        )  # fmt: skip


def hole_positions_mm(row: WeepHoles, run: WallRun) -> tuple[int, ...]:
    """Where the holes of a row are; from its spacing if they were not measured one by one."""
    if row.positions_mm:
        return tuple(sorted(row.positions_mm))
    if not row.spacing_mm:
        return ()
    end_mm = run.length_mm if row.to_mm is None else row.to_mm
    first_mm = row.from_mm + min(row.spacing_mm, end_mm - row.from_mm) // 2
    return tuple(range(first_mm, end_mm, row.spacing_mm))


def _weep_spacing(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    most_mm = values["weep_spacing_max_mm"]
    for row in run.weep_holes:
        gaps = [(b - a, a) for a, b in pairwise(sorted(row.positions_mm))]
        found_mm, at_mm = max(gaps) if gaps else (row.spacing_mm, None)
        if found_mm is None:
            continue
        ok = found_mm <= most_mm
        yield _finding(
            values, "weep_spacing_max_mm", code=Check.WEEP_SPACING, ok=ok, found_mm=found_mm,
            needed_mm=most_mm, from_mm=at_mm, is_note=True,
        )  # fmt: skip


def _weep_height(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    """The underside of the weep holes above finished ground, where it is least."""
    ground = finished_pieces(run)
    needed_mm = values["line_above_ground_mm"]
    for row in run.weep_holes:
        end_mm = run.length_mm if row.to_mm is None else row.to_mm
        inside = [p for p in ground if p.to_mm > row.from_mm and p.from_mm < end_mm]
        if not inside:
            continue
        top, at = max((p.highest(row.from_mm, end_mm) for p in inside), key=lambda pair: pair[0])
        found_mm = math.floor(row.level_mm - top)
        ok = found_mm >= needed_mm
        yield _finding(
            values, "line_above_ground_mm", code=Check.WEEP_HEIGHT, ok=ok, found_mm=found_mm,
            needed_mm=needed_mm, from_mm=round(at), kind="weep_hole_low",
            measured_mm=max(0, found_mm),
        )  # fmt: skip


def weeps_over_line(
    run: WallRun, line: TreatmentLine | None, values: RuleValues
) -> Iterator[Finding]:
    """A note where fewer courses than usual lie between the line and the weep holes."""
    usual = values["weep_courses_above_line"]
    course_mm = run.gauge_or_default(values).course_mm
    for part in line.segments if line else ():
        above = [
            row.level_mm - part.level_mm
            for row in run.weep_holes
            if row.from_mm < part.to_mm
            and (run.length_mm if row.to_mm is None else row.to_mm) > part.from_mm
        ]
        if above and 0 <= min(above) // course_mm < usual:
            yield _finding(
                values, "weep_courses_above_line", code=Check.WEEPS_OVER_LINE, ok=False,
                is_note=True, found_mm=round(min(above)), from_mm=part.from_mm, to_mm=part.to_mm,
                courses=usual,
            )  # fmt: skip


# A joint that must move is never filled: what is too wide for sealant there is asked about.
_ASK = "articulation_unsealed"
_TOO_WIDE = {"articulation": _ASK, "crack": "gap_too_wide"}


def _joint_widths(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    widest_mm = values["sealant_width_max_mm"]
    usual_mm = values["articulation_gap_mm"] - values["joint_tolerance_mm"]
    for joint in run.joints:
        if joint.width_mm > widest_mm:
            yield _joint_finding(
                values, "sealant_width_max_mm", joint, widest_mm,
                kind=_TOO_WIDE.get(joint.kind, _ASK),
            )  # fmt: skip
        elif joint.kind == "articulation" and joint.width_mm < usual_mm:
            yield _joint_finding(
                values, "articulation_gap_mm", joint, values["articulation_gap_mm"], is_note=True,
            )  # fmt: skip


def _joint_finding(
    values: RuleValues, rule_key: str, joint: Joint, needed: int, **more: Any
) -> Finding:
    return _finding(
        values, rule_key, code=Check.JOINT_WIDTH, ok=False, found_mm=joint.width_mm,
        needed_mm=needed, from_mm=joint.distance_mm, measured_mm=joint.width_mm, **more,
    )  # fmt: skip


def _articulation_spacing(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    """A long stretch without an articulation joint or opening: perhaps one is missing."""
    most_mm = values["articulation_spacing_max_mm"]
    joints = [(j.distance_mm, j.distance_mm) for j in run.joints if j.kind == "articulation"]
    openings = [(opening.from_mm, opening.to_mm) for opening in run.openings]
    breaks = [(0, 0), *sorted(joints + openings), (run.length_mm, run.length_mm)]
    reached = 0
    for start, end in breaks:
        if start - reached > most_mm:
            yield _finding(
                values, "articulation_spacing_max_mm", code=Check.ARTICULATION_SPACING, ok=False,
                found_mm=start - reached, needed_mm=most_mm, from_mm=reached, to_mm=start,
                is_note=True,
            )  # fmt: skip
        reached = max(reached, end)


def _bed_joint_thickness(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    """The joint that the measured gauge leaves over a standard brick."""
    if run.gauge is None or not run.gauge.measured:
        return
    found = run.gauge.course_mm - values["brick_height_mm"]
    usual_mm, tolerance_mm = values["joint_thickness_mm"], values["joint_tolerance_mm"]
    if abs(found - usual_mm) <= tolerance_mm:
        return
    yield _finding(
        values, "joint_tolerance_mm", code=Check.JOINT_THICKNESS, ok=False, found_mm=round(found),
        needed_mm=usual_mm, is_note=True, tolerance_mm=tolerance_mm,
        brick_mm=values["brick_height_mm"], bottom_joint_mm=values["bottom_joint_max_mm"],
    )  # fmt: skip
