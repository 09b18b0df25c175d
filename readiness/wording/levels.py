"""What the levels of a wall say: where the treatment ends, and where the line breaks a rule."""

from __future__ import annotations

from collections.abc import Sequence

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.band.geometry import Gauge
from readiness.rules.band.levels import WallBand
from readiness.rules.band.line import LineSegment
from readiness.rules.band.shortfalls import Cause, Shortfall
from readiness.rules.vocabulary import Caution
from readiness.rules.words import counted, metres, millimetres, where
from readiness.wording.cautions import caution
from readiness.wording.visits import capital


def from_slab(level_mm: int) -> str:
    """A level against the top of the wall's own slab: "86 mm below the top of the slab"."""
    if level_mm == 0:
        return _("level with the top of the slab")
    words = _("%(mm)d mm above the top of the slab")
    if level_mm < 0:
        words = _("%(mm)d mm below the top of the slab")
    return words % {"mm": abs(level_mm)}


# The line and the bottom of the band


def no_struck_joint(needed_level_mm: int) -> str:
    """What a rendered wall without a struck joint needs."""
    return _("No struck joint was entered. It must be %(level)s or higher.") % {
        "level": from_slab(needed_level_mm)
    }


def line_sentence(band: WallBand) -> str:
    """The answer in plain sentences: where the band ends, how deep it goes, its worst place."""
    if not band.segments:
        return no_struck_joint(band.needed_level_mm)
    steps = ngettext("with %(count)d step", "with %(count)d steps", band.steps)
    ends = _("Treat up to %(joint)s, %(along)s.") % {
        "joint": segment_words(band.segments[0], band.run.slab_level_mm),
        "along": steps % {"count": band.steps} if band.steps else _("level all along"),
    }
    return " ".join(
        [ends, *bottom_words(band), *_clearance(band), *_falls_short(band.shortfalls)]
    )  # fmt: skip


def bottom_words(band: WallBand) -> list[str]:
    """How far down the band goes, and how many courses that is."""
    if not band.bottoms:
        return []
    lowest = min(round(min(part.level_mm, part.to_level_mm)) for part in band.bottoms)
    lowest -= band.run.slab_level_mm
    if band.courses is None:
        return [_("Down to %(level)s.") % {"level": from_slab(lowest)}]
    fewest, most = band.courses
    words = counted(fewest, _("course"), _("courses"))
    if most > fewest:
        words = _("%(fewest)d to %(most)d courses") % {"fewest": fewest, "most": most}
    return [_("Down to %(level)s: %(courses)s.") % {"level": from_slab(lowest), "courses": words}]


def _clearance(band: WallBand) -> list[str]:
    """The worst place."""
    if band.worst_clearance_mm is None or band.worst_at_mm is None:
        return []
    at = metres(band.worst_at_mm)
    if band.worst_clearance_mm < 0:
        words = _("Finished ground is %(mm)d mm over it at %(at)s.")
        return [words % {"mm": -band.worst_clearance_mm, "at": at}]
    words = _("It is closest to finished ground at %(at)s: %(mm)d mm.")
    return [words % {"at": at, "mm": band.worst_clearance_mm}]


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


def segment_words(segment: LineSegment, slab_level_mm: int = 0) -> str:
    """A stretch's joint and level: "the 2nd bed joint above the measured one, 86 mm below ...".

    `slab_level_mm` is the top of the slab that the wall stands on.
    """
    return _("%(joint)s, %(level)s") % {
        "joint": joint_words(segment),
        "level": from_slab(segment.rounded_mm - slab_level_mm),
    }


def joint_words(segment: LineSegment) -> str:
    """The joint that a stretch lies on, counted from the one that was measured."""
    if segment.at_sill:
        return _("the threshold, where the wall ends")
    joint = segment.joint_number
    if joint is None:
        return _("the struck joint")
    if joint == 0:
        return _("the measured bed joint")
    words = _("the %(ordinal)s bed joint above the measured one")
    if joint < 0:
        words = _("the %(ordinal)s bed joint below the measured one")
    return words % {"ordinal": ordinal(abs(joint))}


def ordinal(count: int) -> str:
    """1st, 2nd, 3rd, 4th, 11th."""
    ending = {1: "st", 2: "nd", 3: "rd"}.get(count % 10, "th")
    return f"{count}{'th' if 11 <= count % 100 <= 13 else ending}"


# What nobody measured


def courses_in(gauge: Gauge) -> str:
    """ "7 courses in 600 mm"."""
    words = ngettext(
        "%(count)d course in %(height)s", "%(count)d courses in %(height)s", gauge.courses
    )
    return words % {"count": gauge.courses, "height": millimetres(gauge.height_mm)}


def line_doubts(band: WallBand) -> list[str]:
    """What nobody measured of a band on brick, one sentence each."""
    if not band.segments or band.gauge is None:
        return []
    return gauge_doubts(band.gauge)


def gauge_doubts(gauge: Gauge) -> list[str]:
    """That a gauge was measured on a photo, or not on this wall, or that this is not known."""
    used = {"gauge": courses_in(gauge)}
    if gauge.measured and gauge.from_photo:
        return [_("Gauge from a photo: %(gauge)s.") % used]
    if gauge.measured:
        return []
    if gauge.measured is None:
        return [_("Gauge: %(gauge)s, not known whether measured on this wall.") % used]
    return [_("Gauge not measured: %(gauge)s is used, as the unit has it.") % used]


def gauge_from_photo(gauge: Gauge) -> str:
    """Beside the fields of a gauge that was measured on a photo; it holds while somebody types."""
    return _(
        "From a photo of this wall: %(gauge)s. If you change it, it counts as measured on the wall."
    ) % {"gauge": courses_in(gauge)}


# Where it breaks a rule


def shortfall(short: Shortfall, source: str = "") -> str:
    """From where to where the line breaks a rule, by how much, and what to do.

    A paper prints the `source` of the height that is needed beside it.
    """
    place = capital(where(short.from_mm, short.to_mm))
    if short.cause is Cause.WEEP_HOLES:
        return _(
            "%(place)s, the weep holes are %(mm)d mm under the struck joint. The line may never "
            "be above a weep hole: cut a struck joint at least %(mm)d mm lower, make good the old "
            "one, and lower the ground with it if need be. %(dust)s"
        ) % {"place": place, "mm": short.short_mm, "dust": caution(Caution.SILICA)}
    needed = _("%(needed)d mm needed") % {"needed": short.needed_mm}
    text = _("%(place)s, %(found)s (%(needed)s): %(remedy)s.") % {
        "place": place,
        "found": _found(short),
        "needed": f"{needed}: {source}" if source else needed,
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
    lower = _lower(short)
    if short.raise_stopped:
        words = _("%(lower)s; the weep holes stop the line from going up %(higher)d mm")
    elif short.is_rendered:
        words = _("%(lower)s, or cut a new joint %(higher)d mm higher and make good the old one")
    else:
        words = _("%(lower)s, or raise the line by %(higher)d mm")
    return words % {"lower": lower, "higher": short.raise_line_mm}


def _lower(short: Shortfall) -> str:
    """What comes down: the ground, or a finish that is not laid yet, which its trade lays lower."""
    if short.cause is not Cause.FINISH_TO_COME:
        return _("lower the ground by %(mm)d mm") % {"mm": short.lower_ground_mm}
    words = _FINISHES.get(short.surface, _("finish the ground at least %(mm)d mm lower"))
    return _(words) % {"mm": short.lower_ground_mm}


_FINISHES = {
    "paving": "lay the paving at least %(mm)d mm lower",
    "lawn": "lay the lawn or topsoil at least %(mm)d mm lower",
    "soil": "keep the garden bed at least %(mm)d mm lower",
    "sandy": "keep the sand at least %(mm)d mm lower",
    "gravel": "lay the gravel at least %(mm)d mm lower",
}


def _of_the_finish(short: Shortfall) -> list[str]:
    if short.cause is Cause.FINISH_TO_COME:
        return [_("Today's ground is low enough; the finish still to come is too high.")]
    if short.finish_adds_mm:
        words = _("The finish still to come makes %(mm)d mm of that.")
        return [words % {"mm": short.finish_adds_mm}]
    return []
