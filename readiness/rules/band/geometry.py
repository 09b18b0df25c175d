"""A wall run and its levels, as plain data.

Lengths along a run are mm from its start; levels are mm from the site datum, the top of the slab
(0), up positive. A person stands outside facing the wall; distance grows from left to right.
"""

from __future__ import annotations

from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from typing import Any

from readiness.rules.band import stored_levels
from readiness.rules.values.rule_values import RuleValues

RENDERED = ("render",)


@dataclass(frozen=True)
class GroundPoint:
    """The level of the ground at one distance; straight between two points, level beyond them."""

    distance_mm: int
    level_mm: int


@dataclass(frozen=True)
class FinishToCome:
    """Paving, topsoil or the like still to be laid on today's ground over part of a run."""

    from_mm: int
    to_mm: int
    thickness_mm: int
    surface: str = "soil"


@dataclass(frozen=True)
class Gauge:
    """The brick gauge: this many courses (brick and joint) stand this high.

    `measured` is True if it was measured on this wall, False for the usual one that stands in for
    it, and None where it is not known (levels stored by the first version of the form).
    """

    courses: int
    height_mm: int
    measured: bool | None = True

    @property
    def course_mm(self) -> Fraction:
        """Height of one course, brick and joint, exactly."""
        return Fraction(self.height_mm, self.courses)


@dataclass(frozen=True)
class Joint:
    """A vertical joint to be sealed: `kind` is "articulation" or "crack".

    `height_mm` is the height to be sealed; None means the height of the treated band.
    """

    distance_mm: int
    width_mm: int
    depth_mm: int = 110
    height_mm: int | None = None
    kind: str = "articulation"


@dataclass(frozen=True)
class Attachment:
    """Something that stands at the wall, with its clear gap to it."""

    distance_mm: int
    gap_mm: int
    label: str = ""


@dataclass(frozen=True)
class WeepHoles:
    """A row of weep holes: the level of their underside, and how they are spread.

    Either `spacing_mm` (even, over the row) or `positions_mm` (each hole), or neither when only
    the level was measured. The row runs from `from_mm` to `to_mm` (None: the run's end).
    """

    level_mm: int
    spacing_mm: int | None = None
    positions_mm: tuple[int, ...] = ()
    from_mm: int = 0
    to_mm: int | None = None


@dataclass(frozen=True)
class Opening:
    """A door or window whose sill is low enough to break the wall, for articulation joints."""

    from_mm: int
    to_mm: int
    label: str = ""


@dataclass(frozen=True)
class StruckStep:
    """From this distance on, the struck joint in the render runs at another level."""

    distance_mm: int
    level_mm: int


@dataclass(frozen=True)
class WallRun:
    """One straight stretch of external wall, with whatever was measured on it.

    `turn_degrees` is how far the house turns at the run's right-hand end, seen from outside: +90 is
    an outside corner, -90 an inside corner (readiness.rules.band.perimeter draws the outline).
    `first_bed_joint_mm` is the level of the lowest bed joint (number 0). `gauge` None means that
    nobody measured it: the business's usual coursing stands in. `ground_finished` None means
    today's ground plus the finishes to come; if given, it is the finished surface itself and
    finishes only tell what it is made of.
    `fall_mm` is the measured fall of the finished ground over the first metre away from the wall.
    """

    id: str
    label: str
    length_mm: int
    finish: str = "face_brick"
    turn_degrees: int = 90
    surface: str = "soil"
    slab_level_mm: int = 0
    gauge: Gauge | None = None
    first_bed_joint_mm: int | None = None
    brick_length_mm: int | None = None
    struck_joint_mm: int | None = None
    struck_steps: tuple[StruckStep, ...] = ()
    ground_today: tuple[GroundPoint, ...] = ()
    ground_finished: tuple[GroundPoint, ...] | None = None
    finishes_to_come: tuple[FinishToCome, ...] = ()
    joints: tuple[Joint, ...] = ()
    attachments: tuple[Attachment, ...] = ()
    weep_holes: tuple[WeepHoles, ...] = ()
    openings: tuple[Opening, ...] = ()
    courses_treated: int | None = None
    fall_mm: int | None = None

    @property
    def is_rendered(self) -> bool:
        """True where the treatment ends at a struck joint rather than a bed joint."""
        return self.finish in RENDERED

    @property
    def has_ground(self) -> bool:
        return bool(self.ground_today or self.ground_finished)

    @property
    def has_levels(self) -> bool:
        """True once enough was measured to work out the treatment line."""
        if not self.has_ground:
            return False
        return self.is_rendered or self.first_bed_joint_mm is not None

    def gauge_or_default(self, values: RuleValues) -> Gauge:
        """The measured gauge, or the business's usual coursing."""
        return self.gauge or Gauge(values["gauge_courses"], values["gauge_height_mm"], False)

    def perpend_spacing_mm(self, values: RuleValues) -> int:
        """Distance from one perpend to the next in a course: a brick and a joint."""
        brick_mm = self.brick_length_mm or values["brick_length_mm"]
        return brick_mm + values["joint_thickness_mm"]

    def courses_or_default(self, values: RuleValues) -> int:
        return self.courses_treated or values["courses_treated"]

    def levels_as_dict(self) -> dict[str, Any]:
        """What was measured, as JSON can hold it; identity, length and finish are left out."""
        parts = {key: value for key, value in asdict(self).items() if key in _LEVEL_PARTS}
        return {"version": stored_levels.VERSION, **parts}

    def with_levels(self, stored: dict[str, Any] | None) -> WallRun:
        """This run with levels as `levels_as_dict` made them, in this version or an earlier one.

        Unknown keys are left out; `stored_levels.UnknownLevels` for a version yet to come.
        """
        levels = stored_levels.upgraded(stored)
        known = {key: value for key, value in levels.items() if key in _LEVEL_PARTS}
        return replace(self, **{key: _revive(key, value) for key, value in known.items()})


_LISTS: dict[str, type] = {
    "struck_steps": StruckStep,
    "ground_today": GroundPoint,
    "ground_finished": GroundPoint,
    "finishes_to_come": FinishToCome,
    "joints": Joint,
    "attachments": Attachment,
    "weep_holes": WeepHoles,
    "openings": Opening,
}

_LEVEL_PARTS = frozenset(
    {
        "surface", "slab_level_mm", "gauge", "first_bed_joint_mm", "brick_length_mm",
        "struck_joint_mm", "courses_treated", "fall_mm", *_LISTS,
    }
)  # fmt: skip


def _revive(key: str, value: Any) -> Any:
    if value is None:
        return None
    if key == "gauge":
        return Gauge(**value)
    if key not in _LISTS:
        return value
    made = _LISTS[key]
    return tuple(made(**_tuples(part)) for part in value)


def _tuples(part: dict[str, Any]) -> dict[str, Any]:
    return {key: tuple(item) if isinstance(item, list) else item for key, item in part.items()}
