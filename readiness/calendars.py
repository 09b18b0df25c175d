"""The calendar of a site: its state's public holidays, and the days off that the business keeps."""

from readiness import read_once
from readiness.models import DayOff, Site
from readiness.rules import days_off as rules
from readiness.rules.calendar import Calendar


def days_off() -> tuple[rules.DayOff, ...]:
    """The list as the rules take it, read once a request or task."""
    return read_once.once("days off", lambda: tuple(row.rule for row in DayOff.objects.all()))


def calendar_at(site: Site) -> Calendar:
    """The working days at a site."""
    return Calendar(site.state, [one for one in days_off() if one.holds_at(site.postcode)])
