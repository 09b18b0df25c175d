"""What is against a half-day for a visit."""

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest

from readiness.rules.band.geometry import WallRun
from readiness.rules.codes import Code
from readiness.rules.site.assessment import ConfirmationFacts, SiteFacts
from readiness.rules.site.days import against
from readiness.rules.site.facts import CheckFacts, ItemFacts, ReportFacts
from readiness.rules.vocabulary import ItemState

NOW = datetime(2026, 11, 20, 0, 0, tzinfo=UTC)  # 11:00 am in Sydney


@pytest.fixture
def facts():
    """A site that is ready and was confirmed this morning, for seven days."""
    run = WallRun("n", "North", 5000)
    return SiteFacts(
        runs=(run,),
        report=ReportFacts(1, NOW - timedelta(days=1), (CheckFacts("n", NOW),)),
        now=NOW,
        confirmation=ConfirmationFacts(
            NOW, 1, NOW + timedelta(days=7), ticked_run_ids=frozenset({"n"})
        ),
    )


def codes(facts, starts_at):
    return [reason.code for reason in against(facts, starts_at)]


def at(facts, day, hour=7):
    return datetime(2026, 11, day, hour, tzinfo=facts.local_zone)


def test_nothing_is_against_a_day_within_the_confirmation(facts):
    assert codes(facts, at(facts, 27)) == []


def test_after_the_last_day_that_the_confirmation_covers(facts):
    (reason,) = against(facts, at(facts, 28))
    assert (reason.code, reason.latest) == (Code.DATE_TOO_LATE, date(2026, 11, 27))


def test_a_confirmation_that_counts_no_more_says_nothing_of_days(facts):
    withdrawn = replace(facts.confirmation, withdrawn_at=NOW)
    assert codes(replace(facts, confirmation=withdrawn), at(facts, 28)) == []
    report = replace(facts.report, number=2)
    assert codes(replace(facts, report=report), at(facts, 28)) == []
    assert codes(replace(facts, confirmation=None), at(facts, 28)) == []


def test_a_wall_that_was_washed_is_against_the_halves_before_it_is_dry(facts):
    """`drying_hours` is 24: common practice (no source). Washed at 11 am: dry at 11 am next day."""
    washed = ItemFacts("i", 1, "n", "dirty_brick", state=ItemState.ACCEPTED, cleaned_wet_at=NOW)
    wet = replace(facts, items=(washed,))
    hours = wet.values["drying_hours"]
    dry_at = NOW + timedelta(hours=hours)
    assert codes(wet, dry_at - timedelta(minutes=1)) == [Code.DRYING]
    assert codes(wet, dry_at) == []


def test_what_is_wrong_on_the_walls_is_no_matter_of_the_day(facts):
    soil = ItemFacts("i", 1, "n", "soil_against_brick")
    assert codes(replace(facts, items=(soil,)), at(facts, 27)) == []
