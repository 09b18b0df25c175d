"""Small makers of wall runs for the rules' tests."""

from readiness.rules.band.geometry import Gauge, GroundPoint, WallRun, WeepHoles
from readiness.rules.defects.proposals import proposed_items
from readiness.rules.values.rule_values import RuleValues

VALUES = RuleValues.defaults()
EXACT = VALUES.with_overrides({"tape_error_mm": 0})
"""Readings count as exact."""


def ground(*points: tuple[int, int]) -> tuple[GroundPoint, ...]:
    return tuple(GroundPoint(*point) for point in points)


def brick_wall(*points: tuple[int, int], length_mm: int = 6000, **parts) -> WallRun:
    """A face-brick wall with a bed joint two courses under the slab."""
    defaults = {"gauge": Gauge(1, 86), "bed_joint_mm": -172}
    return WallRun(
        "north", "North wall", length_mm, ground_today=ground(*points), **(defaults | parts)
    )


def rendered_wall(*points: tuple[int, int], struck_joint_mm=-100, length_mm=6000, **parts):
    """A rendered wall with a level struck joint."""
    return WallRun(
        "east", "East wall", length_mm, finish="render", struck_joint_mm=struck_joint_mm,
        ground_today=ground(*points), **parts,
    )  # fmt: skip


def weeps_at(level_mm: int, **parts) -> tuple[WeepHoles, ...]:
    return (WeepHoles(level_mm, **parts),)


def besides_soil(run: WallRun, values: RuleValues = VALUES) -> list:
    """What is proposed but to clear soil, which lies over the band wherever nothing is to come."""
    return [item for item in proposed_items(run, values) if item.clear is None]
