"""From stored levels to what the form shows: everything as measured from the top of the slab."""

from __future__ import annotations

from portal.office.levels.forms import NO_WALL_BELOW, OWN_UNIT, WALL_BELOW, unit_code
from readiness.rules.band.geometry import Unit, WallRun


def initial(run: WallRun) -> dict:
    """The single numbers that somebody gave, all shown as measured from the top of the slab."""
    gauge = run.gauge if run.gauge and run.gauge.measured else None
    return {
        "ground_from": "slab",
        "bed_joint": _down(run, run.bed_joint_mm),
        "gauge_courses": gauge.courses if gauge else None,
        "gauge_height": gauge.height_mm if gauge else None,
        "struck_joint": _down(run, run.struck_joint_mm),
        "struck_from": "slab",
        "weep_from": "slab",
        "surface": run.surface,
        "fall": run.fall_mm,
        "courses_treated": run.courses_treated,
        "brick_length": run.brick_length_mm,
        "brick_bottom": _down(run, run.brick_bottom_mm),
        "perpend": run.perpend.at_mm if run.perpend else None,
        "raked": run.raked_mm,
        "slab_down": -run.slab_level_mm or None,
        **_own_unit(run.unit),
    }


def _own_unit(unit: Unit | None) -> dict:
    """Which unit was chosen, and the sizes of one that is none of the usual."""
    code = unit_code(unit)
    if unit is None or code != OWN_UNIT:
        return {"unit": code}
    return {
        "unit": code,
        "unit_height": unit.height_mm,
        "unit_length": unit.length_mm,
        "unit_joint": unit.joint_mm,
    }


def _down(run: WallRun, level: int | None) -> int | None:
    return None if level is None else run.slab_level_mm - level


def row_values(name: str, run: WallRun) -> list[dict]:
    """The stored rows of a list, and blank ones to go on with."""
    stored = _STORED_ROWS[name](run)
    if name == "ground" and not stored:
        return [{"at": 0}, {"at": run.length_mm}, {}]
    return [*stored, {}]


_STORED_ROWS = {
    "ground": lambda run: [
        {"at": point.distance_mm, "mm": _down(run, point.level_mm)} for point in run.ground_today
    ],
    "finished": lambda run: [
        {"at": point.distance_mm, "mm": _down(run, point.level_mm)}
        for point in run.ground_finished or ()
    ],
    "finishes": lambda run: [
        {"start": part.from_mm, "end": part.to_mm, "thickness": part.thickness_mm,
         "surface": part.surface}
        for part in run.finishes_to_come
    ],
    "struck": lambda run: [
        {"at": step.distance_mm, "mm": _down(run, step.level_mm)} for step in run.struck_steps
    ],
    "weeps": lambda run: [
        {"mm": _down(run, row.level_mm), "spacing": row.spacing_mm, "start": row.from_mm or None,
         "end": row.to_mm, "places": row.positions_mm or None}
        for row in run.weep_holes
    ],
    "joints": lambda run: [
        {"at": joint.distance_mm, "width": joint.width_mm, "depth": joint.depth_mm,
         "height": joint.height_mm, "kind": joint.kind}
        for joint in run.joints
    ],
    "attachments": lambda run: [
        {"label": item.label, "at": item.distance_mm, "gap": item.gap_mm}
        for item in run.attachments
    ],
    "openings": lambda run: [
        {"start": part.from_mm, "end": part.to_mm, "label": part.label,
         "threshold": _down(run, part.threshold_mm),
         "below": {False: NO_WALL_BELOW, True: WALL_BELOW}.get(part.wall_below, "")}
        for part in run.openings
    ],
}  # fmt: skip
