"""The coming days at a site, as the office's booking page lists them: what is against each."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date

from portal.half_days import against_half, against_halves, of_the_day
from readiness.calendars import calendar_at
from readiness.models import Booking, Site
from readiness.rules.calendar import Coming
from readiness.rules.site.assessment import SiteFacts
from readiness.wording import visits
from readiness.wording.days_off import why_off

DAYS_LISTED = 10


@dataclass(frozen=True)
class DayRow:
    """A working day with what is booked on it and what is against it, or days off in a row."""

    coming: Coming
    booked: int
    against: tuple[str, ...]

    @property
    def day(self) -> date:
        return self.coming.first

    @property
    def words(self) -> str:
        """ "2 bookings; confirmed only to Thu 3 Dec" of a working day."""
        return visits.day_words(self.booked, self.against)

    @property
    def off(self) -> str:
        """Why it is no working day; "" for one that is."""
        return why_off(self.coming)


def coming_days(site: Site, facts: SiteFacts, count: int = DAYS_LISTED) -> list[DayRow]:
    """The next working days at the site, and the days off between them."""
    coming = calendar_at(site).coming(facts.today, count)
    booked = Booking.objects.counts_by_day(facts.today, coming[-1].last)
    return [
        DayRow(one, booked.get(one.first, 0), () if one.name else _against(site, facts, one.first))
        for one in coming
    ]


def _against(site: Site, facts: SiteFacts, day: date) -> tuple[str, ...]:
    return of_the_day(against_halves(site, facts, day))


def suggested(site: Site, facts: SiteFacts, booking: Booking) -> tuple[date, str]:
    """The half-day to offer instead of the booked one: the next that suits the builder and that
    nothing is against, else the next that nothing is against, else the next working day.
    """
    after = max(facts.today, booking.day) if booking.day else facts.today
    halves = list(Booking.Half.values)
    coming = [
        (one.first, half)
        for one in calendar_at(site).coming(after, DAYS_LISTED)
        if not one.name
        for half in halves
    ]
    wished = [wish for wish in booking.wishes(facts.today) if wish in coming]
    fitting = (
        (day, half) for day, half in (*wished, *coming) if not against_half(site, facts, day, half)
    )
    return next(fitting, coming[0])
