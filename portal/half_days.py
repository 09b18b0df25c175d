"""What is against a half-day or a day for a visit, in the few words that lists of days have."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from readiness.facts import starts_at
from readiness.models import Booking, Site
from readiness.rules.site.assessment import SiteFacts
from readiness.rules.site.days import against
from readiness.wording import visits


def against_half(site: Site, facts: SiteFacts, day: date, half: str) -> tuple[str, ...]:
    """Why it can't be accepted as things stand; empty where it can."""
    found = against(facts, starts_at(site, day, half))
    return tuple(dict.fromkeys(visits.against(reason) for reason in found))


def against_halves(site: Site, facts: SiteFacts, day: date) -> dict[str, tuple[str, ...]]:
    """The same of both halves of a day."""
    return {half: against_half(site, facts, day, half) for half in Booking.Half.values}


def of_the_day(halves: Mapping[str, tuple[str, ...]]) -> tuple[str, ...]:
    """What is against a day, by its halves: said once where it is the same for both."""
    if len(set(halves.values())) == 1:
        return next(iter(halves.values()))
    return tuple(
        f"{Booking.Half(half).label.lower()}: {words}"
        for half, found in halves.items()
        for words in found
    )
