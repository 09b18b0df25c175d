"""A booked day that is put off, with another on offer or none yet."""

import uuid
from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.exceptions import PermissionDenied
from django.db import DatabaseError, transaction
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from icalendar import Calendar

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.visits import booking as bookings
from readiness.actions.visits.confirming import withdraw_confirmation
from readiness.actions.visits.putting_off import put_off
from readiness.facts import SiteState
from readiness.messages import letters
from readiness.models import Booking, Message, PutOff
from tests.factories import confirm, make_issued, make_site

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 20, 0, 0, tzinfo=UTC)
WEDNESDAY, THURSDAY, FRIDAY = (date(2026, 11, day) for day in (25, 26, 27))


@pytest.fixture(autouse=True)
def _in_november():
    with clock.at(NOW):
        yield


@pytest.fixture
def booked(applicator, contact, site):
    """Booked for Wednesday morning."""
    confirm(contact, make_issued(applicator, site, kinds=()))
    offered = bookings.offer_date(applicator, site, day=WEDNESDAY, half="morning")
    return bookings.accept_offer(contact, offered)


def again(booking):
    return Booking.objects.get(pk=booking.pk)


def test_for_rain_with_another_day_which_the_builder_accepts(applicator, contact, site, booked):
    one = put_off(
        applicator, booked, cause="rain", day=THURSDAY, half="afternoon", note="Wet all Wednesday."
    )
    assert (one.day, one.half, one.cause) == (WEDNESDAY, "morning", "rain")
    offered = again(booked)
    assert (offered.state, offered.day, offered.half) == ("offered", THURSDAY, "afternoon")
    assert (offered.confirmed_at, offered.confirmation) == (None, None)
    accepted = bookings.accept_offer(contact, offered, seen=offered.offer)
    assert (accepted.pk, accepted.state) == (booked.pk, "confirmed")
    assert accepted.confirmation == site.reports.get().confirmations.get()


def test_with_no_other_day_yet_it_waits_for_an_offer(applicator, contact, site, booked):
    put_off(applicator, booked, cause="ours")
    waiting = again(booked)
    assert (waiting.state, waiting.day, waiting.was_put_off) == ("asked", None, True)
    assert waiting.state_words == "To offer"
    assert waiting in Booking.objects.to_offer()
    offered = bookings.offer_date(applicator, site, day=FRIDAY, half="morning")
    assert (offered, offered.was_put_off) == (waiting, False)
    declined = bookings.decline_offer(contact, offered)
    assert (declined.state, declined.was_put_off) == ("asked", False), "that was turned down"


def test_who_asks_for_days_afterwards_has_asked(applicator, contact, site, booked):
    wanted = [(FRIDAY, "morning")]
    put_off(applicator, booked, cause="builder")
    with clock.at(NOW + timedelta(hours=1)):
        asked = bookings.ask_for_booking(contact, site, preferences=wanted)
    assert (asked.pk, asked.state, asked.was_put_off) == (booked.pk, "asked", False)


def test_on_the_day_itself_and_after_it(applicator, booked):
    with clock.at(datetime(2026, 11, 26, 0, 0, tzinfo=UTC)):
        put_off(applicator, booked, cause="wind", day=FRIDAY, half="morning")
    assert again(booked).day == FRIDAY


@pytest.mark.parametrize(
    ("given", "said"),
    [
        ({"cause": ""}, "Say why"),
        ({"cause": "snow"}, "Say why"),
        ({"day": THURSDAY, "half": ""}, "morning or afternoon"),
        ({"day": WEDNESDAY, "half": "morning"}, "is the day that you put off"),
        ({"day": date(2026, 11, 19), "half": "morning"}, "has passed"),
        ({"day": date(2026, 12, 25), "half": "morning"}, "public holiday"),
        ({"seen": "2026-11-24/morning"}, "is now Wednesday 25 November, morning"),
    ],
)
def test_what_makes_no_sense_changes_nothing(applicator, booked, given, said):
    with pytest.raises(Refused, match=said):
        put_off(applicator, booked, **{"cause": "rain", **given})
    assert again(booked).state == "confirmed"
    assert not PutOff.objects.exists()


def test_only_the_office_and_only_a_booked_day(applicator, contact, site, booked):
    with pytest.raises(PermissionDenied):
        put_off(contact, booked, cause="rain")
    put_off(applicator, booked, cause="rain", day=THURSDAY, half="morning")
    with pytest.raises(Refused, match="offered"):
        put_off(applicator, booked, cause="rain", day=FRIDAY, half="morning")


def test_sent_twice_is_one_act_and_of_another_site_none(applicator, contact, builder, booked):
    key = uuid.uuid4()
    first = put_off(applicator, booked, cause="rain", put_off_id=key)
    assert put_off(applicator, booked, cause="rain", put_off_id=key) == first
    assert PutOff.objects.count() == 1
    other = make_site(builder, street="4 Tallowood Way")
    confirm(contact, make_issued(applicator, other, kinds=()))
    offered = bookings.offer_date(applicator, other, day=WEDNESDAY, half="morning")
    with pytest.raises(Refused, match="another site"):
        put_off(applicator, bookings.accept_offer(contact, offered), cause="rain", put_off_id=key)


def test_what_was_booked_can_t_be_rewritten(applicator, booked):
    one = put_off(applicator, booked, cause="rain")
    for change in (lambda: PutOff.objects.update(cause="ours"), one.delete):
        with pytest.raises(DatabaseError, match="stays as it was booked"), transaction.atomic():
            change()


# Calendars and e-mails


def event_of(kind):
    """What the latest e-mail of a kind does to a calendar."""
    file = letters.write(Message.objects.filter(kind=kind).latest("queued_at")).calendar
    (event,) = Calendar.from_ical(file.content).walk("VEVENT")
    return event


def test_two_days_and_a_cancellation_end_as_one_cancelled_event(applicator, contact, booked):
    """RFC 5546, 2.1.4 and 3.2.5: the highest SEQUENCE of a UID counts (from memory: RFC 5546)."""
    seen = [event_of("booking_confirmed")]
    for hours, day in ((1, THURSDAY), (2, FRIDAY)):
        with clock.at(NOW + timedelta(hours=hours)):
            put_off(applicator, again(booked), cause="rain", day=day, half="morning")
            seen.append(event_of("booking_put_off"))
            bookings.accept_offer(contact, again(booked))
            seen.append(event_of("booking_confirmed"))
    bookings.cancel_booking(contact, again(booked), reason="Sold")
    seen.append(event_of("booking_cancelled"))
    assert len({str(event["uid"]) for event in seen}) == 1
    assert [int(event["sequence"]) for event in seen] == [0, 1, 2, 3, 4, 5]
    calendar = {}
    for event in seen:  # as a calendar keeps them: a later sequence takes the place
        calendar[str(event["uid"])] = event
    (left,) = calendar.values()
    assert str(left["status"]) == "CANCELLED"
    days = [event.decoded("dtstart").date() for event in seen]
    assert days == [WEDNESDAY, WEDNESDAY, THURSDAY, THURSDAY, FRIDAY, FRIDAY]


def test_the_e_mail_says_why_and_what_is_offered(applicator, contact, booked):
    put_off(applicator, booked, cause="wind", day=THURSDAY, half="morning", note="40 km/h.")
    told = Message.objects.filter(kind="booking_put_off", to=contact).get()
    words = letters.write(told)
    assert "on Wednesday 25 November, morning is put off: wind." in words.opening
    assert "Thursday 26 November, morning" in words.opening
    assert words.points == ["“40 km/h.”"]
    assert "/booking/" in words.link


def test_an_e_mail_that_is_late_says_how_the_booking_stands_now(applicator, contact, booked):
    put_off(applicator, booked, cause="rain", day=THURSDAY, half="morning")
    bookings.accept_offer(contact, again(booked))
    told = Message.objects.filter(kind="booking_put_off", to=contact).get()
    assert "Booked instead: Thursday 26 November, morning." in letters.write(told).opening


# In whatever order


ACTS = ("put off", "put off to a day", "offer", "accept", "decline", "ask", "cancel", "withdraw",
        "confirm")  # fmt: skip


@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.sampled_from(ACTS), min_size=1, max_size=14))
def test_in_whatever_order_a_booked_day_was_accepted_after_it_was_last_put_off(
    applicator, contact, builder, acts
):
    site = make_site(builder, street=f"{uuid.uuid4()} Way")
    report = make_issued(applicator, site, kinds=())
    confirm(contact, report)
    for hour, act in enumerate(acts):
        with clock.at(NOW + timedelta(hours=hour)):
            found = Booking.objects.open().filter(site=site).first()
            try:
                do(act, applicator, contact, site, report, found)
            except Refused:
                continue
            check(site)


def do(act, applicator, contact, site, report, found):
    if act == "offer":
        bookings.offer_date(applicator, site, day=FRIDAY, half="morning")
    elif act == "ask":
        bookings.ask_for_booking(contact, site, preferences=[(FRIDAY, "morning")])
    elif act == "confirm":
        confirm(contact, report)
    elif act == "withdraw":
        given = report.confirmations.filter(withdrawn_at=None).first()
        if given:
            withdraw_confirmation(contact, given, reason="Scaffold")
    elif found is None:
        raise Refused("Nothing is under way.")
    elif act == "put off":
        put_off(applicator, found, cause="rain")
    elif act == "put off to a day":
        put_off(applicator, found, cause="rain", day=THURSDAY, half="afternoon")
    elif act == "accept":
        bookings.accept_offer(contact, found)
    elif act == "decline":
        bookings.decline_offer(contact, found)
    else:
        bookings.cancel_booking(contact, found, reason="Sold")


def check(site):
    found = Booking.objects.open().filter(site=site).first()
    if found is None:
        return
    facts = SiteState.of(site).facts()
    is_booked = found.state == "confirmed"
    assert is_booked == (found.confirmed_at is not None)
    if is_booked:
        assert all(one.put_off_at < found.confirmed_at for one in found.put_offs.all())
    assert facts.booking.was_put_off == found.was_put_off
