"""Offering a day, cancelling, and writing down how the day went."""

from datetime import datetime, time

import pytest
from django.urls import reverse

from readiness import clock
from readiness.actions import booking as actions
from readiness.models import Booking
from readiness.rules.calendar import calendar_of
from tests.factories import confirm, make_issued, make_site

pytestmark = pytest.mark.django_db


def url(name, *args):
    return reverse(f"applicator:{name}", args=args)


def working_day(count):
    return calendar_of("NSW").add_working_days(clock.now().date(), count)


@pytest.fixture
def site(builder):
    return make_site(builder)


@pytest.fixture
def confirmed(applicator, contact, site):
    """A booking that is confirmed for two working days from now."""
    report = make_issued(applicator, site, kinds=())
    confirm(contact, report)
    offer = actions.offer_date(applicator, site, day=working_day(2), half="morning")
    return actions.accept_offer(contact, offer)


@pytest.fixture
def on_the_day(confirmed):
    """Noon of the booked day, at the site."""
    with clock.at(datetime.combine(confirmed.day, time(12), tzinfo=confirmed.site.zone)):
        yield


def test_the_builders_wishes_are_one_tap_each(client_for, applicator, contact, site):
    wished = working_day(3)
    actions.ask_for_booking(contact, site, preferences=[(wished, "afternoon")], note="After two.")
    client = client_for(applicator)
    page = client.get(url("booking", site.pk))
    assert page.context["wishes"][0]["day"] == wished.isoformat()
    assert "After two." in page.content.decode()
    client.post(url("booking", site.pk), {"day": wished.isoformat(), "half": "afternoon"})
    offered = Booking.objects.get()
    assert (offered.state, offered.day, offered.half) == ("offered", wished, "afternoon")


def test_days_that_do_not_work_are_said_and_what_was_typed_stays(client_for, applicator, site):
    client = client_for(applicator)
    for day, said in (("2026-01-05", "is past"), ("2027-12-25", "public holiday in NSW")):
        data = {"day": day, "half": "morning", "note": "Ring first."}
        text = client.post(url("booking", site.pk), data).content.decode()
        assert said in text
        assert "Ring first." in text
    assert not Booking.objects.exists()


def test_the_coming_days_name_holidays_and_count_bookings(applicator, site):
    from datetime import date

    from portal.applicator.booking_forms import coming_days

    actions.offer_date(applicator, site, day=working_day(1), half="morning")
    assert coming_days(site, clock.now().date())[0]["booked"] in (0, 1)
    days = coming_days(site, date(2026, 12, 23))
    # 25 December 2026 is a Friday, 26 December a Saturday with Monday 28 in its place in NSW.
    assert [entry["day"] for entry in days if entry["holiday"]][:2] == [
        date(2026, 12, 25),
        date(2026, 12, 28),
    ]


def test_what_stands_in_the_way_is_listed_and_linked(client_for, applicator, site):
    item = make_issued(applicator, site).items.get()
    page = client_for(applicator).get(url("booking", site.pk))
    links = [row["url"] for row in page.context["reasons"]]
    assert url("item", item.pk) in links


def test_a_confirmed_day_is_cancelled_only_with_a_reason(client_for, applicator, site, confirmed):
    client = client_for(applicator)
    answer = client.post(url("booking_cancel", confirmed.pk), {"cancel-reason": ""})
    assert "Say why the confirmed day is cancelled" in answer.content.decode()
    client.post(url("booking_cancel", confirmed.pk), {"cancel-reason": "Rain all week."})
    confirmed.refresh_from_db()
    assert (confirmed.state, confirmed.closing_note) == ("cancelled", "Rain all week.")


def test_the_treatment_is_written_down_in_litres(
    client_for, applicator, site, confirmed, on_the_day
):
    client = client_for(applicator)
    answer = client.post(url("treated", confirmed.pk), {"treat-used_ml": "six"})
    assert "is not an amount" in answer.content.decode()
    assert 'value="six"' in answer.content.decode()
    data = {"treat-used_ml": "6,2 L", "treat-batch_number": "B-17", "treat-weather": "Dry"}
    answer = client.post(url("treated", confirmed.pk), data)
    assert answer.url == url("site", site.pk)
    confirmed.refresh_from_db()
    assert (confirmed.state, confirmed.used_ml, confirmed.batch_number) == (
        "treated",
        6_200,
        "B-17",
    )
    assert "Treated on" in client.get(url("site", site.pk)).content.decode()


def test_being_turned_away_needs_what_was_not_ready(
    client_for, applicator, site, confirmed, on_the_day
):
    client = client_for(applicator)
    answer = client.post(url("turned_away", confirmed.pk), {"turn_away-reason": ""})
    assert answer.status_code == 200
    client.post(url("turned_away", confirmed.pk), {"turn_away-reason": "Pallets at the wall."})
    confirmed.refresh_from_db()
    assert (confirmed.state, confirmed.closing_note) == ("turned_away", "Pallets at the wall.")


def test_the_cautions_stand_where_the_treatment_is_written_down(
    client_for, applicator, site, confirmed
):
    text = client_for(applicator).get(url("booking", site.pk)).content.decode()
    assert "safety data sheet" in text
    assert "To go earlier, cancel this booking" in text


def test_a_treatment_before_its_day_is_refused_and_stays_typed(
    client_for, applicator, site, confirmed
):
    data = {"treat-used_ml": "6.2", "treat-batch_number": "B-17"}
    text = client_for(applicator).post(url("treated", confirmed.pk), data).content.decode()
    assert "which is still to come" in text
    assert 'value="B-17"' in text
    confirmed.refresh_from_db()
    assert confirmed.state == "confirmed"


def test_bookings_are_listed_by_day(client_for, applicator, site, confirmed):
    page = client_for(applicator).get(url("bookings"))
    listed = [found for _, block in page.context["blocks"] for found in block]
    assert listed == [confirmed]
