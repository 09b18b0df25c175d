"""Stored ranks of need: written by every action, overtaken by time, renewed by the background."""

from datetime import UTC, date, datetime, timedelta

import pytest
from django.core.management import CommandError, call_command
from django.db import connection, transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness import clock, priorities
from readiness.actions import ranking, referrals
from readiness.actions.catching_up import catch_up
from readiness.actions.errors import Refused
from readiness.actions.firm import business, rule_values
from readiness.actions.fixing import fixes
from readiness.actions.sites import sites
from readiness.actions.visits import booking, confirming
from readiness.models import Booking, Business, DefectItem, LastDone, Site
from readiness.rules.site.priority import FIXES, OVERDUE, TO_CONFIRM, WAITING
from tests.factories import confirm, make_issued, make_photo, make_site

pytestmark = pytest.mark.django_db
NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)
DUE = datetime(2026, 12, 16, 13, 0, tzinfo=UTC)
"""When the items of `make_issued` become overdue: the night after 16 December in Sydney."""


@pytest.fixture
def report(applicator, site):
    with clock.at(NOW):
        return make_issued(applicator, site)


def stored(site):
    return Site.objects.get(pk=site.pk)


def order(sites, moment):
    with clock.at(moment):
        return [site.street for site in priorities.by_priority(sites)]


def test_an_action_stores_the_rank_and_its_moment(report):
    found = stored(report.site)
    assert (found.need, found.need_first_due, found.need_until) == (FIXES, date(2026, 12, 16), DUE)


def test_a_row_that_time_has_overtaken_sorts_as_it_is_now(applicator, builder):
    with clock.at(NOW):
        sooner = make_issued(applicator, make_site(builder, street="1 Late Street")).site
        clean = make_issued(applicator, make_site(builder, street="2 Clean Street"), kinds=()).site
        offered = make_issued(applicator, make_site(builder, street="3 Offered Street"), kinds=())
        booking.offer_date(applicator, offered.site, day=date(2027, 2, 11), half="morning")
    assert order(Site.objects.all(), NOW) == ["3 Offered Street", "1 Late Street", "2 Clean Street"]
    assert order(Site.objects.all(), DUE)[0] == "1 Late Street"
    assert stored(sooner).need == FIXES, "reading writes nothing"
    assert stored(clean).need == TO_CONFIRM


@pytest.mark.rows_by_hand  # the clock goes back afterwards
def test_the_background_renews_what_time_has_overtaken(report):
    with clock.at(DUE):
        assert priorities.renew() == 1
        assert priorities.renew() == 0
        assert stored(report.site).need == OVERDUE


def test_catching_up_renews_ranks_too(report):
    with clock.at(DUE):
        catch_up()
    assert stored(report.site).need == OVERDUE


def test_many_are_renewed_in_short_transactions(applicator, builder, monkeypatch):
    monkeypatch.setattr(priorities, "BATCH", 2)
    for _ in range(5):
        make_site(builder)
    priorities.mark_all()
    assert priorities.renew(3) == 3
    assert priorities.renew() == 2


@pytest.mark.parametrize("a_task", [1, 2, 3])
def test_a_task_hands_on_what_it_did_not_come_to(applicator, builder, monkeypatch, a_task):
    """Tasks are done at once here, so that all are renewed by the time the first one ends."""
    monkeypatch.setattr(ranking, "A_TASK", a_task)
    for _ in range(5):
        make_site(builder)
    priorities.mark_all()
    ranking.renew_ranks.call()
    assert priorities.renew() == 0


@pytest.mark.rows_by_hand
def test_a_site_that_can_not_be_worked_out_holds_up_nobody(report, builder, monkeypatch):
    make_site(builder)
    plain = priorities.priority_of

    def priority_of(facts):
        if facts.report:
            raise KeyError("a kind that is gone")
        return plain(facts)

    monkeypatch.setattr(priorities, "priority_of", priority_of)
    with clock.at(DUE):
        priorities.mark_all()
        assert priorities.renew() == 2
        assert stored(report.site).need_until == DUE + priorities.PUT_OFF


def test_finished_sites_are_left_alone(applicator, builder):
    site = make_site(builder)
    sites.close_site(applicator, site)
    assert priorities.mark_all() == 0
    assert priorities.renew() == 0


def test_changing_what_is_enough_changes_the_ranks_of_all(
    applicator, contact, report, django_capture_on_commit_callbacks
):
    """Held to the rules: a copy in SQL did not know of this setting."""
    fixes.report_fixed(contact, report.items.get(), photos=[make_photo(report.site, contact)])
    assert stored(report.site).need == WAITING
    with django_capture_on_commit_callbacks(execute=True):
        business.change_business(applicator, fixes_needed=Business.FixesNeeded.REPORTED_FIXED)
        assert order(Site.objects.filter(pk=report.site_id), NOW), "right before it is renewed"
        assert priorities.work_out([report.site])[report.site_id].rank == TO_CONFIRM
    assert stored(report.site).need == TO_CONFIRM


def test_changing_rule_values_changes_the_ranks_of_all(
    applicator, report, django_capture_on_commit_callbacks
):
    with clock.at(NOW):
        sites.note_rain(applicator, report.site, NOW)
        fixes.accept_on_site(applicator, report.items.get())
        first = stored(report.site).need_until
        with django_capture_on_commit_callbacks(execute=True):
            rule_values.change_rule_values(applicator, {"rain_drying_hours": "1"})
        assert stored(report.site).need_until == NOW + timedelta(hours=1) < first


def test_other_settings_change_no_ranks(applicator, report):
    before = stored(report.site).need_until
    business.change_business(applicator, phone="07 5550 0100")
    assert stored(report.site).need_until == before


def test_a_version_that_ranks_otherwise_renews_all(report, monkeypatch):
    priorities.renew()
    monkeypatch.setattr(priorities, "VERSION", priorities.VERSION + 1)
    with clock.at(NOW):
        assert priorities.renew() == 1
        assert LastDone.objects.get(pk=priorities.LAST_DONE).details == {
            "version": priorities.VERSION
        }
        assert priorities.renew() == 0


@pytest.mark.rows_by_hand
def test_the_command_mends_and_checks(report, capsys):
    with clock.at(NOW):
        call_command("rebuild_ranks", "--check")
        Site.objects.update(need=0)
        with pytest.raises(CommandError, match="1 ranks differ"):
            call_command("rebuild_ranks", "--check")
        call_command("rebuild_ranks")
        call_command("rebuild_ranks", "--check")
    assert "Worked out the ranks of 1 open sites." in capsys.readouterr().out
    assert stored(report.site).need == FIXES


def test_reading_takes_the_same_queries_however_many_are_stale(applicator, builder):
    def queries():
        with clock.at(DUE), CaptureQueriesContext(connection) as asked:
            list(priorities.by_priority(Site.objects.all()))
        return len(asked)

    with clock.at(NOW):
        make_issued(applicator, make_site(builder))
        few = queries()
        for _ in range(4):
            make_issued(applicator, make_site(builder))
    assert queries() == few


# Whatever people do, in whatever order, and however long they wait


def acts(applicator, contact, report):
    """Everything that can be done after a report: each a function of no arguments."""
    site = report.site

    def item(state=None):
        found = DefectItem.objects.current().filter(report__site=site, effect="holds")
        return (found.filter(state=state) if state else found).order_by("number").first()

    def current():
        return site.reports.current().get()

    def decide(kind, outcome):
        found = site.referrals.filter(kind=kind).last()
        referrals.decide_referral(applicator, found, outcome=outcome, reason="Seen.")

    def visit():
        return site.bookings.order_by("-asked_at").first() or Booking(site=site)

    def next_day():
        day = clock.now().astimezone(site.zone).date() + timedelta(days=2)
        return day + timedelta(days=day.weekday() == 6)

    return {
        "say fixed": lambda: fixes.report_fixed(
            contact, item(), photos=[make_photo(site, contact)]
        ),
        "take back": lambda: fixes.take_back_fix(contact, item("said_fixed").fixes.first()),
        "accept": lambda: fixes.accept_on_site(applicator, item()),
        "accept all": lambda: [
            fixes.accept_on_site(applicator, item)
            for item in current().items.exclude(state__in=["accepted", ""])
        ],
        "send back": lambda: fixes.send_back(applicator, item("said_fixed"), reason="Look."),
        "disagree": lambda: fixes.disagree(contact, item(), reason="It is paint."),
        "decide": lambda: fixes.decide_disagreement(applicator, item(), stands=True, reason="No."),
        "let go": lambda: fixes.decide_disagreement(applicator, item(), stands=False),
        "confirm": lambda: confirm(contact, current()),
        "withdraw": lambda: confirming.withdraw_confirmation(
            contact, current().confirmations.first(), reason="Mud."
        ),
        "ask": lambda: booking.ask_for_booking(
            contact, site, preferences=[(next_day(), "morning")]
        ),
        "offer": lambda: booking.offer_date(applicator, site, day=next_day(), half="morning"),
        "take offer": lambda: booking.accept_offer(contact, visit()),
        "decline": lambda: booking.decline_offer(contact, visit()),
        "cancel": lambda: booking.cancel_booking(contact, visit(), reason="Rain."),
        "turn away": lambda: booking.turn_away(applicator, visit(), reason="Soil on the wall."),
        "treat": lambda: booking.record_treatment(applicator, visit(), used_ml=6000),
        "live termites": lambda: referrals.note_live_termites(applicator, site),
        "go on": lambda: decide("live_termites", "not_termites"),
        "stays closed": lambda: decide("live_termites", "stays_closed"),
        "no access": lambda: referrals.note_no_access(
            applicator, site.wall_runs.filter(removed_at=None).last(), cause="boundary"
        ),
        "not treated": lambda: decide("no_access", "not_treated"),
        "can be reached": lambda: decide("no_access", "can_be_reached"),
        "rain": lambda: sites.note_rain(applicator, site, clock.now()),
        "report anew": lambda: make_issued(applicator, site, visited_on=clock.now().date()),
        "archived": lambda: sites.close_site(applicator, site),
        "open again": lambda: sites.reopen_site(applicator, site),
        "a wall less": lambda: sites.set_wall_runs(
            applicator,
            site,
            [
                sites.RunEntry(run.label, run.length_mm, run.finish, id=run.pk)
                for run in site.wall_runs.filter(removed_at=None)[:3]
            ],
        ),
    }


NOTHING_THERE = (Refused, AttributeError, Booking.DoesNotExist)
"""What an act answers that makes no sense just now: nothing to take back, no booking to treat."""
steps = st.lists(st.tuples(st.integers(0, 999), st.integers(0, 100)), max_size=25)
"""Each: which act, counted round, and the hours to wait before it."""


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps)
def test_after_every_act_the_stored_rank_is_that_of_the_rules(applicator, contact, builder, steps):
    _ranks_follow(applicator, contact, builder, steps)


@pytest.mark.long
@settings(max_examples=100, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps)
def test_after_many_acts_the_stored_rank_is_that_of_the_rules(applicator, contact, builder, steps):
    _ranks_follow(applicator, contact, builder, steps)


def _ranks_follow(applicator, contact, builder, steps):
    now, key = NOW, transaction.savepoint()
    applicator.licence_number = "T-2208"
    try:
        with clock.at(now):
            report = make_issued(applicator, make_site(builder), kinds=("mortar_drop",) * 2)
            things = list(acts(applicator, contact, report).values())
        for which, hours in steps:
            now += timedelta(hours=hours)
            with clock.at(now):
                _try(things[which % len(things)])
                _must_agree(report.site, now)
    finally:
        transaction.savepoint_rollback(key)


def _try(act):
    try:
        with transaction.atomic():
            act()
    except NOTHING_THERE:
        pass


def _must_agree(site, now):
    found = Site.objects.get(pk=site.pk)
    items = DefectItem.objects.current().filter(report__site=site)
    assert found.to_review == items.awaiting_review().exists()
    assert found.to_fix == items.awaiting_builder().exists()
    if found.closed_at:
        return
    need = priorities.work_out([found], now)[found.pk]
    if found.need_until is None or found.need_until > now:
        assert (found.need, found.need_first_due) == (need.rank, need.first_due)
    assert found.need_first_due == need.first_due
