"""Is the site ready? What stands in the way of confirming, and of booking, and who acts."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.rules.band.geometry import WallRun
from readiness.rules.codes import Code
from readiness.rules.defects.catalogue import EFFECTS, ITEM_STATES, KINDS
from readiness.rules.site.assessment import (
    BookingFacts,
    CheckFacts,
    ConfirmationFacts,
    ItemFacts,
    ReferralFacts,
    ReportFacts,
    SiteFacts,
    assess,
)
from readiness.rules.vocabulary import OUTCOMES, ReferralKind
from tests.rules.walls import VALUES, rendered_wall

NOW = datetime(2026, 3, 10, 2, 0, tzinfo=UTC)  # 1 pm on a Tuesday in Sydney
RUNS = (WallRun("n", "North wall", 6000), WallRun("e", "East wall", 9000))
REPORT = ReportFacts(1, NOW - timedelta(days=3), tuple(CheckFacts(run.id, NOW) for run in RUNS))


def site(*items, **parts) -> SiteFacts:
    defaults = {"runs": RUNS, "report": REPORT, "now": NOW, "items": items}
    return SiteFacts(**(defaults | parts))


def item(number=1, **parts) -> ItemFacts:
    defaults = {"id": f"i{number}", "number": number, "run_id": "n", "kind": "dirty_brick"}
    return ItemFacts(**(defaults | parts))


def confirmed(**parts) -> ConfirmationFacts:
    defaults = {
        "confirmed_at": NOW - timedelta(hours=2),
        "report_number": 1,
        "ticked_run_ids": frozenset({"n", "e"}),
    }
    return ConfirmationFacts(**(defaults | parts))


def codes(reasons):
    return [reason.code for reason in reasons]


def test_checked_walls_with_nothing_wrong_are_ready_to_confirm_but_not_to_book():
    found = assess(site())
    assert found.site_status == "ready"
    assert found.can_confirm
    assert codes(found.booking_reasons) == ["not_confirmed"]
    assert {run.status for run in found.runs} == {"ready"}


def test_a_confirmed_site_can_be_booked():
    found = assess(site(confirmation=confirmed()))
    assert found.can_book
    assert found.confirmation_in_force


def test_without_walls_or_an_issued_report_nobody_knows():
    assert codes(assess(site(runs=())).reasons)[0] == "no_runs"
    for report in (None, replace(REPORT, issued_at=None, number=None)):
        found = assess(site(report=report))
        assert found.site_status == "not_known"
        assert not found.can_confirm
        assert {run.status for run in found.runs} == {"not_known"}


def test_an_unchecked_wall_is_not_known_and_named():
    found = assess(site(report=replace(REPORT, checks=(CheckFacts("n", NOW),))))
    assert found.site_status == "not_known"
    assert [run.status for run in found.runs] == ["ready", "not_known"]
    (reason,) = found.confirm_reasons
    assert (reason.run_label, reason.report) == ("East wall", 1)
    assert reason.who == "applicator"


def test_a_reason_carries_wall_distance_rule_value_source_and_who_acts():
    low = item(
        kind="render_line_low", run_id="e", from_mm=2400, to_mm=5100, measured_value=40,
        trade="renderer", due_on=date(2026, 3, 12),
    )  # fmt: skip
    found = assess(site(low))
    (reason,) = found.confirm_reasons
    assert found.site_status == "not_ready"
    assert (reason.run_label, reason.distance_mm, reason.item_id) == ("East wall", 2400, "i1")
    assert (reason.rule_key, reason.found, reason.needed) == ("line_above_ground_mm", 40, 75)
    assert reason.source == "this business's own setting"
    assert reason.who == "renderer"
    assert (reason.kind_name, reason.to_mm) == ("Render line too low", 5100)
    assert reason.day == date(2026, 3, 12)
    assert [run.status for run in found.runs] == ["ready", "not_ready"]


def test_something_wrong_beats_something_not_known():
    report = replace(REPORT, checks=())
    assert assess(site(item(), report=report)).site_status == "not_ready"


def test_an_item_past_its_day_is_overdue_by_the_date_at_the_site():
    # 11 pm UTC on 11 March is already the 12th in Sydney, still the 11th in Perth (7 am)
    late = site(item(due_on=date(2026, 3, 11)), now=datetime(2026, 3, 11, 15, 0, tzinfo=UTC))
    assert assess(late).reasons[0].overdue
    assert not assess(replace(late, zone="Australia/Perth")).reasons[0].overdue


@pytest.mark.parametrize(
    ("state", "reported_is_enough", "holds"),
    [
        ("to_fix", True, True),
        ("sent_back", True, True),
        ("said_fixed", True, False),
        ("said_fixed", False, True),
        ("accepted", False, False),
    ],
)
def test_which_states_hold_depends_on_what_the_business_asks_for(state, reported_is_enough, holds):
    found = assess(site(item(state=state), reported_is_enough=reported_is_enough))
    assert found.can_confirm is not holds


def test_what_was_said_fixed_waits_for_the_applicator():
    (reason,) = assess(site(item(state="said_fixed"))).confirm_reasons
    assert (reason.code, reason.who) == ("waiting_for_review", "applicator")


@pytest.mark.parametrize("state", ["to_fix", "said_fixed", "sent_back"])
def test_an_item_the_builder_disagrees_with_holds_until_it_is_decided(state):
    found = assess(site(item(state=state, disputed=True), reported_is_enough=True))
    assert codes(found.confirm_reasons) == ["item_disputed"]


@pytest.mark.parametrize(("effect", "state"), [("applicator", "to_fix"), ("record", None)])
def test_only_holding_items_hold(effect, state):
    found = assess(site(item(effect=effect, state=state)))
    assert found.can_confirm
    assert codes(found.notes).count("applicator_will_do") == (effect == "applicator")


def test_a_washed_wall_is_not_ready_until_it_is_dry_and_then_it_is():
    # common practice (no source): left to dry; 24 h is our default
    washed = item(state="accepted", cleaned_wet_at=NOW - timedelta(hours=23, minutes=30))
    (reason,) = assess(site(washed)).confirm_reasons
    assert reason.until == NOW + timedelta(minutes=30)
    assert reason.needed == 24
    assert f"{reason.at:%H:%M}" == "13:30", "as clocks at the site show"
    assert assess(site(washed, now=reason.until)).can_confirm


def test_a_wall_that_will_be_dry_on_the_day_does_not_stop_the_booking():
    washed = item(state="accepted", cleaned_wet_at=NOW - timedelta(hours=1))
    later = BookingFacts("offered", treat_on=date(2026, 3, 12))
    found = assess(site(washed, confirmation=confirmed(), booking=later))
    assert not found.can_confirm
    assert found.can_book


def test_a_wall_that_is_wet_on_the_day_stops_the_booking():
    washed = item(state="accepted", cleaned_wet_at=NOW)
    same_day = BookingFacts("offered", treat_at=NOW + timedelta(hours=3))
    found = assess(site(washed, confirmation=confirmed(), booking=same_day))
    assert "drying" in codes(found.booking_reasons)


def test_rain_entered_by_hand_counts_like_washing():
    found = assess(site(rain_at=NOW - timedelta(hours=1)))
    assert found.site_status == "not_ready"
    assert codes(found.confirm_reasons) == ["rain"]
    assert assess(site(rain_at=NOW - timedelta(hours=24))).can_confirm


@pytest.mark.parametrize(
    ("parts", "code"),
    [
        ({"withdrawn_at": NOW}, "confirmation_withdrawn"),
        ({"report_number": 0}, "confirmation_superseded"),
        ({"confirmed_at": NOW - timedelta(days=7)}, "confirmation_expired"),
        ({"valid_until": NOW}, "confirmation_expired"),
        ({"ticked_run_ids": frozenset({"n"})}, "run_unticked"),
    ],
)
def test_a_confirmation_lapses_and_says_why(parts, code):
    found = assess(site(confirmation=confirmed(**parts)))
    assert codes(found.booking_reasons) == [code]
    assert found.booking_reasons[0].who == "builder"
    assert not found.confirmation_in_force
    assert found.can_confirm, "the builder can confirm again"


def test_a_confirmation_lapses_when_a_holding_item_is_issued_after_it():
    new = item(issued_at=NOW - timedelta(hours=1), state="accepted")
    found = assess(site(new, confirmation=confirmed()))
    assert codes(found.booking_reasons) == ["confirmation_new_item"]


def test_a_confirmation_lasts_to_its_last_minute():
    almost = confirmed(confirmed_at=NOW - timedelta(days=7) + timedelta(minutes=1))
    assert assess(site(confirmation=almost)).can_book


@pytest.mark.parametrize(
    ("ended", "state", "treat_on", "holds"),
    [
        (
            timedelta(hours=1),
            "confirmed",
            date(2026, 3, 10),
            True,
        ),  # its last day is the booked one
        (timedelta(hours=1), "offered", date(2026, 3, 10), False),
        (timedelta(hours=1), "confirmed", date(2026, 3, 11), False),
        (timedelta(hours=1), "confirmed", date(2026, 3, 9), False),
        (timedelta(days=1), "confirmed", date(2026, 3, 10), False),
        (timedelta(days=1), "confirmed", date(2026, 3, 9), False),
    ],
)
def test_the_last_day_of_a_confirmation_counts_whole_where_it_is_booked(
    ended, state, treat_on, holds
):
    booking = BookingFacts(state, treat_on=treat_on)
    found = assess(site(confirmation=confirmed(valid_until=NOW - ended), booking=booking))
    assert found.confirmation_in_force is holds
    assert ("confirmation_expired" not in codes(found.booking_reasons)) is holds


def test_the_booked_day_is_what_counts_and_its_hour_only_where_there_is_no_day():
    late = NOW + timedelta(days=30)
    on_time = BookingFacts("offered", treat_on=date(2026, 3, 17), treat_at=late)
    assert assess(site(confirmation=confirmed(), booking=on_time)).can_book
    too_late = BookingFacts("offered", treat_at=late)
    found = assess(site(confirmation=confirmed(), booking=too_late))
    assert codes(found.booking_reasons) == ["date_too_late"]


def test_a_treatment_day_too_long_after_the_confirmation_is_refused_with_the_last_day():
    booking = BookingFacts("offered", treat_on=date(2026, 3, 18))
    found = assess(site(confirmation=confirmed(), booking=booking))
    (reason,) = found.booking_reasons
    assert (reason.code, reason.found, reason.needed) == ("date_too_late", 8, 7)
    assert reason.latest == date(2026, 3, 17)
    on_time = BookingFacts("offered", treat_on=date(2026, 3, 17))
    assert assess(site(confirmation=confirmed(), booking=on_time)).can_book


def test_a_day_that_has_passed_cant_be_booked():
    booking = BookingFacts("offered", treat_on=date(2026, 3, 9))
    assert "date_past" in codes(assess(site(confirmation=confirmed(), booking=booking)).reasons)


@pytest.mark.parametrize(
    ("state", "treat_on", "passed"),
    [
        ("offered", date(2026, 3, 9), True),
        ("offered", date(2026, 3, 10), False),
        ("offered", None, False),
        ("confirmed", date(2026, 3, 9), False),
    ],
)
def test_an_offer_has_passed_the_day_after(state, treat_on, passed):
    assert site(booking=BookingFacts(state, treat_on=treat_on)).offer_has_passed is passed
    assert not site().offer_has_passed


def test_levels_that_nobody_entered_are_a_note_and_block_nothing():
    found = assess(site())
    assert codes(found.notes) == ["no_levels", "no_levels"]
    assert found.can_confirm


def test_levels_that_fall_short_are_a_note_for_the_applicator():
    low = rendered_wall((0, -140))
    report = replace(REPORT, checks=(CheckFacts(low.id),))
    found = assess(site(runs=(low,), report=report))
    (note,) = found.notes
    assert (note.code, note.who, note.distance_mm) == ("levels_short", "applicator", 0)
    assert found.can_confirm
    assert assess(site(runs=(low,), report=report, check_levels=False)).notes == ()
    reported = item(kind="render_line_low", run_id=low.id)
    assert assess(site(reported, runs=(low,), report=report)).notes == (), "it is an item already"


def test_a_run_is_found_by_its_id():
    assert assess(site()).run("e").label == "East wall"
    with pytest.raises(KeyError):
        assess(site()).run("nowhere")


# Whatever the facts are

moments = st.integers(-400, 400).map(lambda hours: NOW + timedelta(hours=hours))
items = st.builds(
    ItemFacts,
    id=st.uuids().map(str),
    number=st.integers(1, 99),
    run_id=st.sampled_from(["n", "e"]),
    kind=st.sampled_from(sorted(KINDS)),
    effect=st.sampled_from(sorted(EFFECTS)),
    state=st.sampled_from(sorted(ITEM_STATES)),
    from_mm=st.none() | st.integers(0, 6000),
    measured_value=st.none() | st.integers(0, 300),
    due_on=st.none() | st.dates(date(2026, 3, 1), date(2026, 3, 31)),
    disputed=st.booleans(),
    cleaned_wet_at=st.none() | moments,
    issued_at=st.none() | moments,
)
confirmations = st.builds(
    ConfirmationFacts,
    confirmed_at=moments,
    report_number=st.integers(1, 2),
    withdrawn_at=st.none() | moments,
    ticked_run_ids=st.sets(st.sampled_from(["n", "e"])).map(frozenset),
)
reports = st.builds(
    ReportFacts,
    number=st.just(1),
    issued_at=st.none() | moments,
    checks=st.lists(st.builds(CheckFacts, st.sampled_from(["n", "e"]))).map(tuple),
)
bookings = st.builds(
    BookingFacts, state=st.just("offered"), treat_on=st.dates(date(2026, 3, 1), date(2026, 3, 31))
)
referrals = st.one_of(
    *(
        st.builds(
            ReferralFacts,
            id=st.uuids().map(str),
            kind=st.just(kind),
            noted_at=moments,
            run_id=st.sampled_from(["n", "e"]),
            from_mm=st.none() | st.integers(0, 5000),
            to_mm=st.none() | st.integers(5001, 9000),
            cause=st.just("boundary"),
            outcome=st.none() | st.sampled_from(OUTCOMES[kind]),
            decided_at=moments,
        )
        for kind in ReferralKind
    )
)
sites = st.builds(
    SiteFacts,
    runs=st.just(RUNS),
    report=st.none() | reports,
    now=moments,
    items=st.lists(items, max_size=4).map(tuple),
    confirmation=st.none() | confirmations,
    booking=st.none() | bookings,
    referrals=st.lists(referrals, max_size=2).map(tuple),
    rain_at=st.none() | moments,
    reported_is_enough=st.booleans(),
)
RANK = {"not_ready": 0, "not_known": 1, "ready": 2, "out_of_reach": 2}


@given(sites, items)
def test_adding_an_item_never_makes_a_site_more_ready(facts, new):
    before, after = assess(facts), assess(replace(facts, items=(*facts.items, new)))
    assert RANK[after.site_status] <= RANK[before.site_status]
    assert after.can_confirm <= before.can_confirm
    assert after.can_book <= before.can_book
    for old, now in zip(before.runs, after.runs, strict=True):
        assert RANK[now.status] <= RANK[old.status]


@given(sites)
def test_ready_means_that_it_can_be_confirmed_and_nothing_else_does(facts):
    found = assess(facts)
    assert found.can_confirm == (found.site_status == "ready")
    assert not found.can_book or found.confirmation_in_force
    assert min(RANK[run.status] for run in found.runs) >= RANK[found.site_status]


@given(sites)
def test_every_reason_has_a_code_and_blocks_something(facts):
    found = assess(facts)
    assert all(reason.blocks and isinstance(reason.code, Code) for reason in found.reasons)
    assert all(not note.blocks for note in found.notes)
    assert assess(facts) == found, "the same facts give the same answer"


def test_the_rule_values_decide_how_long_a_confirmation_lasts():
    values = VALUES.with_overrides({"confirmation_valid_days": 1})
    old = confirmed(confirmed_at=NOW - timedelta(days=2))
    assert not assess(site(confirmation=old, values=values)).can_book
    assert assess(site(confirmation=old)).can_book
