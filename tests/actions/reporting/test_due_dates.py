"""A due date never lies before its report, and a wanted day that has passed is wanted no more."""

from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from readiness import clock
from readiness.actions.errors import Refused
from readiness.actions.reporting import drafts, issuing
from tests.factories import make_draft, make_issued, make_item, make_runs, make_site

pytestmark = pytest.mark.django_db

NOW = datetime(2026, 11, 23, 0, 0, tzinfo=UTC)  # Monday morning in Sydney
TODAY = date(2026, 11, 23)


@pytest.fixture(autouse=True)
def _in_november():
    with clock.at(NOW):
        yield


def draft_of(applicator, site, **fields):
    fields.setdefault("visited_on", TODAY)
    draft = make_draft(applicator, site, **fields)
    for run in site.wall_runs.all():
        drafts.check_run(applicator, draft, run)
    return draft


def sentences(refused) -> list[str]:
    return [problem.sentence for problem in refused.value.problems]


def test_counting_back_past_the_report_stops_at_the_report(applicator, site):
    draft = draft_of(applicator, site, treatment_wanted_on=date(2026, 11, 24))
    # Three working days before Tuesday 24 November 2026 would be Thursday the 19th.
    assert make_item(applicator, draft, kind="unfilled_joint").due_on == TODAY


@pytest.mark.parametrize(
    ("due_on", "why"),
    [(date(2026, 11, 17), "Tue 17 November 2026 is before the visit"),
     (date(2026, 11, 20), "Fri 20 November 2026 has passed")],
)  # fmt: skip
def test_a_due_date_before_the_report_is_refused(applicator, site, due_on, why):
    draft = draft_of(applicator, site, visited_on=date(2026, 11, 19))
    with pytest.raises(Refused, match=why):
        make_item(applicator, draft, due_on=due_on)
    item = make_item(applicator, draft)
    with pytest.raises(Refused, match=why):
        drafts.change_item(applicator, item, due_on=due_on)


def test_dates_that_passed_while_a_draft_lay_are_said_before_it_is_issued(applicator, site):
    draft = draft_of(applicator, site, treatment_wanted_on=date(2026, 11, 27))
    item = make_item(applicator, draft, due_on=date(2026, 11, 24))
    with clock.at(NOW + timedelta(days=5)):
        with pytest.raises(Refused) as refused:
            issuing.issue_report(applicator, draft)
        assert sentences(refused) == [
            "Treatment was wanted on Fri 27 November 2026, which has passed. "
            "Choose a later day, or leave it empty.",
            f"Item 1 (Mortar drop, {item.wall_run.label}) was due on Tue 24 November 2026, "
            "which has passed. Choose a later day.",
        ]
        assert {problem.about for problem in refused.value.problems} == {"report", "item"}
        drafts.change_item(applicator, item, note="A word more.")  # needs no new date yet


def test_they_are_worked_out_anew_in_one_go(applicator, site):
    draft = draft_of(applicator, site, treatment_wanted_on=date(2026, 12, 1))
    late = make_item(applicator, draft, due_on=date(2026, 11, 24))
    fine = make_item(applicator, draft, due_on=date(2026, 11, 30))
    with clock.at(NOW + timedelta(days=2)):
        drafts.renew_due_dates(applicator, draft)
        late.refresh_from_db()
        fine.refresh_from_db()
        # Two working days before Tuesday 1 December 2026.
        assert (late.due_on, fine.due_on) == (date(2026, 11, 27), date(2026, 11, 30))
        assert issuing.issue_report(applicator, draft).number == 1


def test_a_new_wanted_day_takes_dates_along_that_were_held_up_by_the_report(applicator, site):
    draft = draft_of(applicator, site, treatment_wanted_on=date(2026, 11, 24))
    item = make_item(applicator, draft, kind="unfilled_joint")
    drafts.change_report(applicator, draft, treatment_wanted_on=date(2026, 12, 18))
    item.refresh_from_db()
    assert item.due_on == date(2026, 12, 15)


def test_a_date_that_was_taken_out_stays_out_whatever_day_is_wanted(applicator, site):
    draft = draft_of(applicator, site, treatment_wanted_on=date(2026, 12, 8))
    item = make_item(applicator, draft, due_on=None)
    drafts.change_report(applicator, draft, treatment_wanted_on=date(2026, 12, 18))
    item.refresh_from_db()
    assert item.due_on is None


def test_what_is_only_recorded_is_due_on_no_day(applicator, site):
    draft = draft_of(applicator, site, treatment_wanted_on=date(2026, 12, 8))
    assert make_item(applicator, draft).due_on
    assert make_item(applicator, draft, effect="record").due_on is None


def test_what_was_overdue_is_due_anew_in_the_report_that_carries_it(applicator, site):
    first = make_issued(applicator, site, visited_on=TODAY, treatment_wanted_on=date(2026, 11, 27))
    assert first.items.get().due_on == date(2026, 11, 25)
    with clock.at(NOW + timedelta(days=8)):
        item = first.items.get()
        second = draft_of(
            applicator, site, visited_on=date(2026, 12, 1), treatment_wanted_on=date(2026, 12, 8),
            carry_over=[item],
        )  # fmt: skip
        assert second.items.get().due_on == date(2026, 12, 4)


def test_a_wanted_day_that_has_passed_is_not_carried_over(applicator, site):
    site.treatment_wanted_on = date(2026, 11, 20)
    site.save()
    draft = drafts.start_report(applicator, site, visited_on=TODAY)
    assert draft.treatment_wanted_on is None
    with pytest.raises(Refused, match="which has passed"):
        drafts.change_report(applicator, draft, treatment_wanted_on=date(2026, 11, 20))
    drafts.drop_report(applicator, draft)
    with pytest.raises(Refused, match="which has passed"):
        draft_of(applicator, site, treatment_wanted_on=date(2026, 11, 20))


days = st.integers(0, 20)


@settings(max_examples=30, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(
    wanted=st.none() | days, by_hand=st.none() | days, lies=st.integers(0, 25), renew=st.booleans()
)
def test_no_report_is_issued_with_a_due_date_before_it(
    applicator, builder, wanted, by_hand, lies, renew
):
    site = make_site(builder)
    make_runs(site, "North wall")
    day = TODAY + timedelta(days=wanted) if wanted is not None else None
    draft = draft_of(applicator, site, treatment_wanted_on=day)
    given = {"due_on": TODAY + timedelta(days=by_hand)} if by_hand is not None else {}
    make_item(applicator, draft, **given)
    with clock.at(NOW + timedelta(days=lies)):
        if renew:
            drafts.renew_due_dates(applicator, draft)
        try:
            report = issuing.issue_report(applicator, draft)
        except Refused:
            return
        due = report.items.get().due_on
        assert due is None or due >= TODAY + timedelta(days=lies)
