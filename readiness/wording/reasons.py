"""What a reason says where all readers are told the same; other words stand with each audience."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import ngettext

from readiness.rules.codes import Code
from readiness.rules.defects.catalogue import place
from readiness.rules.site.assessment import Reason
from readiness.rules.words import listed, number, quoted
from readiness.wording import band, believable, dates, levels, sources
from readiness.wording.saying import Words


def where(reason: Reason) -> str:
    """The wall and the place on it; a wall that was taken away has no name any more."""
    label = reason.run_label
    return place(label, reason.distance_mm, reason.to_mm) if label else _("the site")


def item_words(reason: Reason, standing: str) -> str:
    """An item that must be fixed before we can book, how far it is, and when it is or was due."""
    said = _("%(kind)s, %(where)s: %(standing)s.") % {
        "kind": reason.kind_name,
        "where": where(reason),
        "standing": standing,
    }
    if reason.day is None:
        return said
    due = _("It was due on %(day)s.") if reason.overdue else _("It is due on %(day)s.")
    return f"{said} {due % {'day': dates.day(reason.day)}}"


def in_vain(reason: Reason) -> str:
    """That we came in vain, and why."""
    day = dates.day(reason.day)
    if not reason.note:
        return _("Not ready when we came on %(day)s.") % {"day": day}
    return _("Not ready when we came on %(day)s: %(why)s") % {
        "day": day,
        "why": quoted(reason.note),
    }


def found_at(reason: Reason) -> str:
    """ "Live termites or mud tubes found on Mon 9 March 2026, North wall, at 2.4 m"."""
    told = {"day": dates.day(reason.day), "where": where(reason)}
    if not reason.run_label:
        return _("Live termites or mud tubes found on %(day)s") % told
    return _("Live termites or mud tubes found on %(day)s, %(where)s") % told


def day_past(reason: Reason) -> str:
    """That a day is over."""
    return _("%(day)s has passed.") % {"day": dates.day(reason.day)}


def _no_runs(reason: Reason) -> str:
    return _("No walls have been entered for this site yet.")


def _no_report(reason: Reason) -> str:
    return _("No report has been issued for this site yet.")


def _run_unchecked(reason: Reason) -> str:
    return _("%(wall)s was not checked for report %(number)s.") % {
        "wall": reason.run_label,
        "number": reason.report,
    }


def _to_fix(reason: Reason) -> str:
    return item_words(reason, _("still to fix"))


def _sent_back(reason: Reason) -> str:
    return item_words(reason, _("sent back, still to fix"))


def _for_review(reason: Reason) -> str:
    return item_words(reason, _("reported fixed, not checked yet"))


def drying(reason: Reason, source: str = "") -> str:
    """That a wall was washed, and until when it dries; `source` is of the hours."""
    wall = place(reason.run_label or _("The wall"), reason.distance_mm, reason.to_mm)
    return _("%(where)s, was washed. It needs %(hours)s to dry, until %(moment)s.") % {
        "where": wall,
        "hours": _hours(reason, source),
        "moment": dates.moment(reason.at),
    }


def rain(reason: Reason, source: str = "") -> str:
    """That rain wet the walls, and until when they dry; `source` is of the hours."""
    return _("Rain wet the walls. They need %(hours)s to dry, until %(moment)s.") % {
        "hours": _hours(reason, source),
        "moment": dates.moment(reason.at),
    }


def _hours(reason: Reason, source: str) -> str:
    return sources.beside(_("%(hours)s h") % {"hours": number(reason.needed)}, source)


def _levels_unbelievable(reason: Reason) -> str:
    return f"{reason.run_label}: {believable.all_of(reason.levels.problems)}"


def _no_levels(reason: Reason) -> str:
    return _(
        "%(wall)s: no levels were entered, so the treatment line was not worked out."
    ) % {"wall": reason.run_label}  # fmt: skip


def _no_struck_joint(reason: Reason) -> str:
    return f"{reason.run_label}: {levels.no_struck_joint(reason.levels.needed_level_mm)}"


def levels_short(reason: Reason, source: str = "") -> str:
    """Where the line breaks a rule; `source` is of the height that is needed."""
    return f"{reason.run_label}: {levels.shortfall(reason.levels.short, source)}"


def _levels_to_decide(reason: Reason) -> str:
    note = reason.levels
    return f"{reason.run_label}: {band.reason(note.decide, note.slab_level_mm)}"


def _soil_to_clear(reason: Reason) -> str:
    return f"{reason.run_label}: {band.soil(reason.levels.clear)}"


def _bare_brick(reason: Reason) -> str:
    return f"{reason.run_label}: {band.bare(reason.levels.bare)}"


def _bottom_unknown(reason: Reason) -> str:
    return band.bottom_unknown(reason.labels)


def _withdrawn(reason: Reason) -> str:
    return _("The readiness confirmation was withdrawn.")


def _superseded(reason: Reason) -> str:
    return _(
        "The confirmation was for report %(earlier)s; report %(current)s is current now."
    ) % {"earlier": reason.earlier_report, "current": reason.report}  # fmt: skip


def _new_item(reason: Reason) -> str:
    return ngettext(
        "The confirmation lapsed: %(count)d new thing to fix.",
        "The confirmation lapsed: %(count)d new things to fix.",
        reason.count,
    ) % {"count": reason.count}


def _expired(reason: Reason) -> str:
    return _("The confirmation ran out at %(moment)s.") % {"moment": dates.moment(reason.at)}


def _unticked(reason: Reason) -> str:
    return _("The confirmation does not cover %(walls)s.") % {"walls": listed(reason.labels)}


MISSING: Mapping[Code, Words] = {
    Code.NO_RUNS: _no_runs,
    Code.NO_REPORT: _no_report,
    Code.RUN_UNCHECKED: _run_unchecked,
}
ITEMS: Mapping[Code, Words] = {
    Code.ITEM_TO_FIX: _to_fix,
    Code.ITEM_SENT_BACK: _sent_back,
    Code.WAITING_FOR_REVIEW: _for_review,
}
WET: Mapping[Code, Words] = {Code.DRYING: drying, Code.RAIN: rain}
LAPSED: Mapping[Code, Words] = {
    Code.CONFIRMATION_WITHDRAWN: _withdrawn,
    Code.CONFIRMATION_SUPERSEDED: _superseded,
    Code.CONFIRMATION_NEW_ITEM: _new_item,
    Code.CONFIRMATION_EXPIRED: _expired,
    Code.RUN_UNTICKED: _unticked,
}
LEVELS: Mapping[Code, Words] = {
    Code.LEVELS_UNBELIEVABLE: _levels_unbelievable,
    Code.NO_LEVELS: _no_levels,
    Code.NO_STRUCK_JOINT: _no_struck_joint,
    Code.LEVELS_SHORT: levels_short,
    Code.LEVELS_TO_DECIDE: _levels_to_decide,
    Code.SOIL_TO_CLEAR: _soil_to_clear,
    Code.BARE_BRICK: _bare_brick,
    Code.BRICKWORK_BOTTOM_UNKNOWN: _bottom_unknown,
}
