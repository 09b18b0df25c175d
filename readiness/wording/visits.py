"""The half-day of a visit, as both sides say it."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from django.utils.translation import gettext as _
from django.utils.translation import gettext_noop as later
from django.utils.translation import ngettext

from readiness.rules.codes import Code
from readiness.rules.site.assessment import BookingFacts, Reason
from readiness.rules.vocabulary import Half, PutOffCause
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
    return named_half_day(day, Half.MORNING if is_morning else Half.AFTERNOON)


_NEAR = {
    (-1, True): lambda: _("yesterday morning"),
    (-1, False): lambda: _("yesterday afternoon"),
    (0, True): lambda: _("this morning"),
    (0, False): lambda: _("this afternoon"),
    (1, True): lambda: _("tomorrow morning"),
    (1, False): lambda: _("tomorrow afternoon"),
}


def named_half_day(day: date, half: str) -> str:
    """ "Thursday 12 March, morning": of a day that is told with its date whenever it is read."""
    words = _("%(day)s, morning") if half == Half.MORNING else _("%(day)s, afternoon")
    return words % {"day": dates.long_day(day)}


CAUSES = {
    PutOffCause.RAIN: later("rain"),
    PutOffCause.WIND: later("wind"),
    PutOffCause.OURS: later("the applicator can’t come"),
    PutOffCause.BUILDER: later("the builder asked"),
}


def cause_words(cause: str) -> str:
    """Why a day was put off: "rain"; "" for what no code is for."""
    return _(CAUSES[PutOffCause(cause)]) if cause in CAUSES else ""


def was_put_off(day: date, half: str, cause: str) -> str:
    """ "Thursday 12 March, morning, was put off: rain."."""
    return _("%(when)s, was put off: %(why)s.") % {
        "when": named_half_day(day, half),
        "why": cause_words(cause),
    }


def against(reason: Reason) -> str:
    """Why a half-day does not suit, beside it in a list of days: "not dry before 2:00 pm, Thu 3
    Dec".
    """
    if reason.code is Code.DATE_TOO_LATE:
        return _("confirmed only to %(day)s") % {"day": dates.short_day(reason.latest)}
    words = _("not dry before %(time)s, %(day)s")
    return words % {"time": dates.time_of_day(reason.at), "day": dates.short_day(reason.at.date())}


def day_words(booked: int, against: Iterable[str]) -> str:
    """What is on a working day and against it, for a list of days."""
    on_it = ngettext("%(count)d booking", "%(count)d bookings", booked) % {"count": booked}
    return "; ".join([on_it if booked else _("free"), *against])


def offer(booking: BookingFacts, today: date, has_passed: bool) -> str:
    """That a day is offered, or was and went by."""
    words = (
        _("We offered %(when)s; that day has passed.") if has_passed else _("We offered %(when)s.")
    )
    return words % {"when": half_day(booking, today)}


def capital(text: str) -> str:
    """The text with a capital first."""
    return text[:1].upper() + text[1:]
