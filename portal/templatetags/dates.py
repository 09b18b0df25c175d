"""Days and times of pages, in one set for both sides; every template has them.

A time is read in the zone of the `site` that is given, else in the current one: a builder's views
set it to the site's own (`timezone.override`), the office's is where the business is.
"""

from django import template
from django.utils import timezone
from django.utils.translation import ngettext

from portal.templatetags.work_words import unbroken
from readiness.clock import now
from readiness.wording import dates

register = template.Library()


@register.filter
def day(value) -> str:
    """ "Thu 12 March 2026"; nothing for None."""
    return dates.day(value) if value else ""


@register.filter
def short_day(value) -> str:
    """ "Thu 12 Mar", for narrow places; nothing for None."""
    return dates.short_day(value) if value else ""


@register.filter
def long_day(value) -> str:
    """ "Thursday 12 March", of a date or a time; the year too where it is another one."""
    if not value:
        return ""
    local = _local(value)
    is_this_year = local.year == _local(now()).year
    return dates.long_day(local) if is_this_year else dates.full_day(local)


@register.filter
def full_date(value) -> str:
    """ "12 March 2026", of a date or a time."""
    return dates.full_date(_local(value)) if value else ""


@register.filter
def short_date(value) -> str:
    """ "12 Mar 2026", of a date or a time, for narrow places."""
    return dates.short_date(_local(value)) if value else ""


@register.filter
def time_of_day(value, site=None) -> str:
    """ "3:20 pm"."""
    return unbroken(dates.time_of_day(_local(value, site))) if value else ""


@register.filter
def clock(value, site=None) -> str:
    """A time of day, with its date unless it is today: "3:20 pm", "3:20 pm, 12 Mar"."""
    if not value:
        return ""
    local = _local(value, site)
    time = unbroken(dates.time_of_day(local))
    is_today = local.date() == _local(now(), site).date()
    return time if is_today else f"{time}, {dates.short_date(local).rpartition(' ')[0]}"


@register.filter
def moment(value, site=None) -> str:
    """ "3:20 pm on Thu 12 March 2026"; nothing for None."""
    return unbroken(dates.moment(_local(value, site))) if value else ""


@register.filter
def long_moment(value) -> str:
    """ "Thursday 12 March at 3:20 pm"."""
    return f"{long_day(value)} at {time_of_day(value)}" if value else ""


@register.filter
def exact(value, site=None) -> str:
    """A moment as evidence: "12 Mar 2026, 15:20:05 (UTC+10:00)"."""
    return dates.exact(_local(value, site)) if value else ""


def _local(value, site=None):
    """A time in its zone; a date is the same everywhere."""
    if not hasattr(value, "hour"):
        return value
    return value.astimezone(site.zone) if site else timezone.localtime(value)


@register.filter
def tried(message, site=None) -> str:
    """ "Tried once, at 3:20 pm.", "Tried 3 times, last at 3:20 pm." of an e-mail."""
    said = {"count": message.attempts, "time": clock(message.started_at, site)}
    if not message.started_at:
        return ngettext("Tried once.", "Tried %(count)d times.", message.attempts) % said
    words = ngettext(
        "Tried once, at %(time)s.", "Tried %(count)d times, last at %(time)s.", message.attempts
    )
    return words % said
