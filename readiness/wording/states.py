"""How a state or an effect reads, in a chip or in a sentence; the same to everybody."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later

from readiness.rules.site.assessment import SiteFacts
from readiness.rules.vocabulary import BookingState, Effect, ItemState, Readiness

STATES: Mapping[str, str] = {
    ItemState.TO_FIX: later("To fix"),
    ItemState.REPORTED_FIXED: later("Reported fixed"),
    ItemState.ACCEPTED: later("Accepted"),
    ItemState.SENT_BACK: later("Sent back"),
    "disputed": later("Disputed"),
    Effect.HOLDS: later("Must be fixed before we can book"),
    Effect.ON_THE_DAY: later("Applicator will do it"),
    Effect.RECORD: later("Record only"),
    Readiness.READY: later("Ready"),
    Readiness.NOT_READY: later("Not ready"),
    Readiness.NOT_KNOWN: later("Not inspected yet"),
    Readiness.OUT_OF_REACH: later("Nobody can reach it"),
    BookingState.ASKED: later("Asked for"),
    BookingState.OFFERED: later("Offered"),
    BookingState.CONFIRMED: later("Confirmed"),
    BookingState.TREATED: later("Treated"),
    BookingState.TURNED_AWAY: later("Turned away"),
    BookingState.CANCELLED: later("Cancelled"),
    "to_offer": later("To offer"),
    "lapsed": later("Lapsed"),
    "draft": later("Draft"),
    "issued": later("Issued"),
}
"""By code. "treated" is of a site and of its booking: the same word."""


def words(code: str) -> str:
    """ "To fix"; a code that is not known reads as itself."""
    return _(STATES[code]) if code in STATES else code


READINESS: tuple[Readiness, ...] = tuple(Readiness)


def status_words() -> Mapping[str, str]:
    """How a wall or site stands, by its code."""
    return {code: words(code) for code in READINESS}


def wall_words(facts: SiteFacts, said: Mapping[str, str] | None = None) -> Mapping[str, str]:
    """`said` (or `status_words`) of walls, as far as the last visit leaves them true.

    On a treated house nothing is ready or not any more, and what was found may have been fixed;
    after a visit in vain a wall that nobody looked at since is not what its report says.
    """
    if facts.is_treated:
        return {
            Readiness.READY: _("Nothing to fix"),
            Readiness.NOT_READY: _("To fix"),
            Readiness.NOT_KNOWN: _("Not inspected"),
            Readiness.OUT_OF_REACH: words(Readiness.OUT_OF_REACH),
        }
    said = status_words() if said is None else said
    return {**said, Readiness.NOT_KNOWN: _("Not inspected since")} if facts.turned_away else said


def in_a_sentence(code: str) -> str:
    """ "to fix"."""
    return words(code).lower()
