"""A wall run and its levels, as plain data.

Lengths along a run are mm from its start; levels are mm from the site datum, the top of the main
slab (0), up positive. A person stands outside facing the wall; distance grows from left to right.
A unit's height and length exclude the joint. The bed joint that can be seen is number 0, joints
count up from it; the course above joint n is called course n.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import asdict, dataclass, replace
from fractions import Fraction
from typing import Any

from readiness.rules.band import stored_levels
from readiness.rules.values.rule_values import RuleValues

RENDERED = ("render",)

STANDARD_COURSE_MM = 86
"""A course of standard brick, 76 mm and its joint: courses asked for are so many of these."""


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
    `from_photo`: it was measured on this wall, on a photo of it.
    """

    courses: int
    height_mm: int
    measured: bool | None = True
    from_photo: bool = False

    @property
    def course_mm(self) -> Fraction:
        """Height of one course, brick and joint, exactly."""
        return Fraction(self.height_mm, self.courses)


@dataclass(frozen=True)
class Unit:
    """A brick or block without its joint, and the nominal joint."""

    height_mm: int
    length_mm: int
    joint_mm: int = 10

    @property
    def course_mm(self) -> int:
        """Nominal height of one course: unit and joint."""
        return self.height_mm + self.joint_mm

    @property
    def pitch_mm(self) -> int:
        """From one perpend to the next in a course."""
        return self.length_mm + self.joint_mm

    def courses_for(self, standard_courses: int) -> int:
        """As many courses as reach so many of standard brick, by nominal height; at least one."""
        return max(1, -(-standard_courses * STANDARD_COURSE_MM // self.course_mm))


UNITS = (Unit(76, 230), Unit(90, 290), Unit(119, 230), Unit(162, 230), Unit(190, 390))
"""Units that walls are mostly laid of, by height; the last is the common block."""

COMMON_BLOCK = UNITS[-1]


@dataclass(frozen=True)
class Perpend:
    """One perpend that was measured: in the course above which bed joint, and where."""

    above_bed_joint: int
    at_mm: int


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
    """A door or window whose sill is low enough to break the wall.

    `threshold_mm` is the level of its sill. `wall_below`: there is wall up to the sill, there is
    none in the band, or (None) nobody said.
    """

    from_mm: int
    to_mm: int
    label: str = ""
    threshold_mm: int | None = None
    wall_below: bool | None = None

    @property
    def is_known(self) -> bool:
        """It was said whether there is wall below, and if so up to where."""
        if self.wall_below is None:
            return False
        return not self.wall_below or self.threshold_mm is not None


@dataclass(frozen=True)
class StruckStep:
    """From this distance on, the struck joint in the render runs at another level."""

    distance_mm: int
    level_mm: int


def apart(stretches: Iterable[tuple[int, int]]) -> tuple[tuple[int, int], ...]:
    """Stretches (from, to) in order, those that meet as one."""
    found: list[tuple[int, int]] = []
    for start, end in sorted(stretches):
        if found and start <= found[-1][1]:
            found[-1] = (found[-1][0], max(end, found[-1][1]))
        else:
            found.append((start, end))
    return tuple(found)


@dataclass(frozen=True)
class WallRun:
    """One straight stretch of external wall, with whatever was measured on it.

    `turn_degrees` is how far the house turns at the run's right-hand end, seen from outside: +90 is
    an outside corner, -90 an inside corner (readiness.rules.band.perimeter draws the outline).
    `slab_level_mm` is the top of the slab that this wall stands on: below 0 where it is stepped
    down. `bed_joint_mm` is the level of a bed joint that can be seen (number 0), not always the
    lowest. `unit`, `brick_length_mm` and `gauge` are None where nobody said or measured them, and
    so is `brick_bottom_mm`, the level where the brickwork starts. `raked_mm` is how deep the joints
    are raked: a joint is then filled when it is filled to there.
    `ground_finished` None means today's ground plus the finishes to come; if given, it is the
    finished surface itself and finishes only tell what it is made of.
    `fall_mm` is the measured fall of the finished ground over the first metre away from the wall.
    `out_of_reach` are stretches (from, to) that nobody can reach, in order and apart: nothing is
    treated there. It is no part of the levels.
    """

    id: str
    label: str
    length_mm: int
    finish: str = "face_brick"
    turn_degrees: int = 90
    surface: str = "soil"
    slab_level_mm: int = 0
    gauge: Gauge | None = None
    bed_joint_mm: int | None = None
    unit: Unit | None = None
    brick_length_mm: int | None = None
    brick_bottom_mm: int | None = None
    perpend: Perpend | None = None
    raked_mm: int | None = None
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
    out_of_reach: tuple[tuple[int, int], ...] = ()

    @property
    def reachable_mm(self) -> int:
        """How much of its length somebody can get at."""
        return self.length_mm - sum(to_mm - from_mm for from_mm, to_mm in self.out_of_reach)

    def is_out_of_reach(self, from_mm: int, to_mm: int) -> bool:
        """Whether nobody can reach any of a stretch, or a place (`from_mm` is `to_mm`)."""
        return any(start <= from_mm and to_mm <= end for start, end in self.out_of_reach)

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
        return self.is_rendered or self.bed_joint_mm is not None

    def unit_or_usual(self, values: RuleValues) -> Unit:
        """The unit that was named, or the likeliest one, with the length that was measured.

        Not named, it is by a measured gauge the unit of `UNITS` nearest to it, on blockwork the
        common block, else the business's usual brick.
        """
        unit = self.unit or self._likely_unit(values)
        return replace(unit, length_mm=self.brick_length_mm) if self.brick_length_mm else unit

    def _likely_unit(self, values: RuleValues) -> Unit:
        usual = Unit(
            values["brick_height_mm"], values["brick_length_mm"], values["joint_thickness_mm"]
        )
        likely = COMMON_BLOCK if self.finish == "block" else usual
        if self.gauge is None:
            return likely
        course_mm = self.gauge.course_mm
        return min((likely, *UNITS), key=lambda unit: abs(unit.course_mm - course_mm))

    def gauge_or_nominal(self, values: RuleValues) -> Gauge:
        """The measured gauge, or one course of the unit, which nobody measured."""
        return self.gauge or Gauge(1, self.unit_or_usual(values).course_mm, measured=False)

    def courses_asked(self, values: RuleValues) -> int:
        """Courses of this wall's own unit to treat, not counting what lies below ground."""
        return self.courses_treated or self.unit_or_usual(values).courses_for(
            values["courses_treated"]
        )

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


_PARTS: dict[str, type] = {"gauge": Gauge, "unit": Unit, "perpend": Perpend}

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
        "surface", "slab_level_mm", "unit", "gauge", "bed_joint_mm", "brick_length_mm",
        "brick_bottom_mm", "perpend", "raked_mm", "struck_joint_mm", "courses_treated", "fall_mm",
        *_LISTS,
    }
)  # fmt: skip


def _revive(key: str, value: Any) -> Any:
    if value is None:
        return None
    if key in _PARTS:
        return _PARTS[key](**value)
    if key not in _LISTS:
        return value
    made = _LISTS[key]
    return tuple(made(**_tuples(part)) for part in value)


def _tuples(part: dict[str, Any]) -> dict[str, Any]:
    return {key: tuple(item) if isinstance(item, list) else item for key, item in part.items()}
