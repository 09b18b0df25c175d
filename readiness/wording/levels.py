"""What the levels of a wall say: where the treatment ends, and where the line breaks a rule."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.band.geometry import Gauge
from readiness.rules.band.levels import TreatmentLine
from readiness.rules.band.line import LineSegment
from readiness.rules.band.shortfalls import Cause, Shortfall
from readiness.rules.words import metres, millimetres, where
from readiness.wording.visits import capital


def from_slab(level_mm: int) -> str:
    """A level against the datum: "86 mm below the top of the slab"."""
    if level_mm == 0:
        return _("level with the top of the slab")
    words = _("%(mm)d mm above the top of the slab")
    if level_mm < 0:
        words = _("%(mm)d mm below the top of the slab")
    return words % {"mm": abs(level_mm)}


def courses_in(gauge: Gauge) -> str:
    """ "7 courses in 600 mm"."""
    words = ngettext(
        "%(count)d course in %(height)s", "%(count)d courses in %(height)s", gauge.courses
    )
    return words % {"count": gauge.courses, "height": millimetres(gauge.height_mm)}


# The line


def no_struck_joint(needed_level_mm: int) -> str:
    """What a rendered wall without a struck joint needs."""
    return _("No struck joint was entered. It must be %(level)s or higher.") % {
        "level": from_slab(needed_level_mm)
    }


def line_sentence(line: TreatmentLine) -> str:
    """The answer in two plain sentences: where the treatment ends, and its worst place."""
    if line.worst_clearance_mm is None or line.worst_at_mm is None:
        return no_struck_joint(line.needed_level_mm)
    steps = ngettext("with %(count)d step", "with %(count)d steps", line.steps)
    ends = _("The treatment ends at %(joint)s, %(along)s.") % {
        "joint": segment_words(line.segments[0]),
        "along": steps % {"count": line.steps} if line.steps else _("level all along"),
    }
    clearance = _clearance(line.worst_clearance_mm, metres(line.worst_at_mm))
    return " ".join([ends, clearance, *_falls_short(line.shortfalls)])


def _clearance(clearance_mm: int, at: str) -> str:
    """The worst place."""
    if clearance_mm < 0:
        return _("Finished ground is %(mm)d mm over it at %(at)s.") % {
            "mm": -clearance_mm,
            "at": at,
        }
    return _("It is closest to finished ground at %(at)s: %(mm)d mm.") % {
        "at": at,
        "mm": clearance_mm,
    }


def _falls_short(shortfalls: Sequence[Shortfall]) -> list[str]:
    """How much is missing at the worst place and in how many."""
    if not shortfalls:
        return []
    words = ngettext(
        "It falls short in %(count)d place, by up to %(mm)d mm.",
        "It falls short in %(count)d places, by up to %(mm)d mm.",
        len(shortfalls),
    )
    worst = max(short.short_mm for short in shortfalls)
    return [words % {"count": len(shortfalls), "mm": worst}]


def segment_words(segment: LineSegment) -> str:
    """A stretch's joint and level: "bed joint 2 up from the lowest, 86 mm below the ..."."""
    level = from_slab(segment.rounded_mm)
    if segment.joint_number is None:
        return _("the struck joint, %(level)s") % {"level": level}
    if segment.joint_number == 0:
        return _("the lowest bed joint, %(level)s") % {"level": level}
    return _("bed joint %(number)d up from the lowest, %(level)s") % {
        "number": segment.joint_number,
        "level": level,
    }


# What nobody checked or measured


def not_checked() -> str:
    return _("The courses under the line were not checked against the brickwork.")


def line_doubts(line: TreatmentLine) -> list[str]:
    """What nobody checked or measured of a line on brick, one sentence each."""
    if not line.segments or line.gauge is None:
        return []
    return [not_checked(), *gauge_doubts(line.gauge)]


def gauge_doubts(gauge: Gauge) -> list[str]:
    """That a gauge was not measured on this wall, or that this is not known."""
    if gauge.measured:
        return []
    used = {"gauge": courses_in(gauge)}
    if gauge.measured is None:
        return [_("Gauge: %(gauge)s, not known whether measured on this wall.") % used]
    return [_("Gauge not measured: the usual %(gauge)s is used.") % used]


# Where it breaks a rule


def shortfall(short: Shortfall) -> str:
    """From where to where the line breaks a rule, by how much, and what to do."""
    place = capital(where(short.from_mm, short.to_mm))
    if short.cause is Cause.WEEP_HOLES:
        return _(
            "%(place)s, the weep holes are %(mm)d mm under the struck joint. The line may never "
            "be above a weep hole: cut a struck joint at least %(mm)d mm lower, make good the old "
            "one, and lower the ground with it if need be. Keep the dust down and wear a mask: "
            "it holds silica."
        ) % {"place": place, "mm": short.short_mm}
    text = _("%(place)s, %(found)s (%(needed)d mm needed): %(remedy)s.") % {
        "place": place,
        "found": _found(short),
        "needed": short.needed_mm,
        "remedy": _remedy(short),
    }
    return " ".join([text, *_of_the_finish(short)])


def _found(short: Shortfall) -> str:
    over = short.found_mm < 0
    if short.is_rendered:
        words = _("the struck joint is only %(mm)d mm above finished ground")
        if over:
            words = _("finished ground is %(mm)d mm over the struck joint")
    else:
        words = _("the treatment line is only %(mm)d mm above finished ground")
        if over:
            words = _("finished ground is %(mm)d mm over the treatment line")
    return words % {"mm": abs(short.found_mm)}


def _remedy(short: Shortfall) -> str:
    if short.raise_stopped:
        words = _(
            "lower the ground by %(lower)d mm; the weep holes stop the line from going up "
            "%(higher)d mm"
        )
    elif short.is_rendered:
        words = _("raise it by %(higher)d mm, or lower the ground by %(lower)d mm")
    else:
        words = _("lower the ground by %(lower)d mm, or raise the line by %(higher)d mm")
    return words % {"lower": short.lower_ground_mm, "higher": short.raise_line_mm}


def _of_the_finish(short: Shortfall) -> list[str]:
    if short.cause is Cause.FINISH_TO_COME:
        return [_("Today's ground is low enough; the finish still to come is too high.")]
    if short.finish_adds_mm:
        words = _("The finish still to come makes %(mm)d mm of that.")
        return [words % {"mm": short.finish_adds_mm}]
    return []
