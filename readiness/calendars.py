"""The calendar of a site: its state's public holidays, and the days off that the business keeps."""

from datetime import date

from readiness import read_once
from readiness.models import Booking, DayOff, Site
from readiness.rules import days_off as rules
from readiness.rules.calendar import Calendar


def days_off() -> tuple[rules.DayOff, ...]:
    """The list as the rules take it, read once a request or task."""
    return read_once.once("days off", lambda: tuple(row.rule for row in DayOff.objects.all()))


def calendar_at(site: Site) -> Calendar:
    """The working days at a site."""
    return Calendar(site.state, [one for one in days_off() if one.holds_at(site.postcode)])


def unbooked_days(site: Site, today: date, among: int = 10) -> list[date]:
    """Of the next `among` working days at a site, those with nothing offered or booked anywhere."""
    days = [one.first for one in calendar_at(site).coming(today, among) if not one.name]
    booked = Booking.objects.counts_by_day(days[0], days[-1])
    return [day for day in days if not booked.get(day)]
