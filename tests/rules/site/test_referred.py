"""What only a licensed technician decides: live termites, and walls that nobody can reach."""

from dataclasses import replace
from datetime import date, timedelta
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from readiness.rules.band.geometry import Joint, WallRun
from readiness.rules.band.notes import site_notes
from readiness.rules.band.quantities import run_liquid, site_quantities
from readiness.rules.defects.proposals import proposed_items
from readiness.rules.site.assessment import (
    BookingFacts,
    CheckFacts,
    ReferralFacts,
    VisitFacts,
    assess,
)
from readiness.rules.site.facts import with_bars
from readiness.rules.site.priority import BOOKED, OVERDUE, TO_CONFIRM, WAITING, priority_of
from tests.rules.site.test_assessment import NOW, REPORT, codes, confirmed, item, site, sites
from tests.rules.walls import VALUES, brick_wall, rendered_wall, weeps_at

YESTERDAY = NOW - timedelta(days=1)
FOUND = ReferralFacts("t", "live_termites", YESTERDAY, "n", 2400)
BARRED = ReferralFacts("a", "no_access", YESTERDAY, "e", cause="boundary")
TOMORROW = date(2026, 3, 11)


def decided(referral, outcome, at=NOW):
    return replace(referral, outcome=outcome, decided_at=at)


# Live termites


def test_live_termites_come_before_all_else_and_block_confirming_and_booking():
    found = assess(site(item(), referrals=(FOUND,), confirmation=confirmed()))
    assert found.site_status == "not_ready"
    assert codes(found.confirm_reasons)[0] == codes(found.booking_reasons)[0] == "live_termites"
    reason = found.reasons[0]
    assert (reason.who, reason.run_label, reason.distance_mm) == ("applicator", "North wall", 2400)
    assert reason.day == date(2026, 3, 9), "the day at the site"
    assert found.run("n").status == "not_ready"
    assert found.run("e").status == "ready"


def test_live_termites_on_no_wall_or_on_one_that_is_no_more_still_close_the_site():
    for run_id in (None, "gone"):
        found = assess(site(referrals=(replace(FOUND, run_id=run_id),)))
        assert (found.site_status, found.reasons[0].run_id) == ("not_ready", None)


def test_a_decision_may_keep_the_site_closed():
    found = assess(site(referrals=(decided(FOUND, "stays_closed"),)))
    assert (found.reasons[0].code, found.reasons[0].day) == ("site_stays_closed", date(2026, 3, 10))
    assert not found.can_confirm


@pytest.mark.parametrize("outcome", ["treated_separately", "not_termites"])
def test_a_decision_to_go_on_opens_the_site_until_a_further_find(outcome):
    settled = decided(FOUND, outcome)
    assert assess(site(referrals=(settled,), confirmation=confirmed())).can_book
    again = replace(FOUND, id="u", noted_at=NOW)
    assert not assess(site(referrals=(settled, again), confirmation=confirmed())).can_book


def test_a_treated_house_stays_treated_and_still_says_that_there_are_live_termites():
    treated = VisitFacts("treated", date(2026, 3, 9), YESTERDAY)
    found = assess(site(referrals=(FOUND,), last_visit=treated))
    assert (found.site_status, found.reasons[0].code) == ("treated", "live_termites")


@pytest.mark.parametrize(
    "more",
    [
        {},
        {"confirmation": confirmed()},
        {"booking": BookingFacts("offered", TOMORROW)},
        {"booking": BookingFacts("confirmed", TOMORROW), "confirmation": confirmed()},
        {"last_visit": VisitFacts("treated", date(2026, 3, 9), YESTERDAY)},
    ],
)
def test_while_there_are_live_termites_it_is_not_the_builders_turn(more):
    late = item(due_on=date(2026, 3, 1))
    assert priority_of(site(late, referrals=(FOUND,), **more)).rank == WAITING
    assert priority_of(site(referrals=(decided(FOUND, "stays_closed"),), **more)).rank == WAITING


# Walls that nobody can reach


def test_an_undecided_wall_blocks_the_booking_and_asks_nothing_of_the_builder():
    found = assess(site(referrals=(BARRED,)))
    assert found.can_confirm
    assert codes(found.booking_reasons) == ["not_confirmed", "access_undecided"]
    assert not found.waits_for_technician
    stated = assess(site(referrals=(BARRED,), confirmation=confirmed()))
    assert stated.waits_for_technician
    reason = stated.booking_reasons[0]
    assert (reason.who, reason.run_id, reason.cause) == ("applicator", "e", "boundary")
    assert reason.missing


def test_a_decided_wall_blocks_nothing():
    for outcome in ("not_treated", "can_be_reached"):
        referrals = (decided(BARRED, outcome),)
        assert assess(site(referrals=referrals, confirmation=confirmed())).can_book


def test_a_wall_that_nobody_can_reach_is_neither_checked_nor_confirmed_nor_measured():
    checked = replace(REPORT, checks=(CheckFacts("n", NOW),))
    stated = confirmed(ticked_run_ids=frozenset({"n"}))
    for outcome in (None, "not_treated"):
        facts = site(
            referrals=(replace(BARRED, outcome=outcome),), report=checked, confirmation=stated
        )
        found = assess(facts)
        assert found.confirmation_in_force
        assert found.can_confirm
        assert [run.status for run in found.runs] == ["ready", "out_of_reach"]
        assert [note.run_id for note in found.notes] == ["n"]


def test_once_it_can_be_reached_it_has_to_be_checked_and_confirmed():
    checked = replace(REPORT, checks=(CheckFacts("n", NOW),))
    stated = confirmed(ticked_run_ids=frozenset({"n"}))
    referrals = (decided(BARRED, "can_be_reached"),)
    found = assess(site(referrals=referrals, report=checked, confirmation=stated))
    assert codes(found.reasons) == ["run_unchecked", "run_unticked"]


def test_a_part_of_a_wall_leaves_the_rest_to_be_checked_and_confirmed():
    part = replace(BARRED, from_mm=0, to_mm=4200, outcome="not_treated")
    report = replace(REPORT, checks=(CheckFacts("n", NOW),))
    found = assess(site(referrals=(part,), report=report))
    assert codes(found.confirm_reasons) == ["run_unchecked"]
    assert found.run("e").status == "not_known"


def test_an_item_on_a_wall_that_nobody_can_reach_still_holds():
    found = assess(site(item(run_id="e"), referrals=(decided(BARRED, "not_treated"),)))
    assert found.run("e").status == "not_ready"


def test_a_wall_that_is_no_more_asks_for_no_decision():
    found = assess(site(referrals=(replace(BARRED, run_id="gone"),), confirmation=confirmed()))
    assert found.can_book


def test_what_only_we_decide_makes_no_booking_vain_for_the_builder():
    booked = {"booking": BookingFacts("confirmed", TOMORROW), "referrals": (BARRED,)}
    assert priority_of(site(confirmation=confirmed(), **booked)).rank == BOOKED
    assert priority_of(site(**booked)).rank == OVERDUE, "it was never confirmed"
    offered = {"booking": BookingFacts("offered", TOMORROW), "referrals": (BARRED,)}
    assert priority_of(site(confirmation=confirmed(), **offered)).rank == WAITING
    assert priority_of(site(referrals=(BARRED,))).rank == TO_CONFIRM


# Stretches


def barred(*stretches, length_mm=9000):
    run = WallRun("e", "East wall", length_mm)
    referrals = [replace(BARRED, from_mm=start, to_mm=end) for start, end in stretches]
    return with_bars((run,), referrals)[0]


def test_stretches_that_meet_are_one_and_none_goes_past_the_end():
    assert barred((5000, 7000), (0, 2000), (1500, 3000)).out_of_reach == ((0, 3000), (5000, 7000))
    assert barred((8000, 12_000)).out_of_reach == ((8000, 9000),)
    assert barred((9000, 12_000)).out_of_reach == ()
    assert barred((None, None)).out_of_reach == ((0, 9000),)
    assert barred((0, 2000), (2000, 9000)).reachable_mm == 0


stretches = st.lists(
    st.tuples(st.integers(0, 8999), st.integers(1, 9000)).filter(lambda ends: ends[0] < ends[1]),
    max_size=5,
)


@given(stretches)
def test_reachable_is_what_no_stretch_covers(found):
    """Counted millimetre by millimetre, against the stretches in order and apart."""
    covered = {mm for start, end in found for mm in range(start, end)}
    wall = barred(*found)
    assert wall.reachable_mm == 9000 - len(covered)
    apart = wall.out_of_reach
    assert list(apart) == sorted(apart)
    assert all(one[1] < other[0] for one, other in pairwise(apart))


@given(stretches)
def test_litres_go_by_what_can_be_reached(found):
    """By length alone, as the rules have it: so a wall as long as what is left takes the same."""
    wall = barred(*found)
    if not wall.reachable_mm:
        assert site_quantities([wall], VALUES).runs == ()
        return
    shorter = WallRun("e", "East wall", wall.reachable_mm)
    assert run_liquid(wall, None, VALUES) == run_liquid(shorter, None, VALUES)


def test_half_a_wall_out_of_reach_takes_half_the_litres():
    # common practice (no source): 1 L per 10 lineal metres for two courses
    found = site_quantities([barred((0, 30_000), length_mm=60_000)], VALUES)
    assert (str(found.litres), found.lineal_mm) == ("3.0", 30_000)


def test_walls_of_which_none_can_be_reached_take_nothing_and_are_no_average_house():
    found = site_quantities([barred((None, None))], VALUES)
    assert (found.lineal_mm, found.is_average, found.litres) == (0, False, 0)


def test_a_joint_that_nobody_can_reach_is_not_sealed():
    wall = replace(barred((0, 4200)), joints=(Joint(2000, 12), Joint(6000, 12)))
    assert [part.distance_mm for part in site_quantities([wall], VALUES).sealing] == [6000]


def test_nothing_is_proposed_where_nobody_can_reach():
    low = rendered_wall((0, -140))
    assert proposed_items(low, VALUES)
    whole = with_bars((low,), [replace(BARRED, run_id=low.id)])[0]
    assert proposed_items(whole, VALUES) == []
    report = replace(REPORT, checks=(CheckFacts(low.id, NOW),))
    for end in (None, low.length_mm):
        bar = replace(BARRED, run_id=low.id, from_mm=None if end is None else 0, to_mm=end)
        assert assess(site(runs=(low,), report=report, referrals=(bar,))).notes == ()


@given(stretches)
def test_no_note_is_about_a_stretch_that_nobody_can_reach(found):
    """Render and brick that fall short from end to end, above weep holes too."""
    for low in (
        rendered_wall((0, -140), length_mm=9000),
        rendered_wall((0, -400), length_mm=9000, struck_joint_mm=20, weep_holes=weeps_at(0)),
        brick_wall((0, 200), length_mm=9000, weep_holes=weeps_at(0)),
    ):
        bars = [replace(BARRED, run_id=low.id, from_mm=start, to_mm=end) for start, end in found]
        walls = with_bars((low,), bars)
        for note in site_notes(walls, VALUES):
            extent = note.short or note.clear or note.bare
            if extent:
                assert not walls[0].is_out_of_reach(extent.from_mm, extent.to_mm)


def test_of_a_wall_that_nobody_can_reach_nobody_asks_where_its_brickwork_starts():
    walls = (brick_wall((0, -300)), replace(brick_wall((0, -300)), id="e", label="East wall"))
    assert site_notes(walls, VALUES)[-1].labels == ("North wall", "East wall")
    barred_too = with_bars(walls, [BARRED])
    assert site_notes(barred_too, VALUES)[-1].labels == ("North wall",)


@given(sites)
def test_whatever_is_decided_a_closed_site_is_never_ready(facts):
    if facts.are_termites_open:
        found = assess(facts)
        assert found.site_status == "not_ready"
        assert not found.can_confirm
        assert not found.can_book
