"""The entry for the calendar, as RFC 5545 wants it."""

from datetime import UTC, datetime

import pytest
from django.conf import settings
from icalendar import Calendar

from readiness import clock
from readiness.actions.visits import booking
from readiness.messages import letters
from readiness.messages.calendar_file import calendar_file
from readiness.models import Business, Message
from tests.actions.cases.base import FRIDAY, NOW, Cast

pytestmark = pytest.mark.django_db


@pytest.fixture
def cast(applicator, contact, builder, site):
    with clock.at(NOW):
        yield Cast(applicator, contact, builder, site)


def parts(booked):
    """The calendar and its one event, read again from the file."""
    read = Calendar.from_ical(calendar_file(booked).content)
    (event,) = read.walk("VEVENT")
    return read, event


def test_it_has_what_every_calendar_file_must_have(cast):
    """RFC 5545: prodid and version (3.6), uid and dtstamp (3.6.1), a zone for each TZID (3.6.5)."""
    booked = cast.booked()
    calendar, event = parts(booked)
    assert calendar["version"] == "2.0"
    assert calendar["prodid"]
    assert calendar["method"] == "PUBLISH"
    assert event["uid"] == f"{booked.pk}@site-readiness"
    assert event["dtstamp"].dt == NOW
    zones = [zone["tzid"] for zone in calendar.walk("VTIMEZONE")]
    assert zones == [event["dtstart"].params["TZID"]] == ["Australia/Sydney"]


def test_it_says_when_where_and_by_whom(cast):
    """A half-day: five hours from 7 (common practice, no source), in the site's own zone."""
    Business.current()
    Business.objects.update(name="Tallowood Treatments", email="office@applicator.example")
    booked = cast.booked(FRIDAY)
    _calendar, event = parts(booked)
    assert event["dtstart"].dt.astimezone(UTC) == datetime(2026, 11, 26, 20, 0, tzinfo=UTC)
    assert event["dtend"].dt > event["dtstart"].dt
    assert event["dtend"].dt.date() == FRIDAY
    assert event["location"] == cast.site.address
    assert str(cast.site) in event["summary"]
    assert "Tallowood Treatments" in event["description"]
    assert event["organizer"] == "mailto:office@applicator.example"


def test_who_gets_the_e_mail_is_invited_by_the_business(cast):
    """RFC 5546, 3.2.2 (from memory: RFC 5546): a REQUEST has an ORGANIZER and an ATTENDEE."""
    Business.current()
    Business.objects.update(
        name="Tallowood Treatments", email="office@applicator.example", phone="02 5550 0100"
    )
    cast.site.job_number = "W-12"
    cast.site.save()
    booked = cast.booked(FRIDAY)
    told = Message.objects.get(kind="booking_confirmed", to=cast.contact)
    file = letters.write(told).calendar
    (event,) = Calendar.from_ical(file.content).walk("VEVENT")
    assert file.method == "REQUEST"
    assert event["organizer"] == "mailto:office@applicator.example"
    assert event["organizer"].params["CN"] == "Tallowood Treatments"
    assert event["attendee"] == f"mailto:{cast.contact.email}"
    assert event["attendee"].params["RSVP"] == "FALSE"
    assert event["url"] == f"{settings.SITE_URL}/builder/booking/sites/{cast.site.pk}/"
    assert "02 5550 0100" in event["description"]
    assert "Job W-12" in event["description"]
    booking.cancel_booking(cast.contact, booked, reason="Storm")
    told = Message.objects.get(kind="booking_cancelled", to=cast.contact)
    (gone,) = Calendar.from_ical(letters.write(told).calendar.content).walk("VEVENT")
    assert (gone["uid"], gone["attendee"]) == (event["uid"], event["attendee"])


def test_a_business_without_an_address_organises_nothing(cast):
    assert "organizer" not in parts(cast.booked())[1]


def test_a_cancelled_day_overrules_the_one_before(cast):
    """RFC 5546, 3.2.5: the same uid, a higher sequence, and the status says so."""
    booked = cast.booked()
    _calendar, before = parts(booked)
    cancelled = booking.cancel_booking(cast.contact, booked, reason="Storm")
    calendar, after = parts(cancelled)
    assert calendar["method"] == "CANCEL"
    assert (before["status"], after["status"]) == ("CONFIRMED", "CANCELLED")
    assert before["uid"] == after["uid"]
    assert before["sequence"] < after["sequence"]
