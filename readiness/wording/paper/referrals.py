"""What papers say of live termites, and of walls that nobody can reach."""

from __future__ import annotations

from django.utils.translation import gettext as _

from readiness.rules.words import quoted
from readiness.wording.paper.parts import person, wall_with_letter

# Live termites


def found(moment: str, by: str) -> str:
    """When they were found, and by whom where that is known."""
    if not by:
        return _("Found at %(moment)s") % {"moment": moment}
    return _("Found at %(moment)s by %(person)s") % {"moment": moment, "person": by}


def at_place(found: str, where: str) -> str:
    """The same with the place, as a sentence."""
    return f"{found}: {where}." if where else f"{found}."


def decided(outcome: str, name: str, licence: str, day: str, reason: str) -> str:
    """What the technician decided, who, when and why."""
    return _("%(outcome)s. Decided by %(person)s on %(day)s: %(reason)s") % {
        "outcome": outcome,
        "person": person(name, licence),
        "day": day,
        "reason": quoted(reason),
    }


def photo_of_find() -> str:
    """What such a photo shows, for its text alternative."""
    return _("Live termites or mud tubes")


def heading_of_photo() -> str:
    """Stands over such a photo in the photo record."""
    return _("Live termites or mud tubes")


def heading_of_access() -> str:
    """Stands over a photo of a wall that nobody can reach."""
    return _("Nobody can reach this wall")


def no_wall() -> str:
    """Where live termites were found that nobody said a wall of."""
    return _("No wall named")


def to_call(who: str) -> str:
    """Whom to call about them."""
    return _("To call: %(technician)s.") % {"technician": who}


# Limits of the treatment


def wall(label: str, letter: str) -> str:
    """ "East wall (B)"."""
    return wall_with_letter(label, letter)


def not_treated(where: str, why: str, name: str, licence: str, day: str, reason: str) -> str:
    """ "Not treated: East wall (B), from 0 m to 4.2 m (4.2 m): boundary wall against a neighbour's,
    no access. Decided by ..., on ...: ...".
    """
    return _(
        "Not treated: %(where)s: %(why)s, no access. Decided by %(person)s on %(day)s: %(reason)s"
    ) % {
        "where": where,
        "why": why,
        "person": person(name, licence),
        "day": day,
        "reason": quoted(reason),
    }


def undecided(where: str, why: str) -> str:
    """The same of a wall that the technician has not decided about."""
    return _(
        "Nobody can reach %(where)s: %(why)s. The licensed technician has not decided about it yet."
    ) % {"where": where, "why": why}


def meaning(is_boundary: bool) -> str:
    """What it means for the house; the source speaks of boundary walls alone."""
    if not is_boundary:
        return _(
            "Another system there, and shorter inspection intervals, are for the licensed "
            "technician to decide."
        )
    return _(
        "A boundary wall without access is a high risk. Another system there, and shorter "
        "inspection intervals, are for the licensed technician to decide. Source: timber industry "
        "guide (quoted)."
    )


def end_of_band(ends: str) -> str:
    """Of a wall of which a part is not treated, where the band ends on the rest."""
    return _("%(ends)s; a part is not treated, see above") % {"ends": ends}


def no_band() -> str:
    """Stands in place of where the treated band ends."""
    return _("not treated: no access, see above")


def within_reach(length: str, reachable: str) -> str:
    """The length of all walls, and of what somebody can reach."""
    return _("%(length)s, %(reachable)s of it within reach") % {
        "length": length,
        "reachable": reachable,
    }


def see_limits(*, part: bool) -> str:
    """Of a wall that nobody can reach, or not all of it."""
    if part:
        return _("Nobody can reach a part of it: see the limits of the treatment.")
    return _("Nobody can reach it: see the limits of the treatment.")


def not_asked() -> str:
    """Stands in place of a tick on a wall that nobody can reach."""
    return _("no access")
