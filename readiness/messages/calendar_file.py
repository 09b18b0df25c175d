"""A booked day for calendars, and its removal from them (RFC 5545 and RFC 5546)."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta

from icalendar import Calendar, Event

from readiness.facts import starts_at
from readiness.models import Booking, Business, PutOff
from readiness.wording.letters import both

HALF_DAY = timedelta(hours=4)
PUBLISH, CANCEL = "PUBLISH", "CANCEL"


@dataclass(frozen=True)
class CalendarFile:
    """An .ics file. The type that it is sent with names the method once more (RFC 6047, 2.4)."""

    content: bytes
    method: str

    @property
    def content_type(self) -> str:
        return f"text/calendar; method={self.method}; charset=utf-8"


def calendar_file(booking: Booking) -> CalendarFile:
    """One event of half a day; of a cancelled booking, the word to take that event out again.

    The booking needs its day. The event keeps its id, and a later sequence number overrules the
    earlier one (RFC 5546, 2.1.4 and 3.2.5): putting the day off takes one, and so does the next
    day that is booked.
    """
    is_off = booking.state == Booking.State.CANCELLED
    sequence = 2 * booking.put_offs.count() + is_off
    stamp = booking.closed_at or booking.confirmed_at or booking.offered_at
    return _file(_event(booking, (booking.day, booking.half), sequence, stamp, is_off), is_off)


def without_day(one: PutOff) -> CalendarFile:
    """The word to take a day that was put off out of a calendar."""
    earlier = one.booking.put_offs.filter(put_off_at__lt=one.put_off_at).count()
    event = _event(one.booking, (one.day, one.half), 2 * earlier + 1, one.put_off_at, is_off=True)
    return _file(event, is_off=True)


def _file(event: Event, is_off: bool) -> CalendarFile:
    method = CANCEL if is_off else PUBLISH
    calendar = Calendar()
    calendar.add("prodid", "-//site-readiness//EN")
    calendar.add("version", "2.0")
    calendar.add("method", method)
    calendar.add_component(event)
    calendar.add_missing_timezones()
    return CalendarFile(calendar.to_ical(), method)


def _event(
    booking: Booking, at: tuple[date, str], sequence: int, stamp: datetime, is_off: bool
) -> Event:
    site, business = booking.site, Business.current()
    day, half = at
    start = starts_at(site, day, half)
    event = Event()
    event.add("uid", f"{booking.pk}@site-readiness")
    event.add("sequence", sequence)
    event.add("status", "CANCELLED" if is_off else "CONFIRMED")
    event.add("dtstamp", stamp)
    event.add("dtstart", start)
    event.add("dtend", start + HALF_DAY)
    event.add("summary", both.event_summary(site))
    event.add("location", site.address)
    event.add("description", both.event_description(business))
    if business.email:
        event.add("organizer", f"mailto:{business.email}")
    return event
