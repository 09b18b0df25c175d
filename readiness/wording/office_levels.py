"""What the levels of a wall say to the office, in sentences and in a few words."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import WallBand
from readiness.rules.band.verdict import Verdict
from readiness.rules.words import counted, listed
from readiness.wording.levels import line_sentence


def unbelievable() -> str:
    """That something typed can't be right; what it is stands with its field."""
    return _("A number can't be right. Nothing is worked out yet.")


def out_of_reach() -> str:
    """Of a wall of which nobody can reach any part."""
    return _("Nobody can reach this wall: nothing is treated there.")


def sentence(run: WallRun, band: WallBand | None) -> str:
    """Where the treatment ends, how deep it goes, and whether that is right."""
    if band is None:
        return _still_to_measure(run)
    return " ".join([line_sentence(band), *([_meets(band)] if band.is_right else [])])


def _meets(band: WallBand) -> str:
    """That the rules are met, and whether anybody saw that there is brick all the way down."""
    rule = {"mm": band.clearance_rule_mm}
    if band.run.is_rendered or band.run.brick_bottom_mm is not None:
        return _("It meets the %(mm)s mm rule.") % rule
    return _("It meets the %(mm)s mm rule, if the brickwork goes that far down.") % rule


def brief(run: WallRun, band: WallBand | None) -> str:
    """The answer in a few words, for the bottom of a phone."""
    if band is None:
        return _still_to_measure(run)
    if not band.segments:
        return _("No struck joint yet.")
    said = _verdict(band)
    if band.clear:
        deepest = max(part.deepest_mm for part in band.clear)
        said = _("%(said)s; clear soil %(mm)s mm deep") % {"said": said, "mm": deepest}
    return said


def _verdict(band: WallBand) -> str:
    if band.verdict is Verdict.NOT_KNOWN:
        return _("Not known: more to measure")
    if band.verdict is Verdict.DECIDE:
        return _("To decide: see below")
    if band.shortfalls:
        return _short(band)
    steps = counted(band.steps, "step") if band.steps else _("level")
    return _("Meets the %(mm)s mm rule: %(steps)s") % {"mm": band.clearance_rule_mm, "steps": steps}


def _short(band: WallBand) -> str:
    worst = max(short.short_mm for short in band.shortfalls)
    places = len(band.shortfalls)
    if places == 1:
        return _("%(mm)s mm short") % {"mm": worst}
    words = ngettext(
        "%(mm)s mm short, in %(count)d place", "%(mm)s mm short, in %(count)d places", places
    )
    return words % {"mm": worst, "count": places}


def _still_to_measure(run: WallRun) -> str:
    """What has to be measured before the line can be worked out."""
    parts = []
    if not run.is_rendered and run.bed_joint_mm is None:
        parts.append(_("a bed joint that you can see"))
    if not run.has_ground:
        parts.append(_("at least one point of the ground"))
    return _("Still to measure: %(what)s.") % {"what": listed(parts)}
