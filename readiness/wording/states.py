"""How a state or an effect reads, in a chip or in a sentence; the same to everybody."""

from __future__ import annotations

from collections.abc import Mapping

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later

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


def in_a_sentence(code: str) -> str:
    """ "to fix"."""
    return words(code).lower()
