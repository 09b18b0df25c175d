"""Asking for a day, answering an offer, and the booking itself."""

from datetime import UTC, date, datetime

import icalendar
import pytest
from django.urls import reverse

from readiness import clock
from readiness.actions.firm.rule_values import change_rule_values
from readiness.actions.sites import sites
from readiness.actions.visits import booking as acts
from readiness.actions.visits.putting_off import put_off
from readiness.models import Booking
from tests.factories import confirm, make_issued, make_site

NOW = datetime(2026, 12, 20, 0, 0, tzinfo=UTC)  # a Sunday; Christmas is in the weeks to come
DAY = date(2026, 12, 23)


@pytest.fixture(autouse=True)
def _now():
    with clock.at(NOW):
        yield


@pytest.fixture
def browser(client_for, contact):
    return client_for(contact)


@pytest.fixture
def site(applicator, builder):
    found = make_site(builder, state="VIC")
    make_issued(applicator, found, kinds=(), treatment_wanted_on=DAY)
    return found


@pytest.fixture
def confirmed(site, contact):
    return confirm(contact, site.reports.get())


def url(site):
    return reverse("builder:book", args=[site.pk])


def ask(browser, site, *days, **more):
    return browser.post(url(site), {"day": days, **more}, follow=True)


def post(browser, action, booking, **sent):
    return browser.post(reverse(f"builder:{action}", args=[booking.pk]), sent, follow=True)


def test_days_after_the_confirmation_are_marked_and_may_still_be_asked_for(
    browser, site, confirmed
):
    """`confirmation_to_booking_days` is 7 (common practice, no source): to 27 December."""
    page = browser.get(url(site))
    days = {day.date: day for day in page.context["form"].days}
    assert days[date(2026, 12, 24)].against == ()
    late = days[date(2026, 12, 29)]
    assert late.against == ("confirmed only to Sun 27 Dec",)
    marked = [day for day in days.values() if day.against and not day.holiday]
    assert page.content.decode().count("is-doubtful") == 2 * len(marked)
    ask(browser, site, late.halves[0].value)
    assert Booking.objects.get().preferences == [{"date": "2026-12-29", "half": "morning"}]


def test_a_day_that_was_put_off_is_said_with_why(applicator, browser, contact, site, confirmed):
    offered = acts.offer_date(applicator, site, day=DAY, half="morning")
    booked = acts.accept_offer(contact, offered)
    put_off(applicator, booked, cause="wind", note="Gusts.")
    text = browser.get(url(site)).content.decode()
    assert "The booked day was put off. We will offer another." in text
    assert "Wednesday 23 December, morning, was put off: wind." in text
    assert "“Gusts.”" in text


def test_the_next_15_working_days_are_offered_with_holidays_marked(browser, site):
    days = browser.get(url(site)).context["form"].days
    working = [day for day in days if not day.holiday]
    assert len(working) == 15
    assert working[0].date == date(2026, 12, 21)
    assert {day.date: day.holiday for day in days if day.holiday} == {
        date(2026, 12, 25): "Christmas Day",
        date(2026, 12, 28): "Boxing Day (observed)",
        date(2027, 1, 1): "New Year's Day",
    }
    page = browser.get(url(site)).content.decode()
    assert "Christmas Day" in page
    assert 'value="2026-12-25/morning"' not in page


def test_asking_early_is_possible_and_says_what_is_missing(browser, site):
    page = browser.get(url(site)).content.decode()
    assert (
        "You can ask for a day now. We book it once the site is ready and you have confirmed it."
        in page
    )
    assert "You have not confirmed readiness yet." in page
    response = ask(browser, site, "2026-12-23/morning", "2026-12-22/afternoon", note="Gate is open")
    booking = Booking.objects.get()
    assert booking.preferences == [
        {"date": "2026-12-22", "half": "afternoon"},
        {"date": "2026-12-23", "half": "morning"},
    ]
    assert booking.note == "Gate is open"
    page = response.content.decode()
    assert "Tuesday 22 December, afternoon" in page
    assert "You asked for a day. We will offer one." in page


def test_asking_for_no_day_keeps_the_note(browser, site):
    page = ask(browser, site, note="Gate is open").content.decode()
    assert "Choose at least one half-day that suits you." in page
    assert "Gate is open" in page
    assert not Booking.objects.exists()


@pytest.mark.parametrize(
    "made_up", ["2026-12-25/morning", "2030-01-01/morning", "2026-12-22/night"]
)
def test_days_that_can_not_be_chosen_are_not_taken(browser, site, made_up):
    ask(browser, site, made_up)
    assert not Booking.objects.exists()


def test_changing_the_days_shows_what_was_asked_before(browser, site):
    ask(browser, site, "2026-12-22/afternoon")
    assert 'value="2026-12-22/afternoon" checked' in browser.get(url(site)).content.decode()
    ask(browser, site, "2026-12-24/morning")
    assert Booking.objects.get().preferences == [{"date": "2026-12-24", "half": "morning"}]


def test_an_offer_is_accepted(browser, site, applicator, confirmed):
    booking = acts.offer_date(applicator, site, day=DAY, half="morning", note="We are there at 7.")
    page = browser.get(url(site)).content.decode()
    assert "We can come on Wednesday 23 December, morning." in page
    assert "We are there at 7." in page
    page = post(browser, "accept", booking).content.decode()
    assert "Booked for Wednesday morning." in page
    assert "No flames, sparks, smoking" in page
    booking.refresh_from_db()
    assert booking.confirmation == confirmed


def test_a_blocked_offer_lists_its_reasons_with_links_and_no_button(browser, site, applicator):
    booking = acts.offer_date(applicator, site, day=DAY, half="morning")
    page = browser.get(url(site)).content.decode()
    assert "Before you can accept" in page
    assert reverse("builder:confirm", args=[site.pk]) in page
    assert reverse("builder:accept", args=[booking.pk]) not in page
    page = post(browser, "accept", booking).content.decode()
    assert "You have not confirmed readiness yet." in page
    booking.refresh_from_db()
    assert booking.state == "offered"


def test_an_offer_beyond_the_confirmation_says_by_when(browser, site, applicator, confirmed):
    acts.offer_date(applicator, site, day=date(2027, 1, 5), half="morning")
    page = browser.get(url(site)).content.decode()
    assert "covers days up to Sun 27 December 2026. Choose a day by then" in page


def test_an_offer_that_went_by_asks_for_other_days(browser, site, applicator, confirmed):
    booking = acts.offer_date(applicator, site, day=DAY, half="morning")
    with clock.at(datetime(2026, 12, 24, 1, tzinfo=UTC)):
        page = browser.get(url(site)).content.decode()
        home = browser.get(reverse("builder:home")).content.decode()
    assert "We offered Wednesday 23 December, morning; that day has passed." in page
    assert reverse("builder:accept", args=[booking.pk]) not in page
    assert "Days that suit you" in page
    assert "; that day has passed." in home


def test_turning_an_offer_down_keeps_the_request(browser, site, applicator, confirmed):
    booking = acts.offer_date(applicator, site, day=DAY, half="morning")
    post(browser, "decline", booking, **{"decline-reason": "The crane is there."})
    booking.refresh_from_db()
    assert (booking.state, booking.day, booking.note) == ("asked", None, "The crane is there.")


def test_who_turned_down_an_offer_is_not_said_to_have_asked(
    browser, site, applicator, client_for, confirmed
):
    booking = acts.offer_date(applicator, site, day=DAY, half="morning")
    page = post(browser, "decline", booking).content.decode()
    assert "You turned down the day we offered. We will offer another." in page
    site_page = browser.get(reverse("builder:site", args=[site.pk])).content.decode()
    for words in (page, site_page):
        assert "You asked for a day" not in words
        assert "What you asked for" not in words
    for name, of in (("booking", [site.pk]), ("site", [site.pk]), ("home", []), ("bookings", [])):
        page = client_for(applicator).get(reverse(f"office:{name}", args=of)).content.decode()
        assert "turned down the day we offered" in page.lower()
        assert "asks for a day" not in page


def test_the_calendar_entry_is_read_by_another_program(
    browser, site, applicator, confirmed, contact
):
    """RFC 5545, read back by the icalendar library."""
    booking = acts.offer_date(applicator, site, day=DAY, half="afternoon")
    address = reverse("builder:calendar", args=[booking.pk])
    assert browser.get(address).status_code == 404
    acts.accept_offer(contact, booking)
    response = browser.get(address)
    assert response["Content-Type"].startswith("text/calendar")
    event = icalendar.Calendar.from_ical(response.content).walk("VEVENT")[0]
    start = event["dtstart"].dt
    assert start.astimezone(UTC) == datetime(2026, 12, 23, 1, 0, tzinfo=UTC)
    assert str(event["location"]) == site.address


def test_cancelling_a_confirmed_day_needs_a_reason(browser, site, applicator, confirmed, contact):
    booking = acts.offer_date(applicator, site, day=DAY, half="morning")
    acts.accept_offer(contact, booking)
    page = post(browser, "cancel", booking).content.decode()
    assert "Say why the confirmed day is cancelled." in page
    post(browser, "cancel", booking, **{"cancel-reason": "The slab is delayed."})
    booking.refresh_from_db()
    assert (booking.state, booking.closing_note) == ("cancelled", "The slab is delayed.")


def test_a_booked_site_that_gets_something_to_fix_says_what_is_in_the_way(
    browser, site, applicator, confirmed, contact
):
    booking = acts.offer_date(applicator, site, day=DAY, half="morning")
    acts.accept_offer(contact, booking)
    with clock.at(NOW.replace(hour=3)):
        report = make_issued(applicator, site, kinds=("mortar_drop",))
        page = browser.get(url(site)).content.decode()
    assert "Booked for Wednesday morning, but 1 thing still to fix." in page
    assert "Fix or confirm before the day" in page
    assert reverse("builder:report_fixed", args=[report.items.get().pk]) in page


def test_a_treated_site_says_when_and_where_its_record_is(
    browser, site, applicator, confirmed, contact
):
    booking = acts.offer_date(applicator, site, day=date(2026, 12, 21), half="morning")
    acts.accept_offer(contact, booking)
    with clock.at(NOW.replace(day=21, hour=1)):
        acts.record_treatment(applicator, booking, used_ml=6200)
        page = browser.get(url(site)).content.decode()
    assert "Treated on Monday 21 December." in page
    assert "The treatment record is with the site" in page


def test_an_outsider_can_not_touch_a_booking(
    client_for, other_contact, site, applicator, confirmed
):
    booking = acts.offer_date(applicator, site, day=DAY, half="morning")
    outsider = client_for(other_contact)
    assert outsider.post(url(site), {"day": "2026-12-22/morning"}).status_code == 404
    for action in ("accept", "decline", "cancel"):
        assert post(outsider, action, booking).status_code == 404
    assert outsider.get(reverse("builder:calendar", args=[booking.pk])).status_code == 404
    booking.refresh_from_db()
    assert booking.state == "offered"


OTHER_DAY = date(2026, 12, 24)


@pytest.fixture
def changed_offer(applicator, site, confirmed):
    """An offer that was changed after a tab with the first one was opened."""
    first = acts.offer_date(applicator, site, day=DAY, half="morning")
    seen = first.offer
    return seen, acts.offer_date(applicator, site, day=OTHER_DAY, half="afternoon")


@pytest.mark.parametrize("action", ["accept", "decline"])
def test_an_answer_is_to_the_offer_that_was_on_the_screen(browser, changed_offer, action):
    seen, booking = changed_offer
    page = post(browser, action, booking, seen=seen).content.decode()
    assert "The day on offer is now Thursday 24 December, afternoon. Check it first." in page
    booking.refresh_from_db()
    assert (booking.state, booking.day) == ("offered", OTHER_DAY)
    post(browser, action, booking, seen=booking.offer)
    booking.refresh_from_db()
    assert booking.state == {"accept": "confirmed", "decline": "asked"}[action]


def test_asking_from_an_old_page_does_not_let_go_of_an_offer_unseen(browser, site, applicator):
    assert 'name="seen" value=""' in browser.get(url(site)).content.decode()
    booking = acts.offer_date(applicator, site, day=DAY, half="morning")
    page = ask(browser, site, "2026-12-22/morning", seen="").content.decode()
    assert "The day on offer is now Wednesday 23 December, morning." in page
    booking.refresh_from_db()
    assert booking.state == "offered"
    assert 'value="2026-12-22/morning" checked' in page
    ask(browser, site, "2026-12-22/morning", seen=booking.offer)
    booking.refresh_from_db()
    assert booking.state == "asked"


def test_turning_down_twice_says_what_happened(browser, site, applicator, confirmed):
    booking = acts.offer_date(applicator, site, day=DAY, half="morning")
    for _ in range(2):
        page = post(browser, "decline", booking, seen=booking.offer).content.decode()
    assert "No day is on offer any more." in page


@pytest.mark.parametrize("action", ["decline", "cancel"])
def test_what_was_typed_stays_when_it_is_too_long(browser, site, applicator, action):
    booking = acts.offer_date(applicator, site, day=DAY, half="morning")
    if action == "cancel":
        acts.ask_for_booking(
            booking.site.builder.contacts.get().user, site, preferences=[(DAY, "morning")]
        )
    words = "The crane is there. " * 101
    page = post(browser, action, booking, **{f"{action}-reason": words}).content.decode()
    assert "at most 2000 characters" in page
    assert words.strip() in page
    assert Booking.objects.get().is_open


def test_a_button_after_signing_in_again_leads_to_the_booking(browser, site, applicator):
    booking = acts.offer_date(applicator, site, day=DAY, half="morning")
    for action in ("accept", "decline", "cancel"):
        address = reverse(f"builder:{action}", args=[booking.pk])
        response = browser.get(address, follow=True)
        assert response.redirect_chain == [(url(site), 302)]
        assert "Nothing was changed." in response.content.decode()
    booking.refresh_from_db()
    assert booking.state == "offered"


def test_a_site_that_is_archived_takes_no_request(browser, site, applicator):
    sites.close_site(applicator, site)
    page = browser.get(url(site)).content.decode()
    assert "This site is finished and archived." in page
    assert 'name="day"' not in page
    page = ask(browser, site, "2026-12-22/morning").content.decode()
    assert "Ask us to open it again" in page
    assert not Booking.objects.exists()


def test_the_last_day_said_is_the_last_that_can_be_accepted(
    browser, site, applicator, contact, confirmed
):
    """From 20 December: in force for 7 days, and 3 days from confirmation to treatment."""
    assert "covers days up to Sunday 27 December" in browser.get(url(site)).content.decode()
    change_rule_values(applicator, {"confirmation_to_booking_days": "3"})
    assert "covers days up to Wednesday 23 December" in browser.get(url(site)).content.decode()
    booking = acts.offer_date(applicator, site, day=OTHER_DAY, half="morning")
    page = post(browser, "accept", booking).content.decode()
    assert "covers days up to Wed 23 December 2026. Choose a day by then" in page


def test_the_booked_day_is_covered_whole_when_the_confirmation_ends_on_it(
    browser, site, applicator, contact
):
    """Signed on Wednesday at 11 am in Victoria, for 7 days; booked for the next Wednesday."""
    with clock.at(datetime(2026, 12, 16, 0, 0, tzinfo=UTC)):
        make_issued(applicator, site, kinds=(), treatment_wanted_on=DAY)
        confirm(contact, site.reports.current().get())
        acts.accept_offer(contact, acts.offer_date(applicator, site, day=DAY, half="afternoon"))
    with clock.at(datetime(2026, 12, 23, 2, 0, tzinfo=UTC)):
        page = browser.get(url(site)).content.decode()
        assert "Booked for this afternoon." in page
        assert "What stands in the way" not in page
    with clock.at(datetime(2026, 12, 24, 2, 0, tzinfo=UTC)):
        assert "The confirmation ran out at" in browser.get(url(site)).content.decode()
