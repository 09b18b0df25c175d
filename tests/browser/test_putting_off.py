"""Rain: two taps put a booked day off, and the builder accepts the other one."""

import re
from datetime import date

import pytest
from django.urls import reverse
from playwright.sync_api import expect

from readiness import clock
from readiness.actions.visits import booking as acts
from readiness.models import Booking, PutOff
from readiness.rules.calendar import calendar_of
from tests.browser.conftest import PHONE
from tests.factories import confirm, make_issued, make_site


@pytest.fixture
def booked(applicator, contact, builder):
    site = make_site(builder)
    confirm(contact, make_issued(applicator, site, kinds=()))
    today = clock.now().astimezone(site.zone).date()
    day = calendar_of("NSW").add_working_days(today, 1)
    offered = acts.offer_date(applicator, site, day=day, half="morning")
    return acts.accept_offer(contact, offered)


def test_rain_takes_two_taps_and_the_builder_one_more(applicator, contact, booked, open_as):
    page = open_as(applicator, reverse("office:booking", args=[booked.site_id]), PHONE)
    page.get_by_label("Rain").tap()
    page.get_by_role("button", name="Put off and tell the builder").tap()
    expect(page.get_by_text("Put off. The builder gets an e-mail that says why.")).to_be_visible()
    offered = Booking.objects.get()
    assert (offered.state, PutOff.objects.get().cause) == ("offered", "rain")
    assert offered.offer != f"{booked.day.isoformat()}/{booked.half}"

    page = open_as(contact, reverse("builder:book", args=[booked.site_id]), PHONE)
    expect(page.get_by_text("morning, was put off: rain.")).to_be_visible()
    page.get_by_role("button", name="Accept").tap()
    expect(page.get_by_text(re.compile("^Booked for ")).first).to_be_visible()
    assert Booking.objects.get().state == "confirmed"


def test_an_odd_day_is_refused_and_what_was_typed_stays(applicator, booked, open_as):
    page = open_as(applicator, reverse("office:booking", args=[booked.site_id]), PHONE)
    page.get_by_label("Wind").tap()
    page.get_by_label("Offer instead").fill(date(2020, 1, 6).isoformat())
    page.get_by_label("Message to the builder").last.fill("Gusts all day.")
    page.get_by_role("button", name="Put off and tell the builder").tap()
    expect(page.get_by_text("has passed").first).to_be_in_viewport()
    expect(page.get_by_label("Message to the builder").last).to_have_value("Gusts all day.")
    expect(page.get_by_label("Wind")).to_be_checked()
    assert Booking.objects.get().state == "confirmed"
