"""A booked day for calendars, and its removal from them (RFC 5545 and RFC 5546).

By e-mail the business invites the one whom the e-mail is to: an invitation can be updated and taken
back. A file that somebody downloads, and one of a business without an address, is only published.
"""

from dataclasses import dataclass
from datetime import date, timedelta

from icalendar import Calendar, Event, vCalAddress

from readiness.facts import starts_at
from readiness.models import Booking, Business, PutOff, User
from readiness.wording.letters import both

HALF_DAY = timedelta(hours=4)
PUBLISH, REQUEST, CANCEL = "PUBLISH", "REQUEST", "CANCEL"


@dataclass(frozen=True)
class CalendarFile:
    """An .ics file. The type that it is sent with names the method once more (RFC 6047, 2.4)."""

    content: bytes
    method: str

    @property
    def content_type(self) -> str:
        return f"text/calendar; method={self.method}; charset=utf-8"


def calendar_file(booking: Booking, to: User | None = None, link: str = "") -> CalendarFile:
    """One event of half a day; of a cancelled booking, the word to take that event out again.

    The booking needs its day. The event keeps its id, and a later sequence number overrules the
    earlier one (RFC 5546, 2.1.4 and 3.2.5): putting the day off takes one, and so does the next
    day that is booked. `to` is invited; `link` is where they see the booking.
    """
    is_off = booking.state == Booking.State.CANCELLED
    event = _event(booking, (booking.day, booking.half), is_off=is_off, link=link)
    event.add("sequence", 2 * booking.put_offs.count() + is_off)
    event.add("dtstamp", booking.closed_at or booking.confirmed_at or booking.offered_at)
    return _file(event, to, is_off)


def without_day(one: PutOff, to: User, link: str = "") -> CalendarFile:
    """The word to take a day that was put off out of a calendar."""
    earlier = one.booking.put_offs.filter(put_off_at__lt=one.put_off_at).count()
    event = _event(one.booking, (one.day, one.half), is_off=True, link=link)
    event.add("sequence", 2 * earlier + 1)
    event.add("dtstamp", one.put_off_at)
    return _file(event, to, is_off=True)


def _file(event: Event, to: User | None, is_off: bool) -> CalendarFile:
    business = Business.current()
    invites = to is not None and bool(business.email)
    if business.email:
        event.add("organizer", vCalAddress.new(business.email, cn=business.name))
    if invites:
        # Nobody is asked to answer: the builder's acceptance is what booked the day.
        guest = vCalAddress.new(to.email, cn=str(to), role="REQ-PARTICIPANT", rsvp=False)
        event.add("attendee", guest)
    method = CANCEL if is_off else REQUEST if invites else PUBLISH
    calendar = Calendar()
    calendar.add("prodid", "-//site-readiness//EN")
    calendar.add("version", "2.0")
    calendar.add("method", method)
    calendar.add_component(event)
    calendar.add_missing_timezones()
    return CalendarFile(calendar.to_ical(), method)


def _event(booking: Booking, at: tuple[date, str], *, is_off: bool, link: str) -> Event:
    site, (day, half) = booking.site, at
    start = starts_at(site, day, half)
    event = Event()
    event.add("uid", f"{booking.pk}@site-readiness")
    event.add("status", "CANCELLED" if is_off else "CONFIRMED")
    event.add("dtstart", start)
    event.add("dtend", start + HALF_DAY)
    event.add("summary", both.event_summary(site))
    event.add("location", site.address)
    event.add("description", both.event_description(Business.current(), site))
    if link:
        event.add("url", link)
    return event
