"""Like entries of a Record that follow each other are told in one line."""

from datetime import UTC, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from hypothesis import given
from hypothesis import strategies as st

from readiness.models import RecordEntry
from readiness.models.verbs import Verb
from readiness.wording.record_runs import runs_of

SYDNEY = ZoneInfo("Australia/Sydney")
NOON = datetime(2026, 11, 16, 1, 0, tzinfo=UTC)
ONE, OTHER = UUID(int=1), UUID(int=2)


def entries(*verbs, actors=None, at=None):
    """Entries, newest first, of one person at one time unless told otherwise."""
    count = len(verbs)
    return [
        RecordEntry(
            sequence=count - index,
            verb=verb,
            actor_id=(actors or [ONE] * count)[index],
            at=(at or [NOON] * count)[index],
        )
        for index, verb in enumerate(verbs)
    ]


def words(found, zone=SYDNEY):
    return [run.words for run in runs_of(found, zone)]


def test_what_was_written_down_on_a_visit_is_one_line_in_counts():
    visit = ("run_checked", "item_added", "photo_attached", "photo_added")
    assert words(entries(*visit, *visit, "run_checked")) == [
        "2 items added, 3 walls checked, 2 photos received"
    ]


def test_an_entry_that_stands_alone_keeps_its_own_words():
    assert words(entries("report_issued", "run_checked", "report_started")) == ["", "", ""]


def test_steps_that_matter_by_themselves_are_never_joined():
    assert words(entries("said_fixed", "said_fixed", "fix_accepted", "fix_accepted")) == [""] * 4


def test_another_persons_entries_are_another_line():
    found = entries("photo_added", "photo_added", "photo_added", actors=[ONE, ONE, OTHER])
    assert words(found) == ["2 photos received", ""]


def test_another_day_at_the_site_is_another_line():
    # 12:30 am in Sydney on the 17th is still the 16th in UTC.
    late = datetime(2026, 11, 16, 13, 30, tzinfo=UTC)
    at = [late, late - timedelta(hours=1), late - timedelta(hours=2)]
    found = entries("paper_made", "paper_made", "paper_made", at=at)
    assert words(found) == ["", "2 papers made"]


def test_photos_attached_later_are_counted_where_none_was_received():
    assert words(entries("photo_attached", "photo_attached")) == ["2 photos attached"]


@given(st.lists(st.tuples(st.sampled_from(list(Verb)), st.sampled_from([ONE, OTHER, None]))))
def test_every_entry_is_in_one_run_in_its_place(told):
    found = entries(*(verb for verb, _ in told), actors=[actor for _, actor in told])
    runs = runs_of(found, SYDNEY)
    assert [entry for run in runs for entry in run.entries] == found
    assert all(bool(run.words) == (len(run.entries) > 1) for run in runs)
