"""What is said of a measurement that can't be right: the number, and what it can be."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping

from django.utils.translation import gettext as _

from readiness.rules.band.believable import Doubt, Unbelievable
from readiness.rules.words import counted, metres, millimetres
from readiness.wording.levels import from_slab


def unbelievable(problem: Unbelievable) -> str:
    """The sentence, for the field that the number was typed in."""
    return _SAID[problem.code](problem)


def all_of(problems: Iterable[Unbelievable]) -> str:
    """The sentences one after the other."""
    return " ".join(map(unbelievable, problems))


def _named(problem: Unbelievable) -> str:
    """What the number is of: "Ground today, point 2 at 4 m"."""
    number = (problem.index or 0) + 1
    place = "" if problem.at_mm is None else metres(problem.at_mm)
    if problem.field == "attachments":
        return _("%(what)s at %(place)s") % {
            "what": problem.label or _("Attachment"),
            "place": place,
        }
    name = _NAMES[problem.field]()
    return name % {"number": number, "place": place}


_NAMES: Mapping[str, Callable[[], str]] = {
    "bed_joint_mm": lambda: _("The bed joint"),
    "brick_bottom_mm": lambda: _("The bottom of the brickwork"),
    "perpend": lambda: _("The upright joint at %(place)s"),
    "unit": lambda: _("The joint between the bricks or blocks"),
    "openings": lambda: _("Opening %(number)d"),
    "struck_joint_mm": lambda: _("The struck joint"),
    "slab_level_mm": lambda: _("The top of the slab"),
    "ground_today": lambda: _("Ground today, point %(number)d at %(place)s,"),
    "ground_finished": lambda: _("Finished ground, point %(number)d at %(place)s,"),
    "struck_steps": lambda: _("Step %(number)d of the struck joint, at %(place)s,"),
    "finishes_to_come": lambda: _("Finish to come %(number)d"),
    "joints": lambda: _("Joint %(number)d at %(place)s"),
    "weep_holes": lambda: _("Row %(number)d of the weep holes"),
}


def _range(problem: Unbelievable) -> str:
    return _("It can be from %(low)d to %(high)d mm.") % {"low": problem.low, "high": problem.high}


def _length(problem: Unbelievable) -> str:
    return _(
        "The wall's length is %(found)s. It can be more than 0 and up to %(most)s."
    ) % {"found": millimetres(problem.found), "most": metres(problem.high)}  # fmt: skip


def _no_gauge(problem: Unbelievable) -> str:
    return _("The gauge needs at least 1 course and a height of more than 0 mm.")


def _gauge(problem: Unbelievable) -> str:
    courses = problem.courses
    return _(
        "%(courses)s in %(height)s is %(each)s mm a course. It can be from %(low)d to %(high)d mm "
        "a course: for %(courses)s, %(least)d to %(most)d mm."
    ) % {
        "courses": counted(courses, _("course"), _("courses")),
        "height": millimetres(problem.found),
        "each": f"{problem.found / courses:.1f}",
        "low": problem.low,
        "high": problem.high,
        "least": problem.low * courses,
        "most": problem.high * courses,
    }


def _brick_length(problem: Unbelievable) -> str:
    text = _("A brick is %(found)s long.") % {"found": millimetres(problem.found)}
    return f"{text} {_range(problem)}"


def _courses(problem: Unbelievable) -> str:
    return _("%(found)d courses are to be treated. It can be from %(low)d to %(high)d.") % {
        "found": problem.found,
        "low": problem.low,
        "high": problem.high,
    }


def _level(problem: Unbelievable) -> str:
    return _("%(what)s is %(level)s. It can be up to %(most)d mm above or below.") % {
        "what": _named(problem),
        "level": from_slab(problem.found),
        "most": problem.high,
    }


def _fall(problem: Unbelievable) -> str:
    text = _("The ground falls %(found)s in the first metre.") % {
        "found": millimetres(problem.found)
    }
    return f"{text} {_range(problem)}"


def _off_the_wall(problem: Unbelievable) -> str:
    what = _named(problem)
    if problem.field == "weep_holes":
        what = _("A weep hole at %(place)s") % {"place": metres(problem.at_mm or 0)}
    return _("%(what)s is off the wall, which is %(length)s long.") % {
        "what": what,
        "length": metres(problem.other_mm),
    }


def _twice(problem: Unbelievable) -> str:
    return _("%(what)s is the third one there. Two at one distance are a step.") % {
        "what": _named(problem)
    }


def _out_of_order(problem: Unbelievable) -> str:
    return _(
        "%(what)s comes after the one at %(before)s. Distances must grow along the wall."
    ) % {"what": _named(problem), "before": metres(problem.other_mm)}  # fmt: skip


def _ends_before_start(problem: Unbelievable) -> str:
    return _("%(what)s ends at %(end)s, before it starts (%(start)s).") % {
        "what": _named(problem),
        "end": metres(problem.found),
        "start": metres(problem.other_mm),
    }


def _past_the_end(problem: Unbelievable) -> str:
    return _("%(what)s goes past the wall, which is %(length)s long.") % {
        "what": _named(problem),
        "length": metres(problem.other_mm),
    }


def _size(words: Callable[[], str]) -> Callable[[Unbelievable], str]:
    """A size that is out of its range: "Joint 1 at 3 m is 900 mm wide. ..."."""

    def said(problem: Unbelievable) -> str:
        text = words() % {"what": _named(problem), "found": millimetres(problem.found)}
        return f"{text} {_range(problem)}"

    return said


def _spacing(problem: Unbelievable) -> str:
    text = _("Weep holes are %(found)s apart.") % {"found": millimetres(problem.found)}
    return f"{text} {_range(problem)}"


def _unit(problem: Unbelievable) -> str:
    text = _("The brick or block is %(found)s high.") % {"found": millimetres(problem.found)}
    return f"{text} {_range(problem)}"


def _raked(problem: Unbelievable) -> str:
    text = _("The joints are raked %(found)s deep.") % {"found": millimetres(problem.found)}
    return f"{text} {_range(problem)}"


def _overlap(problem: Unbelievable) -> str:
    return _("%(what)s starts at %(start)s, inside the one that ends at %(end)s.") % {
        "what": _named(problem),
        "start": metres(problem.at_mm or 0),
        "end": metres(problem.other_mm),
    }


def _under_brickwork(problem: Unbelievable) -> str:
    return _(
        "The weep holes (%(weeps)s) are under the bottom of the brickwork (%(bottom)s). One of "
        "the two must be wrong."
    ) % {"weeps": from_slab(problem.found), "bottom": from_slab(problem.other_mm)}


_SAID: Mapping[Doubt, Callable[[Unbelievable], str]] = {
    Doubt.LENGTH: _length,
    Doubt.NO_GAUGE: _no_gauge,
    Doubt.GAUGE: _gauge,
    Doubt.BRICK_LENGTH: _brick_length,
    Doubt.COURSES: _courses,
    Doubt.LEVEL: _level,
    Doubt.FALL: _fall,
    Doubt.OFF_THE_WALL: _off_the_wall,
    Doubt.TWICE: _twice,
    Doubt.OUT_OF_ORDER: _out_of_order,
    Doubt.ENDS_BEFORE_START: _ends_before_start,
    Doubt.PAST_THE_END: _past_the_end,
    Doubt.THICKNESS: _size(lambda: _("%(what)s is %(found)s thick.")),
    Doubt.WIDTH: _size(lambda: _("%(what)s is %(found)s wide.")),
    Doubt.DEPTH: _size(lambda: _("%(what)s is %(found)s deep.")),
    Doubt.HEIGHT: _size(lambda: _("%(what)s is %(found)s high.")),
    Doubt.GAP: _size(lambda: _("%(what)s has a gap of %(found)s.")),
    Doubt.SPACING: _spacing,
    Doubt.UNDER_BRICKWORK: _under_brickwork,
    Doubt.UNIT: _unit,
    Doubt.RAKED: _raked,
    Doubt.OVERLAP: _overlap,
}
