"""A scene for each kind of defect that a story shows, as found and as fixed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ..canvas import Canvas
from . import clutter, joints, levels, sound, surfaces


@dataclass(frozen=True)
class Scene:
    """How a kind is painted, and how much of the wall the photo takes in (mm)."""

    paint: Callable[[Canvas, bool], None]
    width_mm: float = 1250
    ground_mm: float = 260


SCENES: dict[str, Scene] = {
    "unfilled_joint": Scene(joints.unfilled_joint, 1050),
    "gap_too_wide": Scene(joints.gap_too_wide, 850, 190),
    "articulation_unsealed": Scene(joints.articulation_joint, 900, 200),
    "articulation_rod_only": Scene(joints.backing_rod_only, 700, 150),
    "tight_crack": Scene(joints.tight_crack, 900, 140),
    "soil_against_brick": Scene(levels.soil_against_brick, 1500, 330),
    "ground_too_high": Scene(levels.ground_too_high, 1050, 300),
    "render_line_low": Scene(levels.render_line_low, 800, 200),
    "no_struck_joint": Scene(levels.no_struck_joint, 900, 240),
    "weep_hole_blocked": Scene(surfaces.weep_hole_blocked, 760, 150),
    "weep_hole_low": Scene(levels.weep_hole_low, 820, 220),
    "mortar_drop": Scene(surfaces.mortar_drop, 1050, 220),
    "dirty_brick": Scene(surfaces.dirty_brick, 1300),
    "wet_brick": Scene(surfaces.wet_brick, 1350, 280),
    "tap_splashes": Scene(surfaces.tap_splashes, 1150, 230),
    "timber_against_wall": Scene(clutter.timber_against_wall, 1500, 330),
    "attachment_too_close": Scene(levels.attachment_close, 1000, 360),
    "access_blocked": Scene(clutter.access_blocked, 1900, 420),
    "other": Scene(clutter.other, 1300, 280),
    "clean_wall": Scene(sound.clean_wall, 1400, 280),
    "wall_overview": Scene(sound.wall_overview, 2600, 420),
    "render_wall": Scene(sound.render_wall, 1500, 300),
    "wall_to_measure": Scene(sound.wall_to_measure, 900, 200),
}
"""By kind. The kinds of the catalogue, then some walls with nothing wrong."""
