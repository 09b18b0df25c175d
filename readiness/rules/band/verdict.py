"""The verdict of a wall, and the codes of what is behind it.

Decisions that nothing else settles:

- Too little measured: no ground at all, no ground of today, no bed joint, no unit, or a rendered
  wall without a struck joint over all of it. What can be told all the same is told.
- A wall that is all opening is right: there is nothing to treat.
- `why` has everything that is true of the wall, what decides the verdict first. That nobody saw the
  bottom of the brickwork is not among it: it is said once a site.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum

from readiness.rules.band.treated import TreatedBand


class Verdict(StrEnum):
    """What is said of a wall; the first that holds."""

    NOT_KNOWN = "not known"
    DECIDE = "decide"
    SHORT = "short"
    RIGHT = "right"


class Why(StrEnum):
    """What is behind a verdict, or worth knowing beside it."""

    NO_GROUND = "no_ground"
    NO_GROUND_TODAY = "no_ground_today"
    NO_BED_JOINT = "no_bed_joint"
    NO_UNIT = "no_unit"
    NO_STRUCK_JOINT = "no_struck_joint"
    BRICK_ENDS = "brick_ends"
    OPENING_UNKNOWN = "opening_unknown"
    WITHIN_TAPE = "within_tape"
    SHORT = "short"
    GAUGE_NOT_MEASURED = "gauge_not_measured"
    STEPS_ABOUT = "steps_about"
    ENDS_AT_THRESHOLD = "ends_at_threshold"
    NO_WALL = "no_wall"


_NOT_KNOWN = frozenset(
    {Why.NO_GROUND, Why.NO_GROUND_TODAY, Why.NO_BED_JOINT, Why.NO_UNIT, Why.NO_STRUCK_JOINT}
)
_DECIDE = frozenset({Why.BRICK_ENDS, Why.OPENING_UNKNOWN, Why.WITHIN_TAPE})


Details = dict[str, str | int | None]
"""The parameters of a code, as JSON can hold them."""


@dataclass(frozen=True)
class Reason:
    """A code with its parameters, as JSON can hold them."""

    why: Why
    details: Details = field(default_factory=dict)


def of_reasons(reasons: list[Reason]) -> Verdict:
    """The first verdict that one of the reasons gives."""
    found = {reason.why for reason in reasons}
    if found & _NOT_KNOWN:
        return Verdict.NOT_KNOWN
    if found & _DECIDE:
        return Verdict.DECIDE
    return Verdict.SHORT if Why.SHORT in found else Verdict.RIGHT


def of_band(band: TreatedBand, *, undecided: bool) -> Verdict:
    """The verdict of what was measured, taken as exact; `undecided`: an opening is not known."""
    if undecided or band.ends:
        return Verdict.DECIDE
    return Verdict.SHORT if band.breaches else Verdict.RIGHT
