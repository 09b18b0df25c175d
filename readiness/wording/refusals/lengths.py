"""Why a length that was typed can't be read."""

from __future__ import annotations

from django.utils.translation import gettext as _

from readiness.rules.band.entry import EntryError, EntryProblem


def length(error: EntryError) -> str:
    """What is wrong with what was typed, for the field that it stands in."""
    if error.problem is EntryProblem.NOT_WHOLE_MM:
        return _("“%(typed)s” is not in whole mm. For metres, write “%(number)s m”.") % {
            "typed": error.typed,
            "number": error.number,
        }
    if error.problem is EntryProblem.NO_BED_JOINT:
        return _("Enter first where a bed joint is.")
    if error.problem is EntryProblem.NO_GROUND_TODAY:
        return _("Enter today's ground first: this is measured from it.")
    return _("“%(typed)s” is not a length. Write 2400 or 2.4 m.") % {"typed": error.typed}


def length_in_metres(typed: str) -> str:
    """Of a field where a number without a unit is in metres."""
    if not typed:
        return _("Enter a length, e.g. 12.4.")
    return _("“%(typed)s” is not a length. Write metres, e.g. 12.4, or 12400 mm.") % {
        "typed": typed
    }


def out_of_range(found: str, low: str, high: str) -> str:
    """A length that no wall has, with what it can be; each with its unit."""
    return _("%(found)s can't be right. It can be from %(low)s to %(high)s.") % {
        "found": found,
        "low": low,
        "high": high,
    }
