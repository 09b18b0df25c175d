"""Days and times as people here say them, for every e-mail, paper and screen.

Names of days and months are Django's (`django.utils.dateformat`), so that they can be translated;
"am" and "pm" are written as in Australia, where Django has "a.m.". A time is given in the zone that
it is to be read in.
"""

from datetime import date, datetime

from django.utils import dateformat


def day(value: date) -> str:
    """ "Thu 12 March 2026"."""
    return dateformat.format(value, "D j F Y")


def long_day(value: date) -> str:
    """ "Thursday 12 March"."""
    return dateformat.format(value, "l j F")


def full_day(value: date) -> str:
    """ "Thursday 12 March 2026"."""
    return dateformat.format(value, "l j F Y")


def short_day(value: date) -> str:
    """ "Thu 12 Mar"."""
    return dateformat.format(value, "D j M")


def day_of_month(value: date) -> str:
    """ "12 March"."""
    return dateformat.format(value, "j F")


def full_date(value: date) -> str:
    """ "12 March 2026"."""
    return dateformat.format(value, "j F Y")


def short_date(value: date) -> str:
    """ "12 Mar 2026"."""
    return dateformat.format(value, "j M Y")


def time_of_day(moment: datetime) -> str:
    """ "3:20 pm"."""
    return f"{dateformat.format(moment, 'g:i')} {'am' if moment.hour < 12 else 'pm'}"


def moment(value: datetime) -> str:
    """ "3:20 pm on Thu 12 March 2026"."""
    return f"{time_of_day(value)} on {day(value)}"


def date_and_time(value: datetime) -> str:
    """ "12 March 2026 at 15:20", of what a camera or a file says."""
    return f"{full_date(value)} at {dateformat.format(value, 'H:i')}"


def weekday(value: date) -> str:
    """ "Thursday"."""
    return dateformat.format(value, "l")


def exact(value: datetime) -> str:
    """A moment as evidence: "12 Mar 2026, 15:20:05 (UTC+10:00)"."""
    offset = f"{value:%z}"  # Django has none for an hour that comes twice as clocks go back
    time = dateformat.format(value, "H:i:s")
    return f"{short_date(value)}, {time} (UTC{offset[:3]}:{offset[3:5]})"
