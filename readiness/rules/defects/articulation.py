"""Where articulation joints lie in a wall, against ABCB Housing Provisions 5.6.8.

Joints at most so far apart, less where a wall has a large opening, and then one beside each; the
first not too far from a corner, nor too near. The numbers are rule values. None are needed on soil
class A or S. What is found asks a person to look; windows with a sill above the floor, and the
code's other cases (changes of height or thickness, joints in the footing), can't be told from what
was measured.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from readiness.rules.band.geometry import Opening, WallRun
from readiness.rules.values.rule_values import RuleValues
from readiness.rules.vocabulary import WITHOUT_ARTICULATION


class Doubt(StrEnum):
    """What is to be looked at."""

    TOO_FAR_APART = "too_far_apart"
    NONE_BESIDE_OPENING = "none_beside_opening"
    FAR_FROM_CORNER = "far_from_corner"
    NEAR_CORNER = "near_corner"


@dataclass(frozen=True)
class JointDoubt:
    """One doubt: from where to where, how far it is in mm, and the rule value it is held against.

    `found_mm` is None where a wall has no joint at all.
    """

    doubt: Doubt
    rule_key: str
    from_mm: int
    to_mm: int
    found_mm: int | None


def joint_doubts(run: WallRun, values: RuleValues, soil_class: str = "") -> Iterator[JointDoubt]:
    """All doubts about the joints of a wall; none where the soil class asks for no joints.

    A wall on soil of unknown class (empty) is judged as one that needs them.
    """
    if soil_class in WITHOUT_ARTICULATION:
        return
    joints = sorted(joint.distance_mm for joint in run.joints if joint.kind == "articulation")
    large = large_openings(run, values)
    yield from _too_far_apart(joints, bool(large), values)
    yield from _at_corners(run, joints, values)
    if joints or run.length_mm <= values["articulation_corner_max_mm"]:
        for opening in large:
            yield from _beside(opening, joints, values)


def large_openings(run: WallRun, values: RuleValues) -> list[Opening]:
    """Openings that count as large. Their height is not known: a wide one counts."""
    most_mm = values["articulation_large_mm"]
    return [opening for opening in run.openings if opening.to_mm - opening.from_mm > most_mm]


def _too_far_apart(joints: list[int], has_large: bool, values: RuleValues) -> Iterator[JointDoubt]:
    key = "articulation_openings_mm" if has_large else "articulation_spacing_max_mm"
    for left, right in pairwise(joints):
        if right - left > values[key]:
            yield JointDoubt(Doubt.TOO_FAR_APART, key, left, right, right - left)


def _at_corners(run: WallRun, joints: list[int], values: RuleValues) -> Iterator[JointDoubt]:
    """From each end of the wall to its first joint."""
    most_key, least_key = "articulation_corner_max_mm", "articulation_corner_min_mm"
    most_mm, least_mm = values[most_key], values[least_key]
    if not joints:
        if run.length_mm > most_mm:
            yield JointDoubt(Doubt.FAR_FROM_CORNER, most_key, 0, run.length_mm, None)
        return
    ends = [(0, joints[0])]
    if run.turn_degrees:  # else the wall goes on straight
        ends.append((joints[-1], run.length_mm))
    for start, end in ends:
        if end - start > most_mm:
            yield JointDoubt(Doubt.FAR_FROM_CORNER, most_key, start, end, end - start)
        elif end - start < least_mm:
            yield JointDoubt(Doubt.NEAR_CORNER, least_key, start, end, end - start)


def _beside(opening: Opening, joints: list[int], values: RuleValues) -> Iterator[JointDoubt]:
    key = "articulation_beside_mm"
    away = [max(opening.from_mm - at, at - opening.to_mm, 0) for at in joints]
    if not away or min(away) > values[key]:
        nearest = min(away) if away else None
        yield JointDoubt(
            Doubt.NONE_BESIDE_OPENING, key, opening.from_mm, opening.to_mm, nearest
        )  # fmt: skip
