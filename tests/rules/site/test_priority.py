"""What a site asks of its builder: the rank, and until when it is sure to stay so."""

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from readiness.rules.site.assessment import BookingFacts, VisitFacts
from readiness.rules.site.priority import (
    BOOKED,
    FIXES,
    OFFERED,
    OVERDUE,
    TO_ASK,
    TO_CONFIRM,
    TREATED,
    WAITING,
    priority_of,
)
from tests.rules.site.test_assessment import NOW, confirmed, item, site, sites

TODAY = date(2026, 3, 10)
TOMORROW = date(2026, 3, 11)


def booking(state, treat_on=TOMORROW):
    return BookingFacts(state=state, treat_on=None if state == "asked" else treat_on)


@pytest.mark.parametrize(
    ("facts", "rank"),
    [
        (site(report=None), WAITING),
        (site(item(due_on=TODAY)), FIXES),
        (site(item(due_on=date(2026, 3, 9))), OVERDUE),
        (site(item(state="sent_back")), FIXES),
        (site(item(state="said_fixed")), WAITING),
        (site(item(state="said_fixed"), reported_is_enough=True), TO_CONFIRM),
        (site(item(disputed=True, due_on=date(2026, 3, 9))), WAITING),
        (site(item(state="accepted", cleaned_wet_at=NOW)), WAITING),
        (site(), TO_CONFIRM),
        (site(booking=booking("offered")), OFFERED),
        (site(booking=booking("offered", date(2026, 3, 9))), TO_CONFIRM),
        (site(confirmation=confirmed()), TO_ASK),
        (site(confirmation=confirmed(), booking=booking("asked")), WAITING),
        (site(confirmation=confirmed(), booking=booking("offered")), OFFERED),
        (site(confirmation=confirmed(), booking=booking("offered", date(2026, 3, 9))), TO_ASK),
        (site(confirmation=confirmed(), booking=booking("confirmed")), BOOKED),
        (site(booking=booking("confirmed")), OVERDUE),
        (site(item(), confirmation=confirmed(), booking=booking("confirmed")), OVERDUE),
        (site(item(), booking=booking("confirmed", date(2026, 3, 9))), BOOKED),
    ],
)
def test_what_the_builder_can_act_on_ranks_first(facts, rank):
    assert priority_of(facts).rank == rank


def test_a_treated_site_ranks_last_until_something_is_to_fix():
    treated = VisitFacts("treated", date(2026, 3, 9), NOW - timedelta(days=1))
    assert priority_of(site(last_visit=treated)).rank == TREATED
    assert priority_of(site(item(state="said_fixed"), last_visit=treated)).rank == TREATED
    assert priority_of(site(item(), last_visit=treated)).rank == FIXES
    assert priority_of(site(last_visit=treated, booking=booking("offered"))).rank == OFFERED


def test_after_a_visit_in_vain_it_is_to_confirm_again():
    away = VisitFacts("turned_away", date(2026, 3, 9), NOW - timedelta(days=1))
    before = confirmed(confirmed_at=NOW - timedelta(days=2))
    assert priority_of(site(last_visit=away, confirmation=before)).rank == TO_CONFIRM
    assert priority_of(site(item(), last_visit=away, confirmation=before)).rank == FIXES
    assert priority_of(site(last_visit=away, confirmation=confirmed())).rank == TO_ASK


@pytest.mark.parametrize(
    ("one", "to_review", "to_fix"),
    [
        (item(), False, True),
        (item(state="sent_back"), False, True),
        (item(disputed=True), True, False),
        (item(state="said_fixed"), True, False),
        (item(state="accepted"), False, False),
        (item(state="accepted", disputed=True), False, False),
        (item(state=None, effect="record"), False, False),
        (item(effect="applicator"), False, False),
    ],
)
def test_whom_an_item_waits_for(one, to_review, to_fix):
    need = priority_of(site(one))
    assert (need.to_review, need.to_fix) == (to_review, to_fix)


def test_a_due_date_passes_at_midnight_at_the_site():
    found = priority_of(site(item(1, due_on=TODAY), item(2, due_on=TOMORROW)))
    assert found.first_due == TODAY
    # Sydney is at UTC+11 in March: daylight saving ends on the first Sunday of April
    # (Standard Time Act 1987 (NSW), from memory).
    assert found.until == datetime(2026, 3, 10, 13, 0, tzinfo=UTC)


def test_a_due_date_of_what_the_applicator_fixes_is_none_for_the_builder():
    found = priority_of(site(item(1, due_on=TODAY, effect="applicator"), item(2, due_on=TOMORROW)))
    assert (found.rank, found.first_due) == (FIXES, TOMORROW)


def test_a_due_date_passes_later_in_the_west():
    found = priority_of(site(item(due_on=TODAY), zone="Australia/Perth"))
    assert found.until == datetime(2026, 3, 10, 16, 0, tzinfo=UTC)  # UTC+8 all year, from memory


def test_a_confirmation_runs_out():
    stated = confirmed(valid_until=NOW + timedelta(hours=3))
    found = priority_of(site(confirmation=stated))
    assert (found.rank, found.until) == (TO_ASK, NOW + timedelta(hours=3))
    later = site(confirmation=stated, now=found.until)
    assert priority_of(later).rank == TO_CONFIRM


def test_a_wall_dries():
    found = priority_of(site(item(state="accepted", cleaned_wet_at=NOW)))
    assert found.rank == WAITING
    after = site(item(state="accepted", cleaned_wet_at=NOW), now=found.until)
    assert priority_of(after).rank == TO_CONFIRM


def test_where_time_changes_nothing_there_is_no_moment():
    assert priority_of(site(report=None)).until is None


states = st.sampled_from(["asked", "offered", "confirmed"])
days = st.dates(date(2026, 2, 20), date(2026, 4, 10))
bookings = st.builds(booking, states, days)
visits = st.builds(
    lambda state, ago: VisitFacts(state, date(2026, 3, 9), NOW - timedelta(hours=ago), "Mud."),
    st.sampled_from(["treated", "turned_away"]),
    st.integers(1, 150),
)
any_site = st.builds(
    lambda facts, booked, visit, zone: replace(facts, booking=booked, last_visit=visit, zone=zone),
    sites,
    st.none() | bookings,
    st.none() | visits,
    st.sampled_from(["Australia/Sydney", "Australia/Perth", "Australia/Adelaide"]),
)


@settings(max_examples=300)
@given(any_site, st.integers(0, 60 * 24 * 60))
def test_nothing_changes_by_itself_before_its_moment(facts, minutes):
    """Whatever the facts are, and however long one waits: minute by minute, and at midnights."""
    first = priority_of(facts)
    assert first.until is None or first.until > facts.now
    waited = facts.now + timedelta(minutes=minutes)
    midnight = datetime.combine(waited.astimezone(facts.local_zone), time.min, facts.local_zone)
    for moment in (waited, midnight, midnight - timedelta(seconds=1)):
        if facts.now <= moment and (first.until is None or moment < first.until):
            later = priority_of(replace(facts, now=moment))
            assert (later.rank, later.first_due) == (first.rank, first.first_due)


@settings(max_examples=200)
@given(any_site)
def test_following_the_moments_finds_every_change(facts):
    """Renewed at each moment, the rank is right hour by hour for two months."""
    stored = priority_of(facts)
    for hour in range(24 * 60):
        now = facts.now + timedelta(hours=hour)
        if stored.until is not None and stored.until <= now:
            stored = priority_of(replace(facts, now=now))
        if hour % 17 == 0:  # a stride that meets all hours of the day
            assert priority_of(replace(facts, now=now)).rank == stored.rank
