"""Days and times as the builder's pages say them: ``{% load builder_words %}``.

Times are shown in the current time zone, which the builder's views set to the site's own.
"""

from django import template
from django.utils import timezone

from readiness.clock import now
from readiness.rules.band.perimeter import wall_letter
from readiness.wording import dates

register = template.Library()


@register.filter
def day(value) -> str:
    """ "Thursday 12 March", of a date or a time; the year too where it is another one."""
    if not value:
        return ""
    value = _local(value)
    year = "" if value.year == timezone.localtime(now()).year else f" {value.year}"
    return f"{dates.long_day(value)}{year}"


@register.filter
def moment(value) -> str:
    """ "Thursday 12 March at 3:20 pm"."""
    return f"{day(value)} at {dates.time_of_day(_local(value))}" if value else ""


@register.filter
def clock(value) -> str:
    """ "3:20 pm"."""
    return dates.time_of_day(_local(value)) if value else ""


@register.filter
def letter(number) -> str:
    """The letter of a wall on the plan: 1 is "A", 27 is "AA"."""
    return wall_letter(int(number))


def _local(value):
    return timezone.localtime(value) if hasattr(value, "hour") else value
