"""Live termites and walls that nobody can reach: noted by anybody, decided by who is licensed."""

import uuid
from datetime import UTC, date, datetime, timedelta

import pytest
from django.db import IntegrityError, transaction
from django.test.utils import CaptureQueriesContext
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness import clock
from readiness.actions import referrals
from readiness.actions.errors import Refused
from readiness.actions.reporting import issuing
from readiness.actions.reporting.drafts import check_run
from readiness.actions.sites import sites
from readiness.actions.visits import booking, confirming
from readiness.evidence.checking import site_break
from readiness.facts import SiteState
from readiness.models import Booking, Message, Referral, ReferralDecision
from readiness.models.freeze import without_triggers
from readiness.snapshots import snapshot_referrals
from tests.actions.cases.base import Cast
from tests.factories import (
    all_ticks,
    confirm,
    make_applicator,
    make_draft,
    make_issued,
    make_photo,
    make_runs,
    make_site,
    proof_of,
)
from tests.recorded import record_rows_by_hand

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)
FRIDAY = date(2026, 11, 27)


@pytest.fixture
def cast(applicator, contact, builder, site):
    applicator.licence_number = "T-2208"
    applicator.save()
    with clock.at(NOW):
        yield Cast(applicator, contact, builder, site)


@pytest.fixture
def found(cast):
    return referrals.note_live_termites(cast.applicator, cast.site, wall_run=cast.wall())


@pytest.fixture
def barred(cast):
    return referrals.note_no_access(cast.applicator, cast.wall(), cause="boundary")


def decide(cast, referral, outcome="treated_separately", **fields):
    given = {"reason": "I looked at it.", **fields}
    return referrals.decide_referral(cast.applicator, referral, outcome=outcome, **given)


def outcome(referral):
    return Referral.objects.with_outcome().get(pk=referral.pk).outcome


# Live termites: nothing can be booked


def test_no_day_is_offered_while_there_are_live_termites(cast, found):
    said = "Live termites or mud tubes found on Mon 23 November 2026, North wall. Nothing can be"
    with pytest.raises(Refused, match=said) as refused:
        cast.offered()
    (problem,) = refused.value.problems
    assert (problem.about, problem.about_id) == ("referral", str(found.pk))
    assert not cast.site.bookings.exists()


def test_a_day_that_was_offered_before_is_not_accepted(cast):
    cast.confirmed()
    offered = cast.offered()
    referrals.note_live_termites(cast.applicator, cast.site)
    with pytest.raises(Refused, match="no spraying, no clearing, no digging"):
        booking.accept_offer(cast.contact, offered)
    assert Booking.objects.get(pk=offered.pk).state == "offered"


def test_readiness_is_not_confirmed_while_there_are_live_termites(cast, found):
    report = cast.issued(kinds=())
    with pytest.raises(Refused, match="Nothing for you to fix there"):
        confirm(cast.contact, report)


@pytest.mark.parametrize("how", ["treated_separately", "not_termites"])
def test_a_decision_opens_the_site_again(cast, found, how):
    decide(cast, found, how)
    cast.booked()


def test_a_decision_may_keep_it_closed_and_a_later_one_opens_it(cast, found):
    first = decide(cast, found, "stays_closed")
    with pytest.raises(Refused, match=r"decided on Mon 23 November 2026 that the site stays"):
        cast.offered()
    second = decide(cast, found, seen=str(first.pk))
    assert second.supersedes == first
    cast.offered()


def test_after_a_decision_to_go_on_a_further_find_is_a_new_one(cast, found):
    decide(cast, found)
    with pytest.raises(Refused, match="record it as a new find"):
        decide(cast, found, "stays_closed")
    again = referrals.note_live_termites(cast.applicator, cast.site)
    assert again.pk != found.pk
    with pytest.raises(Refused, match="Live termites"):
        cast.offered()


def test_each_find_is_decided_by_itself(cast, found):
    other = referrals.note_live_termites(cast.applicator, cast.site)
    decide(cast, found)
    with pytest.raises(Refused, match="Live termites"):
        cast.offered()
    decide(cast, other, "not_termites")
    cast.offered()


def test_what_was_done_already_is_recorded_all_the_same(cast):
    """The crew treated in the morning, and found them in the afternoon."""
    booked = cast.booked(date(2026, 11, 23))
    found = referrals.note_live_termites(cast.applicator, cast.site)
    assert booking.record_treatment(cast.applicator, booked, used_ml=5000).state == "treated"
    state = SiteState.of(cast.site)
    assert state.facts().is_treated
    assert state.assessment.reasons[0].referral_id == str(found.pk)


# Who decides, and how


def test_only_who_has_a_licence_on_record_decides(cast, found):
    cast.applicator.licence_number = " "
    with pytest.raises(Refused, match="no licence number") as refused:
        decide(cast, found)
    assert refused.value.problems[0].about == "account"
    cast.applicator.licence_number, cast.applicator.name = "T-1", ""
    with pytest.raises(Refused, match="no name yet"):
        decide(cast, found)
    assert not ReferralDecision.objects.exists()


def test_a_decision_keeps_the_name_and_licence_that_it_was_made_with(cast, found):
    made = decide(cast, found, reason=" Nest in the stump. ")
    assert (made.name, made.licence_number) == ("Alex Applicator", "T-2208")
    assert (made.decided_by, made.decided_at) == (cast.applicator, NOW)
    assert made.reason == "Nest in the stump."


def test_a_decision_is_one_of_those_of_its_kind_and_says_why(cast, found, barred):
    for referral, wrong in ((found, "not_treated"), (barred, "not_termites"), (found, "else")):
        with pytest.raises(Refused, match="Choose what you decided"):
            decide(cast, referral, wrong)
    with pytest.raises(Refused, match="Write why"):
        decide(cast, found, reason="  ")


def test_a_decision_that_came_meanwhile_is_not_replaced_unread(cast, barred):
    first = decide(cast, barred, "not_treated", seen="")
    with pytest.raises(Refused, match="decided this while you were writing"):
        decide(cast, barred, "can_be_reached", seen="")
    decide(cast, barred, "can_be_reached", seen=str(first.pk))
    assert outcome(barred) == "can_be_reached"


def test_the_same_sent_twice_is_one(cast):
    one, two, three = uuid.uuid4(), uuid.uuid4(), uuid.uuid4()
    for _ in range(2):
        found = referrals.note_live_termites(cast.applicator, cast.site, referral_id=one)
        barred = referrals.note_no_access(
            cast.applicator, cast.wall(), cause="hidden", referral_id=two
        )
        decide(cast, found, "stays_closed", decision_id=three, seen="")
    assert Referral.objects.count() == 2
    assert ReferralDecision.objects.count() == 1
    assert Message.objects.filter(kind="termites_found").count() == 2, "owner and contact"
    with pytest.raises(Refused, match="belongs to something else"):
        referrals.note_live_termites(cast.applicator, cast.site, referral_id=two)
    with pytest.raises(Refused, match="belongs to something else"):
        decide(cast, barred, "not_treated", decision_id=three)


def test_a_decision_is_never_before_the_one_that_it_replaces(cast, barred):
    """Clocks of several machines differ."""
    first = decide(cast, barred, "not_treated")
    with clock.at(NOW - timedelta(minutes=5)):
        second = decide(cast, barred, "can_be_reached")
    assert second.decided_at > first.decided_at


# The database refuses what the actions never do


def test_the_database_holds_decisions_in_one_line_and_opens_a_site_once(cast, found, barred):
    settled = decide(cast, found)
    first = decide(cast, barred, "not_treated")
    fields = {
        "reason": "x", "name": "x", "licence_number": "x", "decided_by": cast.applicator,
        "decided_at": NOW,
    }  # fmt: skip
    wrong = (
        {"referral": barred, "outcome": "not_treated"},
        {"referral": found, "outcome": "not_termites", "supersedes": settled},
        {"referral": barred, "outcome": "not_treated", "supersedes": first, "licence_number": ""},
    )
    for more in wrong:
        with pytest.raises(IntegrityError), transaction.atomic():
            ReferralDecision.objects.create(**{**fields, **more})
    with pytest.raises(IntegrityError), transaction.atomic():
        Referral.objects.create(site=cast.site, kind="no_access", cause="boundary", noted_at=NOW)


def test_nothing_of_it_is_deleted_or_changed(cast, found):
    for change in (found.delete, lambda: Referral.objects.update(note="Nothing.")):
        with pytest.raises(IntegrityError), transaction.atomic():
            change()


# Photos


def test_photos_may_come_later_and_the_builder_sees_them(cast, found):
    photo = cast.photo()
    referrals.show_referral(cast.applicator, found, [photo])
    assert list(found.photos.all()) == [photo]
    assert photo in type(photo).objects.visible_to(cast.contact)
    photo.refresh_from_db()
    assert photo.is_attached
    decision = decide(cast, found, photos=[make_photo(cast.site, cast.applicator)])
    assert decision.photos.count() == 1


def test_a_photo_shows_one_thing(cast, found):
    item = cast.item()
    with pytest.raises(Refused, match="used already"):
        referrals.show_referral(cast.applicator, found, [item.photos.get()])
    with pytest.raises(IntegrityError), transaction.atomic(), without_triggers():
        item.photos.update(referral=found)


# Walls that nobody can reach


def test_a_place_has_to_be_on_the_wall(cast, builder):
    wall = cast.wall()
    elsewhere = make_runs(make_site(builder))[0]
    wrong = (
        ({"from_mm": 4000}, "where it ends"),
        ({"from_mm": 4000, "to_mm": 4000}, "after the start"),
        ({"from_mm": 0, "to_mm": 12_001}, "12 m"),
        ({"cause": "else"}, "Say why nobody can reach it"),
    )
    for fields, said in wrong:
        with pytest.raises(Refused, match=said):
            referrals.note_no_access(cast.applicator, wall, **{"cause": "hidden", **fields})
    with pytest.raises(Refused, match="another site"):
        referrals.note_live_termites(cast.applicator, cast.site, wall_run=elsewhere)
    assert not Referral.objects.exists()


def test_what_is_noted_already_is_not_noted_again(cast, barred):
    with pytest.raises(Refused, match="noted already"):
        referrals.note_no_access(
            cast.applicator, cast.wall(), cause="hidden", from_mm=0, to_mm=2000
        )
    decide(cast, barred, "can_be_reached")
    referrals.note_no_access(cast.applicator, cast.wall(), cause="hidden", from_mm=0, to_mm=2000)


def test_from_end_to_end_is_the_whole_wall(cast):
    made = referrals.note_no_access(
        cast.applicator, cast.wall(), cause="hidden", from_mm=0, to_mm=12_000
    )
    assert (made.from_mm, made.to_mm) == (None, None)


def test_no_day_is_booked_until_it_is_decided_but_offered_and_confirmed(cast, barred):
    cast.confirmed()
    offered = cast.offered()
    with pytest.raises(Refused, match="Our technician decides: nothing for you to do"):
        booking.accept_offer(cast.contact, offered)
    decide(cast, barred, "not_treated")
    assert booking.accept_offer(cast.contact, offered).state == "confirmed"


def test_a_wall_that_nobody_can_reach_is_neither_checked_nor_ticked(cast, barred):
    first, *others = cast.site.wall_runs.order_by("position")
    draft = make_draft(cast.applicator, cast.site)
    for run in others:
        check_run(cast.applicator, draft, run)
    report = issuing.issue_report(cast.applicator, draft)
    ticks = {key: words for key, words in all_ticks(cast.site).items() if key != str(first.pk)}
    stated = confirming.confirm_ready(
        cast.contact, report, ticks=ticks, proof=proof_of(cast.contact)
    )
    assert SiteState.of(cast.site).assessment.confirmation_in_force
    decide(cast, barred, "can_be_reached")
    found = SiteState.of(cast.site).assessment
    assert not found.confirmation_in_force
    assert [reason.code for reason in found.reasons] == ["run_unchecked", "run_unticked"]
    assert stated.withdrawn_at is None


def test_a_part_of_a_wall_has_to_be_checked_all_the_same(cast):
    referrals.note_no_access(cast.applicator, cast.wall(), cause="hidden", from_mm=0, to_mm=2000)
    draft = make_draft(cast.applicator, cast.site)
    with pytest.raises(Refused, match="North wall is not checked"):
        issuing.issue_report(cast.applicator, draft)


def test_a_wall_that_goes_is_kept_for_what_was_noted_of_it(cast, barred):
    kept = [
        sites.RunEntry(run.label, run.length_mm, run.finish, id=run.pk)
        for run in cast.site.wall_runs.order_by("position")[1:]
    ]
    sites.set_wall_runs(cast.applicator, cast.site, kept)
    barred.wall_run.refresh_from_db()
    assert barred.wall_run.removed_at
    assert not Referral.objects.to_decide().exists()
    assert not SiteState.of(cast.site).assessment.booking_reasons[0].code.is_for_technician


def test_an_archived_site_takes_no_new_find_but_a_decision(cast, found):
    sites.close_site(cast.applicator, cast.site)
    with pytest.raises(Refused, match="archived"):
        referrals.note_live_termites(cast.applicator, cast.site)
    decide(cast, found)


def test_home_lists_what_waits_with_live_termites_first(cast, found, barred):
    assert list(Referral.objects.to_decide()) == [found, barred]
    decide(cast, found, "stays_closed")
    assert list(Referral.objects.to_decide()) == [barred]
    assert list(Referral.objects.keeping_closed()) == [found]


def test_requests_for_a_day_wait_while_live_termites_keep_the_site_closed(cast, found):
    booking.ask_for_booking(cast.contact, cast.site, preferences=[(FRIDAY, "morning")])
    assert not Booking.objects.to_offer().exists()
    decide(cast, found)
    assert Booking.objects.to_offer().exists()


def test_a_report_keeps_them_as_they_stood_when_it_was_issued(cast, found, barred):
    decide(cast, found, "stays_closed", photos=[cast.photo()])
    report = cast.issued(kinds=())
    decide(cast, found)
    decide(cast, barred, "not_treated")
    kept = snapshot_referrals(report.snapshot["referrals"])
    assert {(one.kind, one.outcome) for one in kept} == {
        ("live_termites", "stays_closed"),
        ("no_access", None),
    }
    decided = [d for one in report.snapshot["referrals"] for d in one["decisions"]]
    assert [len(decision["photos"]) for decision in decided] == [1]


def test_a_site_s_state_takes_the_same_queries_however_many_there_are(cast, found):
    def queries():
        with CaptureQueriesContext(transaction.get_connection()) as asked:
            SiteState.of(cast.site)
        return len(asked)

    few = queries()
    for _ in range(5):
        referrals.note_live_termites(cast.applicator, cast.site)
    assert queries() == few


# Whatever people do, in whatever order


def acts(cast, unlicensed):
    """Everything that bears on it, as functions of no arguments."""
    site, office, contact = cast.site, cast.applicator, cast.contact

    def latest(kind):
        return Referral.objects.filter(site=site, kind=kind).last()

    def visit():
        return site.bookings.order_by("-asked_at").first() or Booking(site=site)

    def current():
        return site.reports.current().get()

    return [
        lambda: referrals.note_live_termites(office, site),
        lambda: referrals.note_live_termites(unlicensed, site, wall_run=cast.wall()),
        lambda: decide(cast, latest("live_termites"), "stays_closed"),
        lambda: decide(cast, latest("live_termites"), "not_termites"),
        lambda: decide(cast, Referral.objects.filter(kind="live_termites")[0]),
        lambda: referrals.decide_referral(
            unlicensed, latest("live_termites"), outcome="not_termites", reason="Ants"
        ),
        lambda: referrals.note_no_access(office, cast.wall(), cause="hidden"),
        lambda: decide(cast, latest("no_access"), "not_treated"),
        lambda: decide(cast, latest("no_access"), "can_be_reached"),
        lambda: confirm(contact, current()),
        lambda: cast.offered(),
        lambda: booking.accept_offer(contact, visit()),
        lambda: booking.cancel_booking(contact, visit(), reason="Rain"),
        lambda: make_issued(office, site, kinds=()),
    ]


NOT_NOW = (Refused, AttributeError, IndexError, Booking.DoesNotExist)
orders = st.lists(st.integers(0, 13), max_size=14)


@settings(max_examples=10, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(orders)
def test_in_whatever_order_nothing_is_booked_past_live_termites(cast, orders):
    _nothing_is_booked(cast, orders)


@pytest.mark.long
@settings(max_examples=300, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(orders)
def test_in_many_orders_nothing_is_booked_past_live_termites(cast, orders):
    _nothing_is_booked(cast, orders)


def _nothing_is_booked(cast, orders):
    """Held against the rows themselves: a find without a decision that opens the site."""
    key = transaction.savepoint()
    try:
        make_issued(cast.applicator, cast.site, kinds=())
        things = acts(cast, make_applicator())
        for which in orders:
            closed = _is_closed(cast.site)
            before = dict(cast.site.bookings.values_list("pk", "state"))
            decisions = ReferralDecision.objects.count()
            _try(things[which])
            after = dict(cast.site.bookings.values_list("pk", "state"))
            if closed:
                new = {pk: state for pk, state in after.items() if before.get(pk) != state}
                assert set(new.values()) <= {"cancelled", "asked"}
            if which == 5:
                assert ReferralDecision.objects.count() == decisions, "without a licence"
            rules = SiteState.of(cast.site)
            assert rules.facts().are_termites_open == _is_closed(cast.site)
            assert not (_is_closed(cast.site) and rules.assessment.can_book)
            assert Referral.objects.keeping_closed().exists() == _is_closed(cast.site)
        record_rows_by_hand()
        assert site_break(cast.site) == ""
    finally:
        transaction.savepoint_rollback(key)


def _is_closed(site) -> bool:
    return any(
        not {"treated_separately", "not_termites"}
        & set(one.decisions.values_list("outcome", flat=True))
        for one in site.referrals.filter(kind="live_termites")
    )


def _try(act):
    try:
        with transaction.atomic():
            act()
    except NOT_NOW:
        pass
