"""Days off as people say them: why a day can't be chosen, and what an entry of the list means."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date

from django.utils.dates import MONTHS, WEEKDAYS
from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later

from readiness.rules.calendar import Coming
from readiness.rules.days_off import DayOff, Repeats, postcode_words
from readiness.wording import dates

NTH: Mapping[int, str] = {
    1: later("first"),
    2: later("second"),
    3: later("third"),
    4: later("fourth"),
    5: later("last"),
}


def why_off(coming: Coming) -> str:
    """Why a day can't be chosen: the public holiday, or that we are closed; empty if it can."""
    if coming.is_own and coming.last > coming.first:
        return _("We are closed until %(last)s: %(name)s") % {
            "last": dates.short_day(coming.last),
            "name": coming.name,
        }
    if coming.is_own:
        return _("We are closed: %(name)s") % {"name": coming.name}
    return coming.name


def stretch(first: date, last: date) -> str:
    """ "Wed 12 August 2026", "Mon 21 December 2026 to Fri 8 January 2027"."""
    if first == last:
        return dates.day(first)
    return _("%(first)s to %(last)s") % {"first": dates.day(first), "last": dates.day(last)}


def when(entry: DayOff) -> str:
    """Which days an entry means: "second Wednesday of August, every year"."""
    if entry.repeats == Repeats.WEEKDAY:
        return _("%(nth)s %(weekday)s of %(month)s, every year") % {
            "nth": _(NTH[entry.nth]),
            "weekday": WEEKDAYS[entry.weekday],
            "month": MONTHS[entry.month],
        }
    if entry.first_on is None or entry.last_on is None:
        return ""
    if entry.repeats == Repeats.ONCE:
        return stretch(entry.first_on, entry.last_on)
    first, last = dates.day_of_month(entry.first_on), dates.day_of_month(entry.last_on)
    if first == last:
        return _("%(day)s, every year") % {"day": first}
    return _("%(first)s to %(last)s, every year") % {"first": first, "last": last}


def where(entry: DayOff) -> str:
    """ "everywhere", "postcodes 4000-4179, 4205"."""
    if not entry.postcodes:
        return _("everywhere")
    return _("postcodes %(codes)s") % {"codes": postcode_words(entry.postcodes)}


def whole(entry: DayOff) -> str:
    """An entry in one line, as the Record tells it."""
    return _("%(name)s: %(when)s, %(where)s") % {
        "name": entry.name,
        "when": when(entry),
        "where": where(entry),
    }
