"""How what only a licensed technician decides reads: what was found, and what they decided."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later

from readiness.rules.defects.catalogue import place
from readiness.rules.vocabulary import NoAccess, Outcome

CAUSES: Mapping[str, str] = {
    NoAccess.BOUNDARY: later("Boundary wall against a neighbour's"),
    NoAccess.HIDDEN: later("Hidden behind something fixed"),
}
OUTCOMES: Mapping[str, str] = {
    Outcome.TREATED_SEPARATELY: later("Treated separately: work can go on"),
    Outcome.NOT_TERMITES: later("Not termites: work can go on"),
    Outcome.STAYS_CLOSED: later("The site stays closed"),
    Outcome.NOT_TREATED: later("Not treated: no access"),
    Outcome.CAN_BE_REACHED: later("It can be reached: treat it"),
}


def cause_words(cause: str) -> str:
    """ "Boundary wall against a neighbour's"; "" for none."""
    return _(CAUSES[cause]) if cause in CAUSES else ""


def outcome_words(outcome: str) -> str:
    """ "The site stays closed"; a code that is not known reads as nothing."""
    return _(OUTCOMES[outcome]) if outcome in OUTCOMES else ""


def stretch(wall: str, from_mm: int | None, to_mm: int | None) -> str:
    """ "East wall, from 0 m to 4.2 m (4.2 m)"; without distances "East wall, the whole of it"."""
    if from_mm is None:
        return _("%(wall)s, the whole of it") % {"wall": wall}
    return place(wall, from_mm, to_mm)


def leave_alone() -> str:
    """What goes for everybody on a site with live termites."""
    return _("Leave everything there as it is: no spraying, no clearing, no digging.")


def to_call(who: str, phone: str) -> str:
    """Whom to call, with their phone where it is set."""
    return f"{who}, {phone}" if phone else who


def technician(name: str) -> str:
    """Whom to call, to the office; without a name set, what it says of them."""
    return name or _("your licensed technician")


def our_technician(name: str) -> str:
    """Whom to call, to the builder and trades."""
    return name or _("our licensed technician")
