"""A builder's lists of sites: what comes first, search, paging, a constant number of queries."""

import re
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse, reverse_lazy

from readiness import clock
from readiness.actions.fixing import fixes
from readiness.actions.sites import sites
from readiness.actions.visits import booking as acts
from readiness.actions.visits import confirming
from readiness.models import Site
from readiness.priorities import work_out
from tests.factories import confirm, make_contact, make_issued, make_photo, make_site

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)
HOME = reverse_lazy("builder:home")
QUERIES = 14


@pytest.fixture(autouse=True)
def _now():
    with clock.at(NOW):
        yield


@pytest.fixture
def browser(client_for, contact):
    return client_for(contact)


def site_of(builder, street, **fields):
    return make_site(builder, street=street, **fields)


def streets(response):
    return [row.site.street for row in response.context["rows"]]


def test_what_the_builder_can_act_on_comes_first(browser, applicator, builder, contact):
    day = date(2026, 11, 26)
    site_of(builder, "1 Unreported Street", created_at=NOW - timedelta(days=1))
    booked = make_issued(applicator, site_of(builder, "2 Booked Street"), kinds=())
    confirm(contact, booked)
    acts.accept_offer(contact, acts.offer_date(applicator, booked.site, day=day, half="morning"))
    to_ask = make_issued(applicator, site_of(builder, "3 Confirmed Street"), kinds=())
    confirm(contact, to_ask)
    make_issued(applicator, site_of(builder, "4 Clean Street"), kinds=())
    looked_at = make_issued(applicator, site_of(builder, "5 Waiting Street"))
    item = looked_at.items.get()
    fixes.report_fixed(contact, item, photos=[make_photo(looked_at.site, contact)])
    offered = make_issued(applicator, site_of(builder, "6 Offered Street"), kinds=())
    confirm(contact, offered)
    acts.offer_date(applicator, offered.site, day=day, half="morning")
    make_issued(
        applicator, site_of(builder, "7 Later Street"), treatment_wanted_on=date(2026, 12, 18)
    )
    make_issued(
        applicator, site_of(builder, "8 Sooner Street"), treatment_wanted_on=date(2026, 12, 4)
    )
    with clock.at(NOW - timedelta(days=7)):
        make_issued(
            applicator,
            site_of(builder, "9 Overdue Street"),
            visited_on=date(2026, 11, 16),
            treatment_wanted_on=date(2026, 11, 24),
        )

    assert streets(browser.get(HOME)) == [
        "9 Overdue Street",
        "6 Offered Street",
        "8 Sooner Street",
        "7 Later Street",
        "4 Clean Street",
        "3 Confirmed Street",
        "5 Waiting Street",
        "1 Unreported Street",
        "2 Booked Street",
    ]


def test_each_site_has_its_sentence_and_one_button(browser, applicator, builder):
    report = make_issued(applicator, site_of(builder, "4 Clean Street"), kinds=())
    page = browser.get(HOME).content.decode()
    assert "Ready to confirm." in page
    assert reverse("builder:confirm", args=[report.site_id]) in page


def test_a_disagreement_waits_for_the_applicator(browser, applicator, builder, contact):
    report = make_issued(applicator, site_of(builder, "5 Waiting Street"))
    fixes.disagree(contact, report.items.get(), reason="It is paint.")
    row = browser.get(HOME).context["rows"][0]
    assert row.site.need == 5
    assert row.saying.sentence == "We still have to check 1 item that you dispute."


def test_a_withdrawn_confirmation_is_to_confirm_again(browser, applicator, builder, contact):
    report = make_issued(applicator, site_of(builder, "3 Confirmed Street"), kinds=())
    stated = confirm(contact, report)
    confirming.withdraw_confirmation(contact, stated, reason="Rain got in.")
    row = browser.get(HOME).context["rows"][0]
    assert row.site.need == 3
    assert row.saying.step.page == "builder:confirm"


def test_finished_sites_are_only_under_all_sites(browser, applicator, builder):
    site = site_of(builder, "1 Old Street")
    sites.close_site(applicator, site)
    assert streets(browser.get(HOME)) == []
    assert streets(browser.get(reverse("builder:sites"))) == ["1 Old Street"]


def test_the_search_finds_by_street_suburb_and_job_number(browser, builder):
    site_of(builder, "1 Quoll Street", suburb="Tallow Reach", job_number="KH-77")
    site_of(builder, "2 Numbat Street", suburb="Mirrin Vale", job_number="KH-88")
    assert streets(browser.get(HOME, {"q": "quoll"})) == ["1 Quoll Street"]
    assert streets(browser.get(HOME, {"q": "mirrin"})) == ["2 Numbat Street"]
    assert streets(browser.get(HOME, {"q": "KH-77 quoll"})) == ["1 Quoll Street"]
    nothing = browser.get(HOME, {"q": "wombat"})
    assert "No site matches “wombat”" in nothing.content.decode()


def test_a_search_with_signs_in_it_survives_paging(browser, builder):
    for number in range(27):
        site_of(builder, f"{number} A&B Street")
    page = browser.get(HOME, {"q": "A&B"}).content.decode()
    assert "?q=A%26B&amp;page=2" in page


def test_other_builders_sites_are_not_listed(browser, client_for, other_contact, builder):
    site_of(builder, "1 Ours Street")
    assert streets(client_for(other_contact).get(HOME)) == []


def test_a_contact_limited_to_some_sites_sees_those(client_for, builder):
    mine, _other = site_of(builder, "1 Mine Street"), site_of(builder, "2 Theirs Street")
    limited = make_contact(builder, sites=[mine])
    assert streets(client_for(limited).get(HOME)) == ["1 Mine Street"]


def test_the_applicator_has_other_screens(client_for, applicator):
    assert client_for(applicator).get(HOME).status_code == 404


def test_a_page_holds_25_sites_in_a_constant_number_of_queries(browser, applicator, builder):
    make_issued(applicator, site_of(builder, "0 First Street"))
    browser.get(HOME)
    with CaptureQueriesContext(
        connection,
    ) as few:
        browser.get(HOME)
    for number in range(4):
        site = site_of(builder, f"{number} Reported Street")
        make_issued(applicator, site, kinds=("mortar_drop",) * 2)
    for number in range(22):
        site_of(builder, f"{number} Plain Street")
    with CaptureQueriesContext(connection) as many:
        response = browser.get(HOME)
    assert len(response.context["rows"]) == 25
    assert len(many) == len(few)
    assert len(many) == QUERIES
    assert len(browser.get(HOME, {"page": 2}).context["rows"]) == 2


def test_ranks_of_the_list_agree_with_the_sentences(applicator, builder, contact):
    """The database sorts, the rules speak: both must see the same site in the same state."""
    report = make_issued(applicator, site_of(builder, "1 Turning Street"))

    def need(moment=NOW):
        found = Site.objects.filter(pk=report.site_id)
        return work_out(found, moment)[report.site_id].rank

    assert need() == 2
    assert need(NOW + timedelta(days=60)) == 0
    fixes.accept_on_site(applicator, report.items.get())
    assert need() == 3
    stated = confirm(contact, report)
    assert need() == 4
    assert need(stated.valid_until + timedelta(minutes=1)) == 3
    asked = acts.ask_for_booking(
        contact, report.site, preferences=[(date(2026, 11, 26), "morning")]
    )
    assert need() == 5
    acts.offer_date(applicator, report.site, day=date(2026, 11, 26), half="morning")
    assert need() == 1
    acts.accept_offer(contact, asked)
    assert need() == 6
    with clock.at(datetime(2026, 11, 26, 3, 0, tzinfo=UTC)):
        acts.record_treatment(applicator, asked, used_ml=8000)
    assert need() == 7


def test_the_pages_of_a_list_by_need_are_not_called_newer_and_older(browser, builder):
    for number in range(26):
        site_of(builder, f"{number} Long Street")
    by_priority = browser.get(HOME).content.decode()
    assert re.search(r">\s*Next\s*</a>", by_priority)
    assert "Older" not in by_priority
    by_age = browser.get(reverse("builder:sites")).content.decode()
    assert re.search(r">\s*Older\s*</a>", by_age)


def test_a_booked_visit_that_can_not_take_place_comes_first(browser, applicator, builder, contact):
    """Booked sites come last while all is well; not when something new stands in the way."""
    make_issued(applicator, site_of(builder, "1 Fixing Street"))
    for street in ("2 Booked Street", "3 Spoilt Street", "4 Withdrawn Street"):
        report = make_issued(applicator, site_of(builder, street), kinds=())
        stated = confirm(contact, report)
        day = date(2026, 11, 26)
        acts.accept_offer(
            contact, acts.offer_date(applicator, report.site, day=day, half="morning")
        )
        if street == "3 Spoilt Street":
            spoilt = report.site
    confirming.withdraw_confirmation(contact, stated, reason="Mud.")
    with clock.at(NOW + timedelta(hours=1)):
        make_issued(applicator, spoilt)
        response = browser.get(HOME)
    assert streets(response) == [
        "3 Spoilt Street",
        "4 Withdrawn Street",
        "1 Fixing Street",
        "2 Booked Street",
    ]
    with clock.at(NOW + timedelta(days=4)):  # the day went by: nothing for the builder to do
        assert streets(browser.get(HOME))[0] == "1 Fixing Street"
