"""A site's story in plain lines, for the first screen of an export."""

from __future__ import annotations

from django.utils.translation import gettext as _
from django.utils.translation import ngettext


def issued(report: str, found: int) -> str:
    words = ngettext(
        "issued %(report)s: %(found)s thing was found.",
        "issued %(report)s: %(found)s things were found.",
        found,
    )
    return words % {"report": report.lower(), "found": found}


def was_found(number: int, kind: str, place: str) -> str:
    return _("Item %(number)s, %(place)s: %(kind)s.") % {
        "number": number,
        "kind": kind.lower(),
        "place": place,
    }


def reported_fixed(item: int) -> str:
    return _("reported item %(item)s fixed.") % {"item": item}


def took_back(item: int) -> str:
    return _("Item %(item)s was taken back: not fixed yet.") % {"item": item}


def accepted(item: int) -> str:
    return _("accepted the fix of item %(item)s.") % {"item": item}


def sent_back(item: int) -> str:
    return _("sent item %(item)s back.") % {"item": item}


def disputed(item: int) -> str:
    return _("disputed item %(item)s.") % {"item": item}


def decided(item: int, stands: bool) -> str:
    words = _("decided that item %(item)s stands.") if stands else _("withdrew item %(item)s.")
    return words % {"item": item}


def confirmed(report: str) -> str:
    return _("confirmed that the site is ready for treatment (%(report)s).") % {
        "report": report.lower()
    }


def withdrew() -> str:
    return _("withdrew the confirmation.")


def asked() -> str:
    return _("asked for a day for the treatment.")


def offered(day: str) -> str:
    return _("offered %(day)s.") % {"day": day}


def booked(day: str) -> str:
    return _("accepted %(day)s: the treatment was booked.") % {"day": day}


def put_off(day: str, why: str) -> str:
    return _("put off %(day)s: %(why)s.") % {"day": day, "why": why}


def treated() -> str:
    return _("recorded the treatment.")


def turned_away() -> str:
    return _("turned the site away: it was not treated.")


def cancelled() -> str:
    return _("cancelled the booking.")


def termites_found(where: str) -> str:
    if not where:
        return _("found live termites or mud tubes.")
    return _("found live termites or mud tubes: %(where)s.") % {"where": where}


def out_of_reach(where: str) -> str:
    return _("noted that nobody can reach %(where)s.") % {"where": where}


def technician_decided(outcome: str, where: str) -> str:
    if not where:
        return _("decided: %(outcome)s.") % {"outcome": outcome.lower()}
    return _("decided about %(where)s: %(outcome)s.") % {
        "where": where,
        "outcome": outcome.lower(),
    }


def decided_as(name: str, licence: str) -> str:
    """ "Alex Lee, licence T-2208": as it was decided."""
    return _("%(name)s, licence %(licence)s") % {"name": name, "licence": licence}


def signed_as(name: str, position: str) -> str:
    """ "Sam Perera, site supervisor": as the confirmation was signed."""
    return f"{name}, {position}" if position else name


def nobody() -> str:
    """Where nobody is named, or the person's details were removed."""
    return _("Somebody")
