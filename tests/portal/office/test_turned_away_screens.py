"""A site that was turned away reads as not ready on both sides until it is confirmed anew."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.urls import reverse

from portal.builder.states import row_of
from portal.office.overview import SiteOverview
from readiness import clock
from readiness.actions.visits import booking as acts
from readiness.messages.letters import report_letter
from readiness.models import Booking, Site
from readiness.papers.pictures import Frame
from readiness.papers.site_report import answer
from readiness.papers.views import Snapshot
from readiness.rules.site.priority import FIXES, TO_ASK, TO_CONFIRM, TREATED
from tests.factories import confirm, make_issued, make_turned_away
from tests.pages import shown
from tests.proving import proved

NOW = datetime(2026, 11, 20, 0, 0, tzinfo=UTC)
VISIT = datetime(2026, 11, 26, 0, 0, tzinfo=UTC)
THURSDAY, MONDAY = date(2026, 11, 26), date(2026, 11, 30)


@pytest.fixture
def report(applicator, contact, site):
    return make_turned_away(applicator, contact, site, confirmed=NOW, visited=VISIT)


@pytest.fixture(autouse=True)
def _next_morning():
    with clock.at(VISIT + timedelta(hours=20)):
        yield


def need(site):
    """The stored rank of what the site asks of its builder."""
    return Site.objects.get(pk=site.pk).need


def test_both_sides_read_that_it_is_not_ready(report):
    theirs, ours = row_of(report.site).saying, SiteOverview.of(report.site).saying
    assert theirs.sentence == (
        "We came on Thursday 26 November and could not treat the site: “Soil is back.” "
        "Fix this, confirm again, then choose a new day."
    )
    assert theirs.step.page == "builder:confirm"
    assert ours.sentence == (
        "Turned away on Thursday 26 November. The builder has to confirm readiness again."
    )
    assert (theirs.tone, ours.tone) == ("holds", "holds")
    assert (theirs.turn, ours.turn) == ("builder", "builder")
    assert need(report.site) == TO_CONFIRM


def test_the_builder_is_given_the_statement_to_sign_and_why(client_for, contact, report):
    browser = proved(client_for(contact), contact)
    page = browser.get(reverse("builder:confirm", args=[report.site_id])).content.decode()
    assert reverse("builder:sign", args=[report.pk]) in page
    assert "Not ready when we came on Thu 26 November 2026: “Soil is back.”" in page
    assert "Confirmed ready until" not in page
    confirm(contact, report)
    page = browser.get(reverse("builder:confirm", args=[report.site_id])).content.decode()
    assert "Confirmed ready until" in page
    assert need(report.site) == TO_ASK
    assert SiteOverview.of(report.site).saying.sentence == "Confirmed ready. Offer a day."


def test_the_booking_page_leads_to_confirming_first(client_for, contact, report):
    page = client_for(contact).get(reverse("builder:book", args=[report.site_id]))
    assert "Confirmed ready" not in page.content.decode()
    (reason,) = page.context["reasons"]
    assert reason.url == reverse("builder:confirm", args=[report.site_id])


def test_the_office_is_not_given_a_day_to_offer(client_for, applicator, contact, report):
    browser, page = client_for(applicator), reverse("office:booking", args=[report.site_id])
    acts.ask_for_booking(contact, report.site, preferences=[(MONDAY, "morning")])
    shown = browser.get(page).content.decode()
    assert "Offer this day" not in shown
    assert "To do before a day can be offered" in shown
    posted = browser.post(page, {"day": MONDAY, "half": "morning", "note": "At seven."})
    assert "The builder has to confirm readiness again" in posted.content.decode()
    assert "At seven." in posted.content.decode()
    assert not Booking.objects.filter(state="offered").exists()


def test_a_request_for_a_day_does_not_wait_on_the_office_meanwhile(
    client_for, applicator, contact, report
):
    acts.ask_for_booking(contact, report.site, preferences=[(MONDAY, "morning")])
    home = client_for(applicator).get(reverse("office:home"))
    assert not home.context["asked"]
    assert SiteOverview.of(report.site).saying.turn == "builder"
    confirm(contact, report)
    assert client_for(applicator).get(reverse("office:home")).context["asked"]


def test_a_report_on_a_treated_house_leaves_it_treated_on_both_sides(
    client_for, applicator, contact, report
):
    confirm(contact, report)
    offered = acts.offer_date(applicator, report.site, day=MONDAY, half="morning")
    booked = acts.accept_offer(contact, offered)
    with clock.at(datetime(2026, 11, 30, 1, 0, tzinfo=UTC)):
        acts.record_treatment(applicator, booked, used_ml=5000)
    assert need(report.site) == TREATED
    with clock.at(datetime(2026, 12, 1, 1, 0, tzinfo=UTC)):
        make_issued(applicator, report.site, visited_on=date(2026, 12, 1))
        theirs, ours = row_of(report.site).saying, SiteOverview.of(report.site)
        found = "Treated on Monday 30 November. Found since: 1 thing to fix by 16 December."
        assert theirs.sentence == ours.saying.sentence == found
        assert ours.is_over
        assert need(report.site) == FIXES
        office = client_for(applicator).get(reverse("office:site", args=[report.site_id]))
        assert "Not ready" not in office.content.decode()
        for name in ("site", "confirm", "book"):
            page = client_for(contact).get(reverse(f"builder:{name}", args=[report.site_id]))
            assert found in page.content.decode()
            assert "can’t be confirmed ready" not in page.content.decode()


def test_the_paper_and_the_letter_of_a_report_on_a_treated_house_say_so(
    client_for, applicator, contact, report
):
    confirm(contact, report)
    offered = acts.offer_date(applicator, report.site, day=MONDAY, half="morning")
    booked = acts.accept_offer(contact, offered)
    with clock.at(datetime(2026, 11, 30, 1, 0, tzinfo=UTC)):
        acts.record_treatment(applicator, booked, used_ml=5000)
    with clock.at(datetime(2026, 12, 1, 1, 0, tzinfo=UTC)):
        later = make_issued(applicator, report.site, visited_on=date(2026, 12, 1))
        letter = report_letter(later, later.site, 2)
        issued = client_for(applicator).get(reverse("office:issued", args=[later.pk]))
        assert "The house stays recorded as treated. 1 thing to fix" in shown(issued)
    snapshot = Snapshot(later.snapshot)
    said = answer(snapshot, snapshot.trades(Frame(60, 40)))
    assert (said["status"], said["words"]) == ("treated", "Treated")
    assert said["sentence"].startswith(
        "Treated on Mon 30 November 2026. Found since: 1 thing to fix."
    )
    assert letter.opening == (
        f"{later.site.address} was treated on Monday 30 November. Found since: 1 thing to fix by "
        "16 December. Report 2 has the details."
    )
