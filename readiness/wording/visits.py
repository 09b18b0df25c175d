"""The half-day of a visit, as both sides say it."""

from __future__ import annotations

from datetime import date

from django.utils.translation import gettext as _

from readiness.rules.site.assessment import BookingFacts
from readiness.wording import dates


def half_day(booking: BookingFacts, today: date) -> str:
    """ "this morning", "Thursday morning" in the coming week, else "Thursday 12 March, morning"."""
    day, is_morning = booking.treat_on, booking.treat_at is None or booking.treat_at.hour < 12
    ahead = (day - today).days
    if ahead in (-1, 0, 1):
        return _NEAR[ahead, is_morning]()
    if 0 <= ahead < 7:
        words = _("%(weekday)s morning") if is_morning else _("%(weekday)s afternoon")
        return words % {"weekday": dates.weekday(day)}
    return day_and_half(day, is_morning)


def day_and_half(day: date, is_morning: bool) -> str:
    """ "Thursday 12 March, morning"."""
    words = _("%(day)s, morning") if is_morning else _("%(day)s, afternoon")
    return words % {"day": dates.long_day(day)}


_NEAR = {
    (-1, True): lambda: _("yesterday morning"),
    (-1, False): lambda: _("yesterday afternoon"),
    (0, True): lambda: _("this morning"),
    (0, False): lambda: _("this afternoon"),
    (1, True): lambda: _("tomorrow morning"),
    (1, False): lambda: _("tomorrow afternoon"),
}


def offer(booking: BookingFacts, today: date, has_passed: bool) -> str:
    """That a day is offered, or was and went by."""
    words = _("%(when)s was offered, and has passed.") if has_passed else _("%(when)s is offered.")
    return words % {"when": capital(half_day(booking, today))}


def capital(text: str) -> str:
    """The text with a capital first."""
    return text[:1].upper() + text[1:]
