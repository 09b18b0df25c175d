"""What is against a half-day for a visit, by what is known now."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime

from readiness.rules.site import reasons as why
from readiness.rules.site.facts import BOOKING, BookingFacts, Reason, SiteFacts
from readiness.rules.vocabulary import BookingState


def against(facts: SiteFacts, starts_at: datetime) -> tuple[Reason, ...]:
    """Why a visit that starts then could not be accepted as things stand: the day alone.

    Walls that are not dry by then, and a day after the last one that the confirmation in force
    covers. What is wrong on the walls is no matter of the day. `starts_at` carries a zone.
    """
    day = starts_at.astimezone(facts.local_zone).date()
    offered = BookingFacts(BookingState.OFFERED, treat_on=day, treat_at=starts_at)
    on_it = replace(facts, booking=offered)
    found = list(why.drying(on_it))
    if facts.confirmation is not None and not why.confirmation(facts):
        found += why.booking(on_it)
    return tuple(reason for reason in found if BOOKING in reason.blocks)
