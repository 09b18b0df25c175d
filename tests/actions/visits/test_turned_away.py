"""After a visit in vain: no offer and no acceptance until readiness is confirmed anew."""

import contextlib
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.visits import booking as acts
from readiness.actions.visits import confirming
from readiness.facts import SiteState
from readiness.models import Booking
from tests.factories import confirm, make_issued, make_turned_away

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 20, 0, 0, tzinfo=UTC)
VISIT = datetime(2026, 11, 26, 0, 0, tzinfo=UTC)
THURSDAY, MONDAY = date(2026, 11, 26), date(2026, 11, 30)


@pytest.fixture
def report(applicator, contact, site):
    """The report of a site whose builder confirmed, and where we were turned away."""
    return make_turned_away(applicator, contact, site, confirmed=NOW, visited=VISIT)


def test_no_day_is_offered_before_readiness_is_confirmed_anew(applicator, report):
    said = (
        "Not ready when we came on Thu 26 November 2026.*"
        "confirm readiness again before we can book a new day"
    )
    with clock.at(VISIT + timedelta(hours=1)), pytest.raises(Refused, match=said):
        acts.offer_date(applicator, report.site, day=MONDAY, half="morning")


def test_a_new_confirmation_opens_the_way_to_a_new_day(applicator, contact, report):
    with clock.at(VISIT + timedelta(hours=1)):
        confirm(contact, report)
        offered = acts.offer_date(applicator, report.site, day=MONDAY, half="morning")
        assert acts.accept_offer(contact, offered).state == "confirmed"


@pytest.mark.rows_by_hand
def test_an_offer_that_was_stored_all_the_same_is_not_accepted(applicator, contact, report):
    """Made by a version that did not know yet, or between two servers."""
    with clock.at(VISIT + timedelta(hours=1)):
        offered = Booking.objects.create(
            site=report.site, state="offered", day=MONDAY, half="morning", asked_at=clock.now()
        )
        with pytest.raises(Refused, match="Not ready when we came"):
            acts.accept_offer(contact, offered)


def test_the_builder_may_ask_for_a_day_meanwhile(contact, report):
    with clock.at(VISIT + timedelta(hours=1)):
        asked = acts.ask_for_booking(contact, report.site, preferences=[(MONDAY, "morning")])
    assert asked.state == "asked"


ACTS = ("issue", "confirm", "withdraw", "ask", "offer", "accept", "turn away", "treat", "cancel")


class _Site:
    """One site through whatever people do to it, an hour apart; what is refused changes nothing."""

    def __init__(self, applicator, contact, site):
        self.applicator, self.contact, self.site = applicator, contact, site
        self.turned_away = False

    def do(self, act: str) -> None:
        with contextlib.suppress(Refused):
            getattr(self, act.replace(" ", "_"))()

    @property
    def today(self):
        return clock.now().astimezone(self.site.zone).date()

    def booking(self, *states):
        found = Booking.objects.filter(site=self.site, state__in=states).first()
        if found is None:
            raise Refused("There is none.")
        return found

    def issue(self):
        make_issued(self.applicator, self.site, kinds=(), visited_on=self.today)

    def confirm(self):
        report = self.site.reports.current().first()
        if report:
            confirm(self.contact, report)
            self.turned_away = False

    def withdraw(self):
        stated = SiteState.of(self.site).confirmation
        if stated:
            confirming.withdraw_confirmation(self.contact, stated, reason="Mud.")

    def ask(self):
        acts.ask_for_booking(self.contact, self.site, preferences=[(self.today, "morning")])

    def offer(self):
        acts.offer_date(self.applicator, self.site, day=self.today, half="afternoon")
        assert not self.turned_away

    def accept(self):
        acts.accept_offer(self.contact, self.booking("offered"))
        assert not self.turned_away

    def turn_away(self):
        acts.turn_away(self.applicator, self.booking("confirmed"), reason="Soil.")
        self.turned_away = True

    def treat(self):
        acts.record_treatment(self.applicator, self.booking("confirmed"), used_ml=5000)

    def cancel(self):
        acts.cancel_booking(self.contact, self.booking("asked", "offered", "confirmed"), reason="x")


ORDERS = st.lists(st.sampled_from(ACTS), min_size=5, max_size=25)


@settings(max_examples=4, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(done=ORDERS)
def test_in_no_order_of_acts_is_a_day_given_between_a_visit_in_vain_and_a_confirmation(
    applicator, contact, builder, done
):
    _no_day_is_given(applicator, contact, builder, done)


@pytest.mark.long
@settings(max_examples=60, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(done=ORDERS)
def test_in_none_of_many_orders_of_acts_either(applicator, contact, builder, done):
    _no_day_is_given(applicator, contact, builder, done)


def _no_day_is_given(applicator, contact, builder, done):
    from tests.factories import make_runs, make_site

    site = make_site(builder)
    make_runs(site, "North wall")
    told = _Site(applicator, contact, site)
    booked = ("issue", "confirm", "offer", "accept", "turn away")
    for hour, act in enumerate((*booked, *done)):
        with clock.at(datetime(2026, 11, 24, 14, 0, tzinfo=UTC) + timedelta(minutes=20 * hour)):
            told.do(act)
            state = SiteState.of(site)
            if told.turned_away:
                assert state.assessment.site_status == "not_ready"
                assert not state.assessment.can_book
