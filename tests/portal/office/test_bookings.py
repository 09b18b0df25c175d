"""Offering a day, cancelling, and writing down how the day went."""

from datetime import UTC, date, datetime, time, timedelta

import pytest
from django.urls import reverse

from portal.office.bookings.days import coming_days
from readiness import clock
from readiness.actions.sites.sites import note_rain
from readiness.actions.visits import booking as actions
from readiness.facts import SiteState
from readiness.models import Booking, BuilderContact
from readiness.models.booking import BookingPriority, ByPriority
from readiness.models.local_days import LocalDays
from readiness.rules.calendar import calendar_of
from tests.factories import confirm, make_issued, make_site
from tests.pages import shown

pytestmark = pytest.mark.django_db


def url(name, *args):
    return reverse(f"office:{name}", args=args)


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
    for day, said in (("2026-01-05", "has passed"), ("2027-12-25", "public holiday in NSW")):
        data = {"day": day, "half": "morning", "note": "Ring first."}
        text = client.post(url("booking", site.pk), data).content.decode()
        assert said in text
        assert "Ring first." in text
    assert not Booking.objects.exists()


@pytest.fixture
def stated(applicator, contact, site):
    """A site that is confirmed ready from now on; no day is asked for or offered."""
    confirm(contact, make_issued(applicator, site, kinds=()))
    return site


def test_a_day_that_can_t_be_accepted_is_offered_once_that_was_said(client_for, applicator, stated):
    client, late = client_for(applicator), working_day(12)
    data = {"day": late.isoformat(), "half": "morning", "note": "Ring first."}
    text = client.post(url("booking", stated.pk), data).content.decode()
    assert "As things stand the builder can’t accept this day:" in text
    assert "confirmed only to" in text
    assert "Ring first." in text
    assert not Booking.objects.exists()
    said = {"all_the_same": f"{late.isoformat()}/morning"}
    client.post(url("booking", stated.pk), data | {"day": working_day(13).isoformat()} | said)
    assert not Booking.objects.exists(), "that was said of another day"
    client.post(url("booking", stated.pk), data | said)
    assert Booking.objects.get().day == late


def test_the_coming_days_say_what_is_against_them(applicator, stated):
    days = coming_days(stated, SiteState.of(stated).facts())
    assert days[0].against == ()
    assert days[-1].against[0].startswith("confirmed only to ")


def test_the_coming_days_say_until_when_the_walls_are_wet(applicator, stated):
    """`rain_drying_hours` is 24: rain until 10 am is dry at 10 am the next day."""
    with clock.at(datetime(2026, 11, 30, 1, tzinfo=UTC)):  # Monday, noon in Sydney
        note_rain(applicator, stated, datetime(2026, 11, 29, 23, tzinfo=UTC))
        stated.refresh_from_db()
        tuesday, wednesday, *_ = coming_days(stated, SiteState.of(stated).facts())
    assert "morning: not dry before 10:00 am, Tue 1 Dec" in tuesday.against
    assert not any("not dry" in words for words in wednesday.against)


def test_the_coming_days_name_holidays_and_count_bookings(applicator, site):
    actions.offer_date(applicator, site, day=working_day(1), half="morning")
    assert coming_days(site, SiteState.of(site).facts())[0].booked == 1
    with clock.at(datetime(2026, 12, 23, 1, tzinfo=UTC)):
        days = coming_days(site, SiteState.of(site).facts())
    # 25 December 2026 is a Friday, 26 December a Saturday with Monday 28 in its place in NSW.
    assert [entry.day for entry in days if entry.off][:2] == [
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
    for odd in ("0", "-1", "0,0001", "1e9", "1000,1"):
        answer = client.post(url("treated", confirmed.pk), {"treat-used_ml": odd})
        assert answer.context["treated_form"].errors["used_ml"], odd
    data = {"treat-used_ml": " 6,2 litres ", "treat-batch_number": "B-17", "treat-weather": "Dry"}
    answer = client.post(url("treated", confirmed.pk), data)
    assert answer.url == url("site", site.pk)
    confirmed.refresh_from_db()
    assert (confirmed.state, confirmed.used_ml, confirmed.batch_number) == (
        "treated",
        6_200,
        "B-17",
    )
    assert "Treated on" in client.get(url("site", site.pk)).content.decode()


def test_rain_after_the_treatment_is_in_the_way_of_nothing(
    client_for, applicator, site, confirmed, on_the_day
):
    client = client_for(applicator)
    client.post(url("treated", confirmed.pk), {"treat-used_ml": "6.2"})
    note_rain(applicator, site, clock.now() - timedelta(minutes=1))
    page = client.get(url("site", site.pk))
    assert page.context["reasons"]
    assert "Treated on" in page.content.decode()
    for words in ("in the way", "Not ready"):
        assert words not in page.content.decode()


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
    assert "put this day off and offer the other one" in text


def test_a_treatment_before_its_day_is_refused_and_stays_typed(
    client_for, applicator, site, confirmed
):
    data = {"treat-used_ml": "6.2", "treat-batch_number": "B-17"}
    text = client_for(applicator).post(url("treated", confirmed.pk), data).content.decode()
    assert "which is still to come" in text
    assert 'value="B-17"' in text
    confirmed.refresh_from_db()
    assert confirmed.state == "confirmed"


def bookings_page(client, **query):
    """The page and, of each section, its title, its count and its bookings."""
    page = client.get(url("bookings"), query)
    return page, [(title, count, rows) for _, title, count, rows in page.context["sections"]]


def dated(day, state="confirmed", half="morning"):
    return Booking.objects.create(
        site=make_site(), state=state, day=day, half=half, asked_at=NOON, confirmed_at=NOON
    )


def asked_for(hours_ago=0):
    return Booking.objects.create(site=make_site(), asked_at=NOON - timedelta(hours=hours_ago))


NOON = datetime(2026, 11, 25, 2, tzinfo=UTC)
"""A Wednesday, in Sydney 1 pm."""
WEDNESDAY = date(2026, 11, 25)


def test_a_confirmed_day_is_in_the_list_of_bookings(client_for, applicator, confirmed):
    page, sections = bookings_page(client_for(applicator))
    assert [rows for _, _, rows in sections] == [[confirmed]]
    assert str(confirmed.site) in page.content.decode()


def test_what_needs_attention_comes_first_in_the_bookings(client_for, applicator):
    later = dated(WEDNESDAY + timedelta(weeks=9))
    afternoon, morning = dated(date(2026, 11, 29), half="afternoon"), dated(date(2026, 11, 29))
    soon = asked_for()
    long_ago = asked_for(hours_ago=50)
    passed = dated(WEDNESDAY - timedelta(days=1), state="offered")
    today = dated(WEDNESDAY)
    to_record = dated(WEDNESDAY - timedelta(days=40))
    with clock.at(NOON):
        page, sections = bookings_page(client_for(applicator))
    assert sections == [
        ("Record the visit", 1, [to_record]),
        ("Today", 1, [today]),
        ("The offered day has passed", 1, [passed]),
        ("Builders asking for a day", 2, [long_ago, soon]),
        ("This week", 2, [morning, afternoon]),
        ("Later", 1, [later]),
    ]
    assert page.context["shown"][0] == ("", "All open", 8)


def test_closed_bookings_are_not_in_the_list(client_for, applicator, confirmed):
    actions.cancel_booking(applicator, confirmed, reason="Rain.")
    page, sections = bookings_page(client_for(applicator))
    assert sections == []
    assert "No day is offered or confirmed from today" in page.content.decode()


def test_25_bookings_a_page_and_none_is_lost(client_for, applicator):
    made = [asked_for(hours_ago=hours) for hours in range(30)]
    made += [dated(WEDNESDAY + timedelta(days=days)) for days in range(28)]
    client, found = client_for(applicator), []
    with clock.at(NOON):
        for number, size in ((1, 25), (2, 25), (3, 8)):
            page, sections = bookings_page(client, page=number)
            rows = [row for _, _, rows in sections for row in rows]
            assert len(rows) == size
            found += rows
            text = shown(page)
            assert "Today: 1" in text
            assert "Builders asking for a day: 30" in text
    assert len(set(found)) == len(found) == len(made)


def test_one_kind_of_booking_can_be_seen_by_itself(client_for, applicator):
    made = {asked_for(hours_ago=hours) for hours in range(26)}
    today = dated(WEDNESDAY)
    client = client_for(applicator)
    with clock.at(NOON):
        _, sections = bookings_page(client, show="2_today")
        assert sections == [("Today", 1, [today])]
        page, first = bookings_page(client, show="4_asked")
        _, second = bookings_page(client, show="4_asked", page=2)
        assert {*first[0][2], *second[0][2]} == made
        assert "show=4_asked&amp;page=2" in page.content.decode()
        page, sections = bookings_page(client, show="1_write_down")
        assert sections == []
        assert "See all open bookings" in page.content.decode()
        assert len(bookings_page(client, show="nonsense")[1]) == 2


def test_the_list_of_bookings_takes_a_query_a_kind_however_many(
    client_for, applicator, django_assert_num_queries, django_assert_max_num_queries
):
    dated(WEDNESDAY)
    asked_for()
    client = client_for(applicator)
    with clock.at(NOON):
        client.get(url("bookings"))
        with django_assert_num_queries(3 + 2):
            client.get(url("bookings"))
        for count in range(40):
            asked_for()
            dated(WEDNESDAY + timedelta(days=count - 20))
        with django_assert_max_num_queries(3 + len(BookingPriority)):
            client.get(url("bookings"))


def test_pages_of_any_size_hold_every_booking_once_in_one_order(db):
    for count in range(6):
        asked_for()
        dated(WEDNESDAY + timedelta(days=4 * count - 10))
    days = LocalDays.at(NOON)
    counts = Booking.objects.counts_by_priority(days)
    rows = ByPriority(Booking.objects.all(), days, counts)
    whole = rows[:]
    assert len(whole) == len(rows) == Booking.objects.open().count() == 12
    assert [row.priority for row in whole] == sorted(row.priority for row in whole)
    for size in (1, 2, 5, 7):
        pages = [rows[start : start + size] for start in range(0, 12, size)]
        assert [row.pk for page in pages for row in page] == [row.pk for row in whole]
    assert rows[11].pk == whole[-1].pk


def test_no_e_mail_is_promised_where_nobody_gets_one(
    client_for, applicator, builder, contact, site
):
    client = client_for(applicator)
    offer = {"day": working_day(3).isoformat(), "half": "morning"}
    BuilderContact.objects.filter(builder=builder).update(is_active=False)
    answer = client.post(url("booking", site.pk), offer, follow=True)
    text = answer.content.decode()
    assert f"Nobody at {builder} gets e-mails about this site: tell them yourself." in text
    BuilderContact.objects.filter(builder=builder).update(is_active=True)
    answer = client.post(url("booking", site.pk), offer | {"half": "afternoon"}, follow=True)
    assert "Day offered. The builder gets an e-mail." in answer.content.decode()
