"""What the levels of a wall say to the office, in two sentences and in a few words."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.band.geometry import WallRun
from readiness.rules.band.levels import TreatmentLine
from readiness.rules.words import counted, listed
from readiness.wording.levels import line_doubts, line_sentence


def unbelievable() -> str:
    """That something typed can't be right; what it is stands with its field."""
    return _("A number can't be right. Nothing is worked out yet.")


def sentence(run: WallRun, line: TreatmentLine | None) -> str:
    """Where the treatment ends, whether that meets the rule, and what nobody checked of it."""
    if line is None:
        return _still_to_measure(run)
    meets = [_("Line meets the %(mm)s mm rule.") % {"mm": line.clearance_rule_mm}]
    return " ".join([line_sentence(line), *(meets if line.meets_rules else []), *line_doubts(line)])


def brief(run: WallRun, line: TreatmentLine | None) -> str:
    """The answer in a few words, for the bottom of a phone."""
    if line is None:
        return _still_to_measure(run)
    if not line.segments:
        return _("No struck joint yet.")
    if line.shortfalls:
        return _short(line)
    steps = counted(line.steps, "step") if line.steps else _("level")
    meets = _("Line meets the %(mm)s mm rule: %(steps)s.") % {
        "mm": line.clearance_rule_mm,
        "steps": steps,
    }
    return meets if run.is_rendered else f"{meets} {_('Courses under it not checked.')}"


def _short(line: TreatmentLine) -> str:
    worst = max(short.short_mm for short in line.shortfalls)
    places = len(line.shortfalls)
    if places == 1:
        return _("%(mm)s mm short") % {"mm": worst}
    words = ngettext(
        "%(mm)s mm short, in %(count)d place", "%(mm)s mm short, in %(count)d places", places
    )
    return words % {"mm": worst, "count": places}


def _still_to_measure(run: WallRun) -> str:
    """What has to be measured before the line can be worked out."""
    parts = []
    if not run.is_rendered and run.first_bed_joint_mm is None:
        parts.append(_("the lowest bed joint"))
    if not run.has_ground:
        parts.append(_("at least one point of the ground"))
    return _("Still to measure: %(what)s.") % {"what": listed(parts)}
