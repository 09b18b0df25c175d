"""Checks of a wall run beside its treatment line: slab, fall, attachments, weep holes, joints.

Each check gives a `Finding`: what was found, what is needed, by which rule. Where a finding is a
note it asks a person to look; it is never a verdict.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise
from typing import Any

from readiness.rules.band.geometry import Joint, WallRun, WeepHoles
from readiness.rules.band.levels import WallBand
from readiness.rules.band.measured import finished_pieces
from readiness.rules.band.profile import Exact, Piece
from readiness.rules.band.quantities import SealingNote, joint_sealing
from readiness.rules.defects.articulation import Doubt, joint_doubts
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
    ATTACHMENT = "attachment"
    WEEP_SPACING = "weep_spacing"
    WEEP_HEIGHT = "weep_height"
    WEEPS_OVER_LINE = "weeps_over_line"
    JOINT_WIDTH = "joint_width"
    JOINT_DEPTH = "joint_depth"
    ARTICULATION_SPACING = "articulation_spacing"
    ARTICULATION_OPENING = "articulation_opening"
    ARTICULATION_CORNER = "articulation_corner"
    ARTICULATION_NEAR_CORNER = "articulation_near_corner"
    JOINT_THICKNESS = "joint_thickness"


@dataclass(frozen=True)
class Finding:
    """One check that was made. `kind` is the catalogue's slug if it could become an item.

    What follows `is_note` is what the sentence of its code needs: the surface, what is attached,
    the worst place, the fall that does where it rains little, the courses that usually lie between,
    the usual brick and joints, the backing rod, that nobody knows the soil class, and from what on
    an opening is large. `readiness.wording.checks` has the sentences.
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
    soil_unknown: bool = False
    large_mm: int = 0
    rod_mm: int = 0


def site_checks(run: WallRun, values: RuleValues, soil_class: str = "") -> list[Finding]:
    """All checks that the run's measurements allow, in a fixed order.

    `soil_class` is the site's, empty where nobody knows it.
    """
    return [
        *_slab_height(run, values),
        *_fall(run, values),
        *_attachments(run, values),
        *_weep_spacing(run, values),
        *_weep_height(run, values),
        *_joint_widths(run, values),
        *_joint_depths(run, values),
        *_articulation(run, values, soil_class),
        *_bed_joint_thickness(run, values),
    ]


def _finding(values: RuleValues, rule_key: str, **parts: Any) -> Finding:
    return Finding(rule_key=rule_key, source=values.source_words(rule_key), **parts)


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


def weeps_over_line(run: WallRun, band: WallBand | None, values: RuleValues) -> Iterator[Finding]:
    """A note where fewer courses than usual lie between the line and the weep holes."""
    usual = values["weep_courses_above_line"]
    course_mm = run.gauge_or_nominal(values).course_mm
    for part in band.segments if band else ():
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
_TOO_WIDE = {"articulation": _ASK, "crack": "tight_crack"}


def _joint_widths(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    widest_mm = values["sealant_width_max_mm"]
    least_mm = values["articulation_gap_mm"]
    for joint in run.joints:
        if joint.width_mm > widest_mm:
            yield _joint_finding(
                values, "sealant_width_max_mm", joint, widest_mm,
                kind=_TOO_WIDE.get(joint.kind, _ASK),
            )  # fmt: skip
        elif joint.kind == "articulation" and joint.width_mm < least_mm:
            yield _joint_finding(
                values, "articulation_gap_mm", joint, least_mm, is_note=True,
            )  # fmt: skip


def _joint_finding(
    values: RuleValues, rule_key: str, joint: Joint, needed: int, **more: Any
) -> Finding:
    return _finding(
        values, rule_key, code=Check.JOINT_WIDTH, ok=False, found_mm=joint.width_mm,
        needed_mm=needed, from_mm=joint.distance_mm, measured_mm=joint.width_mm, **more,
    )  # fmt: skip


def _joint_depths(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    """Joints that are not deep enough for the backing rod that their width takes."""
    for joint in run.joints:
        part = joint_sealing(run, joint, values)
        if part.note is SealingNote.SHALLOW:
            yield _finding(
                values, "sealant_depth_min_mm", code=Check.JOINT_DEPTH, ok=False, is_note=True,
                found_mm=part.depth_mm, needed_mm=part.depth_needed_mm,
                from_mm=joint.distance_mm, rod_mm=part.rod_mm,
            )  # fmt: skip


_DOUBTS = {
    Doubt.TOO_FAR_APART: Check.ARTICULATION_SPACING,
    Doubt.NONE_BESIDE_OPENING: Check.ARTICULATION_OPENING,
    Doubt.FAR_FROM_CORNER: Check.ARTICULATION_CORNER,
    Doubt.NEAR_CORNER: Check.ARTICULATION_NEAR_CORNER,
}


def _articulation(run: WallRun, values: RuleValues, soil_class: str) -> Iterator[Finding]:
    """Notes about articulation joints; the first says so where the soil class is not known."""
    for place, doubt in enumerate(joint_doubts(run, values, soil_class)):
        yield _finding(
            values, doubt.rule_key, code=_DOUBTS[doubt.doubt], ok=False, found_mm=doubt.found_mm,
            needed_mm=values[doubt.rule_key], from_mm=doubt.from_mm, to_mm=doubt.to_mm,
            is_note=True, soil_unknown=not soil_class and place == 0,
            large_mm=values["articulation_large_mm"],
        )  # fmt: skip


def _bed_joint_thickness(run: WallRun, values: RuleValues) -> Iterator[Finding]:
    """The joint that the measured gauge leaves over the wall's unit."""
    if run.gauge is None or not run.gauge.measured:
        return
    unit = run.unit_or_usual(values)
    found = run.gauge.course_mm - unit.height_mm
    usual_mm, tolerance_mm = unit.joint_mm, values["joint_tolerance_mm"]
    if abs(found - usual_mm) <= tolerance_mm:
        return
    yield _finding(
        values, "joint_tolerance_mm", code=Check.JOINT_THICKNESS, ok=False, found_mm=round(found),
        needed_mm=usual_mm, is_note=True, tolerance_mm=tolerance_mm,
        brick_mm=unit.height_mm, bottom_joint_mm=values["bottom_joint_max_mm"],
    )  # fmt: skip
