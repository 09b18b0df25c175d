"""The applicator's first screen, the list of sites and the search."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.actions.sites import sites
from readiness.actions.visits import booking
from readiness.models import Booking, Builder
from tests.factories import (
    confirm,
    make_builder,
    make_contact,
    make_draft,
    make_issued,
    make_photo,
    make_runs,
    make_site,
)

pytestmark = pytest.mark.django_db

HOME, SITES = reverse("office:home"), reverse("office:sites")


def next_weekday(days=3):
    """A working day some days from now, as the calendar of New South Wales sees it."""
    from readiness.rules.calendar import calendar_of

    return calendar_of("NSW").add_working_days(clock.now().date(), days)


def report_fixed(contact, item):
    return fixes.report_fixed(contact, item, photos=[make_photo(item.report.site, contact)])


def page(client_for, user, url=HOME, **query):
    answer = client_for(user).get(url, query)
    assert answer.status_code == 200
    return answer


def test_an_empty_portal_says_what_to_do_first(client_for, applicator):
    assert "Add the first site" in page(client_for, applicator).content.decode()


def test_what_waits_on_us_is_named_with_its_site(client_for, applicator, contact, builder):
    site = make_site(builder)
    report = make_issued(applicator, site, kinds=("mortar_drop", "dirty_brick"))
    first, second = report.items.all()
    report_fixed(contact, first)
    fixes.disagree(contact, second, reason="Not ours.")
    make_draft(applicator, make_site(builder, street="9 Draft Street"))
    text = page(client_for, applicator).content.decode()
    assert "1 fix to review and 1 dispute to decide" in text
    assert reverse("office:review", args=[site.pk]) in text
    assert "9 Draft Street" in text


def test_a_day_that_is_asked_for_waits_on_us(client_for, applicator, contact, builder):
    site = make_site(builder)
    booking.ask_for_booking(contact, site, preferences=[(next_weekday(), "morning")])
    answer = page(client_for, applicator)
    assert [found.site for found in answer.context["asked"]] == [site]


def test_builders_are_listed_oldest_due_first_and_overdue_is_marked(client_for, applicator):
    now = clock.now()
    for street, days in (("1 Late Street", -9), ("2 Soon Street", 30)):
        with clock.at(now - timedelta(days=40)):
            wanted = (now + timedelta(days=days)).date()
            make_issued(applicator, make_site(street=street), treatment_wanted_on=wanted)
    answer = page(client_for, applicator)
    rows = answer.context["with_builder"]
    assert [row["site"].street for row in rows] == ["1 Late Street", "2 Soon Street"]
    assert [row["overdue"] for row in rows] == [1, 0]
    assert "1 overdue" in answer.content.decode()


def test_an_item_that_is_said_fixed_no_longer_waits_on_the_builder(
    client_for, applicator, contact, builder
):
    report = make_issued(applicator, make_site(builder))
    report_fixed(contact, report.items.get())
    assert page(client_for, applicator).context["with_builder"] == []


def test_a_confirmed_day_is_shown_this_week_and_to_be_written_down_afterwards(
    client_for, applicator, contact, builder
):
    report = make_issued(applicator, make_site(builder), kinds=())
    confirm(contact, report)
    offered = booking.offer_date(applicator, report.site, day=next_weekday(2), half="morning")
    booking.accept_offer(contact, offered)
    [(day, _, found)] = page(client_for, applicator).context["week"]
    assert (day, found) == (offered.day, [offered])
    offered.refresh_from_db()
    offered.day = date(2026, 1, 12)
    offered.save()
    assert [found.pk for found in page(client_for, applicator).context["past"]] == [offered.pk]


@pytest.mark.parametrize("text", ["tallowood", "J-77", "kestrel", "kestrel tallowood"])
def test_the_search_finds_by_address_job_number_or_builder(client_for, applicator, text):
    wanted = make_site(make_builder("Kestrel Homes"), street="7 Tallowood Way", job_number="J-77")
    make_site(make_builder("Other"), street="8 Bloodwood Way", job_number="K-1")
    answer = page(client_for, applicator, SITES, q=text)
    assert [found.site for found in answer.context["overviews"]] == [wanted]


def test_a_search_that_finds_nothing_says_what_to_try(client_for, applicator):
    assert "Try fewer words" in page(client_for, applicator, SITES, q="xyzzy").content.decode()


def test_the_search_also_finds_sites_that_are_archived(client_for, applicator):
    site = make_site(street="5 Finished Way")
    sites.close_site(applicator, site)
    assert page(client_for, applicator, SITES).context["overviews"] == []
    assert len(page(client_for, applicator, SITES, q="finished").context["overviews"]) == 1


def test_sites_to_review_and_with_the_builder_can_be_listed(
    client_for, applicator, contact, builder
):
    to_review = make_issued(applicator, make_site(builder)).items.get()
    report_fixed(contact, to_review)
    to_fix = make_issued(applicator, make_site(builder))
    found = page(client_for, applicator, SITES, show="review").context["overviews"]
    assert [row.site for row in found] == [to_review.report.site]
    found = page(client_for, applicator, SITES, show="builder").context["overviews"]
    assert [row.site for row in found] == [to_fix.site]


def test_all_begun_reports_are_reached_from_the_first_page(client_for, applicator, builder):
    make_site(builder)
    for _ in range(11):
        make_draft(applicator, make_site(builder))
    link = f"{SITES}?show=draft"
    home = client_for(applicator).get(reverse("office:home")).content.decode()
    assert f'href="{link}"' in home
    assert len(page(client_for, applicator, SITES, show="draft").context["overviews"]) == 11


def test_the_list_has_25_sites_a_page(client_for, applicator, builder):
    for _ in range(26):
        make_site(builder)
    assert len(page(client_for, applicator, SITES).context["overviews"]) == 25
    assert len(page(client_for, applicator, SITES, page=2).context["overviews"]) == 1


def _crowd(applicator, count):
    """So many sites, each with a builder of its own, a report and an item said fixed."""
    for _ in range(count):
        builder = Builder.objects.create(name=f"Builder of many {Builder.objects.count()}")
        contact = make_contact(builder)
        report = make_issued(applicator, make_site(builder), kinds=("mortar_drop", "dirty_brick"))
        report_fixed(contact, report.items.first())
        booking.ask_for_booking(contact, report.site, preferences=[(next_weekday(), "morning")])


QUERIES = {HOME: 19, SITES: 13}
"""Session and user included; the same however many sites there are."""


@pytest.mark.parametrize("url", QUERIES)
def test_the_number_of_queries_does_not_grow(
    client_for, applicator, django_assert_max_num_queries, url
):
    _crowd(applicator, 1)
    client = client_for(applicator)
    client.get(url)
    with django_assert_max_num_queries(QUERIES[url]) as few:
        client.get(url)
    _crowd(applicator, 4)
    with django_assert_max_num_queries(QUERIES[url]) as many:
        client.get(url)
    assert len(many) == len(few)


def test_the_page_of_a_site_takes_the_same_queries_with_more_items(
    client_for, applicator, django_assert_max_num_queries
):
    counts = []
    for kinds in (("mortar_drop",), ("mortar_drop", "dirty_brick", "wet_brick", "tight_crack")):
        site = make_site()
        make_runs(site)
        make_issued(applicator, site, kinds=kinds)
        client, page = client_for(applicator), reverse("office:site", args=[site.pk])
        client.get(page)
        with django_assert_max_num_queries(21) as taken:
            assert client.get(page).status_code == 200
        counts.append(len(taken))
    assert counts[0] == counts[1]


SYDNEY_IS_AHEAD = datetime(2026, 11, 24, 14, 0, tzinfo=UTC)
"""It is Wednesday 25 November in Sydney, and still Tuesday in Perth and Brisbane."""
TUESDAY, WEDNESDAY = date(2026, 11, 24), date(2026, 11, 25)


def booked_for(day, state):
    site = make_site(state=state, street=f"{day.day} {state} Street")
    return Booking.objects.create(
        site=site, state="confirmed", day=day, half="morning", asked_at=SYDNEY_IS_AHEAD,
        confirmed_at=SYDNEY_IS_AHEAD,
    )  # fmt: skip


@pytest.mark.rows_by_hand
def test_each_sites_own_day_decides_what_is_past_and_what_is_today(client_for, applicator):
    made = {
        (day, state): booked_for(day, state)
        for day in (TUESDAY, WEDNESDAY)
        for state in ("NSW", "WA")
    }
    with clock.at(SYDNEY_IS_AHEAD):
        home = page(client_for, applicator)
        bookings = page(client_for, applicator, reverse("office:bookings")).context
    assert list(home.context["past"]) == [made[TUESDAY, "NSW"]]
    assert home.context["week"] == [
        (TUESDAY, True, [made[TUESDAY, "WA"]]),
        (WEDNESDAY, True, [made[WEDNESDAY, "NSW"]]),
        (WEDNESDAY, False, [made[WEDNESDAY, "WA"]]),
    ]
    text = home.content.decode()
    assert text.count("Today, Wed 25 November 2026") == 1
    assert text.count("Wed 25 November 2026</h3>") == 2
    sections = {label: set(rows) for _, label, _, rows in bookings["sections"]}
    assert sections == {
        "Record the visit": {made[TUESDAY, "NSW"]},
        "Today": {made[TUESDAY, "WA"], made[WEDNESDAY, "NSW"]},
        "This week": {made[WEDNESDAY, "WA"]},
    }
    assert {label: count for _, label, count, _ in bookings["sections"]} == {
        "Record the visit": 1, "Today": 2, "This week": 1,
    }  # fmt: skip


def test_a_thing_is_overdue_by_its_own_sites_day(client_for, applicator):
    with clock.at(SYDNEY_IS_AHEAD - timedelta(days=20)):
        due = {
            make_issued(applicator, make_site(state=state), treatment_wanted_on=WEDNESDAY)
            .items.get()
            .due_on
            for state in ("NSW", "WA")
        }
    [day] = due
    with clock.at(datetime(day.year, day.month, day.day, 14, tzinfo=UTC)):
        rows = page(client_for, applicator).context["with_builder"]
    assert {row["site"].state: row["overdue"] for row in rows} == {"NSW": 1, "WA": 0}


def test_a_page_has_one_search(client_for, applicator, builder):
    site = make_site(builder)
    for url in (HOME, SITES, reverse("office:site", args=[site.pk])):
        assert page(client_for, applicator, url).content.decode().count('role="search"') == 1
