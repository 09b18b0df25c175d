"""What a visit that ended says about a site: treated, or turned away and what settles that."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from readiness.rules.band.geometry import WallRun
from readiness.rules.site.assessment import (
    BookingFacts,
    CheckFacts,
    ConfirmationFacts,
    ItemFacts,
    ReportFacts,
    SiteFacts,
    VisitFacts,
    assess,
)
from readiness.wording.states import wall_words, words

NOW = datetime(2026, 3, 10, 2, 0, tzinfo=UTC)  # 1 pm on a Tuesday in Sydney
RUN = WallRun("n", "North wall", 6000)
REPORT = ReportFacts(1, NOW - timedelta(days=9), (CheckFacts("n", NOW - timedelta(days=9)),))
CAME = NOW - timedelta(days=1)
AWAY = VisitFacts("turned_away", date(2026, 3, 9), CAME, "Soil is back.")
TREATED = VisitFacts("treated", date(2026, 3, 9), CAME)


def stated(at, **parts):
    return ConfirmationFacts(at, 1, ticked_run_ids=frozenset({"n"}), **parts)


BEFORE, AFTER = stated(CAME - timedelta(hours=3)), stated(CAME + timedelta(hours=3))


def site(**parts):
    return SiteFacts(**({"runs": (RUN,), "report": REPORT, "now": NOW, "last_visit": AWAY} | parts))


def codes(reasons):
    return [reason.code for reason in reasons]


def test_a_site_that_was_turned_away_is_not_ready_whatever_was_confirmed_before():
    found = assess(site(confirmation=BEFORE))
    assert found.site_status == "not_ready"
    assert codes(found.booking_reasons) == ["turned_away"]
    assert not found.confirmation_in_force
    (reason,) = found.booking_reasons
    assert (reason.day, reason.note) == (date(2026, 3, 9), "Soil is back.")
    assert reason.who == "builder"


def test_walls_of_a_treated_house_are_not_said_to_have_been_without_fault():
    """An item may have been found there, fixed and accepted."""
    words = wall_words(site(last_visit=TREATED))
    assert words == {
        "ready": "Nothing to fix",
        "not_ready": "To fix",
        "not_known": "Not inspected",
        "out_of_reach": "Nobody can reach it",
    }


def test_readiness_can_be_confirmed_anew_after_a_visit_in_vain_and_that_settles_it():
    assert assess(site(confirmation=BEFORE)).can_confirm
    found = assess(site(confirmation=AFTER))
    assert found.site_status == "ready"
    assert found.can_book
    assert found.confirmation_in_force


@pytest.mark.parametrize(
    "confirmation",
    [None, BEFORE, stated(CAME), replace(AFTER, withdrawn_at=CAME + timedelta(hours=4))],
)
def test_only_a_later_confirmation_that_stands_settles_it(confirmation):
    found = assess(site(confirmation=confirmation))
    assert found.site_status == "not_ready"
    assert "turned_away" in codes(found.booking_reasons)
    assert not found.can_book


def test_a_later_report_alone_does_not_settle_it():
    later = ReportFacts(2, NOW - timedelta(hours=2), (CheckFacts("n", NOW - timedelta(hours=2)),))
    found = assess(site(report=later, confirmation=BEFORE))
    assert found.site_status == "not_ready"
    assert "turned_away" in codes(found.booking_reasons)


def test_walls_that_were_not_looked_at_since_are_not_known():
    (run,) = assess(site(confirmation=BEFORE)).runs
    assert run.status == "not_known"
    later = ReportFacts(2, NOW - timedelta(hours=2), (CheckFacts("n", NOW - timedelta(hours=2)),))
    (run,) = assess(site(report=later)).runs
    assert run.status == "ready"
    (run,) = assess(site(items=(ItemFacts("i", 1, "n", "dirty_brick"),))).runs
    assert run.status == "not_ready"


def test_a_treated_site_stays_treated_whatever_a_later_report_finds():
    later = ReportFacts(2, NOW - timedelta(hours=2), (CheckFacts("n", NOW - timedelta(hours=2)),))
    late = ItemFacts("i", 1, "n", "dirty_brick", due_on=date(2026, 3, 9))
    found = assess(site(last_visit=TREATED, report=later, items=(late,)))
    assert found.site_status == "treated"
    assert words(found.site_status) == "Treated"
    assert codes(found.confirm_reasons) == ["item_to_fix"]


def test_a_new_booking_of_a_treated_site_asks_again_whether_it_is_ready():
    wanted = BookingFacts("asked")
    assert assess(site(last_visit=TREATED, booking=wanted)).site_status == "ready"
